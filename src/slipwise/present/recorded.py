"""A recorded start in the terminal, and as a folder of outputs; the commissioning sheet likewise."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import IO, TYPE_CHECKING

from slipwise.present import tables_recording
from slipwise.present.export import csv_text, whole_folder
from slipwise.present.figures import Look
from slipwise.present.figures import recording as figures
from slipwise.present.figures.canvas import Format, render
from slipwise.present.terminal import print_sentences, print_table
from slipwise.results.recording import Commissioning, RecordingResult
from slipwise.results.table import Table

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Drawing = Callable[[Look], "Figure"]


def print_recording(found: RecordingResult, file: IO[str] | None = None) -> None:
    """Cleaning steps, fitted values, misfit, what cannot be told apart, and notes."""
    out = file or sys.stdout
    for table in (tables_recording.steps(found), tables_recording.values(found), tables_recording.misfit(found)):
        print_table(table, out)
        out.write("\n")
    print_sentences((*found.indistinct, *found.notes, *found.cautions), out)


def print_commissioning(found: Commissioning, file: IO[str] | None = None) -> None:
    """Deviations and settings; then the fit as `print_recording`."""
    out = file or sys.stdout
    print_table(tables_recording.deviations(found), out)
    out.write("\n")
    if found.settings:
        print_table(tables_recording.settings(found), out)
        out.write("\n")
    print_table(tables_recording.values(found.recording), out)
    out.write("\n")
    print_sentences((*found.recording.indistinct, *found.cautions), out)


def write_recording(
    found: RecordingResult,
    folder: Path,
    formats: Sequence[Format] = ("svg",),
    *,
    title: str,
    version: str,
    block: str = "",
    day: date | None = None,
) -> Path:
    """Writes recording.pdf, motor.toml (the lines for a study file, when there are), tables and figures, whole or not at all.

    Raises:
        InputError: as `present.export.write_outputs`.
    """
    from slipwise.present.report.commissioning import recording_sheet

    with whole_folder(folder) as fresh:
        _parts(fresh, _tables(found), _drawings(found), formats)
        if block:
            (fresh / "motor.toml").write_text(block + "\n", encoding="utf-8", newline="\n")
        (fresh / "recording.pdf").write_bytes(recording_sheet(found, title=title, version=version, day=day))
    return folder


def write_commissioning(
    found: Commissioning, folder: Path, formats: Sequence[Format] = ("svg",), *, version: str, day: date | None = None
) -> Path:
    """Writes commissioning.pdf, tables and figures; the folder appears whole or not at all.

    Raises:
        InputError: as `present.export.write_outputs`.
    """
    from slipwise.present.report.commissioning import commissioning_sheet

    tables = {"deviations": tables_recording.deviations(found), "settings": tables_recording.settings(found)}
    drawings: dict[str, Drawing] = {"laid_over": lambda look: figures.laid_over(found, look)}
    with whole_folder(folder) as fresh:
        _parts(fresh, {**tables, **_tables(found.recording)}, {**drawings, **_drawings(found.recording)}, formats)
        (fresh / "commissioning.pdf").write_bytes(commissioning_sheet(found, version=version, day=day))
    return folder


def _tables(found: RecordingResult) -> dict[str, Table]:
    made = (tables_recording.steps, tables_recording.values, tables_recording.misfit)
    return {make.__name__: make(found) for make in made}


def _drawings(found: RecordingResult) -> dict[str, Drawing]:
    made = (figures.fit, figures.joint_region, figures.load_torque)
    return {make.__name__: _of(make, found) for make in made}


def _of(make: Callable[[RecordingResult, Look], Figure], found: RecordingResult) -> Drawing:
    return lambda look: make(found, look)


def _parts(fresh: Path, tables: dict[str, Table], drawings: dict[str, Drawing], formats: Sequence[Format]) -> None:
    look = Look(size="print")
    for name in ("tables", "figures"):
        (fresh / name).mkdir()
    for name, table in tables.items():
        (fresh / "tables" / f"{name}.csv").write_text(csv_text(table), encoding="utf-8", newline="\n")
    for name, format, content in _rendered(drawings, formats, look):
        (fresh / "figures" / f"{name}.{format}").write_bytes(content)


def _rendered(
    drawings: dict[str, Drawing], formats: Sequence[Format], look: Look
) -> Iterator[tuple[str, Format, bytes]]:
    for name, draw in drawings.items():
        figure = draw(look)
        for format in formats:
            yield name, format, render(figure, format, look.dots)

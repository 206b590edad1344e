"""The folder of outputs: study.json, series, tables and figures, and the report, written whole or not at all."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from slipwise.present import tables
from slipwise.present.export_extra import write_diagrams, write_points
from slipwise.present.figures import Entry, Look, catalogue, file_name
from slipwise.present.figures.apart import Helper, draw_each, helper
from slipwise.present.figures.canvas import FORMATS, Format, render
from slipwise.present.tables_all import all_tables
from slipwise.quantity.errors import InputError
from slipwise.results.codec import to_json
from slipwise.results.study import StudyResult
from slipwise.results.table import Table

CONTENTS = "contents.json"
MADE_BY = "slipwise"
Report = Callable[[StudyResult, Mapping[str, bytes]], bytes]  # result and SVG figures by key to the bytes of a PDF
Progress = Callable[[str], None]


def write_outputs(
    result: StudyResult,
    folder: Path,
    formats: Sequence[Format] = ("svg",),
    *,
    look: Look | None = None,
    report: Report | None = None,
    progress: Progress | None = None,
) -> Path:
    """Writes everything about a study into `folder`, which appears whole or not at all.

    study.json; series/ (CSV, units in the headings); tables/ (CSV); diagrams/ (SVG: power circuits stage by stage,
    windings); figures/ in each of `formats`; report.pdf when a `report` maker is given; contents.json, which lists the
    files.

    Args:
        result: of one study.
        folder: to be made. One that exists is replaced only if slipwise made it and nothing was added to it since.
        formats: of the figures; empty for none. The report gets SVG figures in any case.
        look: of the figures; those of the report are light in any case.
        report: makes the PDF, usually `present.report.report`.
        progress: told in words what is being written.

    Raises:
        InputError: `folder` exists and is not ours, or holds files that slipwise did not write, or cannot be written.
        ValueError: an unknown format.
    """
    unknown = [name for name in formats if name not in FORMATS]
    if unknown:
        raise ValueError(f"{unknown[0]!r} is not one of {', '.join(FORMATS)}")
    tell = progress or (lambda _: None)
    with whole_folder(folder) as fresh:
        _fill(fresh, result, (formats, look or Look()), report, tell)
    return folder


@contextmanager
def whole_folder(folder: Path) -> Iterator[Path]:
    """A fresh folder to be filled; it becomes `folder` when the block ends well, and vanishes when it does not.

    Raises:
        InputError: as `write_outputs`.
    """
    folder = Path(os.path.abspath(folder))
    require_replaceable(folder)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder.parent, prefix=f".{folder.name}.new.") as name:
            fresh = Path(name) / "outputs"
            fresh.mkdir()
            yield fresh
            _list(fresh)
            _put_in_place(fresh, folder, Path(name) / "before")
    except OSError as error:
        raise InputError.of("output folder", folder, f"cannot be written ({error})", "give another folder") from error


def write_curves(
    result: StudyResult,
    folder: Path,
    formats: Sequence[Format] = ("svg",),
    *,
    look: Look | None = None,
    progress: Progress | None = None,
) -> Path:
    """Writes the steady characteristics alone: one CSV file for each way and stage, and the figures against speed.

    Arguments and errors as `write_outputs`.
    """
    entries = [entry for entry in catalogue(result) if entry.key.endswith("_speed")]
    with whole_folder(folder) as fresh:
        to_json(result, fresh / "series")  # names columns after busbars, which the run-ups know
        for path in fresh.rglob("*.csv"):
            if not path.name.startswith("curves"):
                path.unlink()
        _figures(fresh / "figures", entries, formats, look or Look(), progress or (lambda _: None))
    return folder


def write_figures(
    entries: Sequence[Entry],
    folder: Path,
    formats: Sequence[Format],
    *,
    look: Look | None = None,
    progress: Progress | None = None,
) -> Path:
    """Writes chosen figures of the catalogue straight into `folder`. Other arguments and errors as `write_outputs`."""
    with whole_folder(folder) as fresh:
        _figures(fresh, entries, formats, look or Look(), progress or (lambda _: None))
    return folder


def figure_bytes(result: StudyResult, look: Look, progress: Progress | None = None) -> dict[str, bytes]:
    """Every figure of the catalogue as SVG, by key."""
    found = {}
    for key, title, function in catalogue(result):
        if progress is not None:
            progress(f"figure: {title}")
        found[key] = render(function(look), "svg")
    return found


def csv_text(table: Table) -> str:
    """A table as CSV: one heading row with units, then the cells as shown, in ordinary spaces and hyphens."""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow([f"{c.title} [{c.unit}]" if c.unit else c.title for c in table.columns])
    rows.writerows([tables.plain(cell) for cell in row] for row in table.rows)
    return out.getvalue()


def _fill(
    fresh: Path, result: StudyResult, drawn: tuple[Sequence[Format], Look], report: Report | None, tell: Progress
) -> None:
    formats, look = drawn
    entries = catalogue(result) if formats else []
    with helper(entries, formats, look) as second:
        _data(fresh, result, tell)
        pictures = _figures(fresh / "figures", entries, formats, look, tell, second) if formats else {}
    if report is not None:
        if "svg" not in formats or look.mode != "light":  # both sizes have the same shape: the report scales either
            pictures = figure_bytes(result, Look(size="print"), tell)
        tell("report")
        (fresh / "report.pdf").write_bytes(report(result, pictures))


def _data(fresh: Path, result: StudyResult, tell: Progress) -> None:
    tell("data")
    (fresh / "study.json").write_text(to_json(result, fresh / "series"), encoding="utf-8", newline="\n")
    for key, table in all_tables(result):
        if table.rows:
            place = fresh / "tables" / f"{key.replace('/', '.')}.csv"
            place.parent.mkdir(exist_ok=True)
            place.write_text(csv_text(table), encoding="utf-8", newline="\n")
    if result.speed is not None:
        write_points(fresh / "series", result.speed)
    write_diagrams(fresh / "diagrams", result)


def _figures(
    folder: Path,
    entries: Sequence[Entry],
    formats: Sequence[Format],
    look: Look,
    tell: Progress,
    second: Helper | None = None,
) -> dict[str, bytes]:
    """Writes each figure in every format; gives the SVG ones by key."""
    folder.mkdir(exist_ok=True)
    vector = {}
    for entry, drawn in draw_each(entries, formats, look, tell, second):
        for format, content in drawn.items():
            (folder / file_name(entry.key, format)).write_bytes(content)
        if "svg" in drawn:
            vector[entry.key] = drawn["svg"]
    return vector


def _files(folder: Path) -> list[str]:
    return sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if not p.is_dir())


def _list(fresh: Path) -> None:
    content = {"made_by": MADE_BY, "files": _files(fresh)}
    (fresh / CONTENTS).write_text(
        json.dumps(content, indent=1, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n"
    )


def require_replaceable(folder: Path) -> None:
    """Refuses a folder that cannot be written, is not ours, or was added to; a long computation asks before it begins.

    Raises:
        InputError: naming the folder and the reason.
    """
    if not os.path.lexists(folder):
        _require_writable(folder)
        return
    remedy = "give another folder, or move this one away"
    if folder.is_symlink() or not folder.is_dir():
        kind = "a link" if folder.is_symlink() else "a file"
        raise InputError.of("output folder", folder, f"is {kind}, not a folder of its own", remedy)
    present = _files(folder)
    if not present and not any(folder.iterdir()):
        return
    try:
        content = json.loads((folder / CONTENTS).read_text(encoding="utf-8"))
        known = {*content["files"], CONTENTS} if content["made_by"] == MADE_BY else set()
    except (OSError, ValueError, KeyError, TypeError):
        known = set()
    if not known:
        raise InputError.of("output folder", folder, "exists and was not made by slipwise", remedy)
    foreign = [name for name in present if name not in known]
    if foreign:
        raise InputError.of("output folder", folder, f"holds a file slipwise did not write ({foreign[0]})", remedy)


def _require_writable(folder: Path) -> None:
    """Refuses a folder whose nearest existing parent takes no new entries; tried, since a file system may refuse anybody."""
    parent = next(place for place in Path(os.path.abspath(folder)).parents if place.exists())
    try:
        with tempfile.TemporaryDirectory(dir=parent, prefix=f".{folder.name}.new."):
            pass
    except OSError as error:
        reason = f"nothing can be written in {parent} ({error.strerror})"
        raise InputError.of("output folder", folder, reason, "give a folder in a place that can be written") from error


def _put_in_place(fresh: Path, folder: Path, aside: Path) -> None:
    """Moves the old folder aside, the new one in, and back again if that fails."""
    had = folder.exists()
    if had:
        os.replace(folder, aside)
    try:
        os.replace(fresh, folder)
    except OSError:
        if had:
            os.replace(aside, folder)
        raise
    shutil.rmtree(aside, ignore_errors=True)

"""A motor identified from measurements, in the terminal and as a folder of outputs."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import IO

from slipwise.present import tables_bench
from slipwise.present.export import csv_text, whole_folder
from slipwise.present.figures import Look
from slipwise.present.figures.canvas import Format, render
from slipwise.present.terminal import print_sentences, print_table
from slipwise.results.identification import Identification

SHOWN = ("values", "reductions", "compared")  # the others are wide or long: they stand on the lab sheet


def print_identification(found: Identification, file: IO[str] | None = None) -> None:
    """The answer in the terminal: circuit with intervals, reductions, losses, comparison, notes, and the `[motor]` lines."""
    out = file or sys.stdout
    for name, table in tables_bench.all_of(found):
        if name in SHOWN:
            print_table(table, out)
            out.write("\n")
    print_sentences((tables_bench.stray_words(found), *found.notes, *found.cautions), out)
    out.write(f"\n{found.motor_block}\n")


def write_identification(
    found: Identification,
    folder: Path,
    formats: Sequence[Format] = ("svg",),
    *,
    day: date | None = None,
    progress: Callable[[str], None] | None = None,
) -> Path:
    """Writes lab_sheet.pdf, motor.toml, and the folders tables (CSV) and figures; the folder appears whole or not at all.

    Raises:
        InputError: as `present.export.write_outputs`.
    """
    from slipwise.present.figures import bench
    from slipwise.present.report.lab import lab_sheet

    tell = progress or (lambda _: None)
    look = Look(size="print")
    with whole_folder(folder) as fresh:
        (fresh / "motor.toml").write_text(found.motor_block + "\n", encoding="utf-8", newline="\n")
        (fresh / "tables").mkdir()
        for name, table in tables_bench.all_of(found):
            (fresh / "tables" / f"{name}.csv").write_text(csv_text(table), encoding="utf-8", newline="\n")
        pictures = {}
        (fresh / "figures").mkdir()
        for key, title, draw in bench.catalogue(found):
            tell(f"figure: {title}")
            figure = draw(look)
            pictures[key] = render(figure, "svg")
            for format in formats:
                (fresh / "figures" / f"{key}.{format}").write_bytes(render(figure, format, look.dots))
        tell("lab sheet")
        (fresh / "lab_sheet.pdf").write_bytes(lab_sheet(found, pictures, day=day))
    return folder

"""The settings sheet as a folder: PDF, tables and the picture of start, limits and trips."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from slipwise.present import tables_protection
from slipwise.present.export import csv_text, whole_folder
from slipwise.present.figures.canvas import Format, render
from slipwise.present.figures.look import Look
from slipwise.present.figures.time_current import time_current
from slipwise.present.report.protection import sheet
from slipwise.results.study import StudyResult, WayResult


def write_settings(
    result: StudyResult, way: WayResult, folder: Path, formats: Sequence[Format] = ("svg",), *, day: date | None = None
) -> Path:
    """Writes settings.pdf, the tables of protection and the picture; the folder appears whole or not at all.

    Args:
        result: of one study.   way: one of its ways, with a protection.   day: on the sheet; None prints none.

    Raises:
        InputError: as `present.export.write_outputs`.
        ValueError: the way has no protection.
    """
    look = Look(size="print")
    with whole_folder(folder) as fresh:
        for name in ("tables", "figures"):
            (fresh / name).mkdir()
        for key, table in tables_protection.all_protection(way):
            if table.rows:
                (fresh / "tables" / f"{key}.csv").write_text(csv_text(table), encoding="utf-8", newline="\n")
        figure = time_current(result, way, look)
        for format in formats:
            (fresh / "figures" / f"time_current.{format}").write_bytes(render(figure, format, look.dots))
        (fresh / "settings.pdf").write_bytes(sheet(result, way, day=day))
    return folder

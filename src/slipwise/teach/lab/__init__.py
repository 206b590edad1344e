"""Lab sheets: the blank form of the bench tests, and the filled one with measured points on the expected curves."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

from slipwise.present import tables_bench
from slipwise.present.export import csv_text, whole_folder
from slipwise.present.figures import Look, bench
from slipwise.present.figures.canvas import Format, render
from slipwise.present.report.lab import lab_sheet
from slipwise.quantity.errors import InputError
from slipwise.results.identification import Identification
from slipwise.study.reader import load_motor, text_of
from slipwise.teach.lab.expected import Expected, expected
from slipwise.teach.lab.form import bench_tests, blank_form, expectation
from slipwise.teach.lab.measured import compared, figures


def expected_of(file: Path) -> Expected:
    """What the motor of a file should read. FILE need have no other section than [motor].

    Raises:
        InputError: as `study.reader.load_motor`; or the motor is known by typed curves only.
    """
    return expected(load_motor(file).motor)


def measured_of(file: Path) -> Identification:
    """The reduced readings of a file.

    Raises:
        InputError: as `study.reader.load_motor`; or the file has no [motor.readings].
    """
    found = load_motor(file).identification
    if found is None:
        raise InputError.of(
            "motor.readings",
            str(file),
            "there are no bench readings in it",
            "add [motor.readings], or leave --measured away",
        )
    return found


def title_of(file: Path) -> str:
    """What a file calls itself; its name without a title."""
    return str(tomllib.loads(text_of(file)).get("title", file.stem))


def write_lab(
    found: Expected,
    measured: Identification | None,
    folder: Path,
    formats: Sequence[Format] = ("svg",),
    *,
    title: str,
    day: date | None = None,
    progress: Callable[[str], None] | None = None,
) -> Path:
    """Writes blank_form.pdf and the folders tables and figures; with readings also lab_sheet.pdf, reduced and compared.

    Args:
        found: what the motor should read. measured: its reduced readings, None before the tests.
        folder: appears whole or not at all. formats: of the figures.
        title: of the blank form. day: printed on both papers. progress: told in words what is being written.

    Raises:
        InputError: as `present.export.write_outputs`.
    """
    tell, look = progress or (lambda _: None), Look(size="print")
    tables = [(f"expected_{test.key}", expectation(test.key, found)) for test in bench_tests()]
    drawings = figures(found, measured)
    if measured is not None:
        tables += [("measured_against_expected", compared(found, measured)), *tables_bench.all_of(measured)]
        drawings += bench.catalogue(measured)
    with whole_folder(folder) as fresh:
        (fresh / "tables").mkdir()
        for name, table in tables:
            (fresh / "tables" / f"{name}.csv").write_text(csv_text(table), encoding="utf-8", newline="\n")
        (fresh / "figures").mkdir()
        pictures = {}
        for key, words, draw in drawings:
            tell(f"figure: {words}")
            drawn = draw(look)
            pictures[key] = render(drawn, "svg")
            for format in formats:
                (fresh / "figures" / f"{key}.{format}").write_bytes(render(drawn, format, look.dots))
        tell("blank form")
        (fresh / "blank_form.pdf").write_bytes(blank_form(found, title, day=day))
        if measured is not None:
            tell("lab sheet")
            sheet = lab_sheet(measured, pictures, day=day, compared=compared(found, measured))
            (fresh / "lab_sheet.pdf").write_bytes(sheet)
    return folder

"""`slipwise teach lab`: papers of the teaching laboratory, before and after the bench tests."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from slipwise.doors.cli.options import Formats, Out, StudyFile

Measured = Annotated[
    Path | None,
    Parameter(
        help="A file with [motor.readings] of the same motor: adds the filled and reduced lab sheet, readings on curves."
    ),
]


def lab(file: StudyFile, /, *, measured: Measured = None, out: Out = None, format: Formats = ("svg",)) -> None:
    """Blank form of the bench tests for the motor of FILE, with cautions and what it should read; filled with --measured.

    Direct current, running free, rotor held, on the brake, coasting down. FILE need have no other section than [motor].
    """
    from slipwise.doors.cli.session import folder_for, working
    from slipwise.doors.cli.study import today
    from slipwise.present.export import require_replaceable
    from slipwise.teach.lab import expected_of, measured_of, title_of, write_lab

    folder = folder_for(file, out, "lab")
    require_replaceable(folder)
    with working("writing") as progress:
        found = expected_of(file)
        readings = None if measured is None else measured_of(measured)
        write_lab(
            found,
            readings,
            folder,
            format,
            title=title_of(file),
            day=today(),
            progress=lambda words: progress(words, None),
        )
    filled = "" if measured is None else ", lab_sheet.pdf"
    print(f"Written to {folder}: blank_form.pdf{filled}, and the folders figures and tables.")

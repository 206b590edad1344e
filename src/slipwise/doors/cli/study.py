"""`slipwise study`: everything, printed and written."""

from __future__ import annotations

import os
import sys
from datetime import UTC, date, datetime
from functools import partial

from slipwise.doors.cli.options import Formats, Out, Strict, StudyFile, Transients


def study(
    file: StudyFile,
    /,
    *,
    out: Out = None,
    format: Formats = ("svg",),
    transients: Transients = True,
    strict: Strict = False,
) -> int:
    """Judge every way of starting in FILE, print the answer, and write data, tables, figures and report to a folder."""
    from slipwise.doors.cli.session import computed, folder_for, verdict_code, working
    from slipwise.present.export import require_replaceable, write_outputs
    from slipwise.present.report import report
    from slipwise.present.terminal import print_result

    folder = folder_for(file, out, "results")
    require_replaceable(folder)
    result = computed(file, transients=transients, whole=True)
    print_result(result)
    sys.stdout.flush()  # read while the figures are drawn
    with working("writing") as progress:
        typeset = partial(report, day=today())
        write_outputs(result, folder, format, report=typeset, progress=lambda words: progress(words, None))
    print(f"\nWritten to {folder}: report.pdf, study.json, and the folders figures, diagrams, tables, series.")
    return verdict_code(result, strict=strict)


def today() -> date:
    """The date on the report; SOURCE_DATE_EPOCH (seconds since 1970) fixes it for byte-for-byte comparison."""
    fixed = os.environ.get("SOURCE_DATE_EPOCH")
    return datetime.fromtimestamp(int(fixed), UTC).date() if fixed else date.today()

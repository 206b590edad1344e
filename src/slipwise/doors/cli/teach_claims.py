"""`slipwise teach claims`: the shorthands of the classroom, held against the motor of a study."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from slipwise.doors.cli.options import Formats, StudyFile

Folder = Annotated[
    Path | None, Parameter(help="Folder for claims.pdf, figures and table, made whole or not at all; none without it.")
]


def claims(file: StudyFile, /, *, out: Folder = None, format: Formats = ("svg",)) -> None:
    """Is it true for the motor of FILE? Each shorthand of the classroom against the full computation.

    Star's third, the square of the voltage, added rotor resistance, ten times rated current, rotor heat and stored energy,
    slip and torque, efficiency and slip, constant volts per hertz, the approximate circuit: the error, and where each holds.
    """
    from slipwise.doors.cli.session import working
    from slipwise.doors.cli.study import today
    from slipwise.present.claims import print_claims, write_claims
    from slipwise.present.export import require_replaceable
    from slipwise.study.reader import load
    from slipwise.teach.claims import claims as compute
    from slipwise.teach.paper import paper

    if out is not None:
        require_replaceable(out)
    study = load(file)
    with working("computing") as progress:
        found = compute(study, progress=progress)
    print_claims(found)
    if out is None:
        return

    with working("writing") as progress:
        write_claims(
            found,
            out,
            format,
            lambda blocks, images: paper(found.title, "Is it true for this motor?", blocks, images=images, day=today()),
            progress=lambda words: progress(words, None),
        )
    print(f"\nWritten to {out}: claims.pdf, and the folders figures and tables.")

"""`slipwise identify`: the motor a study file describes, against its plate."""

from __future__ import annotations

from slipwise.doors.cli.options import StudyFile


def identify(file: StudyFile, /) -> None:
    """The motor of FILE: plate against model with the standard's tolerance, and its circuit to paste into a study file."""
    from slipwise.present import tables
    from slipwise.present.terminal import print_table
    from slipwise.study.circuit_block import circuit_block
    from slipwise.study.reader import load

    study = load(file)
    if study.plate:
        print_table(tables.plate_rows(study.plate))
        print()
    print(circuit_block(study.motor))

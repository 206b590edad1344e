"""`slipwise identify`: the motor a study file describes, against its plate."""

from __future__ import annotations

from pathlib import Path


def identify(file: Path) -> None:
    """The motor of FILE: plate against model with the standard's tolerance, and its circuit to paste into a study file.

    Parameters
    ----------
    file
        The study file; its [motor] section says what is known.
    """
    from slipwise.present import tables
    from slipwise.present.terminal import print_table
    from slipwise.study.circuit_block import circuit_block
    from slipwise.study.reader import load

    study = load(file)
    if study.plate:
        print_table(tables.plate_rows(study.plate))
        print()
    print(circuit_block(study.motor))

"""`slipwise identify`: the motor a study file describes, from its plate, its circuit or what was read on the bench."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from slipwise.doors.cli.options import Formats, StudyFile

if TYPE_CHECKING:
    from slipwise.study.assemble.motor import BuiltMotor

_MEMBERS = 80  # motors behind the ranges of a plate: enough for two figures, in about a second
Sheet = Annotated[
    Path | None, Parameter(help="Folder for lab sheet, tables and figures, made whole or not at all; none without it.")
]


def identify(file: StudyFile, /, *, out: Sheet = None, format: Formats = ("svg",)) -> None:
    """The motor of FILE against its plate, and the lines to paste into a study file in place of [motor] and its tables.

    From a plate: also the range of every value over motors that agree with it; power and voltage alone will do.
    From bench readings ([motor.readings]): circuit values with their intervals, textbook and exact reductions, losses; with
    --out also the lab sheet, tables and figures in a folder. From a recorded start ([motor.recording]): inertia, load torque
    and circuit with joint regions. FILE need have no other section than [motor].
    """
    from slipwise.present.identified import print_identification
    from slipwise.study.reader import load_motor

    built = load_motor(file)
    if built.recording is not None:
        _by_recording(built, file, out, format)
        return
    if built.identification is None:
        _by_plate(built, out is not None)
        return
    print_identification(built.identification)
    if out is not None:
        from slipwise.doors.cli.session import working
        from slipwise.doors.cli.study import today
        from slipwise.present.identified import write_identification

        with working("writing") as progress:
            write_identification(
                built.identification, out, format, day=today(), progress=lambda words: progress(words, None)
            )
        print(f"\nWritten to {out}: lab_sheet.pdf, motor.toml, and the folders figures and tables.")


def _by_recording(built: BuiltMotor, file: Path, out: Path | None, formats: Formats) -> None:
    """What a recorded start tells, and the lines of the motor."""
    from slipwise import __version__
    from slipwise.doors.cli.study import today
    from slipwise.present.recorded import print_recording, write_recording
    from slipwise.study.motor_block import lines_to_paste

    assert built.recording is not None
    block = lines_to_paste(built)
    print_recording(built.recording)
    print(f"\n{block}")
    if out is not None:
        write_recording(built.recording, out, formats, title=file.stem, version=__version__, block=block, day=today())
        print(f"\nWritten to {out}: recording.pdf, motor.toml, and the folders figures and tables.")


def _by_plate(built: BuiltMotor, asked: bool) -> None:
    """Plate against model, and the lines of the motor; there is nothing measured to write a sheet of."""
    from slipwise.present import tables
    from slipwise.present.terminal import print_table
    from slipwise.quantity.errors import InputError
    from slipwise.study.motor_block import lines_to_paste

    if asked:
        reason = "nothing was measured on this motor: there is no lab sheet to write"
        raise InputError.of("--out", "", reason, "add [motor.readings], or leave --out away")
    if built.plate:
        print_table(tables.plate_rows(built.plate))
        print()
    if built.nameplate is not None:
        from slipwise.identify.plate_ensemble import identify_plate
        from slipwise.present.tables_plate import plate_ranges

        print_table(plate_ranges(identify_plate(built.nameplate, _MEMBERS).ranges))
        print()
    print(lines_to_paste(built))

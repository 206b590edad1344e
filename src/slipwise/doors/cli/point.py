"""`slipwise point`: steady operating points."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

from slipwise.doors.cli.options import Repeated, StudyFile, repeated

LARGEST_SLIP = 2.0  # per unit; synchronous speed backwards


def point(
    file: StudyFile,
    /,
    *,
    speed: Annotated[Repeated, repeated('Shaft speed with its unit, such as "1470 r/min".')] = (),
    slip: Annotated[Repeated, repeated('Slip, such as "3 %" or 0.03.')] = (),
    torque: Annotated[
        Repeated, repeated('Shaft torque with its unit, such as "500 N m"; negative when the load drives the motor.')
    ] = (),
    stiff: Annotated[bool, Parameter(help="Hold rated voltage at the terminals, whatever the current.")] = False,
) -> None:
    """Steady operating points of the motor in FILE, on its supply: where the study's load settles, and what you ask for."""
    from slipwise.present.points import points_table
    from slipwise.present.terminal import print_table
    from slipwise.quantity.units import parse
    from slipwise.study import points
    from slipwise.study.reader import load

    drive = points.drive_of(load(file), stiff=stiff)
    synchronous = drive.motor.rating.synchronous_speed
    found = [points.at_load(drive)]
    for text in speed:
        found.append(points.at_speed(drive, parse(text, "rad/s", "--speed").value, text))
    for text in slip:
        found.append(points.at_speed(drive, synchronous * (1 - _slip(text)), f"slip {text}"))
    for text in torque:
        found.append(points.at_torque(drive, parse(text, "N m", "--torque").value, text))
    print_table(points_table(found))


def _slip(text: str) -> float:
    """A slip from the command line; one beyond plugging at full speed was probably meant in per cent."""
    from slipwise.quantity.errors import InputError
    from slipwise.quantity.units import parse

    found = parse(_number(text), "pu", "--slip")
    if abs(found.value) > LARGEST_SLIP:
        number = text.strip().removesuffix("%").strip()
        reason = f"per cent or per unit? It is a slip of {found.value:g}, and 2 is full speed the wrong way"
        meant = found.bare and abs(found.value) <= 100 * LARGEST_SLIP
        remedy = f'write "{number} %" or {found.value / 100:g}' if meant else "ask for a slip of at most 200 %"
        raise InputError.of("--slip", text, reason, remedy)
    return found.value


def _number(text: str) -> str | float:
    """A bare number as a number, so that per cent and per unit stay apart; anything else as written."""
    try:
        return float(text)
    except ValueError:
        return text

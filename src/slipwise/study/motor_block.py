"""A motor as the `[motor]` lines of a study file: plate as entered, circuit, losses and saturation as found."""

from __future__ import annotations

from math import isclose, pi
from typing import TYPE_CHECKING

from pydantic import BaseModel

from slipwise.model.machine.motor import Motor
from slipwise.quantity.units import Parsed, parse
from slipwise.study.circuit_block import circuit_block, plain_number
from slipwise.study.schema.motor import MotorSection

if TYPE_CHECKING:
    from slipwise.study.assemble.motor import BuiltMotor

FOUND = ("rated_speed", "rated_current", "inertia", "friction_and_windage", "stray_load_loss")
SAME = 1e-4  # a value entered that the motor has to within this stands as it was entered


def motor_block(section: MotorSection, motor: Motor) -> str:
    """Lines that drop into a study file in place of `[motor]` and all its tables.

    section: with the plate and, where they were found, losses and saturation; motor: with the circuit.
    """
    lines = ["[motor]", *_plain(section)]
    circuit = [line for line in circuit_block(motor).splitlines() if not line.startswith("#")]
    metals = [
        f'stator_conductor = "{motor.stator_conductor}"',
        f'rotor_conductor = "{motor.rotor_conductor}"',
    ]
    lines += ["", *circuit, *(line for line in metals if line.split(" ")[0] not in "\n".join(circuit))]
    if section.saturation is not None:
        lines += ["", "[motor.saturation]", *_plain(section.saturation)]
    return "\n".join(lines)


def lines_to_paste(built: BuiltMotor) -> str:
    """The motor that was read alone, as `motor_block`, whatever it was found from.

    Raises:
        DomainError: as `circuit_block`.
    """
    if built.identification is not None:
        return built.identification.motor_block
    assert built.section is not None
    whole = _with_found(built.section, built.motor)
    found = [name for name in FOUND if getattr(whole, name) != getattr(built.section, name)]
    told = f"# not entered, but found with the circuit: {', '.join(found)}\n" if found else ""
    return told + motor_block(whole, built.motor)


def _with_found(section: MotorSection, motor: Motor) -> MotorSection:
    """The section with full load, inertia and losses of the motor, where it says nothing or something else."""
    rating = motor.rating
    drag = float(motor.mechanical_torque(rating.speed)) * rating.speed
    numbers = (rating.speed * 30 / pi, rating.current, motor.inertia, drag, motor.stray)
    units = ("r/min", "A", "kg m2", "W", "W")
    update = {}
    for name, number, unit in zip(FOUND, numbers, units, strict=True):
        now = parse(f"{plain_number(number)} {unit}", "rad/s" if unit == "r/min" else unit)
        if _differs(getattr(section, name), now, rating.power):
            update[name] = now
    return section.model_copy(update=update)


def _differs(given: Parsed | None, now: Parsed, power: float) -> bool:
    """Whether the motor has another value than was entered; a loss may have been entered as a share of rated power (W)."""
    if given is None:
        return now.value != 0
    base = power if now.unit == "W" and given.unit != "W" else 1.0
    return not isclose(given.value * base, now.value, rel_tol=SAME)


def _plain(section: BaseModel) -> list[str]:
    """Every value that is set and is no table of its own."""
    lines = []
    for name in type(section).model_fields:
        value = getattr(section, name, None)
        if isinstance(value, Parsed):
            lines.append(f"{name} = {value.text}" if value.bare else f'{name} = "{value.text}"')
        elif isinstance(value, str):
            lines.append(f'{name} = "{value}"')
        elif isinstance(value, int):
            lines.append(f"{name} = {value}")
    return lines

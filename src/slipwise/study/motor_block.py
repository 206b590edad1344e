"""A motor as the `[motor]` lines of a study file: plate as entered, circuit, losses and saturation as found."""

from __future__ import annotations

from pydantic import BaseModel

from slipwise.model.machine.motor import Motor
from slipwise.quantity.units import Parsed
from slipwise.study.circuit_block import circuit_block
from slipwise.study.schema_motor import MotorSection


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

"""A motor's circuit as the lines of a study file, to be pasted there."""

from __future__ import annotations

from math import isfinite

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import DomainError

DIGITS = 6  # so that the pasted circuit gives the same answer to the figures shown


def circuit_block(motor: Motor) -> str:
    """The `[motor.circuit]` table of `motor`, star equivalent, and its losses as comments for `[motor]`.

    Raises:
        DomainError: the motor is known by its curves only, or has more rotor branches than a file can state.
    """
    circuit = motor.circuit
    if circuit is None:
        raise DomainError.of("motor", "curves", "this motor is known by its curves only", "give a plate or a circuit")
    if len(circuit.rotor) > 2:
        raise DomainError.of("motor", len(circuit.rotor), "more than two rotor branches", "use it from Python")
    return "\n".join(
        [*_losses(motor), "[motor.circuit]", 'values = "star equivalent"', *_ohms(circuit), *_state(motor)]
    )


def _ohms(circuit: Circuit) -> list[str]:
    rows = [("R1", circuit.R1), ("X1", circuit.X1), ("Xm", circuit.Xm), ("Rfe", circuit.Rfe)]
    for place, branch in enumerate(circuit.rotor, start=2):
        rows += [(f"R{place}", branch.R), (f"X{place}", branch.X)]
    return [f'{name} = "{plain_number(value)} ohm"' for name, value in rows if isfinite(value)]


def _state(motor: Motor) -> list[str]:
    """Temperatures at which the resistances hold, and which side a wound rotor's values are seen from."""
    lines = [f'temperature_R1 = "{plain_number(motor.stator_temperature)} degC"']
    lines += [
        f'temperature_R{place} = "{plain_number(motor.rotor_temperature)} degC"'
        for place, _ in enumerate(motor.circuit.rotor if motor.circuit else (), start=2)
    ]
    if motor.wound_ratio is not None:
        lines.append('rotor_values = "referred to the stator"')
    return lines


def _losses(motor: Motor) -> list[str]:
    rating = motor.rating
    mechanical = float(motor.mechanical_torque(rating.speed)) * rating.speed
    lines = []
    if mechanical:
        lines.append(f'# under [motor]: friction_and_windage = "{plain_number(mechanical)} W"')
    if motor.stray:
        lines.append(f'# under [motor]: stray_load_loss = "{plain_number(motor.stray)} W"')
    return lines


def plain_number(value: float) -> str:
    """Six figures in plain digits, no exponent."""
    return f"{float(f'{value:.{DIGITS - 1}e}'):.12f}".rstrip("0").rstrip(".")

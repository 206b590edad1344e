"""Winding resistance with temperature, and a motor brought to another temperature (cold and hot cases)."""

from __future__ import annotations

from dataclasses import replace

from slipwise.data import table
from slipwise.model.machine.checks import require_finite
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import DomainError


def temperature_constant(conductor: str, use: str = "IEC") -> float:
    """Constant k of R2/R1 = (k + t2)/(k + t1): 235 for copper by IEC (234.5 by IEEE), 225 for aluminium. [degC]

    Raises:
        DomainError: the conductor is neither copper nor aluminium.

    Source: IEC 60034-1, IEC 60034-2-1; IEEE 112 (from memory).
    """
    rows = [row for row in table("resistance_temperature").rows if row["metal"] == conductor]
    if not rows:
        raise DomainError.of("conductor", conductor, "its temperature constant is not known", "say copper or aluminium")
    return float(next((row for row in rows if use in row["use"]), rows[0])["k"])


def resistance_factor(given_at: float, wanted_at: float, conductor: str) -> float:
    """Resistance at `wanted_at` over resistance at `given_at`, both in degC, for copper or aluminium. [1]

    Raises:
        DomainError: unknown conductor, a temperature not finite or not above -k, where the law ends.

    Source: IEC 60034-2-1 (from memory): R2/R1 = (k + t2)/(k + t1).
    """
    k = temperature_constant(conductor)
    for name, value in (("given_at", given_at), ("wanted_at", wanted_at)):
        require_finite(name, value)
        if value <= -k:
            raise DomainError.of(name, f"{value} degC", f"the law holds above {-k:g} degC", "give it in degC")
    return (k + wanted_at) / (k + given_at)


def at_temperature(
    motor: Motor,
    stator: float,
    rotor: float,
    *,
    stator_conductor: str = "copper",
    rotor_conductor: str = "aluminium",
) -> Motor:
    """The same motor with its windings at `stator` and `rotor` degC; leakage, core loss and friction stay.

    A wound rotor is of copper: say so. A motor known by its curves alone has no resistances to change and comes back
    as it is. External rotor resistance is not part of the motor.

    Raises:
        DomainError: as `resistance_factor`.
    """
    if motor.circuit is None:
        return motor
    warm = motor.circuit.warmed(
        resistance_factor(motor.stator_temperature, stator, stator_conductor),
        resistance_factor(motor.rotor_temperature, rotor, rotor_conductor),
    )
    return replace(motor, circuit=warm, stator_temperature=stator, rotor_temperature=rotor)

"""The motor seen from its terminals at one slip, whether it is known by a circuit or by typed curves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.solve.plan import Stage


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """The motor seen from its terminals at one slip: admittance, and what one ampere of star-equivalent current does."""

    impedance: Any  # ohm
    gap_per_ampere2: Any  # air-gap power per square ampere, W/A2
    core_per_ampere2: Any
    rotor_slip: Any
    external_share: float  # of the rotor loss that falls in resistors on the slip rings
    stator_resistance: Any
    sync_speed: Any


def look_inside(motor: Motor, stage: Stage, speed: Any, frequency: Any) -> Inside:
    """The motor in `stage` at shaft `speed` (rad/s). frequency: per unit of rated; numbers or arrays of one shape.

    Source: per-phase equivalent circuit (Chapman, Electric Machinery Fundamentals, 4th ed., ch. 7).
    """
    rating = motor.rating
    sync = field_speed(motor, stage, frequency)
    slip = 1 - speed / sync
    if motor.circuit is None:
        plain = _typed(motor, speed, slip, sync)
    else:
        plain = computed(motor.circuit, slip, rating.frequency * frequency, sync, stage.rotor_external)
    return tolerant(plain, motor, stage)


def computed(circuit: Circuit, slip: Any, frequency: Any, sync: Any, external: float) -> Inside:
    """A motor known by its circuit. frequency: Hz; sync: speed of the field, rad/s; external: on the slip rings, ohm.

    Source: as `look_inside`, with the rotor as an admittance, so that slip 0 needs no special case.
    """
    rotor = circuit.rotor_admittance(slip, frequency, external)
    gap = circuit.magnetising_admittance(frequency) + rotor
    per_ampere2 = 3 / abs(gap) ** 2
    return Inside(
        impedance=circuit.stator_impedance(frequency) + 1 / gap,
        gap_per_ampere2=per_ampere2 * rotor.real,
        core_per_ampere2=per_ampere2 / circuit.Rfe,
        rotor_slip=slip,
        external_share=external / (circuit.rotor[0].R + external),
        stator_resistance=circuit.R1,
        sync_speed=sync,
    )


def tolerant(inside: Inside, motor: Motor, stage: Stage | None = None) -> Inside:
    """The same motor at its tolerance of locked-rotor current: more amperes for the same power through the air gap.

    The impedance is that of a motor with less leakage: its magnitude divided by the factor k that the tolerance has at this
    slip, its resistance behind the stator's by k squared, so that torque and rotor loss at a voltage stay and the stator's
    loss grows with the current squared; the reactance is what is left. Behind an inverter, where the rotor works near its
    small slip, and with direct current there is nothing to add.
    """
    law = motor.current_tolerance
    if law is None or (stage is not None and stage.frequency is not None):
        return inside
    size = abs(inside.impedance)
    k = law.factor(motor.rating.phase_voltage / size)
    square = k * k
    real = inside.stator_resistance + (inside.impedance.real - inside.stator_resistance) / square
    left = size * size / square - real * real
    reactance = (left if isinstance(left, float) and left > 0 else np.maximum(left, 0.0)) ** 0.5
    return replace(
        inside,
        impedance=real + 1j * reactance,
        gap_per_ampere2=inside.gap_per_ampere2 / square,
        core_per_ampere2=inside.core_per_ampere2 / square,
    )


def _typed(motor: Motor, speed: Any, slip: Any, sync: Any) -> Inside:
    """A motor known by its curves alone: at each speed current follows voltage and torque its square."""
    points = motor.curves or ()
    x = speed / motor.rating.synchronous_speed
    at = [p.speed for p in points]
    current = np.interp(x, at, [p.current for p in points])
    factor = np.interp(x, at, [p.power_factor for p in points])
    torque = np.interp(x, at, [p.torque for p in points]) + motor.mechanical_torque(speed)
    magnitude = motor.rating.phase_voltage / np.maximum(current, 1e-9)
    sine = np.sqrt(1 - factor**2)
    gap = torque * sync / np.maximum(current, 1e-9) ** 2
    resistance = np.maximum(magnitude * factor - gap / 3, 0.0)
    return Inside(
        impedance=magnitude * (factor + 1j * sine),
        gap_per_ampere2=gap,
        core_per_ampere2=0.0 * x,
        rotor_slip=slip,
        external_share=0.0,
        stator_resistance=resistance,
        sync_speed=sync,
    )


def field_speed(motor: Motor, stage: Stage, frequency: Any) -> Any:
    """Speed of the rotating field, against positive speed when the phases are swapped. [rad/s]"""
    return motor.rating.synchronous_speed * frequency * (-1.0 if stage.reversed else 1.0)

"""A motor at the upper tolerance of its locked-rotor current."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import CurrentTolerance, Motor
from slipwise.model.machine.saturated import saturated_point

_HALF = 0.5  # of the locked-rotor current: below it the tolerance has faded, whatever the rated current


def with_current_tolerance(motor: Motor, share: float) -> Motor:
    """The same motor drawing (1 + share) times its locked-rotor current; its torque and its rated current stay.

    What is added fades with the current, from all at the locked-rotor current to nothing at rated current; see
    `solve.inside` for what it is made of. Any tolerance the motor had is replaced.

    Source: IEC 60034-1, table of tolerances, which gives one for the current with locked rotor and none for the rated
    current; that it fades in proportion between the two is common practice, no source.
    """
    if share == 0:
        return motor if motor.current_tolerance is None else replace(motor, current_tolerance=None)
    locked = _locked(motor)
    law = CurrentTolerance(share=share, locked=locked, least=min(motor.rating.current, _HALF * locked))
    return replace(motor, current_tolerance=law)


def like(motor: Motor, other: Motor) -> Motor:
    """`motor`, made from `other` with another circuit, at the tolerance that `other` has."""
    law = other.current_tolerance
    return motor if law is None else with_current_tolerance(motor, law.share)


def _locked(motor: Motor) -> float:
    """Current at standstill and rated voltage, without any tolerance. [A]"""
    rating = motor.rating
    if motor.circuit is None:
        return (motor.curves or ())[0].current
    return _at_rest(motor.circuit, rating.phase_voltage, rating.frequency, rating.synchronous_speed)


@lru_cache(maxsize=64)  # a saturating circuit takes some milliseconds, and a study asks for the same one often
def _at_rest(circuit: Circuit, volts: float, frequency: float, sync: float) -> float:
    return float(abs(saturated_point(circuit, 1.0, volts, frequency, sync).point.stator_current))


def at_every_speed(motor: Motor) -> Motor:
    """The motor with its tolerance in its circuit, where it acts at every speed: each impedance divided by 1 + share.

    All time constants stay; every current and every torque grows by that factor. For the electrical transient, whose
    peaks fall in the first cycles.
    """
    law, c = motor.current_tolerance, motor.circuit
    if law is None or c is None:
        return motor
    k = 1 + law.share
    leakage = c.leakage_saturation  # the same flux per voltage, so it saturates at the larger current
    scaled = Circuit(
        frequency=c.frequency,
        R1=c.R1 / k,
        X1=c.X1 / k,
        Xm=c.Xm / k,
        Rfe=c.Rfe / k,
        rotor=tuple(RotorBranch(R=b.R / k, X=b.X / k) for b in c.rotor),
        leakage_saturation=None if leakage is None else replace(leakage, knee=leakage.knee * k),
        main_saturation=c.main_saturation,
    )
    return replace(motor, circuit=scaled, current_tolerance=None)

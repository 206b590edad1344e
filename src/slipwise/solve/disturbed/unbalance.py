"""A motor on unbalanced line voltages: where it runs on its load, and what load it may keep."""

from __future__ import annotations

from cmath import exp as cexp
from collections.abc import Callable
from dataclasses import dataclass
from math import pi, sqrt

from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.sequence import (
    Sequences,
    UnbalancedPoint,
    greatest_deviation,
    line_phasors,
    negative_share,
    sequences,
    unbalanced_point,
)
from slipwise.solve.disturbed.fed import Fed, settles


@dataclass(frozen=True, slots=True, kw_only=True)
class LineVoltages:
    """Three line voltages at the motor's terminals, rms V, and their unbalance by both definitions.

    deviation: greatest deviation from the mean over the mean (NEMA MG 1) [pu]; share: negative over positive sequence
    (IEC) [pu]; phase: sequence voltages of the star equivalent [V].
    """

    volts: tuple[float, float, float]
    deviation: float
    share: float
    phase: Sequences


def line_voltages(volts: tuple[float, float, float]) -> LineVoltages:
    """Both measures of unbalance and the sequence voltages of three line-voltage magnitudes (V).

    Raises:
        DomainError: no triangle has these sides.
    """
    lines = sequences(*line_phasors(*volts))
    phase = Sequences(
        zero=0j,
        positive=lines.positive / sqrt(3) * cexp(-1j * pi / 6),
        negative=lines.negative / sqrt(3) * cexp(1j * pi / 6),
    )
    return LineVoltages(volts=volts, deviation=greatest_deviation(*volts), share=negative_share(*volts), phase=phase)


def from_share(voltage: float, share: float) -> LineVoltages:
    """Line voltages with a negative sequence of `share` (pu) of the positive one, which is `voltage` (V, line to line).

    Both sequences peak together in the first line voltage, which gives the greatest deviation this share can have.
    """
    magnitudes = Sequences(zero=0j, positive=voltage + 0j, negative=voltage * share + 0j).phases()
    return line_voltages((abs(magnitudes[0]), abs(magnitudes[1]), abs(magnitudes[2])))


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """Where the motor runs on its load. speed: rad/s; None when the load takes it below every balance; slip: 1."""

    speed: float | None
    slip: float
    point: UnbalancedPoint

    @property
    def hottest(self) -> float:
        """Largest rms current of the three windings. [A]"""
        return max(abs(i) for i in self.point.windings)

    @property
    def losses(self) -> float:
        """Stator, rotor and core loss of both fields, three-phase. [W]"""
        return self.point.stator_loss + self.point.rotor_loss + self.point.core_loss


def running(source: Fed, phase: Sequences) -> Running:
    """The motor at sequence voltages `phase` of its terminals (V), on its own load.

    Source: superposition of the circuits at s and 2 - s (Fitzgerald, Kingsley, Umans, Electric Machinery).
    """
    motor = source.drive.motor

    def at(slip: float) -> UnbalancedPoint:
        return unbalanced_point(source.circuit, slip, phase, source.sync, connection=motor.rating.connection)

    def net(speed: float) -> float:
        point = at(source.slip(speed))
        return source.net(speed, point.torque, abs(point.positive.stator_current))

    speed = settles(net, motor.rating.speed, 0.0, 1.5 * source.sync)
    slip = 1.0 if speed is None else source.slip(speed)
    return Running(speed=speed, slip=slip, point=at(slip))


def rated_winding_current(motor: Motor, source: Fed) -> float:
    """Current of one winding at rated slip and balanced rated voltage, by the circuit. [A]"""
    at = operating_point(
        source.circuit, motor.rating.slip, motor.rating.phase_voltage, motor.rating.frequency, source.sync
    )
    return float(abs(at.stator_current)) / (sqrt(3) if motor.rating.connection == "delta" else 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Permitted:
    """Power the motor may give, per unit of rated, from first principles.

    by_winding: until the hottest winding carries its rated current; by_loss: until the losses together are the rated ones.
    0 when even no load is too much.
    """

    by_winding: float
    by_loss: float


def permitted(source: Fed, phase: Sequences) -> Permitted:
    """Load at which the hottest winding, or the losses together, are at their rated values; voltages as in `running`.

    Source: definition; rated values by the same circuit at balanced rated voltage.
    """
    motor = source.drive.motor
    rating = motor.rating
    balanced = Sequences(zero=0j, positive=rating.phase_voltage + 0j, negative=0j)

    def state(slip: float, volts: Sequences) -> Running:
        point = unbalanced_point(source.circuit, slip, volts, source.sync, connection=rating.connection)
        return Running(speed=None, slip=slip, point=point)

    rated = state(rating.slip, balanced)
    full = _power(source, rated)

    def load(measure: Callable[[Running], float]) -> float:
        slip = _slip_at(lambda s: measure(state(s, phase)) - measure(rated), rating.slip)
        return 0.0 if slip is None else max(0.0, _power(source, state(slip, phase)) / full)

    return Permitted(by_winding=load(lambda r: r.hottest), by_loss=load(lambda r: r.losses))


def _power(source: Fed, at: Running) -> float:
    """Shaft power. [W]"""
    motor, speed = source.drive.motor, source.sync * (1 - at.slip)
    current = abs(at.point.positive.stator_current)
    drag = float(motor.mechanical_torque(speed)) + float(motor.stray_torque(speed, current))
    return (at.point.torque - drag) * speed


def _slip_at(excess: Callable[[float], float], rated: float) -> float | None:
    """Slip at which a measure that grows with slip reaches its rated value; None when it is above it from the start."""
    from scipy.optimize import brentq

    if excess(0.0) >= 0:
        return None
    high = rated
    while excess(high) < 0 and high < 1:
        high = min(1.0, 1.3 * high)
    return float(brentq(excess, 0.0, high, xtol=1e-12))

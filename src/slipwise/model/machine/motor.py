"""A motor as the solvers see it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, pi, sqrt
from typing import Any

import numpy as np

from slipwise.model.machine.circuit import Circuit


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """What the plate says. Power in W at the shaft, voltage line rms in V, current line rms in A, speed in rad/s."""

    power: float
    voltage: float
    frequency: float
    poles: int
    speed: float
    current: float
    connection: str  # "star" or "delta": the running connection
    power_factor: float | None = None
    efficiency: float | None = None

    @property
    def synchronous_speed(self) -> float:
        """Of the shaft at rated frequency. [rad/s]"""
        return 4 * pi * self.frequency / self.poles

    @property
    def torque(self) -> float:
        """Rated shaft torque = power / speed. [N m]"""
        return self.power / self.speed

    @property
    def slip(self) -> float:
        return 1 - self.speed / self.synchronous_speed

    @property
    def phase_voltage(self) -> float:
        """Of the star equivalent. [V]"""
        return self.voltage / sqrt(3)


@dataclass(frozen=True, slots=True, kw_only=True)
class MechanicalLoss:
    """Friction and windage: torque = torque_at_synchronous x (speed / synchronous)^exponent. [N m]"""

    torque: float = 0.0
    exponent: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StallLimit:
    """How long the rotor may stand still at rated voltage, from cold and from hot. [s]; None when unknown."""

    cold: float | None = None
    hot: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """One typed point of a maker's start curve at rated voltage. speed in per unit of synchronous; torque N m; current A."""

    speed: float
    torque: float
    current: float
    power_factor: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentTolerance:
    """How much more than its circuit or its curves say a motor draws at standstill, fading to nothing at rated current.

    share: of the locked-rotor current, per unit of it. locked: that current without the tolerance. least: at and below it
    nothing is added. Both rms line amperes at rated voltage.
    """

    share: float
    locked: float
    least: float

    def factor(self, current: Any) -> Any:
        """On the current, where without the tolerance it is `current` (A) at rated voltage; shape of `current`. [1]"""
        fade = (current - self.least) / (self.locked - self.least)
        held = min(max(fade, 0.0), 1.0) if isinstance(fade, float) else np.clip(fade, 0.0, 1.0)
        return 1 + self.share * held


@dataclass(frozen=True, slots=True, kw_only=True)
class Motor:
    """One induction motor. Exactly one of `circuit` and `curves` is set.

    circuit: star equivalent of the running connection at `stator_temperature`, `rotor_temperature`.
    curves: typed points, ascending in speed, straight lines between; such a motor has no electrical transient.
    inertia: rotor alone. [kg m2]
    stray: stray load loss at rated output, W; charged to the shaft, see `stray_torque`.
    wound_ratio: of a wound rotor, phase voltage of the stator's star equivalent over that of the rotor's, standing still with
        open rings: the same as line voltage over line voltage. Ohms seen from the stator are those in the rotor (star
        equivalent) times its square, currents in the rings those seen from the stator times it. None for a cage.
    current_tolerance: on the locked-rotor current, in the steady state on a line; None: as the circuit or the curves say.
    stator_conductor, rotor_conductor: "copper" or "aluminium"; `temperature.py` turns a temperature into a resistance ratio.
    """

    rating: Rating
    inertia: float
    circuit: Circuit | None = None
    curves: tuple[CurvePoint, ...] | None = None
    mechanical_loss: MechanicalLoss = MechanicalLoss()
    stray: float = 0.0
    stall: StallLimit = StallLimit()
    wound_ratio: float | None = None
    stator_temperature: float = 75.0
    rotor_temperature: float = 75.0
    stator_conductor: str = "copper"
    rotor_conductor: str = "aluminium"
    locked_rotor_current: float | None = None
    locked_rotor_torque: float | None = None
    maximum_speed: float = inf
    current_tolerance: CurrentTolerance | None = None

    def mechanical_torque(self, speed: Any) -> Any:
        """Friction and windage opposing motion at shaft speed `speed` (rad/s); shape of `speed`. [N m]"""
        loss = self.mechanical_loss
        if not loss.torque:
            return 0.0 * speed
        ratio = abs(speed) / self.rating.synchronous_speed
        return loss.torque * _sign(speed) * ratio**loss.exponent

    def stray_torque(self, speed: Any, current: Any) -> Any:
        """Braking torque of the stray load loss at shaft speed (rad/s) and rms line current (A); shape of `speed`. [N m]

        Loss proportional to current squared and to speed squared, so that locked-rotor torque is not touched
        (common practice, no source).
        """
        if not self.stray:
            return 0.0 * speed
        rating = self.rating
        return self.stray / rating.speed * (current / rating.current) ** 2 * speed / rating.speed


def _sign(speed: Any) -> Any:
    """1 for positive, -1 for negative, 0 at rest; for numbers and arrays alike."""
    return (speed > 0) * 1.0 - (speed < 0) * 1.0

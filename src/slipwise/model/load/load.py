"""The driven machine seen at the motor shaft."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerTerm:
    """torque = coefficient x |speed / base_speed|^exponent, with the sign of the speed unless `overhauling`.

    exponent 0 is a constant torque. An overhauling term keeps its own sign under reversal (a hanging weight).
    """

    coefficient: float  # N m
    exponent: float
    overhauling: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """Load torque against shaft speed, breakaway, and inertia, all referred to the motor shaft.

    terms: summed power laws of the running torque.
    base_speed: speed at which each term has its coefficient. [rad/s]
    curve_speed, curve_torque: a typed curve, straight lines between points, added to the terms; empty when none. [rad/s], [N m]
    breakaway: passive torque that holds it at standstill, beside any that overhauls. [N m]; above the running torque it decays
        linearly to nothing at breakaway_speed. [rad/s]
    inertia: of everything but the rotor. [kg m2]
    travel: way of a mass that moves in a line, a belt or a car, per angle of the motor shaft; 0 when none does. [m/rad]
    """

    terms: tuple[PowerTerm, ...]
    base_speed: float
    inertia: float
    curve_speed: tuple[float, ...] = ()
    curve_torque: tuple[float, ...] = ()
    breakaway: float = 0.0
    breakaway_speed: float = 0.0
    travel: float = 0.0

    @property
    def pull(self) -> float:
        """Torque of the overhauling terms at standstill, which acts without motion. [N m]"""
        return sum(t.coefficient for t in self.terms if t.overhauling and t.exponent == 0)

    @property
    def holding(self) -> float:
        """Passive torque that must be overcome to leave standstill: breakaway or the running torque at rest. [N m]"""
        return max(self.breakaway, float(self.running(0.0)) - self.pull)

    @property
    def excess(self) -> float:
        """Breakaway above the passive running torque at rest: what fades away once it moves. [N m]"""
        return max(0.0, self.breakaway - (float(self.running(0.0)) - self.pull))

    def running(self, speed: Any) -> Any:
        """Running torque, without breakaway; shape of `speed`. [N m]"""
        if type(speed) is float and not self.curve_speed:
            return self._running_at(speed)
        ratio = np.abs(speed) / self.base_speed
        sign = np.where(np.asarray(speed) < 0, -1.0, 1.0)
        total = 0.0 * np.asarray(speed, dtype=float)
        for term in self.terms:
            part = term.coefficient * (ratio**term.exponent if term.exponent else 1.0)
            total = total + (part if term.overhauling else sign * part)
        if self.curve_speed:
            total = total + np.interp(np.asarray(speed) * sign, self.curve_speed, self.curve_torque) * sign
        return total

    def _running_at(self, speed: float) -> float:
        """The same sum in plain numbers, for the run-up, which asks at one speed after another. [N m]"""
        ratio, sign, total = abs(speed) / self.base_speed, -1.0 if speed < 0 else 1.0, 0.0
        for term in self.terms:
            part = term.coefficient * (ratio**term.exponent if term.exponent else 1.0)
            total += part if term.overhauling else sign * part
        return total

    def torque(self, speed: Any) -> Any:
        """Torque opposing motion including the breakaway excess near standstill; shape of `speed`. [N m]"""
        running = self.running(speed)
        if self.breakaway_speed <= 0 or (type(speed) is float and abs(speed) >= self.breakaway_speed):
            return running
        fade = np.clip(1 - np.abs(speed) / self.breakaway_speed, 0.0, 1.0)
        return running + np.where(np.asarray(speed) < 0, -1.0, 1.0) * self.excess * fade

"""The double-cage circuit that reproduces rated, locked-rotor and breakdown values together, in per unit.

Per unit here: phase voltage 1, rated current 1. The rated point fixes core loss and magnetising reactance once the
stator impedance is chosen; the locked-rotor point fixes the rotor admittance at slip 1. With T = X/R of each cage, two
cages meet that admittance in closed form for any T3 < phi < T2, phi being the admittance's own X/R. What is left are two
equations (rated slip, breakdown torque) in T2 and T3; where they have no solution the split of the stator impedance
moves away from its usual value, and last the plate values move inside their own rounding.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from typing import Any

import numpy as np

_SCAN = np.geomspace(1e-3, 1.0, 60)
STILL = (0.0, 0.0, 0.0, 0.0)  # no plate value moved


class NoCircuitError(Exception):
    """No circuit exists at this trial point; the words say which part of it fails."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One ratio the circuit should show: its value, how far it may move (relative), and whether it was given at all.

    A given value is met exactly where a circuit allows, else inside `slack`; a typical value may move over `slack` freely.
    """

    value: float
    slack: float
    given: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """What the circuit must reproduce. Ratios to rated current and rated torque; pull_up may be None.

    shares: of the loss that is neither rotor loss nor output, how much is mechanical and how much stray; the rest is
    divided between stator copper (`stator_share`) and core.  stator_leakage: share of the locked-rotor reactance in X1.
    """

    slip: Wish
    power_factor: float
    efficiency: float
    current: Wish
    torque: Wish
    breakdown: Wish
    pull_up: float | None = None
    mechanical: float | None = None  # given loss, per unit of rated apparent power
    mechanical_share: float = 0.12
    stray_share: float = 0.18
    stator_share: float = 0.6
    stator_leakage: float = 0.5

    @property
    def first_peak(self) -> bool:
        """Whether breakdown is the first peak from synchronous speed because standstill shows more torque still."""
        return self.torque.value > self.breakdown.value * (1 + self.breakdown.slack) * (1 + self.torque.slack)

    @property
    def monotone(self) -> bool:
        """Whether the highest torque is that of standstill, so that nowhere else may there be more."""
        return not self.first_peak and self.torque.value >= self.breakdown.value

    def high(self, cages: Cages, top: float) -> float:
        """Miss of the breakdown torque (log); with the peak at standstill only an excess counts."""
        aim = max(self.breakdown.value, self.torque.value) if self.monotone else self.breakdown.value
        miss = log(max(cages.torque(top), 1e-9) / aim)
        return max(miss, 0.0) if self.monotone else miss


@dataclass(frozen=True, slots=True)
class Cages:
    """A trial circuit in per unit; mechanical and stray loss at the rated point, rated output and slip beside it."""

    slip: float
    R1: float
    X1: float
    core: float  # conductance of Rfe
    magnetising: float  # susceptance of Xm
    R2: float
    X2: float
    R3: float
    X3: float
    mechanical: float
    stray: float
    output: float
    conductance_ratio: float  # rotor conductance at rated slip over the wanted one

    def torque(self, slip: Any) -> Any:
        """Shaft torque over rated torque; shape of `slip`."""
        rotor = slip / (self.R2 + 1j * slip * self.X2) + slip / (self.R3 + 1j * slip * self.X3)
        beyond = self.core - 1j * self.magnetising + rotor
        gap = 1 / (1 + complex(self.R1, self.X1) * beyond)
        current = gap * beyond
        drag = self.mechanical + self.stray * (current.real * current.real + current.imag * current.imag)
        running = 1 - self.slip
        gap_power = (gap.real * gap.real + gap.imag * gap.imag) * rotor.real
        return (gap_power - drag * (1 - slip) / (running * running)) * running / self.output


def _sigmoid(x: float) -> float:
    return 1 / (1 + exp(-x)) if x > -500 else 0.0


def _logit(share: float) -> float:
    return log(share / (1 - share))


@dataclass(frozen=True, slots=True)
class Stator:
    """What the rated and the locked-rotor point say before the rotor is known."""

    slip: float
    R1: float
    X1: float
    core: float
    mechanical: float
    stray: float
    output: float
    conductance: float  # rotor conductance wanted at rated slip
    susceptance: float  # of rotor and magnetising branch together at rated slip
    locked_conductance: float  # of the rotor at slip 1
    locked_susceptance: float  # of rotor and magnetising branch together at slip 1


def stator_side(goal: Goal) -> Stator:
    """The stator side at usual proportions, with the plate values as they stand."""
    return stator_of(goal, (0.0, 0.0, 0.0, 0.0), STILL)


def _losses(goal: Goal, slip: float, output: float) -> tuple[float, float, float]:
    """Mechanical, stray and (stator copper + core) loss from what the rotor leaves over."""
    left = goal.power_factor - output / (1 - slip)
    if left <= 0:
        raise NoCircuitError("efficiency")
    mechanical = goal.mechanical_share * left * (1 - slip)
    if goal.mechanical is not None:
        mechanical = goal.mechanical
    stray = goal.stray_share * left * (1 - slip)
    rest = left - (mechanical + stray) / (1 - slip)
    if rest <= 0:
        raise NoCircuitError("mechanical_loss")
    return mechanical, stray, rest


def stator_of(goal: Goal, x: Sequence[float], moved: Sequence[float]) -> Stator:
    """Stator side of a trial point: x[2] and x[3] move leakage and copper share, `moved` the plate values (log)."""
    slip = goal.slip.value * exp(moved[3])
    power = goal.power_factor
    output = power * goal.efficiency
    mechanical, stray, rest = _losses(goal, slip, output)
    R1 = rest * _sigmoid(_logit(goal.stator_share) + x[3])
    locked = goal.current.value * exp(moved[0])
    gap_locked = goal.torque.value * exp(moved[1]) * output / (1 - slip)
    active = (gap_locked + R1 * locked * locked) / locked
    if active >= 0.999:
        raise NoCircuitError("locked_rotor_torque_ratio")
    X1 = sqrt(1 - active * active) / locked * _sigmoid(_logit(goal.stator_leakage) + x[2])
    impedance = complex(R1, X1)
    current = complex(power, -sqrt(1 - power * power))
    gap = 1 - current * impedance
    square = gap.real * gap.real + gap.imag * gap.imag
    admittance = current / gap
    core = (rest - R1) / square
    conductance, susceptance = _locked(impedance, locked, gap_locked, core)
    return Stator(
        slip,
        R1,
        X1,
        core,
        mechanical,
        stray,
        output,
        (output + mechanical + stray) / (1 - slip) / square,
        -admittance.imag,
        conductance,
        susceptance,
    )


def _locked(impedance: complex, locked: float, gap_power: float, core: float) -> tuple[float, float]:
    """Rotor conductance, and susceptance behind the gap, at slip 1; the core loss there is found by iteration."""
    core_loss = 0.0
    for _ in range(30):
        active = (gap_power + impedance.real * locked * locked + core_loss) / locked
        if active >= 1:
            raise NoCircuitError("locked_rotor_torque_ratio")
        current = locked * complex(active, -sqrt(1 - active * active))
        gap = 1 - current * impedance
        square = gap.real * gap.real + gap.imag * gap.imag
        last, core_loss = core_loss, core * square
        if abs(core_loss - last) < 1e-13:
            break
    return gap_power / square, -(current / gap).imag


def cages_of(side: Stator, x: Sequence[float]) -> Cages:
    """Both cages from T2 = phi (1 + exp x0) and T3 = phi / (1 + exp -x1); the magnetising branch by iteration."""
    above, below = 1 + exp(min(x[0], 50.0)), _sigmoid(x[1])
    slip, s2 = side.slip, side.slip * side.slip
    g1, magnetising = side.locked_conductance, 0.8 * side.susceptance
    for _ in range(60):
        b1 = side.locked_susceptance - magnetising
        if b1 <= 0 or g1 <= 0:
            raise NoCircuitError("power_factor")
        t2, t3 = b1 / g1 * above, b1 / g1 * below
        apart = t2 - t3
        k2 = (b1 - t3 * g1) / apart * (1 + t2 * t2)
        k3 = (t2 * g1 - b1) / apart * (1 + t3 * t3)
        d2, d3 = k2 / (1 + s2 * t2 * t2), k3 / (1 + s2 * t3 * t3)
        last, magnetising = magnetising, side.susceptance - s2 * (d2 * t2 + d3 * t3)
        if abs(magnetising - last) < 1e-13:
            break
    if not (magnetising > 0 and k2 > 0 and k3 > 0):
        raise NoCircuitError("power_factor")
    return Cages(
        slip,
        side.R1,
        side.X1,
        side.core,
        magnetising,
        1 / k2,
        t2 / k2,
        1 / k3,
        t3 / k3,
        side.mechanical,
        side.stray,
        side.output,
        slip * (d2 + d3) / side.conductance,
    )


def trial(goal: Goal, x: Sequence[float], moved: Sequence[float] = (0.0, 0.0, 0.0, 0.0)) -> Cages:
    """The circuit at one trial point; raises NoCircuitError when there is none."""
    return cages_of(stator_of(goal, x, moved), x)


def peak(cages: Cages, first: bool) -> float:
    """Slip of the highest shaft torque in the starting range, or of the first peak from synchronous speed."""
    torque = cages.torque(_SCAN)
    at = int(np.argmax(torque))
    if first:
        falls = np.flatnonzero(torque[1:] < torque[:-1])
        at = int(falls[0]) if falls.size else len(_SCAN) - 1
    if at in {0, len(_SCAN) - 1}:
        return float(_SCAN[at])
    return _refined(cages.torque, log(_SCAN[at]), log(_SCAN[1] / _SCAN[0]))


def valley(cages: Cages, top: float) -> float:
    """Slip of the lowest shaft torque between standstill and the peak at slip `top`."""
    slips = np.compress(np.greater(_SCAN, top), _SCAN)
    if slips.size < 3:
        return 1.0
    torque = cages.torque(slips)
    at = int(np.argmin(torque))
    if at in {0, len(slips) - 1}:
        return float(slips[at])
    return _refined(lambda s: -cages.torque(s), log(slips[at]), log(_SCAN[1] / _SCAN[0]))


def _refined(curve: Callable[[float], float], middle: float, width: float) -> float:
    """Top of a curve near exp(middle), in log slip, by parabolas of shrinking width."""
    low, high, step = middle - width, middle + width, width / 2
    for _ in range(6):
        left, here, right = curve(exp(middle - step)), curve(exp(middle)), curve(exp(middle + step))
        bend = left - 2 * here + right
        if bend >= 0:
            break
        move = 0.5 * step * (left - right) / bend
        middle = min(max(middle + move, low), high)
        if abs(move) < 1e-6:
            break
        step = min(step, max(4 * abs(move), 1e-4))
    return min(1.0, exp(middle))

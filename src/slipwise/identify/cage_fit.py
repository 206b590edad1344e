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
_STILL = (0.0, 0.0, 0.0, 0.0)
_VALLEY = 0.005  # how exactly a stated pull-up torque is sought; torque harmonics are not in the circuit
_HARD = 1e4  # weight of an equation that must hold, against 1 for a soft wish


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
    return _stator(goal, (0.0, 0.0, 0.0, 0.0), _STILL)


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


def _stator(goal: Goal, x: Sequence[float], moved: Sequence[float]) -> Stator:
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


def _cages(side: Stator, x: Sequence[float]) -> Cages:
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
    return _cages(_stator(goal, x, moved), x)


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


@dataclass(frozen=True, slots=True)
class Solution:
    """A circuit and how well it meets the goal.

    error: largest relative miss of rated slip conductance and breakdown torque; `moved`: logarithmic moves of
    locked-rotor current, locked-rotor torque, breakdown torque and slip. steps: of the iteration, all stages.
    valley_miss: of a stated pull-up torque (logarithmic); 0 when none is stated.
    """

    cages: Cages
    error: float
    moved: tuple[float, float, float, float]
    x: tuple[float, float, float, float]
    steps: int
    valley_miss: float = 0.0

    def excess(self, goal: Goal) -> float:
        """Largest move of a given value over what its rounding allows; 0 when none was moved."""
        wishes = (goal.current, goal.torque, goal.breakdown, goal.slip)
        return max(abs(m) / w.slack if w.given else 0.0 for m, w in zip(self.moved, wishes, strict=True))


_STARTS = ((0.8, -1.0), (-1.5, -0.5), (2.5, -2.5), (0.5, 1.5), (4.0, -0.5))


def solve(goal: Goal) -> Solution:
    """The circuit nearest to usual proportions that meets the goal.

    Raises:
        NoCircuitError: no trial point carries a circuit at all; the words name the plate value that forbids it.
    """
    spent = 0
    direct, spent = _newton(goal)
    if direct is not None and goal.pull_up is None:
        return direct
    starts = [(*s, 0.0, 0.0) for s in _STARTS]
    if direct is not None:
        starts.insert(0, direct.x)
    best = _search(goal, moving=False, starts=starts, spent=spent)
    if best is not None and best.error < 1e-6:
        return best
    starts = [(*s, 0.0, 0.0) for s in _STARTS[:3]]
    if best is not None:
        starts.insert(0, best.x)
    moved = _search(goal, moving=True, starts=starts, spent=spent)
    chosen = moved or best
    if chosen is None:
        trial(goal, (0.8, -1.0, 0.0, 0.0))
        raise NoCircuitError("locked_rotor_torque_ratio")
    return chosen


def _ratio(side: Stator, x0: float, x1: float) -> float | None:
    """Logarithm of the rotor conductance at rated slip over the wanted one; None where there is no circuit."""
    try:
        return log(_cages(side, (x0, x1)).conductance_ratio)
    except NoCircuitError:
        return None


def _at_rated_slip(side: Stator, x1: float) -> float | None:
    """x0 that meets the rated slip for a given x1: scan, then regula falsi with halving; None when there is no crossing."""
    low, below = -6.0, _ratio(side, -6.0, x1)
    if below is None or below > 0:
        return None
    high, above, stride = low, below, 1.0
    while above < 0:
        trial_x, here = high + stride, None
        if trial_x < 6:
            here = _ratio(side, trial_x, x1)
        if here is None:  # beyond the last circuit: creep up to it
            stride *= 0.5
            if stride < 0.01:
                return None
            continue
        low, below, high, above = high, above, trial_x, here
    for turn in range(60):
        middle = low - below * (high - low) / (above - below) if turn % 3 else 0.5 * (low + high)
        here = _ratio(side, middle, x1)
        if here is None:
            return None
        if abs(here) < 1e-10:
            return middle
        if here < 0:
            low, below = middle, here
        else:
            high, above = middle, here
    return 0.5 * (low + high)


def _newton(goal: Goal) -> tuple[Solution | None, int]:
    """Secant in x1 on the breakdown torque, x0 meeting the rated slip throughout, stator at usual proportions.

    None when there is no solution inside moderate proportions; the search over more unknowns then takes over.
    """
    steps = 0
    try:
        side = _stator(goal, (*_STARTS[0], 0.0, 0.0), _STILL)
        seen: list[tuple[float, float]] = []
        x1 = -1.0
        for steps in range(1, 14):
            x0 = _at_rated_slip(side, x1)
            if x0 is None:
                return None, steps
            cages = _cages(side, (x0, x1))
            high = goal.high(cages, peak(cages, goal.first_peak))
            if abs(high) < 1e-8:
                return Solution(cages, abs(high), _STILL, (x0, x1, 0.0, 0.0), steps), steps
            seen.append((x1, high))
            x1 = _next(seen)
            if not -4.5 < x1 < 4.5 or not x0 > -4:
                return None, steps
    except NoCircuitError:
        pass
    return None, steps


def _next(seen: list[tuple[float, float]]) -> float:
    """Next trial of a one-unknown search: secant through the last two, held to steps of at most 2."""
    x, y = seen[-1]
    if len(seen) == 1:
        return x + (0.5 if y > 0 else -0.5)
    x_, y_ = seen[-2]
    move = -y * (x - x_) / (y - y_) if y != y_ else 1.0
    return x + max(-2.0, min(2.0, move))


def _residual(goal: Goal, point: Sequence[float], top: float | None) -> tuple[list[float], float, Cages]:
    """Weighted equations, then wishes on the proportions, then the moves of the plate values where they may move."""
    x, moved = point[:4], tuple(point[4:]) or _STILL
    cages = trial(goal, x, moved)
    if top is None:
        top = peak(cages, goal.first_peak)
    high = goal.high(cages, top)
    rows = [_HARD * log(cages.conductance_ratio), _HARD * (high if goal.monotone else high - moved[2])]
    rows += [x[0] / 4 - 0.1, x[1] / 4 + 0.25, x[2], x[3] / 0.7]
    if goal.pull_up is not None:
        low = max(cages.torque(valley(cages, top)), 1e-9)
        rows.append(log(low / goal.pull_up) / _VALLEY)
    if len(point) > 4:
        wishes = (goal.current, goal.torque, goal.breakdown, goal.slip)
        rows += [_wish(m / w.slack, w.given) for m, w in zip(moved, wishes, strict=True)]
    return rows, top, cages


def _wish(share: float, given: bool) -> float:
    """Weight of a move: free for a typical value; for a given one steep towards the edge of its rounding, so that the
    moves are spread over all values rather than laid on the most willing."""
    return 3 * share + 30 * share * abs(share) if given else share


def _search(
    goal: Goal, *, moving: bool, starts: Sequence[tuple[float, float, float, float]], spent: int
) -> Solution | None:
    """Best of several least-squares descents; stops at the first that is exact and, when moving, inside the rounding."""
    best: tuple[float, Solution] | None = None
    for start in starts:
        point = np.array([*start, *_STILL] if moving else start)
        try:
            found = _descend(goal, point)
        except NoCircuitError:
            continue
        spent += found.steps
        excess = found.excess(goal)
        score = max(found.error / 1e-3, excess, abs(found.valley_miss) / 0.02)
        if best is None or score < best[0]:
            best = (score, found)
        if score < (0.5 if moving or goal.pull_up is not None else 1e-3):
            break
    return best and best[1]


def _descend(goal: Goal, point: Any) -> Solution:
    """Levenberg-Marquardt descent with differences for the Jacobian, the slip of the peak held while they are taken."""
    rows, top, cages = _residual(goal, point, None)
    r = np.array(rows)
    cost, damping, steps = float(r @ r), 1e-3, 0
    while steps < 80:
        steps += 1
        slope = _slope(goal, point, r, top)
        taken = _step(goal, point, (slope.T @ slope, slope.T @ r), cost, damping)
        if taken is None:
            break
        point, r, top, cages, lower, damping = taken
        gain, cost = cost - lower, lower
        settled = float(np.abs(r[:2]).max()) < 1e-6 * _HARD
        if gain < (1e-3 if settled else 1e-8) * (1 + cost):
            break
    error = float(np.abs(r[:2]).max()) / _HARD
    x0, x1, x2, x3 = (float(v) for v in point[:4])
    current, torque, breakdown, slip = (float(v) for v in point[4:]) if len(point) > 4 else _STILL
    low = 0.0 if goal.pull_up is None else float(r[6]) * _VALLEY
    return Solution(cages, error, (current, torque, breakdown, slip), (x0, x1, x2, x3), steps, low)


def _slope(goal: Goal, point: Any, r: Any, top: float) -> Any:
    columns = []
    for k in range(len(point)):
        h = 1e-6
        shifted = point.copy()
        shifted[k] += h
        try:
            rows = _residual(goal, shifted, top)[0]
        except NoCircuitError:
            shifted[k] -= 2 * h
            h = -h
            rows = _residual(goal, shifted, top)[0]
        columns.append((np.array(rows) - r) / h)
    return np.array(columns).T


def _step(goal: Goal, point: Any, fall: tuple[Any, Any], cost: float, damping: float) -> Any:
    """A step that lowers the cost, with the damping raised until one does; None when none is found."""
    normal, gradient = fall
    for _ in range(14):
        move = -np.linalg.solve(normal + damping * np.diag(np.maximum(np.diag(normal), 1e-6)), gradient)
        move *= min(1.0, 1.5 / max(float(np.abs(move).max()), 1e-12))
        try:
            rows, top, cages = _residual(goal, point + move, None)
            r = np.array(rows)
            lower = float(r @ r)
            if lower < cost:
                return point + move, r, top, cages, lower, damping * 0.15
        except (NoCircuitError, OverflowError):
            pass
        damping = max(damping * 8, 1e-6)
    return None

"""The search for the double-cage circuit of a plate: one unknown where that is enough, least squares where it is not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from typing import Any

import numpy as np

from slipwise.identify.cage_fit import (
    STILL,
    Cages,
    Goal,
    NoCircuitError,
    Stator,
    cages_of,
    peak,
    stator_of,
    trial,
    valley,
)

_VALLEY = 0.005  # how exactly a stated pull-up torque is sought; torque harmonics are not in the circuit
_HARD = 1e4  # weight of an equation that must hold, against 1 for a soft wish


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
    starts = [(*s, 0.0, 0.0) for s in (_STARTS if goal.pull_up is not None else _STARTS[1::-1])]
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
        return log(cages_of(side, (x0, x1)).conductance_ratio)
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
        side = stator_of(goal, (*_STARTS[0], 0.0, 0.0), STILL)
        seen: list[tuple[float, float]] = []
        x1 = -1.0
        for steps in range(1, 14):
            x0 = _at_rated_slip(side, x1)
            if x0 is None:
                return None, steps
            cages = cages_of(side, (x0, x1))
            high = goal.high(cages, peak(cages, goal.first_peak))
            if abs(high) < 1e-8:
                return Solution(cages, abs(high), STILL, (x0, x1, 0.0, 0.0), steps), steps
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
    x, moved = point[:4], tuple(point[4:]) or STILL
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
        point = np.array([*start, *STILL] if moving else start)
        try:
            found = _descend(goal, point, 60 if moving else 40)
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


def _descend(goal: Goal, point: Any, most: int) -> Solution:
    """Levenberg-Marquardt descent with differences for the Jacobian, the slip of the peak held while they are taken."""
    rows, top, cages = _residual(goal, point, None)
    r = np.array(rows)
    cost, damping, steps = float(r @ r), 1e-3, 0
    while steps < most:
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
    current, torque, breakdown, slip = (float(v) for v in point[4:]) if len(point) > 4 else STILL
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

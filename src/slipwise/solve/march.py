"""Dormand-Prince 5(4) in plain Python for small smooth systems, with a test for stiffness that hands on to an implicit method.

Used where a step is a few network solutions (the run-up); the electrical transient has its own compiled stepper.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf, isfinite

import numpy as np

from slipwise.results.series import Array
from slipwise.solve.implicit import implicit
from slipwise.solve.step import Rate, Step, endless

_C = (0.0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0, 1.0)
_A = (
    np.array([1 / 5]),
    np.array([3 / 40, 9 / 40]),
    np.array([44 / 45, -56 / 15, 32 / 9]),
    np.array([19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729]),
    np.array([9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656]),
    np.array([35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84]),
)
_E = np.array([71 / 57600, 0.0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40])
_D = np.array(
    [
        [1.0, -8048581381 / 2820520608, 8663915743 / 2820520608, -12715105075 / 11282082432],
        [0.0, 0.0, 0.0, 0.0],
        [0.0, 131558114200 / 32700410799, -68118460800 / 10900136933, 87487479700 / 32700410799],
        [0.0, -1754552775 / 470086768, 14199869525 / 1410260304, -10690763975 / 1880347072],
        [0.0, 127303824393 / 49829197408, -318862633887 / 49829197408, 701980252875 / 199316789632],
        [0.0, -282668133 / 205662961, 2019193451 / 616988883, -1453857185 / 822651844],
        [0.0, 40617522 / 29380423, -110615467 / 29380423, 69997945 / 29380423],
    ]
)
_BEARS, _NEAR = 2.5, 0.25  # step times the rate of the system: near the bound of the explicit method (3.3); on the way
_STIFF = 600  # points at which the implicit method takes over
_HELD = 10  # points of a step at the first of the two bounds above; one at the second counts 1
_CALM = 6  # steps in a row below both that end the count


def march(
    rate: Rate,
    start: float,
    end: float,
    state: Array,
    *,
    relative: float,
    scale: Array,
    largest: float,
    fed_back: slice = slice(None),
) -> Iterator[Step]:
    """Accepted steps from `start` to `end`.

    relative: error allowed per step, per unit of `scale` (shape (n,)) or of the state, whichever is larger.
    largest: longest step. [s]
    fed_back: the components that the rates depend on; the others are integrated beside them.

    Raises:
        InputError: the rates are not finite, or no step is short enough.

    Source: Dormand and Prince, J. Comput. Appl. Math. 6 (1980) 19; interpolant of Shampine, Math. Comp. 46 (1986) 135;
    test for stiffness of Hairer and Wanner, Solving Ordinary Differential Equations II, sect. IV.2 (from memory).
    """
    time, y = start, state
    first = rate(time, y)
    size, watch = min(largest, 1e-3, end - start, _first_size(first[fed_back], scale[fed_back])), _Watch()
    while time < end:
        size = min(size, end - time, largest)
        if size < end - time and not time + size > time:
            raise endless(f"at {time:.4g} s no step is short enough")
        try:
            stages, new, before = _stages(rate, time, y, first, size)
            error = _error(size * (_E @ stages), new, scale) / relative
        except OverflowError:
            error = inf
        if error <= 1.0:
            yield Step(time=time, size=size, state=y, course=size * (_D.T @ stages))
            time, y, first = (end if end - time - size < 1e-12 * size else time + size), new, stages[6]
            if watch.stiff(size, (stages[6] - stages[5])[fed_back], (new - before)[fed_back], scale[fed_back]):
                how = {"relative": relative, "largest": largest, "size": size}
                yield from implicit(rate, time, end, y, scale=scale, fed_back=fed_back, **how)
                return
        size *= min(5.0, max(0.2, 0.9 * max(error, 1e-10) ** -0.2))


def _first_size(rates: Array, scale: Array) -> float:
    """A step in which no component gains more than a tenth of its scale. [s]"""
    return 0.1 / max(float(np.max(abs(rates) / scale)), 1e-9)


def _stages(rate: Rate, time: float, y: Array, first: Array, size: float) -> tuple[Array, Array, Array]:
    """Rates at the seven points of a step, shape (7, n); the state at the last and at the last but one of them."""
    stages = np.empty((7, y.size))
    stages[0] = first
    new = before = y
    for i, row in enumerate(_A, start=1):
        before, new = new, y + size * (row @ stages[:i])
        stages[i] = rate(time + _C[i] * size, new)
    return stages, new, before


def _error(error: Array, new: Array, scale: Array) -> float:
    """The largest error per unit of scale or state; infinite when something is not finite."""
    largest = float(np.max(abs(error) / np.maximum(scale, abs(new))))
    return largest if isfinite(largest) else inf


@dataclass(slots=True)
class _Watch:
    """Counts the steps that the rate of the system holds short, and those in a row that it does not."""

    points: int = 0
    calm: int = 0

    def stiff(self, size: float, rates: Array, states: Array, scale: Array) -> bool:
        """Whether the system has turned out to be stiff, after one more step.

        rates, states: differences between the last two points of the step, at the same time.
        """
        change, moved = size * float(np.linalg.norm(rates / scale)), float(np.linalg.norm(states / scale))
        if change > _NEAR * moved > 0:
            self.points, self.calm = self.points + (_HELD if change > _BEARS * moved else 1), 0
        else:
            self.calm += 1
            self.points = self.points if self.calm < _CALM else 0
        return self.points >= _STIFF

"""Dormand-Prince 5(4) in plain Python for small smooth systems: steps, dense output, events.

Used where a step is a few network solutions (the run-up); the electrical transient has its own compiled stepper.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from slipwise.results.series import Array

Rate = Callable[[float, Array], Array]
Event = Callable[[float, Array], float]

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One accepted step with its interpolant, fourth order between the ends.

    time, state at the beginning; size; stages: shape (7, n).
    """

    time: float
    size: float
    state: Array
    stages: Array

    def at(self, fraction: float) -> Array:
        """State at `fraction` (0 to 1) of the step, shape (n,)."""
        powers = np.array([fraction, fraction**2, fraction**3, fraction**4])
        state: Array = self.state + self.size * ((_D @ powers) @ self.stages)
        return state

    def find(self, event: Event, tolerance: float = 1e-14) -> float:
        """Fraction of the step at which `event` changes sign; the caller knows that it does."""
        low, high = 0.0, 1.0
        sign = event(self.time, self.state) > 0
        while high - low > tolerance:
            middle = 0.5 * (low + high)
            same = (event(self.time + middle * self.size, self.at(middle)) > 0) == sign
            low, high = (middle, high) if same else (low, middle)
            if middle in (low, high) and high - low < 4e-16:
                break
        return high


def march(
    rate: Rate, start: float, end: float, state: Array, *, relative: float, scale: Array, largest: float
) -> Iterator[Step]:
    """Accepted steps from `start` to `end`.

    relative: error allowed per step, per unit of `scale` (shape (n,)) or of the state, whichever is larger.
    largest: longest step. [s]

    Source: Dormand and Prince, J. Comput. Appl. Math. 6 (1980) 19; interpolant of Shampine, Math. Comp. 46 (1986) 135.
    """
    time, y = start, state
    first = rate(time, y)
    size = min(largest, 1e-3, end - start)
    while time < end:
        size = min(size, end - time, largest)
        stages = np.empty((7, y.size))
        stages[0] = first
        for i, row in enumerate(_A, start=1):
            stages[i] = rate(time + _C[i] * size, y + size * (row @ stages[:i]))
        new = y + size * (_A[-1] @ stages[:6])
        error = float(np.max(abs(size * (_E @ stages)) / np.maximum(scale, abs(new)))) / relative
        if error <= 1.0:
            yield Step(time=time, size=size, state=y, stages=stages)
            time, y, first = (end if end - time - size < 1e-12 * size else time + size), new, stages[6]
        size *= min(5.0, max(0.2, 0.9 * max(error, 1e-10) ** -0.2))

"""One step of a run with its interpolant, and how much a run may cost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from slipwise.quantity.errors import InputError
from slipwise.results.series import Array

Rate = Callable[[float, Array], Array]
Event = Callable[[float, Array], float]
MOST = 30_000  # evaluations of the rates in one run; an ordinary start takes some hundreds


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One accepted step.

    time, state at the beginning; size; course: what the powers 1 to 4 of the fraction add to the state, shape (4, n).
    """

    time: float
    size: float
    state: Array
    course: Array

    def at(self, fraction: float) -> Array:
        """State at `fraction` (0 to 1) of the step, shape (n,)."""
        powers = np.array([fraction, fraction**2, fraction**3, fraction**4])
        state: Array = self.state + powers @ self.course
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


@dataclass(slots=True)
class Allowance:
    """How much one run may cost. left: evaluations of the rates."""

    left: int = MOST

    def spend(self) -> None:
        """One evaluation.

        Raises:
            InputError: none is left.
        """
        self.left -= 1
        if self.left < 0:
            raise endless("it takes more steps than can be computed")


def guarded(rate: Rate, most: int = MOST) -> Rate:
    """The same rates for a library's solver: `most` evaluations, and no number where they overflow, so that it steps back.

    Raises:
        InputError: from the new rates, when none is left.
    """
    allowance = Allowance(most)

    def counted(time: float, state: Array) -> Array:
        allowance.spend()
        try:
            return rate(time, state)
        except OverflowError:
            return np.full_like(state, np.nan)

    return counted


def endless(reason: str) -> InputError:
    """Why a run cannot be followed to its end."""
    return InputError.of(
        "load.inertia",
        "the run",
        f"{reason}: torques, inertia and times lie too far apart, or the curves have too many corners",
        "check inertia and torques of motor and load, and shorten ramps and times",
    )

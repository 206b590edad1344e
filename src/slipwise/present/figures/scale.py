"""Axis divisions: round steps, and two axes that meet the same grid."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, isfinite, log10

import numpy as np

from slipwise.results.series import Array

TINY = 1e-30  # less than this is nothing to draw
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Divisions:
    """`below` steps under zero and `above` steps over it."""

    step: float
    below: int
    above: int

    @property
    def low(self) -> float:
        return -self.below * self.step

    @property
    def high(self) -> float:
        return self.above * self.step

    @property
    def ticks(self) -> Array:
        """One value per grid line, zero exactly zero."""
        return np.arange(-self.below, self.above + 1, dtype=np.float64) * self.step


def round_up(value: float) -> float:
    """The smallest round step (1, 2, 2.5, 5 times a power of ten) not under `value`; 1 for zero."""
    if not isfinite(value) or value <= 0:
        return 1.0
    power = 10.0 ** floor(log10(value))
    return next(step * power for step in STEPS if step * power >= value * (1 - 1e-9))


def divide(low: float, high: float, least: int = 4, most: int = 6) -> Divisions:
    """Round divisions from zero or below to `high` or above, with the least empty room at the ends."""
    low, high = min(low, 0.0), max(high, 0.0)
    if high - low < TINY:
        high = 1.0
    if -low < 0.03 * high:  # a trace of friction or of overshoot is not worth a division
        low = 0.0
    if high < 0.03 * -low:
        high = 0.0
    found: list[tuple[float, int, Divisions]] = []
    for count in range(least, most + 1):
        step = round_up((high - low) / count)
        below, above = ceil(-low / step - 1e-9), ceil(high / step - 1e-9)
        total = below + above
        if total <= most + 1:
            found.append((total * step, -total, Divisions(step=step, below=below, above=above)))
    if not found:
        return Divisions(step=round_up(max(high, -low)), below=int(low < 0), above=1)
    return min(found, key=lambda entry: entry[:2])[2]


def matching(other: Divisions, high: float, low: float = 0.0) -> Divisions:
    """Round divisions for a second axis with as many steps below and above zero as the first: one grid serves both."""
    wanted = [high / other.above if other.above else 0.0, -low / other.below if other.below else 0.0]
    return Divisions(step=round_up(max(wanted)), below=other.below, above=other.above)


def apart(first: Array, first_scale: Divisions, second: Array, second_scale: Divisions) -> Divisions:
    """The second scale, widened by one round step if two curves would run into one another on the same grid."""
    gap = np.abs(first / first_scale.high - second / second_scale.high) if first_scale.above else np.ones(1)
    if float(np.nanmean(gap < 0.05)) < 0.2:
        return second_scale
    wider = round_up(second_scale.step * 1.01)
    return Divisions(step=wider, below=second_scale.below, above=second_scale.above)


def speed_ticks(synchronous: float, low: float = 0.0) -> Array:
    """Ticks in r/min from `low` (zero or negative) that end at synchronous speed itself."""
    fits = [n for n in (5, 6, 4) if round_step(synchronous / n)]
    if fits:
        step = synchronous / fits[0]
        return np.arange(ceil(low / step - 1e-9), fits[0] + 1, dtype=np.float64) * step
    step = round_up(synchronous / 6)
    inner = np.arange(ceil(low / step - 1e-9), int(synchronous / step + 1), dtype=np.float64) * step
    return np.append(inner[inner < synchronous - step / 2], synchronous)


def round_step(step: float) -> bool:
    """Whether a step reads well: 1, 1.2, 1.5, 2, 2.5, 3, 5 or 6 times a power of ten."""
    if step <= 0:
        return False
    lead = step / 10.0 ** floor(log10(step) + 1e-12)
    return any(abs(lead - good) < 1e-6 for good in (1, 1.2, 1.5, 2, 2.5, 3, 5, 6))


def span(curves: Iterable[Array]) -> tuple[float, float]:
    """Least and greatest finite value over several arrays, zero included."""
    values = [v[np.isfinite(v)] for v in (np.asarray(c, dtype=float) for c in curves)]
    full = [v for v in values if v.size]
    return min((float(v.min()) for v in full), default=0.0), max((float(v.max()) for v in full), default=0.0)


def thinned(x: Array, y: Array, bins: int = 900) -> tuple[Array, Array]:
    """A long curve with fewer points that draws the same: first, least, greatest and last of each of `bins` pieces."""
    if len(x) <= 4 * bins:
        return x, y
    edges = np.linspace(0, len(x), bins + 1).astype(int)
    keep = set(edges[:-1].tolist()) | {len(x) - 1}
    for begin, end in pairwise(edges):
        keep.add(int(begin + np.argmin(y[begin:end])))
        keep.add(int(begin + np.argmax(y[begin:end])))
    index = np.array(sorted(keep))
    return x[index], y[index]

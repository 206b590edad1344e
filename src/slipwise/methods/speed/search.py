"""First crossing of a curve with zero along a grid, closed in on by ever finer grids: one array call a round."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from slipwise.results.series import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """Where a curve first rises through zero; when it never does, `found` is False and x is where it comes nearest."""

    x: float
    found: bool


def first_rise(curve: Callable[[Array], Array], grid: Array, rounds: int = 3, points: int = 25) -> Crossing:
    """The first x at which `curve` (array to array) reaches zero from below, and the highest point when it never does.

    grid: ascending, shape (n,). Each round narrows the bracket by `points`; a last secant ends near rounding.
    """
    values = curve(grid)
    up = np.flatnonzero(values >= 0)
    if not up.size:
        return _highest(curve, grid, values, points)
    i = int(up[0])
    if i == 0:
        return Crossing(x=float(grid[0]), found=True)
    low, high = float(grid[i - 1]), float(grid[i])
    at_low, at_high = float(values[i - 1]), float(values[i])
    for _ in range(rounds):
        fine = np.linspace(low, high, points)
        values = curve(fine)
        i = max(int(np.argmax(values >= 0)), 1)
        low, high, at_low, at_high = float(fine[i - 1]), float(fine[i]), float(values[i - 1]), float(values[i])
    if at_high == at_low:
        return Crossing(x=high, found=True)
    return Crossing(x=high - at_high * (high - low) / (at_high - at_low), found=True)


def _highest(curve: Callable[[Array], Array], grid: Array, values: Array, points: int) -> Crossing:
    i = int(np.argmax(values))
    fine = np.linspace(grid[max(i - 1, 0)], grid[min(i + 1, grid.size - 1)], points)
    return Crossing(x=float(fine[int(np.argmax(curve(fine)))]), found=False)

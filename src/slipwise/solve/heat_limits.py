"""How long a loss may last, and how often a start may be repeated, before a body of the network is at its limit."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import inf, sqrt

import numpy as np

from slipwise.model.thermal.network import ThermalNetwork
from slipwise.results.series import Array
from slipwise.solve.heat import Piece, heat, limit_cycle, temperatures

LONGEST = 1e6  # s; what takes longer does not get there
SHORTEST = 1e-2  # s
GRID = 240
HALVINGS = 60


def time_to_limit(
    network: ThermalNetwork, losses: Mapping[str, float], cooling: float, *, start: Array, ambient: float
) -> float:
    """Seconds of constant losses from the temperatures `start` (degC) until the first body is at its limit.

    Infinite when none gets there within LONGEST; 0 when one is there already. The first crossing is sought on a grid
    that is even in the logarithm of time, then halved on the exact solution.
    """
    bodies = [(i, body.limit) for i, body in enumerate(network.bodies) if body.limit is not None]

    def excess(times: Array) -> Array:
        found = temperatures(network, losses, cooling, start=start, ambient=ambient, times=times)
        return np.asarray(np.max([found[i] - limit for i, limit in bodies], axis=0), dtype=np.float64)

    if not bodies:
        return inf
    grid = np.geomspace(SHORTEST, LONGEST, GRID)
    over = excess(np.concatenate(([0.0], grid))) >= 0
    if over[0]:
        return 0.0
    if not over.any():
        return inf
    place = int(np.argmax(over))
    low, high = (0.0, grid[0]) if place == 1 else (grid[place - 2], grid[place - 1])
    return _halved(lambda t: bool(excess(np.array([t]))[0] >= 0), float(low), float(high))


def starts_in_a_row(
    network: ThermalNetwork, one: Sequence[Piece], rest: Sequence[Piece], *, start: Array, ambient: float, most: int
) -> int:
    """Starts that follow each other, with `rest` between, before one of them takes a body past its limit."""
    now = start
    for count in range(most):
        trace = heat(network, one, ambient=ambient, start=now)
        if not trace.within:
            return count
        now = heat(network, rest, ambient=ambient, start=trace.final, points=1).final if rest else trace.final
    return most


def rest_before(
    network: ThermalNetwork, one: Sequence[Piece], idle: Piece, *, start: Array, ambient: float
) -> float:  # fmt: skip
    """Seconds of `idle` (its own length is not used) from `start` until one more start is borne; infinite when never."""

    def bears(seconds: float) -> bool:
        now = start
        if seconds > 0:
            wait = Piece(seconds=seconds, losses=idle.losses, cooling=idle.cooling)
            now = heat(network, [wait], ambient=ambient, start=start, points=1).final
        return heat(network, one, ambient=ambient, start=now).within

    if bears(0.0):
        return 0.0
    if not bears(LONGEST):
        return inf
    return _geometric(bears, 1.0, LONGEST)


def shortest_period(
    network: ThermalNetwork, one: Sequence[Piece], between: Piece, fits: Callable[[Array, Array], bool], ambient: float
) -> float:
    """Shortest period of a start and then `between`, repeated for ever, whose temperatures `fits` accepts. [s]

    fits: is given time, shape (n,), and temperature, shape (bodies, n). Infinite when no period is long enough.
    """
    length = sum(piece.seconds for piece in one)

    def bears(pause: float) -> bool:
        wait = Piece(seconds=pause, losses=between.losses, cooling=between.cooling)
        trace = limit_cycle(network, [*one, wait], ambient=ambient)
        return trace.within and fits(trace.time, trace.temperature)

    if bears(1.0):
        return length + 1.0
    return length + _geometric(bears, 1.0, LONGEST) if bears(LONGEST) else inf


def _halved(past: Callable[[float], bool], low: float, high: float) -> float:
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if past(middle) else (middle, high)
    return high


def _geometric(past: Callable[[float], bool], low: float, high: float) -> float:
    for _ in range(30):
        middle = sqrt(low * high)
        low, high = (low, middle) if past(middle) else (middle, high)
    return high

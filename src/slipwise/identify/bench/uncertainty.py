"""Meter classes through to the circuit values: by random trials, and linear beside them.

What is supposed of the errors: each reading lies evenly within the limit of its class of the truth, independent of every
other reading; an assumed value lies evenly within its range. Meters whose error is the same for all their readings would
shift the values together and make ratios of readings better than stated.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np

from slipwise.identify.bench.numbers import Leaf, Numbers

TRIALS, SEED = 4000, 20
COVERAGE = (0.025, 0.975)
NORMAL = 1.96
FEWEST = 0.2  # of the trials must give a circuit at all
ERRORS = (
    "Each reading is taken to lie evenly within the limit of its meter's class of the truth, independent of every other "
    "reading; an assumed value evenly within its range. Intervals hold the truth in 95 of 100 such cases: {trials} random "
    "trials; linear propagation (root sum of squares, 1.96 standard deviations) stands beside them."
)

Solver = Callable[[Numbers], Mapping[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Interval of one value by trials and linear, and the leaf that widens it most with its share of the variance."""

    low: float
    high: float
    linear_low: float
    linear_high: float
    cause: str
    share: float


def spreads(found: Mapping[str, Leaf], solver: Solver, trials: int = TRIALS) -> tuple[dict[str, Spread], int]:
    """Intervals of every value the solver gives.

    Args:
        found: the numbers with their limits. solver: from numbers (each may be an array) to values.
        trials: random cases drawn, from a fixed seed.

    Returns:
        Spread by symbol, empty when nothing is uncertain; and how many trials gave no circuit and were left out.

    Source: GUM (JCGM 100) for the linear one with rectangular distributions, JCGM 101 for the trials (from memory).
    """
    loose = {key: leaf for key, leaf in found.items() if leaf.limit}
    if not loose:
        return {}, 0
    random = np.random.default_rng(SEED)
    drawn: dict[str, Any] = {key: leaf.value for key, leaf in found.items()}
    for key, leaf in loose.items():
        drawn[key] = random.uniform(*leaf.bounds, size=trials)
    cloud = {symbol: np.broadcast_to(np.asarray(v, dtype=float), trials) for symbol, v in solver(drawn).items()}
    good = np.all([np.isfinite(v) & (v >= 0) for v in cloud.values()], axis=0)
    kept = int(good.sum())
    linear = _linear(found, loose, solver)
    if kept < FEWEST * trials:
        return {}, trials - kept
    result = {}
    for symbol, values in cloud.items():
        low, high = np.quantile(values[good], COVERAGE)
        result[symbol] = Spread(low=float(low), high=float(high), **linear[symbol])
    return result, trials - kept


def _linear(found: Mapping[str, Leaf], loose: Mapping[str, Leaf], solver: Solver) -> dict[str, dict[str, Any]]:
    """Central differences over half a standard deviation either way, all in one call of the solver."""
    keys, count = list(loose), len(loose)
    tried: dict[str, Any] = {key: leaf.value for key, leaf in found.items()}
    deviations = np.array([(leaf.limit or 0.0) / sqrt(3) for leaf in loose.values()])
    for place, key in enumerate(keys):
        row = np.full(2 * count + 1, loose[key].value)
        row[1 + 2 * place] += deviations[place] / 2
        row[2 + 2 * place] -= deviations[place] / 2
        tried[key] = row
    offset = np.array([leaf.bounds[0] + (leaf.limit or 0.0) - leaf.value for leaf in loose.values()])
    result = {}
    for symbol, raw in solver(tried).items():
        values = np.broadcast_to(np.asarray(raw, dtype=float), 2 * count + 1)
        parts = values[1::2] - values[2::2]  # change over one standard deviation of each
        centre = float(values[0] + np.sum(parts * offset / deviations))
        deviation = float(np.sqrt(np.sum(parts**2)))
        worst = int(np.argmax(np.abs(parts)))
        result[symbol] = {
            "linear_low": centre - NORMAL * deviation,
            "linear_high": centre + NORMAL * deviation,
            "cause": keys[worst],
            "share": float(parts[worst] ** 2) / deviation**2 if deviation else 0.0,
        }
    return result

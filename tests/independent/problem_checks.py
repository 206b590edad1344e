"""One variant against its second road, and against what values of the trade can be."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from slipwise.teach.problems.draw import gap_of, variant
from slipwise.teach.problems.model import Problem
from tests.independent import problem_routes_drive, problem_routes_machine, problem_routes_start
from tests.independent.problem_routes import full, solved

ROADS = (problem_routes_machine, problem_routes_start, problem_routes_drive)
"""The files of the second roads: each enters its roads in `problem_routes.ROUTES`."""
EXACT = 1e-6
"""Largest relative difference of a key from its second road."""
RANGES = {
    "V": (1.0, 1e4), "A": (0.5, 5e3), "W": (10.0, 1e6), "VA": (1e3, 5e7), "N m": (1.0, 2e4), "ohm": (1e-4, 500.0),
    "Hz": (0.1, 200.0), "s": (0.05, 4e4), "rad/s": (1.0, 400.0), "K": (2.0, 200.0), "J": (10.0, 1e13), "H": (1e-6, 1.0),
    "kg m2": (1e-3, 500.0), "rad/s2": (0.05, 500.0), "degC": (30.0, 200.0), "rad": (0.1, 3.2), "": (1e-3, 30.0),
    "pu": (1e-3, 3.0),
}  # fmt: skip
"""Least and greatest magnitude of an answer of each kind, SI: what machines of a few watts to a megawatt have, generously."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """worst: largest relative difference; where: of which answer; gaps: of short formulas, ratio and what is stated."""

    worst: float
    where: str
    gaps: dict[str, tuple[float, float]]

    @property
    def gaps_hold(self) -> bool:
        return all(abs(gap) <= within for gap, within in self.gaps.values())


def compared(problem: Problem, seed: str) -> Compared:
    """A variant solved by the key and by its second road."""
    found = variant(problem, seed)
    other = solved(problem.key, {symbol: item.value for symbol, item in found.given.items()})
    worst, where = 0.0, ""
    gaps = {}
    for part in problem.parts:
        pairs = [(found.answer(part), other[part.find], part.find)]
        if part.gap is not None:
            pairs.append((found.exact[part.find], other[full(part.find)], full(part.find)))
            gaps[part.find] = (found.answer(part) / other[full(part.find)] - 1, part.gap.within)
            assert abs(gap_of(found, part.find) - gaps[part.find][0]) < 10 * EXACT
        for ours, theirs, name in pairs:
            difference = abs(ours - theirs) / abs(theirs)
            if not difference <= worst:
                worst, where = difference, f"{problem.key}.{name}: {ours} against {theirs} ({seed})"
    return Compared(worst=worst, where=where, gaps=gaps)


def absurd(problem: Problem, seed: str) -> list[str]:
    """What no machine of the trade has, among the answers and stated values of a variant."""
    found = variant(problem, seed)
    odd = []
    for part in problem.parts:
        value = found.answer(part)
        low, high = RANGES[part.si]
        if not (isfinite(value) and low <= abs(value) <= high):
            odd.append(f"{part.find} = {value} {part.si}")
        if part.find in {"eta", "cos_phi", "u", "K", "d", "e"} and not 0 < value < 1:
            odd.append(f"{part.find} = {value} is no share")
    odd += [
        f"{item.symbol} = {item.text} is zero"
        for item in found.given.values()
        if item.text and item.value == 0 and not item.symbol.startswith("s_2")
    ]
    return odd

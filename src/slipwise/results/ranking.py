"""A verdict over every motor that agrees with one plate, and the datum that would narrow it most."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.criteria import Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """One criterion over the ensemble: least and greatest value, in `unit`, beside its limit."""

    key: str
    title: str
    unit: str
    low: float
    high: float
    limit: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictRange:
    """One way over the ensemble, its settings as designed for the middle motor.

    statuses: how many motors came out in each status, best first. spreads: per criterion.
    low, high: least and greatest of the tightest margin over the ensemble.
    """

    way: str
    title: str
    statuses: tuple[tuple[Status, int], ...]
    low: float
    high: float
    spreads: tuple[Spread, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """A datum that was not given. share: how much of the spread of the tightest margin goes with it, 0 to 1."""

    name: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """Verdicts as ranges, missing data by weight, heaviest first, and the next question to ask, in words.

    members: motors in the ensemble. way: whose margin was ranked.
    """

    members: int
    ranges: tuple[VerdictRange, ...]
    way: str
    missing: tuple[Missing, ...]
    words: str

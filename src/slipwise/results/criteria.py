"""Criteria rows and verdicts."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Status(StrEnum):
    """How a criterion or a way stands."""

    PASSES = "passes"
    CONDITION = "passes with a condition"
    FAILS = "fails"
    UNKNOWN = "not judged"  # a limit or a datum is missing; the row says which
    NOT_APPLICABLE = "does not apply"  # a way that this motor cannot have; never of a criterion


class Sense(StrEnum):
    """Which side of the limit is good."""

    AT_MOST = "at most"
    AT_LEAST = "at least"


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One value against one limit.

    key: stable, e.g. `dip:main board`. title: as shown. value, limit: in `unit` (display unit of SI base, per unit as "pu").
    margin: (limit - value)/limit for AT_MOST, (value - limit)/limit for AT_LEAST; negative when broken; None if UNKNOWN.
    case: which case of supply and tolerance it was taken from. source: of the limit: standard and clause,
    `common practice, no source`, or `given by user`. load_case: state of the load it was taken from, where there are
    several. condition: the words of a condition, or why it is not judged.
    """

    key: str
    title: str
    value: float | None
    limit: float | None
    unit: str
    sense: Sense
    status: Status
    margin: float | None
    case: str
    source: str
    condition: str = ""
    load_case: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The judgement of one way: worst status over the criteria, and the criterion that binds (least margin)."""

    status: Status
    binding: Criterion | None
    criteria: tuple[Criterion, ...]
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Recommendation:
    """Which way to take. way, runner_up: keys; None when none passes. order: the published order, simplest first."""

    way: str | None
    runner_up: str | None
    reason: str
    order: tuple[str, ...]

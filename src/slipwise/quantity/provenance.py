"""Where a value came from: given, derived, assumed or estimated, with its range and the reason."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Origin(StrEnum):
    """How a value entered the study."""

    GIVEN = "given"  # written by the user
    DERIVED = "derived"  # follows from given values by a named formula
    ASSUMED = "assumed"  # a default of the trade; the range says how far it may be off
    ESTIMATED = "estimated"  # fitted or taken from typical data; the range says how far it may be off


@dataclass(frozen=True, slots=True, kw_only=True)
class Sourced:
    """One value with its past.

    name: dotted path, e.g. `motor.inertia`.
    value: in SI (`unit` names it); None for a choice in words, which then stands in `text`.
    text: as the user wrote it, or as it should be shown.
    low, high: the range of an assumed or estimated value, in the same unit; None when exact.
    why: the formula, rule or source behind a value that was not given.
    """

    name: str
    value: float | None
    unit: str
    origin: Origin
    text: str = ""
    low: float | None = None
    high: float | None = None
    why: str = ""

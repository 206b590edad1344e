"""What a problem is, and what one variant of it came to; plain frozen data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from slipwise.quantity.formula import Formula, Number


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """A quantity that is stated, or stays behind the scene (`hidden`).

    unit: as printed. si: the unit of computation. texts: the values it may take, as printed, number and unit.
    expression: instead of texts, from the quantities before it; rounded to a multiple of `step` in `unit` when it is stated.
    """

    symbol: str
    unit: str
    si: str
    texts: tuple[str, ...] = ()
    expression: str = ""
    step: str = ""
    hidden: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """How far a short formula may stand from the full computation. exact: expression of the full one; within: ratio."""

    exact: str
    within: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One thing asked. find: symbol of a step; unit: asked for; marks; tolerance: ratio, None for that of the sheet."""

    ask: str
    find: str
    unit: str
    si: str
    marks: int
    tolerance: float | None = None
    gap: Gap | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """A problem with its ranges: every variant is drawn from it.

    text: with {symbol} where a stated quantity goes. steps: formulas in the order of the worked solution; a step may use
    any quantity and any step before it. require: comparisons that every variant meets, in SI.
    """

    key: str
    title: str
    topic: str
    difficulty: int
    text: str
    given: tuple[Given, ...]
    steps: tuple[Formula, ...]
    parts: tuple[Part, ...]
    require: tuple[str, ...] = ()

    @property
    def marks(self) -> int:
        return sum(part.marks for part in self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated:
    """A quantity with its value. text: as printed, from which the value was read; "" for a hidden one. [value in `unit`]"""

    symbol: str
    value: float
    unit: str
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """One student's numbers. given: by symbol; values: of every step, SI; exact: of the parts that state a gap."""

    problem: Problem
    given: Mapping[str, Stated] = field(hash=False)
    values: Mapping[str, Number] = field(hash=False)
    exact: Mapping[str, float] = field(hash=False)

    def answer(self, part: Part) -> float:
        """The right answer to a part, SI."""
        return float(self.values[part.find].real)

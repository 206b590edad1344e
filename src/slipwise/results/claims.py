"""Shorthands of the classroom against the full computation for one motor, as plain data."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from slipwise.results.series import Array


class Answer(StrEnum):
    """Whether a shorthand is true for the motor at hand."""

    TRUE = "true"
    NEARLY = "nearly true"
    PARTLY = "true in part"
    FALSE = "not true"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimRow:
    """One case. rule: by the shorthand, None when it names no number; computed: in full. Both in `unit`, SI."""

    case: str
    rule: float | None
    computed: float
    unit: str

    @property
    def error(self) -> float | None:
        """What the shorthand is off, over the computed value. [pu]"""
        return None if self.rule is None or self.computed == 0 else self.rule / self.computed - 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClaimLine:
    """A curve of the figure, in the units of its axes. rule: drawn dashed. prefer: where along it the label goes, 0 to 1."""

    words: str
    x: Array
    y: Array
    rule: bool = False
    prefer: float = 0.6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Claim:
    """One shorthand. said: as it is said; holds: where it holds for this motor; why: the reason of the difference.

    across, up: what the axes of the figure measure, with units.
    """

    key: str
    title: str
    said: str
    answer: Answer
    holds: str
    why: str
    rows: tuple[ClaimRow, ...]
    across: str
    up: str
    lines: tuple[ClaimLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Claims:
    """All shorthands for the motor of one study. notes: what was taken for granted; cautions: texts with their basis."""

    title: str
    slipwise_version: str
    file: str
    claims: tuple[Claim, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]

"""Where the energy of a start went."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Side(StrEnum):
    """Which side of the balance a row stands on: supplied = lost + stored + shaft."""

    SUPPLIED = "supplied"
    LOST = "lost"
    STORED = "stored"
    SHAFT = "shaft"


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerRow:
    """One named energy. [J]"""

    name: str
    energy: float
    side: Side


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """supplied = lost + stored + shaft; every row was integrated with the states, none is a remainder."""

    rows: tuple[LedgerRow, ...]

    def total(self, side: Side) -> float:
        """Sum of one side. [J]"""
        return sum(row.energy for row in self.rows if row.side is side)

    def get(self, name: str) -> float:
        """Sum of the rows called `name`. [J]"""
        return sum(row.energy for row in self.rows if row.name == name)

    @property
    def throughput(self) -> float:
        """Sum of the magnitudes of all rows: the measure against which the balance is judged. [J]"""
        return sum(abs(row.energy) for row in self.rows)

    @property
    def closure(self) -> float:
        """(supplied - lost - stored - shaft) / throughput; 0 when the books balance."""
        gap = self.total(Side.SUPPLIED) - sum(self.total(s) for s in Side if s is not Side.SUPPLIED)
        return gap / self.throughput if self.throughput else 0.0

"""What a bad supply does to the motor: numbers, rows against limits, what to do about it, and curves."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.criteria import Verdict
from slipwise.results.series import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One number of an answer. key: stable; title: as shown; value: in `unit` (SI base, ratios as "pu"), None: none exists."""

    key: str
    title: str
    value: float | None
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """One curve. label: as written beside it; x, values: shape (n,), in `x_unit` and `unit`."""

    label: str
    x_unit: str
    unit: str
    x: Array
    values: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A line across or up a panel: a limit or a value to compare with. value: in `unit`; label: as written beside it."""

    label: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Panel:
    """Curves over one axis. quantity, x_quantity: what the axes measure, in words; every trace has the same units.

    levels: lines across, in the unit of the traces; marks: lines upright, in their `x_unit`.
    """

    quantity: str
    x_quantity: str
    traces: tuple[Trace, ...]
    levels: tuple[Level, ...] = ()
    marks: tuple[Level, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DisturbanceResult:
    """One disturbance of the supply, computed and judged.

    key: stable, the kind with a number where it stands twice; title: as shown; kind: of the study file.
    summary: the answer in a sentence. actions: what to do, most important first.
    """

    key: str
    kind: str
    title: str
    summary: str
    findings: tuple[Finding, ...]
    verdict: Verdict
    actions: tuple[str, ...]
    panels: tuple[Panel, ...]
    notes: tuple[str, ...] = ()

    def value(self, key: str) -> float | None:
        """A number by its key.

        Raises:
            KeyError: there is none of that name.
        """
        for row in self.findings:
            if row.key == key:
                return row.value
        raise KeyError(key)

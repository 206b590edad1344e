"""What is asked about bad supplies, as plain validated data, and the pieces each answer is made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from slipwise.results.criteria import Criterion
from slipwise.results.disturbance import Finding, Panel
from slipwise.results.study import Explanation
from slipwise.solve.disturbed.unbalance import LineVoltages


@dataclass(frozen=True, slots=True, kw_only=True)
class Unbalance:
    """Unbalanced voltages at the motor's terminals. by_share: the negative sequence was given, not three voltages."""

    lines: LineVoltages
    by_share: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenLine:
    """One line open, and the overload relay that should end it.

    place: "line" or "winding"; setting: A there; sensitive: trips quicker when one pole carries nothing.
    """

    trip_class: str
    place: str
    setting: float
    sensitive: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltageDip:
    """remaining: of the source's voltage, pu; duration: s; drop_out: voltage at which contactors let go, pu, and whose word."""

    remaining: float
    duration: float
    drop_out: float
    drop_out_source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyReturn:
    """The supply gone for `dead_time` (s), give or take `scatter` (s); lead: of the source that returns, rad.

    transfer: it returns from another source.
    """

    dead_time: float
    scatter: float
    lead: float = 0.0
    transfer: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ReversedPhases:
    """Two lines swapped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OffNominal:
    """voltage at the terminals, frequency: pu of rated."""

    voltage: float
    frequency: float


Request = Unbalance | OpenLine | VoltageDip | SupplyReturn | ReversedPhases | OffNominal


@dataclass(frozen=True, slots=True, kw_only=True)
class DisturbanceRequest:
    """One thing to be looked at. key: stable name in the results; title: as shown; kind: of the study file."""

    key: str
    title: str
    kind: str
    asked: Request


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """transients: also compute the electrical transients; note: is told before a wait."""

    transients: bool = True
    note: Callable[[str], None] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """The pieces of one answer; `disturbance.py` puts them together."""

    summary: str
    findings: tuple[Finding, ...]
    rows: tuple[Criterion, ...]
    actions: tuple[str, ...]
    panels: tuple[Panel, ...]
    method: str
    source: str
    notes: tuple[str, ...] = ()
    explanations: tuple[Explanation, ...] = ()

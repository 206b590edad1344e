"""What every way of stopping offers: settings, a design, how the motor was fed before, stages, wiring, what to buy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Protocol, Self, runtime_checkable

from slipwise.limits.thresholds import Limits
from slipwise.methods.way import Designed
from slipwise.results.setting import Setting
from slipwise.results.start import RunUp
from slipwise.results.wiring import Wiring
from slipwise.solve.plan import Drive, Plan, Stage


@dataclass(frozen=True, slots=True, kw_only=True)
class StopTask:
    """What a stop is designed for: nominal and worst drive, limits, longest stop [s], stops an hour, None when not given.

    A drive that runs the other way is seen with that way as positive. arrangement: of a winding tapped for two pole
    numbers, when the motor has one; "" when it has not.
    """

    nominal: Drive
    worst: Drive
    limits: Limits
    stop_time: float | None = None
    stops_per_hour: float | None = None
    arrangement: str = ""


class StoppingWay(Protocol):
    """One way of stopping: a frozen dataclass of its settings with these."""

    key: ClassVar[str]  # as in the study file: "plugging"
    title: ClassVar[str]
    also: ClassVar[tuple[str, ...]]  # what else the trade calls it
    summary: ClassVar[str]  # two or three plain sentences: what it does, when it suits, what it costs

    @classmethod
    def designed_for(cls, task: StopTask, given: Mapping[str, float | str]) -> Designed[Self]:
        """Keeps every given setting and chooses the others; raises InputError for a setting that cannot stand."""
        ...

    def running(self, drive: Drive) -> Stage | None:
        """How the motor is fed before the stop; None when nothing of its field then counts in the stop."""
        ...

    def stages(self, drive: Drive) -> Plan:
        """The plan from the command to stop until all but at rest."""
        ...

    def wiring(self) -> Wiring:
        """The power circuit and the contact table, running first."""
        ...

    def parts(self, drive: Drive, run: RunUp) -> tuple[Setting, ...]:
        """What has to be bought or set for this stop on this drive, each with its reason."""
        ...


@runtime_checkable
class CanFail(Protocol):
    """A way whose stop depends on one device."""

    def failed(self, drive: Drive) -> tuple[str, Plan]:
        """What fails, in words, and the plan that follows then, until it settles."""
        ...


@runtime_checkable
class Absorbs(Protocol):
    """A way that must take in what the motor returns."""

    @property
    def capacity(self) -> float:
        """Greatest power it can take. [W]"""
        ...


@runtime_checkable
class Uneven(Protocol):
    """A way that heats the three phases unequally."""

    def hottest(self, drive: Drive) -> float:
        """Heat of the hottest phase per mean of the three. [1]"""
        ...

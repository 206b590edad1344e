"""What every way of speed control offers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Protocol, Self, runtime_checkable

from slipwise.methods.way import Designed
from slipwise.model.load.system import Process
from slipwise.results.changeover import Changeover
from slipwise.results.slip_heat import SlipHeat
from slipwise.results.speed import DutyPoint, Envelope, Family, OperatingPoint
from slipwise.results.study import Setting
from slipwise.results.wiring import Wiring
from slipwise.solve.plan import Drive


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """Where the motor stands. altitude m; ambient degC; forced: cooled by its own blower (IC 416) at any speed."""

    altitude: float = 0.0
    ambient: float = 40.0
    forced: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedTask:
    """What a speed control is designed for.

    process: the pump or fan and its system, when the study describes one; the load is then its torque with the valve open.
    """

    drive: Drive
    duty: tuple[DutyPoint, ...]
    site: Site
    overload: float = 1.5  # short-time current of a converter, pu of rated
    process: Process | None = None


class SpeedWay(Protocol):
    """One way of speed control: a frozen dataclass of its settings with these."""

    key: ClassVar[str]
    title: ClassVar[str]
    also: ClassVar[tuple[str, ...]]  # what else the trade calls it
    summary: ClassVar[str]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Mapping[str, float | str]) -> Designed[Self]:
        """Keeps every given setting and chooses the others; raises InputError when the way cannot be used at all."""
        ...

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """The way at one demand; an infeasible point is an answer with its reason, not an error."""
        ...

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """Characteristics as a lecturer draws them, computed from this motor."""
        ...

    def envelope(self, task: SpeedTask) -> Envelope | None:
        """Torque over speed that can be held; None where the notion does not apply."""
        ...

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """What must be bought for this duty: converter, transformer, resistor."""
        ...

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """Keys of the ways of starting that suit a motor so controlled."""
        ...

    def wiring(self) -> Wiring:
        """The power circuit and the contact table."""
        ...


@runtime_checkable
class SlowsBySlip(Protocol):
    """A way that also says how hot the motor gets at every speed along its load."""

    def heating(self, task: SpeedTask) -> SlipHeat:
        """Heat against speed and the worst of it; raises InputError when the way does not carry the load at all."""
        ...


@runtime_checkable
class ChangesSpeed(Protocol):
    """A way with fixed speeds that also says what a change between them does."""

    def changeovers(self, task: SpeedTask) -> tuple[Changeover, ...]:
        """The change down and the change up; raises InputError when the load is not carried before the change."""
        ...

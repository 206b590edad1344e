"""What every way of starting, speed control or stopping offers: settings, a design, stages, wiring, a page of words."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, fields
from functools import cache
from types import MappingProxyType
from typing import (
    Annotated,
    Any,
    ClassVar,
    Generic,
    Protocol,
    Self,
    TypeVar,
    cast,
    get_args,
    get_origin,
    get_type_hints,
)

from slipwise.limits.thresholds import Limits
from slipwise.results.criteria import Criterion
from slipwise.results.study import Setting
from slipwise.results.wiring import Wiring
from slipwise.solve.plan import Drive, Plan

W = TypeVar("W")


@dataclass(frozen=True, slots=True, kw_only=True)
class Dial:
    """Metadata of one setting, written as `Annotated[float, Dial(...)]` on the field of a way's dataclass.

    unit: SI unit as in `quantity.units` ("rad/s", "s", "pu", "ohm", "A", "rad/s2"); "" for a choice in words or a count.
    low, high: permitted range in that unit. choices: permitted words, empty for numbers. example: a usual value, as it is
    written in the file; for help and messages only.
    """

    title: str
    unit: str
    doc: str
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    example: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What a design is made for: the nominal drive, the worst-case drive, the limits, and starts per hour if known."""

    nominal: Drive
    worst: Drive
    limits: Limits
    starts_per_hour: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Designed(Generic[W]):
    """A way with all its settings, each with its origin, and what the design optimised and what bound it, in words.

    conditions: what must hold for the way besides all limits, as rows that pass with a condition.
    """

    way: W
    settings: tuple[Setting, ...]
    words: str
    conditions: tuple[Criterion, ...] = ()


class StartingWay(Protocol):
    """One way of starting: a frozen dataclass of its settings with these."""

    key: ClassVar[str]  # as in the study file: "star_delta"
    title: ClassVar[str]  # as shown: "Star-delta"
    also: ClassVar[tuple[str, ...]]  # what else the trade calls it, for those who write that
    summary: ClassVar[str]  # two or three plain sentences: what it does, when it suits, what it costs

    @classmethod
    def designed_for(cls, task: Task, given: Mapping[str, float | str]) -> Designed[Self]:
        """Keeps every given setting and chooses the others; raises InputError for a setting that cannot stand."""
        ...

    def stages(self, drive: Drive) -> Plan:
        """The plan to be simulated on `drive`."""
        ...

    def wiring(self) -> Wiring:
        """The power circuit and the contact table."""
        ...


def dials(way: type[Any]) -> Mapping[str, Dial]:
    """The settings of a way by field name, read from its annotations."""
    return _dials(cast(Hashable, way))


@cache
def _dials(way: Any) -> Mapping[str, Dial]:
    hints = get_type_hints(way, include_extras=True)
    found = {}
    for field in fields(way):
        hint = hints[field.name]
        if get_origin(hint) is Annotated:
            found[field.name] = next(extra for extra in get_args(hint)[1:] if isinstance(extra, Dial))
    return MappingProxyType(found)

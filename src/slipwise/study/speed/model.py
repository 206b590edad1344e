"""The speed part of a study as plain validated data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from slipwise.methods.speed.way import Site
from slipwise.model.load.system import Process
from slipwise.results.speed import DutyPoint
from slipwise.study.request import WayRequest


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A figure and the range it may lie in; low = value = high when it was given without one."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """The same duty with one assumed value at an end of its range."""

    name: str
    process: Process | None
    duty: tuple[DutyPoint, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tariff:
    """price: of a kWh in `currency`; None when no price was given. co2: kg for a kWh. years: a purchase is spread over."""

    currency: str
    price: Span | None
    co2: float | None
    years: Span
    investment: Mapping[str, Span]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedStudy:
    """What is asked of speed control.

    variants: pairs (low, high) for each assumed value that the energy depends on.
    coupling_point: place of the busbar in the path at which harmonics count. power_factor: least true one, or None.
    """

    ways: tuple[WayRequest, ...]
    order: tuple[str, ...]
    duty: tuple[DutyPoint, ...]
    process: Process | None
    site: Site
    overload: float
    coupling_point: int
    power_factor: float | None
    tariff: Tariff | None
    variants: tuple[tuple[Variant, Variant], ...] = ()

"""From `[speed]` and its duty to what is asked of speed control."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np

from slipwise.methods.speed import SPEED
from slipwise.methods.speed.way import Site
from slipwise.model.load.load import Load
from slipwise.model.load.system import Process, speed_for, torque_at
from slipwise.model.machine.motor import Motor
from slipwise.model.supply.path import SupplyPath
from slipwise.quantity.units import Parsed
from slipwise.results.speed import DutyPoint
from slipwise.study.assemble.book import Book
from slipwise.study.assemble.process import ProcessFigures, process_figures
from slipwise.study.assemble.tariff import build_tariff
from slipwise.study.assemble.ways import order, requests
from slipwise.study.schema.speed import BLOWER, OWN_FAN, DutySection
from slipwise.study.speed.model import SpeedStudy, Variant
from slipwise.study.text.scanner import dotted

_PRACTICE = "common practice, no source"
YEAR = 8784.0  # hours of the longest year
_MOST_SPEED = 3.0  # of synchronous
_MOST_FLOW = 5.0  # of rated


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """What a demand is read against."""

    motor: Motor
    load: Load
    figures: ProcessFigures | None
    states: int  # of the load, when the file names several


def build_speed(sections: Any, motor: Motor, load: Load, supply: SupplyPath, book: Book) -> SpeedStudy | None:
    """The speed part of a study; None when the file has no `[speed]`.

    Raises:
        InputError: it cannot be built; the faults are in the book.
    """
    section = sections.speed
    if section is None:
        if sections.tariff is not None:
            book.fault("tariff", "", "there is nothing that it prices", "add [speed] with [[speed.duty]], or remove it")
        return None
    figures = _figures(section, motor, book)
    place = _Place(motor=motor, load=load, figures=figures, states=len(sections.load.case or ()))
    process = None if figures is None else figures.process()
    duty = _duty(section.duty, place, process, book)
    return SpeedStudy(
        ways=requests("speed", section, SPEED, motor.rating, book),
        order=order("speed", section, SPEED, book),
        duty=duty,
        process=process,
        site=_site(section, book),
        overload=_overload(section, book),
        coupling_point=_coupling_point(section, supply, book),
        power_factor=None if section.power_factor is None else section.power_factor.value,
        tariff=build_tariff(sections.tariff, book),
        variants=_variants(section.duty, place),
    )


def _figures(section: Any, motor: Motor, book: Book) -> ProcessFigures | None:
    return None if section.process is None else process_figures(section.process, motor, book)


def _duty(rows: Sequence[DutySection], place: _Place, process: Process | None, book: Book) -> tuple[DutyPoint, ...]:
    """Every demand as speed, torque and hours."""
    for number, row in enumerate(rows):
        _check(row, dotted(("speed", "duty", number)), place, book)
    book.close()
    points = tuple(_demand(row, place, process) for row in rows)
    for number, (row, point) in enumerate(zip(rows, points, strict=True)):
        here = dotted(("speed", "duty", number))
        if any(other.name == point.name for other in points[:number]):
            book.fault(f"{here}.name", point.name, "two demands have this name", "give each its own")
        if point.speed > _MOST_SPEED * place.motor.rating.synchronous_speed:
            reason = f"it is more than {_MOST_SPEED:g} times synchronous speed"
            book.fault(f"{here}.speed", row.speed or row.flow or "", reason, "check the speed")
        _enter(here, row, point, book)
    hours = sum(point.hours for point in points)
    if hours > YEAR:
        book.fault("speed.duty", f"{hours:.0f} h", "a year has at most 8784 hours", "check the hours")
    return points


def _check(row: DutySection, name: str, place: _Place, book: Book) -> None:
    """Keys that exclude each other, and what is missing."""
    if (row.speed is None) == (row.flow is None):
        reason = "a demand is a speed or a flow" if row.speed is None else "speed and flow say the same"
        book.fault(name, "", reason, 'write speed = "1200 r/min", or flow = "70 %"')
    if row.torque is not None and row.power is not None:
        book.fault(f"{name}.power", row.power, "the torque is given already", "give one of the two")
    if row.flow is None:
        if place.states > 1 and place.figures is None and row.torque is None and row.power is None:
            reason = f"the load has {place.states} states, and none of them is named here"
            book.fault(f"{name}.torque", "", reason, 'add torque = "380 N m"')
        return
    for key in ("torque", "power"):
        if getattr(row, key) is not None:
            book.fault(f"{name}.{key}", getattr(row, key), "it follows from the flow", "remove it")
    if place.figures is None:
        book.fault(f"{name}.flow", row.flow, "the pump or fan and its system are not given", "add [speed.process]")
    elif row.flow.unit == "m3/s" and place.figures.rated_flow is None:
        reason = "its share of the rated flow is needed"
        book.fault(f"{name}.flow", row.flow, reason, 'add rated_flow = "320 m3/h" to [speed.process]')
    elif row.flow.value > _MOST_FLOW * (1.0 if row.flow.unit == "pu" else place.figures.rated_flow or 1.0):
        reason = f"it is more than {_MOST_FLOW:g} times the rated flow"
        book.fault(f"{name}.flow", row.flow, reason, 'write it as in "70 %"')


def _demand(row: DutySection, place: _Place, process: Process | None) -> DutyPoint:
    """One demand; by flow it is met at the speed at which the open system carries it, static head included."""
    hours = row.hours.value
    if row.flow is not None and process is not None:
        flow = row.flow.value if row.flow.unit == "pu" else row.flow.value / (process.rated_flow or row.flow.value)
        n = float(speed_for(process, flow))
        speed, torque = n * process.machine.speed, float(torque_at(process, n, flow))
        name = row.name or f"{flow * 100:.3g} % flow"
        return DutyPoint(name=name, speed=speed, torque=torque, hours=hours, flow=flow, useful=speed * torque)
    assert row.speed is not None
    speed = row.speed.value
    torque = _torque(row, speed, place, process)
    name = row.name or f"{speed * 30 / pi:.4g} r/min"
    return DutyPoint(name=name, speed=speed, torque=torque, hours=hours, useful=speed * torque)


def _torque(row: DutySection, speed: float, place: _Place, process: Process | None) -> float:
    """As given, by power, or that of the process or the load at this speed. [N m]"""
    if row.torque is not None:
        return row.torque.value
    if row.power is not None:
        return row.power.value / speed
    load = place.load if process is None else process.load()
    return float(np.asarray(load.running(speed)))


def _enter(name: str, row: DutySection, point: DutyPoint, book: Book) -> None:
    """What was worked out for a demand."""
    if row.flow is not None:
        why = "where the machine's head meets that of the system, static head included"
        book.derived(f"{name}.speed", point.speed, "rad/s", why)
        book.derived(f"{name}.torque", point.torque, "N m", "torque of the machine at this speed and flow")
    elif row.power is not None:
        book.derived(f"{name}.torque", point.torque, "N m", "shaft power / speed")
    elif row.torque is None:
        book.derived(f"{name}.torque", point.torque, "N m", "torque of the driven machine at this speed")


def _variants(rows: Sequence[DutySection], place: _Place) -> tuple[tuple[Variant, Variant], ...]:
    """The duty with each assumed figure of the process at the ends of its range; none without demands by flow."""
    figures = place.figures
    if figures is None or all(row.flow is None for row in rows):
        return ()

    def at(name: str, value: float) -> Variant:
        process = figures.process({name: value})
        return Variant(name=name, process=process, duty=tuple(_demand(row, place, process) for row in rows))

    return tuple((at(name, low), at(name, high)) for name, (low, high) in figures.ranges.items())


def _site(section: Any, book: Book) -> Site:
    """Where the motor stands and what cools it, as given or as standards take it."""

    def of(key: str, usual: float, unit: str, between: tuple[float, float], why: str) -> float:
        given: Parsed | None = getattr(section, key)
        return given.value if given is not None else book.assumed(f"speed.{key}", usual, unit, between, why)

    standard = "the rating holds up to there, IEC 60034-1 (from memory)"
    altitude = of("altitude", 0.0, "m", (0.0, 1000.0), f"not above 1000 m; {standard}")
    ambient = of("ambient", 40.0, "degC", (20.0, 40.0), standard)
    cooling = section.cooling or book.assumed_word("speed.cooling", OWN_FAN, f"the commonest cooling; {_PRACTICE}")
    return Site(altitude=altitude, ambient=ambient, forced=cooling == BLOWER)


def _overload(section: Any, book: Book) -> float:
    if section.overload is not None:
        return float(section.overload.value)
    return book.assumed("speed.overload", 1.5, "pu", (1.1, 2.0), f"short-time current of a converter; {_PRACTICE}")


def _coupling_point(section: Any, supply: SupplyPath, book: Book) -> int:
    """Place of the busbar in the path at which harmonics count."""
    names = [bar.name for bar in supply.busbars]
    if section.coupling_point is None:
        book.assumed_word("speed.coupling_point", names[0], "not given: the first busbar of the path")
        return 0
    if section.coupling_point not in names:
        listed = ", ".join(f'"{name}"' for name in names)
        book.fault("speed.coupling_point", section.coupling_point, "no busbar has this name", f"write one of {listed}")
        return 0
    return names.index(section.coupling_point)

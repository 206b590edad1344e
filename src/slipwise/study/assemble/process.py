"""From `[speed.process]` to a pump or fan on its system, and to the same with each assumed value at the ends of its range."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from slipwise.model.load.process import Centrifugal
from slipwise.model.load.system import Process
from slipwise.model.machine.motor import Motor
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book
from slipwise.study.schema.speed import ProcessSection

_PRACTICE = "common practice, no source"
_WATER, _GRAVITY = 1000.0, 9.80665  # kg/m3, m/s2
# Value and range, of the rated point: radial machines.
_SHUT_HEAD = {"pump": (1.25, (1.1, 1.4)), "fan": (1.3, (1.1, 1.6))}
_SHUT_POWER = {"pump": (0.4, (0.3, 0.5)), "fan": (0.4, (0.3, 0.55))}
_STATIC_PRESSURE = (0.0, (0.0, 0.2))


@dataclass(slots=True)
class ProcessFigures:
    """The figures a process is made of, and the ranges of those that were assumed. All per unit but torque and speed."""

    kind: str
    torque: float
    speed: float
    rated_flow: float | None
    rated_head: float | None
    figures: dict[str, float] = field(default_factory=dict)
    ranges: dict[str, tuple[float, float]] = field(default_factory=dict)

    def process(self, changed: Mapping[str, float] | None = None) -> Process:
        """The process with some of its figures changed."""
        figures = {**self.figures, **(changed or {})}
        machine = Centrifugal(
            torque=self.torque,
            speed=self.speed,
            inertia=0.0,
            shut_torque=figures["shut_power"],
            shut_head=figures["shut_head"],
        )
        return Process(
            kind=self.kind,
            machine=machine,
            static_head=figures["static_head"],
            rated_flow=self.rated_flow,
            rated_head=self.rated_head,
        )


def process_figures(section: ProcessSection, motor: Motor, book: Book) -> ProcessFigures:
    """The figures of a process, each with its origin in the book.

    Raises:
        InputError: it cannot be built; the faults are in the book.
    """
    kind = section.machine
    speed = _speed(section, motor, book)
    power = _power(section, book)
    found = ProcessFigures(
        kind=kind,
        torque=power / speed,
        speed=speed,
        rated_flow=None if section.rated_flow is None else section.rated_flow.value,
        rated_head=None if section.rated_head is None else section.rated_head.value,
    )
    _ratio(found, "shut_head", section.shut_head, found.rated_head, _SHUT_HEAD[kind], book)
    _ratio(found, "shut_power", section.shut_power, power, _SHUT_POWER[kind], book)
    if section.static_head is None and kind == "pump":
        raise book.give_up(
            "speed.process.static_head",
            "",
            "it is missing, and with it speed and power at every flow change",
            'add static_head = "38 m", or "0 m" for a closed circuit',
        )
    _ratio(found, "static_head", section.static_head, found.rated_head, _STATIC_PRESSURE, book)
    _check(found, section, book)
    return found


def _speed(section: ProcessSection, motor: Motor, book: Book) -> float:
    if section.speed is not None:
        return section.speed.value
    rating = motor.rating
    between = (rating.speed, rating.synchronous_speed)
    return book.assumed("speed.process.speed", rating.speed, "rad/s", between, f"the motor's rated speed; {_PRACTICE}")


def _power(section: ProcessSection, book: Book) -> float:
    """Shaft power at the rated point. [W]"""
    if section.shaft_power is not None:
        if section.efficiency is not None:
            book.fault("speed.process.efficiency", section.efficiency, "shaft_power says the same", "remove one")
        return section.shaft_power.value
    if (
        section.efficiency is None
        or section.rated_flow is None
        or section.rated_head is None
        or section.machine == "fan"
    ):
        raise book.give_up(
            "speed.process.shaft_power",
            "",
            "the shaft power at the rated point is not given",
            'add shaft_power = "78 kW"; for a pump rated_flow, rated_head and efficiency will do as well',
        )
    power = _WATER * _GRAVITY * section.rated_flow.value * section.rated_head.value / section.efficiency.value
    why = "density x gravity x flow x head / efficiency, water of 1000 kg/m3"
    return book.derived("speed.process.shaft_power", power, "W", why)


def _ratio(
    found: ProcessFigures,
    name: str,
    given: Parsed | None,
    whole: float | None,
    usual: tuple[float, tuple[float, float]],
    book: Book,
) -> None:
    """A figure per unit of the rated one; assumed when it was not given."""
    place = f"speed.process.{name}"
    if given is None:
        value, between = usual
        found.figures[name] = book.assumed(place, value, "pu", between, f"radial {found.kind}, of rated; {_PRACTICE}")
        found.ranges[name] = between
    elif given.unit == "pu":
        found.figures[name] = given.value
    elif whole is None:
        raise book.give_up(place, given, "its ratio to the rated head is needed", 'add rated_head = "62 m"')
    else:
        found.figures[name] = book.derived(place, given.value / whole, "pu", f"{given.text} / rated value")


def _check(found: ProcessFigures, section: ProcessSection, book: Book) -> None:
    """Curves that could not be those of a machine on its system."""
    static, shut = found.figures["static_head"], found.figures["shut_head"]
    if shut < 1:
        book.fault(
            "speed.process.shut_head",
            section.shut_head or "",
            "it is below the rated head; a head curve that rises with flow is not computed",
            "give the head at no flow",
        )
    if static >= 1:
        raise book.give_up(
            "speed.process.static_head",
            section.static_head or "",
            "it is not below the rated head, so nothing is left for friction",
            "check static_head and rated_head",
        )

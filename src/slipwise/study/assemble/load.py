"""From `[load]` to the load at the motor shaft: through gear or belt, with linear mass, breakaway apart."""

from __future__ import annotations

from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.motor import Motor
from slipwise.quantity.unit_table import lookup
from slipwise.study.assemble.book import Book
from slipwise.study.assemble.process_load import belt, flow_machine
from slipwise.study.assemble.shaft import (
    Gear,
    base_speed,
    breakaway_speed,
    breakaway_torque,
    gear_of,
    inertia_of,
    running_torque,
    travel_of,
)
from slipwise.study.schema.load import LoadCurveSection, LoadSection

_PRACTICE = "common practice, no source"
FLOW = ("centrifugal pump", "fan")
_OWN_KEYS = {  # keys that only some laws know
    "valve": ("centrifugal pump",),
    "static_head": ("centrifugal pump",),
    "shut_head": ("centrifugal pump",),
    "damper": ("fan",),
    "shut_torque": FLOW,
    "belt_pull": ("conveyor",),
    "belt_friction": ("conveyor",),
    "material_mass": ("conveyor",),
    "slope": ("conveyor",),
}
_EXPONENTS = {"constant": 0.0, "linear": 1.0, "quadratic": 2.0}


def build_load(section: LoadSection, motor: Motor, book: Book) -> Load:
    """The load at the motor shaft.

    Raises:
        InputError: it cannot be built; the faults are in the book.
    """
    _check_keys(section, book)
    gear = gear_of(section, book)
    if section.torque_law == "curve":
        return _typed(section, gear, motor, book)
    base = base_speed(section, gear, motor, book)
    if section.torque_law == "conveyor":
        return belt(section, gear, base, motor, book)
    if section.torque_law in FLOW:
        return flow_machine(section, gear, base, motor, book)
    torque = gear.torque(running_torque(section, base / gear.ratio, book))
    breakaway = breakaway_torque(section, gear, torque, book)
    if section.overhauling:
        breakaway = max(0.0, breakaway - torque)  # the load's own pull is no friction
    return Load(
        terms=(
            PowerTerm(coefficient=torque, exponent=_exponent(section, book), overhauling=bool(section.overhauling)),
        ),
        base_speed=base,
        inertia=inertia_of(section, gear, base, motor, book),
        breakaway=breakaway,
        breakaway_speed=breakaway_speed(section, gear, base, book),
        travel=travel_of(section, base),
    )


def _check_keys(section: LoadSection, book: Book) -> None:
    """Keys that belong to another law, or that exclude each other."""
    law = section.torque_law
    if section.exponent is not None and law != "power":
        book.fault(
            "load.exponent",
            section.exponent,
            f'torque_law = "{law}" has its own exponent',
            'write torque_law = "power", or remove it',
        )
    if section.curve is not None and law != "curve":
        book.fault(
            "load.curve", "", f'torque_law = "{law}" needs no curve', 'write torque_law = "curve", or remove the table'
        )
    if section.curve is None and law == "curve":
        raise book.give_up(
            "load.curve", "", "the curve is missing", "add [load.curve] with speed, speed_unit, torque, torque_unit"
        )
    if law == "curve":
        for name in ("torque", "shaft_power"):
            if getattr(section, name) is not None:
                book.fault(f"load.{name}", getattr(section, name), "the curve says the torque already", "remove it")
    if section.overhauling and law == "curve":
        book.fault("load.overhauling", "true", "a typed curve cannot overhaul", 'use torque_law = "constant"')
    for name, laws in _OWN_KEYS.items():
        given = getattr(section, name)
        if given is not None and law not in laws:
            words = " or ".join(f'"{word}"' for word in laws)
            shown = f'"{given}"' if isinstance(given, str) else given
            book.fault(
                f"load.{name}", shown, f"it belongs to torque_law = {words}", "write that law, or remove the key"
            )


def _exponent(section: LoadSection, book: Book) -> float:
    if section.torque_law != "power":
        return _EXPONENTS[section.torque_law]
    if section.exponent is None:
        book.fault("load.exponent", "", 'torque_law = "power" needs its exponent', "add exponent = 1.7")
        return 1.0
    return section.exponent.value


def _typed(section: LoadSection, gear: Gear, motor: Motor, book: Book) -> Load:
    """A typed curve at the driven shaft, brought to the motor shaft."""
    curve = section.curve
    assert curve is not None
    speed, torque = _points(curve, gear, book)
    reach = motor.rating.speed
    if speed[-1] < 0.9 * reach:
        book.fault(
            "load.curve.speed",
            f"{curve.speed[-1]:g}",
            f"the curve ends at {speed[-1] / reach:.0%} of the motor's rated speed",
            "add points up to full speed, or check gear_ratio and speed_unit",
        )
    book.assumed_word("load.curve", "held level beyond its ends", "straight lines between the points")
    breakaway = max(0.0, torque[0])
    if section.breakaway_torque is None:
        low, high = breakaway, 1.5 * breakaway
        book.assumed(
            "load.breakaway_torque",
            breakaway,
            "N m",
            (low, high),
            f"at the motor: first point of the curve; {_PRACTICE}",
        )
    else:
        breakaway = breakaway_torque(section, gear, torque[-1], book)
    return Load(
        terms=(),
        base_speed=speed[-1],
        inertia=inertia_of(section, gear, speed[-1], motor, book),
        curve_speed=speed,
        curve_torque=torque,
        breakaway=breakaway,
        breakaway_speed=breakaway_speed(section, gear, speed[-1], book),
        travel=travel_of(section, speed[-1]),
    )


def _points(curve: LoadCurveSection, gear: Gear, book: Book) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Speeds [rad/s] and torques [N m] at the motor shaft."""
    if len(curve.torque) != len(curve.speed):
        raise book.give_up(
            "load.curve.torque",
            f"{len(curve.torque)} values",
            f"there are {len(curve.speed)} speeds",
            "give one torque for each speed",
        )
    if curve.speed[0] != 0:
        raise book.give_up(
            "load.curve.speed",
            f"{curve.speed[0]:g}",
            "the curve does not begin at standstill",
            "add the point at speed 0",
        )
    rate, size = lookup(curve.speed_unit), lookup(curve.torque_unit)
    assert rate is not None
    assert size is not None
    return (
        tuple(n * rate.factor * gear.ratio for n in curve.speed),
        tuple(gear.torque(t * size.factor) for t in curve.torque),
    )

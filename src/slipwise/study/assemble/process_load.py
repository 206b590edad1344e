"""From process data to a load: a pump or fan by its valve or damper, a conveyor by its masses and its slope."""

from __future__ import annotations

from dataclasses import replace
from math import atan, cos, sin

from slipwise.model.load.load import Load
from slipwise.model.load.process import (
    Centrifugal,
    Conveyor,
    against_open_valve,
    against_shut_valve,
    against_static_head,
    conveyor,
)
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import DomainError
from slipwise.quantity.unit_table import STANDARD_GRAVITY
from slipwise.study.assemble.book import Book
from slipwise.study.assemble.shaft import Gear, breakaway_speed, breakaway_torque, inertia_of, running_torque
from slipwise.study.schema.load import LoadSection

_PRACTICE = "common practice, no source"
_SHUT_TORQUE = {"centrifugal pump": (0.45, (0.30, 0.60)), "fan": (0.5, (0.35, 0.70))}


def flow_machine(section: LoadSection, gear: Gear, base: float, motor: Motor, book: Book) -> Load:
    """A centrifugal pump or a fan. torque or power in the file are those at rated flow; base: motor speed then. [rad/s]

    Raises:
        InputError: it cannot be built; the fault is in the book.
    """
    torque = gear.torque(running_torque(section, base / gear.ratio, book))
    inertia = inertia_of(section, gear, base, motor, book)
    state = _state(section, book)
    plain = Centrifugal(torque=torque, speed=base, inertia=inertia, shut_torque=1.0)
    if state == "open":
        load = against_open_valve(plain)
    else:
        machine = replace(plain, shut_torque=_shut_torque(section, book))
        load = against_shut_valve(machine) if state == "shut" else _against_head(section, machine, book)
    breakaway = breakaway_torque(section, gear, torque, book)
    return replace(load, breakaway=breakaway, breakaway_speed=breakaway_speed(section, gear, base, book))


def _state(section: LoadSection, book: Book) -> str:
    """How valve or damper stand; open, which asks the most torque of a radial machine, when the file does not say."""
    name = "damper" if section.torque_law == "fan" else "valve"
    given: str | None = getattr(section, name)
    if section.static_head is not None and given not in {None, "static head"}:
        book.fault(
            "load.static_head",
            section.static_head,
            f'with the valve "{given}" no static head is overcome',
            'write valve = "static head", or remove it',
        )
    if given is None and section.static_head is not None:
        return "static head"
    return given or book.assumed_word(f"load.{name}", "open", f"not given: open asks the most torque; {_PRACTICE}")


def _shut_torque(section: LoadSection, book: Book) -> float:
    """Torque without flow, of that at rated flow, both at the same speed. [1]"""
    if section.shut_torque is not None:
        return section.shut_torque.value
    value, between = _SHUT_TORQUE[section.torque_law]
    return book.assumed("load.shut_torque", value, "pu", between, f"radial machine without flow; {_PRACTICE}")


def _against_head(section: LoadSection, machine: Centrifugal, book: Book) -> Load:
    """A pump behind a non-return valve that opens once its head exceeds the static one."""
    if section.static_head is None:
        raise book.give_up(
            "load.static_head", "", 'valve = "static head" needs it', 'add static_head = "60 %", of the rated head'
        )
    if section.shut_head is not None:
        head = section.shut_head.value
    else:
        head = book.assumed("load.shut_head", 1.2, "pu", (1.1, 1.35), f"of rated head, without flow; {_PRACTICE}")
    try:
        return against_static_head(replace(machine, shut_head=head), section.static_head.value)
    except DomainError as error:
        reason = error.faults[0].reason
        raise book.give_up("load.static_head", section.static_head, f"it {reason}", "check both heads") from None


def belt(section: LoadSection, gear: Gear, base: float, motor: Motor, book: Book) -> Load:
    """A conveyor by the mass that moves, its speed, its friction and its slope; base: motor speed when it runs. [rad/s]

    Raises:
        InputError: it cannot be built; the fault is in the book.
    """
    if section.moving_mass is None or section.mass_speed is None:
        missing, example = ("moving_mass", '"19 t"') if section.moving_mass is None else ("mass_speed", '"1.6 m/s"')
        raise book.give_up(
            f"load.{missing}",
            "",
            "a conveyor is built from its moving mass and belt speed",
            f"add {missing} = {example}",
        )
    lift = _lift(section, book)
    pull = _pull(section, lift, base / gear.ratio, book)
    running = Conveyor(
        mass=0.0,  # it is in the inertia already
        belt_speed=section.mass_speed.value,
        speed=base,
        pull=pull,
        lift=lift,
        drive_efficiency=gear.efficiency,
        inertia=inertia_of(section, gear, base, motor, book),
    )
    load = conveyor(running, breakaway_speed(section, gear, base, book))
    friction = load.terms[0].coefficient
    given = section.breakaway_torque
    apart = load.pull if given is not None and given.unit == "N m" else 0.0  # torque to leave rest, lift included
    return replace(load, breakaway=breakaway_torque(section, gear, friction + apart, book) - apart)


def _lift(section: LoadSection, book: Book) -> float:
    """Part of the pull that lifts the material and acts at rest as well; below 0 downhill. [N]"""
    if section.slope is None or section.slope.value == 0:
        return 0.0
    if section.material_mass is None:
        book.fault("load.material_mass", "", "a slope lifts the material on the belt", 'add material_mass = "12 t"')
        return 0.0
    assert section.moving_mass is not None
    if section.material_mass.value > section.moving_mass.value:
        book.fault(
            "load.material_mass",
            section.material_mass,
            f"it is part of the moving mass, and that is {section.moving_mass.text}",
            "count belt, idlers and material into moving_mass",
        )
    force = section.material_mass.value * STANDARD_GRAVITY * sin(atan(section.slope.value))
    return book.derived("load.lift", force, "N", "material mass x g x sin(atan slope)")


def _pull(section: LoadSection, lift: float, driven: float, book: Book) -> float:
    """Pull of the running belt: as given, from torque or power, or from friction and slope. [N]"""
    assert section.mass_speed is not None
    assert section.moving_mass is not None
    if section.belt_pull is not None:
        for name in ("torque", "shaft_power", "belt_friction"):
            if getattr(section, name) is not None:
                book.fault(f"load.{name}", getattr(section, name), "belt_pull says the same", "give one of the two")
        return section.belt_pull.value
    if section.torque is not None or section.shaft_power is not None:
        force = running_torque(section, driven, book) * driven / section.mass_speed.value
        return book.derived("load.belt_pull", force, "N", "power at the drum / belt speed")
    if section.belt_friction is not None:
        friction = section.belt_friction.value
    else:
        why = "of the moving weight: 0.02 in good order, 0.03 and more for short or cold belts; DIN 22101 (from memory)"
        friction = book.assumed("load.belt_friction", 0.025, "", (0.018, 0.04), why)
    slope = 0.0 if section.slope is None else section.slope.value
    force = friction * section.moving_mass.value * STANDARD_GRAVITY * cos(atan(slope)) + lift
    return book.derived("load.belt_pull", force, "N", "friction x moving mass x g x cos(atan slope) + lift")

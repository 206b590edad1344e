"""The load's own shaft and the motor's: gear or belt, the running torque, breakaway and inertia, brought to the motor."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.model.machine.motor import Motor
from slipwise.quantity.show import show
from slipwise.study.assemble.book import Book
from slipwise.study.schema.load import LoadSection

_PRACTICE = "common practice, no source"
_BREAKAWAY = {  # of the running torque at full speed: value, range, what it is typical of
    "constant": (1.3, (1.1, 1.6), "conveyors and other loads with friction; 1.2 to 1.6 when loaded"),
    "linear": (0.3, (0.1, 0.6), "machines whose torque rises in a straight line"),
    "quadratic": (0.15, (0.05, 0.3), "pumps and fans: bearings and glands only"),
    "centrifugal pump": (0.15, (0.05, 0.3), "pumps: bearings and glands only"),
    "fan": (0.15, (0.05, 0.3), "fans: bearings and glands only"),
    "conveyor": (1.3, (1.1, 1.6), "belts: of the friction; 1.2 to 1.6 when loaded"),
    "power": (0.2, (0.05, 0.6), "between the straight line and the square"),
}
_HANGING = (1.1, (1.02, 1.25), "hanging loads: the load itself, and the friction of gear and bearings")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gear:
    """motor speed = ratio x driven speed; torque at the motor = torque / (ratio x efficiency)."""

    ratio: float
    efficiency: float

    def torque(self, driven: float) -> float:
        return driven / (self.ratio * self.efficiency)


def gear_of(section: LoadSection, book: Book) -> Gear:
    """Ratio and efficiency of gear or belt; 1 when the load is coupled directly."""
    pulleys = (section.motor_pulley, section.driven_pulley)
    if section.gear_ratio is not None and any(p is not None for p in pulleys):
        book.fault("load.gear_ratio", section.gear_ratio, "the pulleys say the same", "give the ratio or both pulleys")
    ratio = 1.0
    if section.gear_ratio is not None:
        ratio = section.gear_ratio.value
    elif section.motor_pulley is not None and section.driven_pulley is not None:
        ratio = section.driven_pulley.value / section.motor_pulley.value
        book.derived("load.gear_ratio", ratio, "", "driven pulley / motor pulley, without slip of the belt")
    elif any(p is not None for p in pulleys):
        missing = "motor_pulley" if section.motor_pulley is None else "driven_pulley"
        book.fault(f"load.{missing}", "", "a belt has two pulleys", f'add {missing} = "250 mm"')
    geared = section.gear_ratio is not None or any(p is not None for p in pulleys)
    if section.gear_efficiency is not None:
        efficiency = section.gear_efficiency.value
    elif geared:
        efficiency = book.assumed("load.gear_efficiency", 0.96, "pu", (0.90, 0.98), f"gear or belt; {_PRACTICE}")
    else:
        efficiency = 1.0
    return Gear(ratio=ratio, efficiency=efficiency)


def base_speed(section: LoadSection, gear: Gear, motor: Motor, book: Book) -> float:
    """Motor speed at which torque or power hold. [rad/s]"""
    if section.speed is None:
        driven = motor.rating.speed / gear.ratio
        sync = motor.rating.synchronous_speed / gear.ratio
        book.assumed(
            "load.speed",
            driven,
            "rad/s",
            (driven, sync),
            f"torque or power hold at the motor's rated speed; {_PRACTICE}",
        )
        return motor.rating.speed
    base = section.speed.value * gear.ratio
    if not 0.2 < base / motor.rating.synchronous_speed < 1.5:
        book.fault(
            "load.speed",
            section.speed,
            f"it would turn the motor at {show(base, 'rad/s')}",
            "check speed and gear_ratio",
        )
    return base


def running_torque(section: LoadSection, driven_speed: float, book: Book) -> float:
    """Running torque at the driven shaft. [N m]"""
    if section.torque is not None and section.shaft_power is not None:
        book.fault("load.shaft_power", section.shaft_power, "the torque is given already", "give one of the two")
    if section.torque is not None:
        return section.torque.value
    if section.shaft_power is None:
        raise book.give_up(
            "load.torque",
            "",
            "neither torque nor shaft_power is given",
            'add shaft_power = "72 kW" or torque = "470 N m"',
        )
    return book.derived("load.torque", section.shaft_power.value / driven_speed, "N m", "shaft power / speed")


def breakaway_torque(section: LoadSection, gear: Gear, torque: float, book: Book) -> float:
    """Torque at the motor shaft needed to leave standstill; torque: running, at full speed, at the motor. [N m]"""
    given = section.breakaway_torque
    if given is None:
        factor, between, words = _HANGING if section.overhauling else _BREAKAWAY[section.torque_law]
        book.assumed(
            "load.breakaway_torque", factor, "pu", between, f"of running torque at full speed, {words}; {_PRACTICE}"
        )
        return factor * torque
    breakaway = gear.torque(given.value) if given.unit == "N m" else given.value * torque
    if section.torque_law == "constant" and breakaway < 0.999 * torque:
        book.fault(
            "load.breakaway_torque",
            given,
            "it is below the running torque at standstill",
            "breakaway is the greater of the two",
        )
    return breakaway


def breakaway_speed(section: LoadSection, gear: Gear, base: float, book: Book) -> float:
    """Motor speed at which the breakaway excess is gone. [rad/s]"""
    given = section.breakaway_speed
    if given is None:
        return base * book.assumed("load.breakaway_speed", 0.05, "pu", (0.02, 0.10), f"of full speed; {_PRACTICE}")
    return given.value * base if given.unit == "pu" else given.value * gear.ratio


def inertia_of(section: LoadSection, gear: Gear, base: float, motor: Motor, book: Book) -> float:
    """Everything but the rotor, at the motor shaft. [kg m2]"""
    if section.inertia is None and section.inertia_at_motor is None and section.moving_mass is None:
        rotor = motor.inertia
        return book.assumed(
            "load.inertia",
            rotor,
            "kg m2",
            (0.1 * rotor, 10 * rotor),
            f"not given: that of the rotor, with a wide range; {_PRACTICE}",
        )
    total = 0.0
    if section.inertia is not None:
        total += section.inertia.value / gear.ratio**2
    if section.inertia_at_motor is not None:
        total += section.inertia_at_motor.value
    total += _linear_inertia(section, base, book)
    if gear.ratio != 1 or section.moving_mass is not None:
        why = "J / ratio^2 + J at motor + m (v / motor speed)^2"
        book.derived("load.inertia at the motor shaft", total, "kg m2", why)
    return total


def _linear_inertia(section: LoadSection, base: float, book: Book) -> float:
    """m (v / w)^2. [kg m2]"""
    if section.moving_mass is None or section.mass_speed is None:
        if (section.moving_mass is None) != (section.mass_speed is None):
            missing = "moving_mass" if section.moving_mass is None else "mass_speed"
            example = '"14 t"' if section.moving_mass is None else '"1.6 m/s"'
            book.fault(f"load.{missing}", "", "mass and its speed belong together", f"add {missing} = {example}")
        return 0.0
    return section.moving_mass.value * (section.mass_speed.value / base) ** 2


def travel_of(section: LoadSection, base: float) -> float:
    """Way of the mass that moves in a line per angle of the motor shaft; 0 when none does. [m/rad]"""
    return 0.0 if section.mass_speed is None or section.moving_mass is None else section.mass_speed.value / base

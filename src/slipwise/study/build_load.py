"""From `[load]` to the load at the motor shaft: through gear or belt, with linear mass, breakaway apart."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.motor import Motor
from slipwise.quantity.show import show
from slipwise.quantity.unit_table import lookup
from slipwise.study.build_book import Book
from slipwise.study.schema_load import LoadCurveSection, LoadSection

_PRACTICE = "common practice, no source"
_EXPONENTS = {"constant": 0.0, "linear": 1.0, "quadratic": 2.0}
_BREAKAWAY = {  # of the running torque at full speed: value, range, what it is typical of
    "constant": (1.3, (1.1, 1.6), "conveyors and other loads with friction; 1.2 to 1.6 when loaded"),
    "linear": (0.3, (0.1, 0.6), "machines whose torque rises in a straight line"),
    "quadratic": (0.15, (0.05, 0.3), "pumps and fans: bearings and glands only"),
    "power": (0.2, (0.05, 0.6), "between the straight line and the square"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Gear:
    """motor speed = ratio x driven speed; torque at the motor = torque / (ratio x efficiency)."""

    ratio: float
    efficiency: float

    def torque(self, driven: float) -> float:
        return driven / (self.ratio * self.efficiency)


def build_load(section: LoadSection, motor: Motor, book: Book) -> Load:
    """The load at the motor shaft.

    Raises:
        InputError: it cannot be built; the faults are in the book.
    """
    _check_keys(section, book)
    gear = _gear(section, book)
    if section.torque_law == "curve":
        return _typed(section, gear, motor, book)
    base = _base_speed(section, gear, motor, book)
    torque = gear.torque(_torque(section, base / gear.ratio, book))
    breakaway = _breakaway(section, gear, torque, book)
    return Load(
        terms=(
            PowerTerm(coefficient=torque, exponent=_exponent(section, book), overhauling=bool(section.overhauling)),
        ),
        base_speed=base,
        inertia=_inertia(section, gear, base, motor, book),
        breakaway=breakaway,
        breakaway_speed=_breakaway_speed(section, gear, base, book),
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


def _gear(section: LoadSection, book: Book) -> _Gear:
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
    return _Gear(ratio=ratio, efficiency=efficiency)


def _base_speed(section: LoadSection, gear: _Gear, motor: Motor, book: Book) -> float:
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


def _torque(section: LoadSection, driven_speed: float, book: Book) -> float:
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


def _exponent(section: LoadSection, book: Book) -> float:
    if section.torque_law != "power":
        return _EXPONENTS[section.torque_law]
    if section.exponent is None:
        book.fault("load.exponent", "", 'torque_law = "power" needs its exponent', "add exponent = 1.7")
        return 1.0
    return section.exponent.value


def _breakaway(section: LoadSection, gear: _Gear, torque: float, book: Book) -> float:
    """Torque at the motor shaft needed to leave standstill; torque: running, at full speed, at the motor. [N m]"""
    given = section.breakaway_torque
    if given is None:
        factor, between, words = _BREAKAWAY[section.torque_law]
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


def _breakaway_speed(section: LoadSection, gear: _Gear, base: float, book: Book) -> float:
    """Motor speed at which the breakaway excess is gone. [rad/s]"""
    given = section.breakaway_speed
    if given is None:
        return base * book.assumed("load.breakaway_speed", 0.05, "pu", (0.02, 0.10), f"of full speed; {_PRACTICE}")
    return given.value * base if given.unit == "pu" else given.value * gear.ratio


def _inertia(section: LoadSection, gear: _Gear, base: float, motor: Motor, book: Book) -> float:
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


def _typed(section: LoadSection, gear: _Gear, motor: Motor, book: Book) -> Load:
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
        breakaway = _breakaway(section, gear, torque[-1], book)
    return Load(
        terms=(),
        base_speed=speed[-1],
        inertia=_inertia(section, gear, speed[-1], motor, book),
        curve_speed=speed,
        curve_torque=torque,
        breakaway=breakaway,
        breakaway_speed=_breakaway_speed(section, gear, speed[-1], book),
    )


def _points(curve: LoadCurveSection, gear: _Gear, book: Book) -> tuple[tuple[float, ...], tuple[float, ...]]:
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

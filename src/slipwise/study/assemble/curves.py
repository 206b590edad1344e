"""From `[motor.curves]` to curve points: bases resolved, ends checked, the synchronous point added when missing."""

from __future__ import annotations

from math import pi

from slipwise.model.machine.motor import CurvePoint, Motor, Rating
from slipwise.quantity.unit_table import lookup
from slipwise.results.study import PlateRow
from slipwise.study.assemble.book import Book
from slipwise.study.schema.motor import CurvesSection, MotorSection

_PRACTICE = "common practice, no source"


def curve_points(section: MotorSection, rating: Rating, book: Book) -> tuple[CurvePoint, ...]:
    """The typed curves at rated voltage, from standstill to synchronous speed.

    Raises:
        InputError: lists of unequal length, or curves that do not begin at standstill; the faults are in the book.
    """
    given = section.curves
    assert given is not None
    _check_lengths(given, book)
    speed = [n * _speed_base(given.speed_unit, rating) / rating.synchronous_speed for n in given.speed]
    _check_ends(given, speed, rating, book)
    scale = _voltage_scale(given, rating, book)
    torque = [t * _torque_base(given.torque_unit, rating) * scale**2 for t in given.torque]
    current = [i * _current_base(given.current_unit, rating) * scale for i in given.current]
    cosine = given.power_factor or _typical_power_factor(section, speed, rating, book)
    points = [
        CurvePoint(speed=n, torque=t, current=i, power_factor=c)
        for n, t, i, c in zip(speed, torque, current, cosine, strict=True)
    ]
    if speed[-1] < 1 - 1e-9:
        points.append(_synchronous_point(rating, book))
    return tuple(points)


def curve_rows(section: MotorSection, motor: Motor) -> tuple[PlateRow, ...]:
    """Catalogue ratios beside what the typed points show; no tolerance, since both come from the maker."""
    points = motor.curves or ()
    torques = [point.torque / motor.rating.torque for point in points]
    shown = {
        "locked_rotor_current_ratio": ("locked-rotor current / rated", points[0].current / motor.rating.current),
        "locked_rotor_torque_ratio": ("locked-rotor torque / rated", torques[0]),
        "breakdown_torque_ratio": ("breakdown torque / rated", max(torques)),
        "pull_up_torque_ratio": ("pull-up torque / rated", min(torques[: torques.index(max(torques)) + 1])),
    }
    return tuple(
        PlateRow(
            name=name, plate=given.value, model=model, unit="pu", tolerance_low=None, tolerance_high=None, source=""
        )
        for key, (name, model) in shown.items()
        if (given := getattr(section, key)) is not None
    )


def _check_lengths(given: CurvesSection, book: Book) -> None:
    for name in ("torque", "current", "power_factor"):
        values = getattr(given, name)
        if values is not None and len(values) != len(given.speed):
            raise book.give_up(
                f"motor.curves.{name}",
                f"{len(values)} values",
                f"there are {len(given.speed)} speeds",
                "give one value for each speed",
            )
    if any(not 0 < c <= 1 for c in given.power_factor or ()):
        raise book.give_up("motor.curves.power_factor", "", "a power factor lies between 0 and 1", "write 0.3, not 30")
    if any(i <= 0 for i in given.current):
        raise book.give_up("motor.curves.current", "", "a current must be above zero", "check the list of currents")


def _check_ends(given: CurvesSection, speed: list[float], rating: Rating, book: Book) -> None:
    if abs(speed[0]) > 1e-9:
        raise book.give_up(
            "motor.curves.speed",
            f"{given.speed[0]:g}",
            "the curves do not begin at standstill",
            "add the point at speed 0: locked-rotor torque and current",
        )
    if speed[-1] > 1 + 1e-6:
        raise book.give_up(
            "motor.curves.speed",
            f"{given.speed[-1]:g}",
            "the last speed is above synchronous speed",
            "check speed_unit, poles and rated_frequency",
        )
    if speed[-1] < 0.98 * rating.speed / rating.synchronous_speed:
        raise book.give_up(
            "motor.curves.speed",
            f"{given.speed[-1]:g}",
            "the curves end below rated speed",
            "add the rated point: rated speed, torque and current",
        )


def _speed_base(unit: str, rating: Rating) -> float:
    bases = {
        "r/min": pi / 30,
        "rad/s": 1.0,
        "% of synchronous": rating.synchronous_speed / 100,
        "pu of synchronous": rating.synchronous_speed,
    }
    return bases[unit]


def _torque_base(unit: str, rating: Rating) -> float:
    known = lookup(unit)
    if known is not None:
        return known.factor
    return rating.torque / (100 if unit.startswith("%") else 1)


def _current_base(unit: str, rating: Rating) -> float:
    if unit == "A":
        return 1.0
    return rating.current / (100 if unit.startswith("%") else 1)


def _voltage_scale(given: CurvesSection, rating: Rating, book: Book) -> float:
    """Rated voltage over the voltage of the curves: current goes with it, torque with its square."""
    if given.voltage is None:
        book.assumed_word("motor.curves.voltage", "rated voltage", f"the curves hold at rated voltage; {_PRACTICE}")
        return 1.0
    share = given.voltage.value if given.voltage.unit == "pu" else given.voltage.value / rating.voltage
    if abs(share - 1) > 1e-6:
        why = (
            f"curves of {given.voltage.text} brought to rated voltage: current by U, torque by U^2, without saturation"
        )
        book.derived("motor.curves.scale", 1 / share, "", why)
    return 1 / share


def _typical_power_factor(section: MotorSection, speed: list[float], rating: Rating, book: Book) -> tuple[float, ...]:
    """Straight line from a typical locked-rotor value to that of the plate, which it reaches at rated speed."""
    low, full = 0.3, section.power_factor.value if section.power_factor is not None else 0.85
    why = f"0.3 at standstill, rising in a straight line to {full:g} at rated speed; {_PRACTICE}"
    book.assumed("motor.curves.power_factor", low, "", (0.15, 0.5), why)
    top = rating.speed / rating.synchronous_speed
    return tuple(low + (full - low) * min(1.0, n / top) for n in speed)


def _synchronous_point(rating: Rating, book: Book) -> CurvePoint:
    share = book.assumed(
        "motor.curves.no_load_current_ratio", 0.35, "", (0.2, 0.6), f"current at synchronous speed; {_PRACTICE}"
    )
    return CurvePoint(speed=1.0, torque=0.0, current=share * rating.current, power_factor=0.1)

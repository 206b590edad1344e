"""What `[motor]` says, checked for contradictions, and handed on as a plate."""

from __future__ import annotations

from collections.abc import Callable
from math import pi, sqrt

from slipwise.identify.records import Plate
from slipwise.model.machine.motor import Rating, StallLimit
from slipwise.quantity.show import show
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book
from slipwise.study.schema.motor import MotorSection

FAR_BELOW = 0.08  # slip at full load beyond which a plate with a contradicting efficiency was likely read wrongly


def value(parsed: Parsed | None) -> float | None:
    """The SI value of an optional quantity."""
    return None if parsed is None else parsed.value


def synchronous_speed(section: MotorSection) -> float:
    """4 pi f / poles. [rad/s]"""
    return 4 * pi * section.rated_frequency.value / section.poles


def check_plate(section: MotorSection, book: Book) -> None:
    """What a plate cannot say."""
    sync = synchronous_speed(section)
    speed = section.rated_speed
    if speed is not None and not 0.8 * sync < speed.value < sync:
        reason = f"{section.poles} poles at {section.rated_frequency.text} turn synchronously at {show(sync, 'rad/s')}"
        book.fault(
            "motor.rated_speed",
            speed,
            f"{reason}, and full-load speed lies a little below",
            "check speed, poles and frequency",
        )
    _check_power(section, book)
    _check_slip(section, book)
    pull_up, locked, breakdown = (
        section.pull_up_torque_ratio,
        section.locked_rotor_torque_ratio,
        section.breakdown_torque_ratio,
    )
    if pull_up is not None and locked is not None and pull_up.value > locked.value * 1.0001:
        book.fault(
            "motor.pull_up_torque_ratio",
            pull_up,
            "pull-up torque is the least torque on the way up, and locked-rotor torque is below it",
            "check the two ratios",
        )
    if pull_up is not None and breakdown is not None and pull_up.value > breakdown.value:
        book.fault(
            "motor.pull_up_torque_ratio",
            pull_up,
            "it is above breakdown torque, the greatest of the curve",
            "check the two ratios",
        )
    _check_letters(section, book)


def _check_power(section: MotorSection, book: Book) -> None:
    """Power, current, voltage, power factor and efficiency must agree; star or delta current is the usual slip."""
    current, cosine, efficiency = section.rated_current, section.power_factor, section.efficiency
    if current is None:
        return
    apparent = sqrt(3) * section.rated_voltage.value * current.value
    useful = section.rated_power.value / apparent
    if cosine is not None and efficiency is not None:
        ratio = useful / (cosine.value * efficiency.value)
        if not 0.85 < ratio < 1.15:
            right = section.rated_power.value / (
                sqrt(3) * section.rated_voltage.value * cosine.value * efficiency.value
            )
            hint = _star_delta_hint(ratio)
            thousand = _thousand(current.value, lambda factor: 0.85 < ratio / factor < 1.15)
            book.fault(
                "motor.rated_current",
                current,
                f"power, voltage, power factor and efficiency give {show(right, 'A')}{hint}",
                thousand or "check the plate: current and voltage of one connection belong together",
            )
    elif useful > 0.98 or useful < 0.15:
        book.fault(
            "motor.rated_current",
            current,
            f"with the rated voltage it makes power factor x efficiency {useful:.3g}",
            _thousand(current.value, lambda factor: 0.5 < useful / factor < 0.95)
            or "check the plate: current and voltage of one connection belong together",
        )


def _check_slip(section: MotorSection, book: Book) -> None:
    """The rotor keeps at most 1 - slip of its power: a speed far below synchronous contradicts a good efficiency.

    Raises:
        InputError: so it is, and speed, poles or frequency are the likely reason; the fault is in the book.
    """
    speed, stated, current = section.rated_speed, section.efficiency, section.rated_current
    if speed is None or (stated is None and current is None):
        return
    slip = 1 - speed.value / synchronous_speed(section)
    if stated is not None:
        efficiency, words = stated.value, "the plate says"
    else:
        assert current is not None
        cosine = 1.0 if section.power_factor is None else section.power_factor.value
        apparent = sqrt(3) * section.rated_voltage.value * current.value
        efficiency, words = section.rated_power.value / (apparent * cosine), "power, voltage and current ask for"
    if not (FAR_BELOW < slip < 0.2 and 1 - slip <= efficiency <= 1):
        return
    sync, least = show(synchronous_speed(section), "rad/s"), show(efficiency, "pu")
    reason = (
        f"{section.poles} poles at {section.rated_frequency.text} turn synchronously at {sync}: at a slip of {show(slip, 'pu')} "
        f"the rotor alone leaves at most {show(1 - slip, 'pu')} efficiency, and {words} {least}"
    )
    other = [(f, 1 - speed.value * section.poles / (4 * pi * f)) for f in (50, 60)]
    near = [f"; at {f} Hz the slip is {show(found, 'pu')}" for f, found in other if 0 < found < FAR_BELOW]
    remedy = f"check rated_frequency, rated_speed and poles{''.join(near)}"
    raise book.give_up("motor.rated_speed", speed, reason, remedy)


def _thousand(current: float, agrees: Callable[[float], bool]) -> str:
    """The current meant, where it is off by a prefix; agrees: whether the rest of the plate goes with current x factor."""
    right = [current * factor for factor in (1e-3, 1e3) if agrees(factor)]
    return f'did you mean "{show(right[0], "A")}"? Otherwise check power and voltage' if right else ""


def _star_delta_hint(ratio: float) -> str:
    for factor in (sqrt(3), 1 / sqrt(3)):
        if abs(ratio / factor - 1) < 0.06:
            return ", sqrt(3) away, which is star current against delta"
    return ""


def _check_letters(section: MotorSection, book: Book) -> None:
    letter = section.code_letter
    if letter is not None and letter.upper() not in tuple("ABCDEFGHJKLMNPRSTUV"):
        book.fault(
            "motor.code_letter",
            f'"{letter}"',
            "code letters run from A to V without I, O and Q",
            'write the letter, as "G"',
        )
    known = ("A", "B", "C", "D", "N", "NE", "NY", "NEY", "H", "HE", "HY", "HEY")
    if section.design is not None and section.design.upper() not in known:
        book.fault(
            "motor.design",
            f'"{section.design}"',
            "the design is not known",
            f"write one of {', '.join(known)}, or leave it out",
        )


def plate_of(section: MotorSection) -> Plate:
    """What the plate says, in SI."""
    loss = section.friction_and_windage
    return Plate(
        power=section.rated_power.value,
        voltage=section.rated_voltage.value,
        frequency=section.rated_frequency.value,
        poles=section.poles,
        connection=section.connection,
        speed=value(section.rated_speed),
        current=value(section.rated_current),
        power_factor=value(section.power_factor),
        efficiency=value(section.efficiency),
        locked_rotor_current_ratio=value(section.locked_rotor_current_ratio),
        locked_rotor_torque_ratio=value(section.locked_rotor_torque_ratio),
        breakdown_torque_ratio=value(section.breakdown_torque_ratio),
        pull_up_torque_ratio=value(section.pull_up_torque_ratio),
        inertia=value(section.inertia),
        design=None if section.design is None else section.design.upper(),
        code_letter=None if section.code_letter is None else section.code_letter.upper(),
        stall=stall_limit(section),
        mechanical_loss=None if loss is None else watts(loss, section),
    )


def stall_limit(section: MotorSection) -> StallLimit:
    return StallLimit(cold=value(section.stall_time_cold), hot=value(section.stall_time_hot))


def watts(loss: Parsed, section: MotorSection) -> float:
    """A loss given in W, or as a share of rated power. [W]"""
    return loss.value if loss.unit == "W" else loss.value * section.rated_power.value


def rating_of(section: MotorSection, speed: float, current: float) -> Rating:
    return Rating(
        power=section.rated_power.value,
        voltage=section.rated_voltage.value,
        frequency=section.rated_frequency.value,
        poles=section.poles,
        speed=speed,
        current=current,
        connection=section.connection,
        power_factor=value(section.power_factor),
        efficiency=value(section.efficiency),
    )

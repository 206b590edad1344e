"""From `[motor]` to a Motor: by circuit values, by typed curves, or by a fit to plate and catalogue."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, pi, sqrt

from slipwise.identify.records import Plate
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss, Motor, Rating, StallLimit
from slipwise.model.machine.temperature import resistance_factor
from slipwise.quantity.units import Parsed
from slipwise.results.study import PlateRow
from slipwise.study.build_book import Book
from slipwise.study.build_curves import curve_points
from slipwise.study.build_rated import Known, at_full_load
from slipwise.study.schema_motor import CircuitSection, MotorSection

_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltMotor:
    """The motor, and its plate against the model where a fit was made."""

    motor: Motor
    plate: tuple[PlateRow, ...] = ()


def build_motor(section: MotorSection, book: Book) -> BuiltMotor:
    """Builds the motor by the best data there are.

    Raises:
        InputError: it cannot be built; the faults are in the book.
    """
    _check_plate(section, book)
    if section.circuit is not None and section.curves is not None:
        book.fault(
            "motor.curves",
            "",
            "the motor is given twice, by circuit values and by curves",
            "keep one of the two tables",
        )
    if section.circuit is not None:
        return BuiltMotor(motor=_by_circuit(section, section.circuit, book))
    _refuse_wound_by_plate(section, book)
    if section.curves is not None:
        return BuiltMotor(motor=_by_curves(section, book))
    return _by_plate(section, book)


def value(parsed: Parsed | None) -> float | None:
    """The SI value of an optional quantity."""
    return None if parsed is None else parsed.value


def synchronous_speed(section: MotorSection) -> float:
    """4 pi f / poles. [rad/s]"""
    return 4 * pi * section.rated_frequency.value / section.poles


def _check_plate(section: MotorSection, book: Book) -> None:
    """What a plate cannot say."""
    sync = synchronous_speed(section)
    speed = section.rated_speed
    if speed is not None and not 0.8 * sync < speed.value < sync:
        rpm = sync * 30 / pi
        reason = f"{section.poles} poles at {section.rated_frequency.text} turn synchronously at {rpm:.4g} r/min"
        book.fault(
            "motor.rated_speed",
            speed,
            f"{reason}, and full-load speed lies a little below",
            "check speed, poles and frequency",
        )
    _check_power(section, book)
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
            book.fault(
                "motor.rated_current",
                current,
                f"power, voltage, power factor and efficiency give {right:.4g} A{hint}",
                "check the plate: current and voltage of one connection belong together",
            )
    elif useful > 0.98 or useful < 0.15:
        book.fault(
            "motor.rated_current",
            current,
            f"with the rated voltage it makes power factor x efficiency {useful:.3g}",
            "check the plate: current and voltage of one connection belong together",
        )


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


def _refuse_wound_by_plate(section: MotorSection, book: Book) -> None:
    """A slip-ring motor needs its circuit: the plate says nothing of its torque with the rings shorted."""
    for name in ("rotor_voltage", "wound_ratio"):
        given = getattr(section, name)
        if given is not None:
            book.fault(
                f"motor.{name}",
                given,
                "a wound rotor needs the values of its circuit",
                "add [motor.circuit], or remove it for a cage",
            )


def _by_plate(section: MotorSection, book: Book) -> BuiltMotor:
    """A double-cage fit; what was not given comes back as estimated rows."""
    from slipwise.identify.plate import fit_plate

    book.close()
    fit = fit_plate(plate_of(section))
    for row in fit.estimated:
        book.estimated(row)
    for note in fit.notes:
        book.assumed_word("motor.circuit", note, "note of the fit")
    motor = (
        fit.motor if section.maximum_speed is None else replace(fit.motor, maximum_speed=section.maximum_speed.value)
    )
    return BuiltMotor(motor=motor, plate=fit.rows)


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
        stall=_stall(section),
        mechanical_loss=None if loss is None else _watts(loss, section),
    )


def _stall(section: MotorSection) -> StallLimit:
    return StallLimit(cold=value(section.stall_time_cold), hot=value(section.stall_time_hot))


def _watts(loss: Parsed, section: MotorSection) -> float:
    """A loss given in W, or as a share of rated power. [W]"""
    return loss.value if loss.unit == "W" else loss.value * section.rated_power.value


def _inertia(section: MotorSection, book: Book) -> float:
    if section.inertia is None:
        raise book.give_up("motor.inertia", "", "the rotor's moment of inertia is missing", 'add inertia = "1.4 kg m2"')
    return section.inertia.value


def _by_curves(section: MotorSection, book: Book) -> Motor:
    """A maker's curves; such a motor has no circuit and so no electrical transient."""
    if section.rated_speed is None or section.rated_current is None:
        missing = "rated_speed" if section.rated_speed is None else "rated_current"
        example = '"1480 r/min"' if section.rated_speed is None else '"160 A"'
        raise book.give_up(
            f"motor.{missing}", "", "a motor given by curves needs it as their base", f"add {missing} = {example}"
        )
    rating = _rating(section, section.rated_speed.value, section.rated_current.value)
    points = curve_points(section, rating, book)
    return Motor(
        rating=rating,
        inertia=_inertia(section, book),
        curves=points,
        stall=_stall(section),
        locked_rotor_current=points[0].current,
        locked_rotor_torque=points[0].torque,
        maximum_speed=value(section.maximum_speed) or inf,
    )


def _rating(section: MotorSection, speed: float, current: float) -> Rating:
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


def _by_circuit(section: MotorSection, given: CircuitSection, book: Book) -> Motor:
    """Circuit values, brought to the star equivalent; speed and current at full load follow when not on the plate."""
    ratio = _wound_ratio(section, given, book)
    circuit = _circuit(section, given, ratio, book)
    stator, rotor = _temperatures(given, book)
    stator_metal, rotor_metal = _conductors(given, ratio is not None, book)
    inertia = _inertia(section, book)
    speed, current = value(section.rated_speed), value(section.rated_current)
    guess = _rating(section, speed or 0.98 * synchronous_speed(section), current or _typical_current(section))
    drag, exponent = _drag(section, book)
    motor = Motor(
        rating=guess,
        inertia=inertia,
        circuit=circuit,
        mechanical_loss=MechanicalLoss(exponent=exponent),
        stray=_stray(section, book),
        stall=_stall(section),
        wound_ratio=ratio,
        stator_temperature=stator,
        rotor_temperature=rotor,
        stator_conductor=stator_metal,
        rotor_conductor=rotor_metal,
        maximum_speed=value(section.maximum_speed) or inf,
    )
    if not book.faults:
        motor = at_full_load(motor, Known(speed=speed is not None, current=current is not None, drag=drag), book)
    rated = motor.rating
    locked_current, locked_torque = section.locked_rotor_current_ratio, section.locked_rotor_torque_ratio
    return replace(
        motor,
        locked_rotor_current=None if locked_current is None else locked_current.value * rated.current,
        locked_rotor_torque=None if locked_torque is None else locked_torque.value * rated.torque,
    )


def _typical_current(section: MotorSection) -> float:
    """A first guess for the stray torque, replaced by the computed current. [A]"""
    return section.rated_power.value / (sqrt(3) * section.rated_voltage.value * 0.75)


def _circuit(section: MotorSection, given: CircuitSection, ratio: float | None, book: Book) -> Circuit:
    """Star equivalent seen from the stator."""
    if (given.R3 is None) != (given.X3 is None):
        missing = "R3" if given.R3 is None else "X3"
        book.fault(
            f"motor.circuit.{missing}", "", "a second cage needs both R3 and X3", f"add {missing}, or remove the other"
        )
    if given.R3 is not None and ratio is not None:
        book.fault("motor.circuit.R3", given.R3, "a wound rotor has one winding, not two cages", "remove R3 and X3")
    star = _to_star(section, given, book)
    rotor_factor = star
    if ratio is not None and _rotor_values(given, book) == "at the slip rings":
        rotor_factor = ratio**2  # the ratio is that of star equivalents already
        for name in ("R2", "X2"):
            parsed: Parsed = getattr(given, name)
            why = f"{parsed.text} at the slip rings x (stator to rotor ratio)^2"
            book.derived(f"motor.circuit.{name}", parsed.value * rotor_factor, "ohm", why)
    rotor = [RotorBranch(R=given.R2.value * rotor_factor, X=given.X2.value * rotor_factor)]
    if given.R3 is not None and given.X3 is not None:
        rotor.append(RotorBranch(R=_third_resistance(given, book) * star, X=given.X3.value * star))
    _no_core_loss(given, book)
    return Circuit(
        frequency=section.rated_frequency.value,
        R1=given.R1.value * star,
        X1=given.X1.value * star,
        Xm=given.Xm.value * star,
        rotor=tuple(rotor),
        **({} if given.Rfe is None else {"Rfe": given.Rfe.value * star}),
    )


def _to_star(section: MotorSection, given: CircuitSection, book: Book) -> float:
    """1/3 for values of a delta winding as wound, recorded; else 1."""
    if given.values != "as wound" or section.connection != "delta":
        return 1.0
    for name in ("R1", "X1", "Xm", "Rfe", "R2", "X2", "R3", "X3"):
        parsed: Parsed | None = getattr(given, name)
        if parsed is not None and not (given.rotor_values == "at the slip rings" and name in {"R2", "X2"}):
            why = f"{parsed.text} as wound in delta / 3: star equivalent"
            book.derived(f"motor.circuit.{name}", parsed.value / 3, "ohm", why)
    return 1 / 3


def _no_core_loss(given: CircuitSection, book: Book) -> None:
    if given.Rfe is None:
        book.assumed_word("motor.circuit.Rfe", "none", "core loss not given: not modelled in the circuit")


def _third_resistance(given: CircuitSection, book: Book) -> float:
    """R3 at the temperature of R2, the one temperature the rotor has. [ohm]"""
    assert given.R3 is not None
    if given.temperature_R3 is None:
        return given.R3.value
    base = given.temperature_R2 or given.temperature
    if base is None:
        book.fault(
            "motor.circuit.temperature_R3",
            given.temperature_R3,
            "the temperature of R2 is not given",
            'add temperature_R2 = "75 degC", or one `temperature` for all',
        )
        return given.R3.value
    factor = resistance_factor(given.temperature_R3.value, base.value, given.rotor_conductor or "aluminium")
    why = f"{given.R3.text} brought from {given.temperature_R3.text} to {base.text}, the temperature of R2"
    return book.derived("motor.circuit.R3", given.R3.value * factor, "ohm", why)


def _temperatures(given: CircuitSection, book: Book) -> tuple[float, float]:
    """Temperatures at which stator and rotor resistances hold. [degC]"""
    common = given.temperature
    found = []
    for name in ("temperature_R1", "temperature_R2"):
        own: Parsed | None = getattr(given, name)
        if (
            own is not None
            and common is not None
            and given.temperature_R1 is not None
            and given.temperature_R2 is not None
        ):
            book.fault(
                "motor.circuit.temperature",
                common,
                "each resistance has a temperature of its own already",
                "remove `temperature`",
            )
        chosen = own or common
        found.append(
            chosen.value
            if chosen is not None
            else book.assumed(f"motor.circuit.{name}", 75.0, "degC", (20.0, 130.0), f"warm winding; {_PRACTICE}")
        )
    return found[0], found[1]


def _conductors(given: CircuitSection, wound: bool, book: Book) -> tuple[str, str]:
    """Metals of stator and rotor, as given or assumed."""
    usual = "copper" if wound else "aluminium"
    return (
        given.stator_conductor or book.assumed_word("motor.circuit.stator_conductor", "copper", _PRACTICE),
        given.rotor_conductor or book.assumed_word("motor.circuit.rotor_conductor", usual, _PRACTICE),
    )


def _rotor_values(given: CircuitSection, book: Book) -> str:
    return given.rotor_values or book.assumed_word(
        "motor.circuit.rotor_values", "referred to the stator", f"R2 and X2 as in the stator's circuit; {_PRACTICE}"
    )


def _wound_ratio(section: MotorSection, given: CircuitSection, book: Book) -> float | None:
    """Stator to rotor ratio of the star equivalents, from turns or from the slip-ring voltage; None for a cage."""
    turns, rings = section.wound_ratio, section.rotor_voltage
    if turns is not None and rings is not None:
        book.fault("motor.wound_ratio", turns, "rotor_voltage says the same", "give one of the two")
    if rings is not None:
        ratio = section.rated_voltage.value / rings.value
        return book.derived("motor.wound_ratio", ratio, "", "rated line voltage / open slip-ring line voltage")
    if turns is None:
        if given.rotor_values == "at the slip rings":
            book.fault(
                "motor.circuit.rotor_values",
                f'"{given.rotor_values}"',
                "the ratio to the stator is not given",
                'add rotor_voltage = "380 V line" to [motor], or wound_ratio',
            )
        return None
    if given.values == "as wound" and section.connection == "delta":
        why = f"turns ratio {turns.text} / sqrt(3): star equivalent of the delta"
        return book.derived("motor.wound_ratio", turns.value / sqrt(3), "", why)
    return turns.value


def _drag(section: MotorSection, book: Book) -> tuple[float, float]:
    """Friction and windage at rated speed [W], and the exponent of its torque against speed."""
    name = "motor.friction_and_windage"
    if section.friction_and_windage is None:
        top = 0.02 * section.rated_power.value
        return book.assumed(name, 0.0, "W", (0.0, top), f"not given: none; {_PRACTICE} for the range"), 1.0
    why = f"of torque against speed, friction and fan together; {_PRACTICE}"
    return _watts(section.friction_and_windage, section), book.assumed(f"{name}.exponent", 1.0, "", (0.0, 2.0), why)


def _stray(section: MotorSection, book: Book) -> float:
    if section.stray_load_loss is not None:
        return _watts(section.stray_load_loss, section)
    top = 0.025 * section.rated_power.value
    return book.assumed("motor.stray_load_loss", 0.0, "W", (0.0, top), f"not given: none; {_PRACTICE} for the range")

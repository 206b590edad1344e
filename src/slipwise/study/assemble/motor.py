"""From `[motor]` to a Motor: by circuit values, by typed curves, or by a fit to plate and catalogue."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf, sqrt

from slipwise.identify.records import Plate, PlateFit
from slipwise.model.machine.motor import MechanicalLoss, Motor
from slipwise.results.identification import Identification
from slipwise.results.recording import RecordingResult
from slipwise.results.study import PlateRow
from slipwise.study.assemble.book import Book
from slipwise.study.assemble.circuit import circuit_of, conductors, line_ratio, temperatures, wound_ratio_of
from slipwise.study.assemble.curves import curve_points, curve_rows
from slipwise.study.assemble.plate import check_plate, plate_of, rating_of, stall_limit, synchronous_speed, value, watts
from slipwise.study.assemble.rated import Known, at_full_load
from slipwise.study.assemble.readings import by_readings
from slipwise.study.assemble.recording import by_recording
from slipwise.study.assemble.rotor import displaced, saturating
from slipwise.study.schema.motor import CircuitSection, MotorSection

_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltMotor:
    """The motor, and its plate, also against the model, where a fit was made."""

    motor: Motor
    plate: tuple[PlateRow, ...] = ()
    nameplate: Plate | None = None
    identification: Identification | None = None  # when it was identified from measurements
    recording: RecordingResult | None = None  # when it was fitted to a recorded start
    section: MotorSection | None = None  # as read and completed, when the motor was read alone


def build_motor(section: MotorSection, book: Book) -> BuiltMotor:
    """Builds the motor by the best data there are.

    Raises:
        InputError: it cannot be built; the faults are in the book.
    """
    check_plate(section, book)
    if section.recording is not None:
        return by_recording(section, book, build_motor)
    if section.readings is not None:
        return by_readings(section, book, build_motor)
    if section.circuit is not None and section.curves is not None:
        book.fault(
            "motor.curves",
            "",
            "the motor is given twice, by circuit values and by curves",
            "keep one of the two tables",
        )
    if section.circuit is not None:
        return _against_plate(section, _by_circuit(section, section.circuit, book), book)
    _refuse_without_circuit(section, book)
    if section.curves is not None:
        _refuse_rings(section, book)
        _refuse_losses(section, "the curves hold at the shaft, after all losses", book)
        _letters_not_used(section, "the curves say more than the letter", book)
        motor = _by_curves(section, book)
        return BuiltMotor(motor=motor, plate=curve_rows(section, motor))
    if section.rotor_voltage is not None or section.wound_ratio is not None:
        return _wound_by_plate(section, book)
    return _by_plate(section, book)


def _against_plate(section: MotorSection, motor: Motor, book: Book) -> BuiltMotor:
    """A motor by circuit values, with what the plate says of it set beside what the circuit shows."""
    if book.faults:
        return BuiltMotor(motor=motor)
    from slipwise.identify.rows import plate_rows, shown_by
    from slipwise.identify.wound import ring_rows

    _letters_not_used(section, "the circuit values say more than the letter", book)
    rows = plate_rows(plate_of(section), motor, shown_by(motor))
    if motor.wound_ratio is not None and section.rotor_current is not None:
        rows = (*rows, *ring_rows(motor, section.rotor_current.value))
    return BuiltMotor(motor=motor, plate=rows)


def _letters_not_used(section: MotorSection, why: str, book: Book) -> None:
    for name in ("design", "code_letter"):
        if getattr(section, name) is not None:
            book.assumed_word(f"motor.{name}", "not used", why)


def _refuse_losses(section: MotorSection, reason: str, book: Book) -> None:
    """Losses that the other data settle already: ignoring them silently would mislead."""
    for name in ("friction_and_windage", "stray_load_loss"):
        given = getattr(section, name)
        if given is not None:
            book.fault(f"motor.{name}", given, reason, "remove it, or give [motor.circuit]")


def _refuse_rings(section: MotorSection, book: Book) -> None:
    """Typed curves hold with the rings shorted and cannot be started with resistors."""
    for name in ("rotor_voltage", "wound_ratio", "rotor_current"):
        given = getattr(section, name)
        if given is not None:
            reason, remedy = (
                "typed curves know no slip rings",
                "remove [motor.curves] and give the plate, or [motor.circuit]",
            )
            book.fault(f"motor.{name}", given, reason, remedy)


def _refuse_without_circuit(section: MotorSection, book: Book) -> None:
    """Bars and saturation change values of a circuit, and a plate or a curve has none to change."""
    for name in ("bars", "saturation"):
        if getattr(section, name) is not None:
            book.fault(
                f"motor.{name}",
                "",
                "it changes the values of [motor.circuit], which is missing",
                "add [motor.circuit], or remove it",
            )


def _wound_by_plate(section: MotorSection, book: Book) -> BuiltMotor:
    """A slip-ring motor fitted to its plate and its ring voltage; ratio and ring voltage say the same."""
    from slipwise.identify.wound import Rings, fit_wound

    if section.rotor_voltage is not None and section.wound_ratio is not None:
        book.fault("motor.wound_ratio", section.wound_ratio, "rotor_voltage says the same", "give one of the two")
    _letters_not_used(section, "the fit of a slip-ring motor does not use it", book)
    for name in ("locked_rotor_current_ratio", "locked_rotor_torque_ratio", "pull_up_torque_ratio"):
        if getattr(section, name) is not None:
            book.assumed_word(f"motor.{name}", "not used", "a slip-ring motor starts with resistors in its rotor")
    _refuse_losses_of_fit(section, book)
    book.close()
    volts = section.rated_voltage.value
    if section.rotor_voltage is not None:
        voltage = section.rotor_voltage.value
        book.derived("motor.wound_ratio", volts / voltage, "", "rated line voltage / open slip-ring line voltage")
    else:
        assert section.wound_ratio is not None
        ratio = line_ratio(section, section.wound_ratio, book)
        voltage = volts / ratio
    current = None if section.rotor_current is None else section.rotor_current.value
    fit = fit_wound(plate_of(section), Rings(voltage=voltage, current=current))
    return BuiltMotor(motor=_entered(section, fit, book), plate=fit.rows)


def _refuse_losses_of_fit(section: MotorSection, book: Book) -> None:
    if section.stray_load_loss is not None:
        reason = "the fit shares out the losses that power, efficiency and friction leave over"
        book.fault("motor.stray_load_loss", section.stray_load_loss, reason, "remove it, or give [motor.circuit]")


def _entered(section: MotorSection, fit: PlateFit, book: Book) -> Motor:
    """The fitted motor, its estimates and notes entered in the book."""
    for row in fit.estimated:
        book.estimated(row)
    for note in fit.notes:
        book.assumed_word("motor.circuit", note, "note of the fit")
    if section.maximum_speed is None:
        return fit.motor
    return replace(fit.motor, maximum_speed=section.maximum_speed.value)


def _by_plate(section: MotorSection, book: Book) -> BuiltMotor:
    """A double-cage fit; what was not given comes back as estimated rows."""
    from slipwise.identify.designs import with_typical_note

    _refuse_losses_of_fit(section, book)
    if section.rotor_current is not None:
        book.fault(
            "motor.rotor_current",
            section.rotor_current,
            "a cage has no slip rings",
            'add rotor_voltage = "380 V line", or remove it',
        )
    book.close()
    nameplate = plate_of(section)
    fit = with_typical_note(_fit(nameplate), nameplate)
    return BuiltMotor(motor=_entered(section, fit, book), plate=fit.rows, nameplate=nameplate)


@lru_cache(maxsize=32)
def _fit(nameplate: Plate) -> PlateFit:
    """The fit to a plate, made once for studies that differ in load or supply only."""
    from slipwise.identify.plate import fit_plate

    return fit_plate(nameplate)


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
    rating = rating_of(section, section.rated_speed.value, section.rated_current.value)
    points = curve_points(section, rating, book)
    return Motor(
        rating=rating,
        inertia=_inertia(section, book),
        curves=points,
        stall=stall_limit(section),
        locked_rotor_current=points[0].current,
        locked_rotor_torque=points[0].torque,
        maximum_speed=value(section.maximum_speed) or inf,
    )


def _by_circuit(section: MotorSection, given: CircuitSection, book: Book) -> Motor:
    """Circuit values, brought to the star equivalent; speed and current at full load follow when not on the plate."""
    ratio = wound_ratio_of(section, given, book)
    circuit = circuit_of(section, given, ratio, book)
    stator, rotor = temperatures(given, book)
    stator_metal, rotor_metal = conductors(given, ratio is not None, book)
    circuit = displaced(section, given, circuit, (rotor, rotor_metal), book)
    inertia = _inertia(section, book)
    speed, current = value(section.rated_speed), value(section.rated_current)
    guess = rating_of(section, speed or 0.98 * synchronous_speed(section), current or _typical_current(section))
    drag, exponent = _drag(section, book)
    motor = Motor(
        rating=guess,
        inertia=inertia,
        circuit=circuit,
        mechanical_loss=MechanicalLoss(exponent=exponent),
        stray=_stray(section, book),
        stall=stall_limit(section),
        wound_ratio=ratio,
        stator_temperature=stator,
        rotor_temperature=rotor,
        stator_conductor=stator_metal,
        rotor_conductor=rotor_metal,
        maximum_speed=value(section.maximum_speed) or inf,
    )
    if not book.faults:
        motor = at_full_load(motor, Known(speed=speed is not None, current=current is not None, drag=drag), book)
        motor = saturating(section.saturation, motor, book)
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


def _drag(section: MotorSection, book: Book) -> tuple[float, float]:
    """Friction and windage at rated speed [W], and the exponent of its torque against speed."""
    name = "motor.friction_and_windage"
    if section.friction_and_windage is None:
        top = 0.02 * section.rated_power.value
        return book.assumed(name, 0.0, "W", (0.0, top), f"not given: none; {_PRACTICE} for the range"), 1.0
    why = f"of torque against speed, friction and fan together; {_PRACTICE}"
    return watts(section.friction_and_windage, section), book.assumed(f"{name}.exponent", 1.0, "", (0.0, 2.0), why)


def _stray(section: MotorSection, book: Book) -> float:
    if section.stray_load_loss is not None:
        return watts(section.stray_load_loss, section)
    top = 0.025 * section.rated_power.value
    return book.assumed("motor.stray_load_loss", 0.0, "W", (0.0, top), f"not given: none; {_PRACTICE} for the range")

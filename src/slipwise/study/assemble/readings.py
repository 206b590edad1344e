"""From `[motor.readings]` to a circuit: the readings reduced, and the motor then built as if its circuit were given."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import lru_cache
from math import inf, isfinite
from typing import TYPE_CHECKING, Any

from slipwise.identify.bench.answer import reading_title, runs_of
from slipwise.identify.bench.records import (
    Bench,
    BenchFit,
    DcReading,
    LoadReading,
    LockedReading,
    Meter,
    Meters,
    NoLoadReading,
    Split,
)
from slipwise.identify.bench.wattmeters import REVERSED, two_wattmeters
from slipwise.model.machine.typical import typical_inertia
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book
from slipwise.study.assemble.plate import value, watts
from slipwise.study.schema.motor import CircuitSection, MotorSection
from slipwise.study.schema.readings import DcSection, MetersSection, ReadingsSection
from slipwise.study.schema.rotor import SaturationSection

if TYPE_CHECKING:
    from slipwise.study.assemble.motor import BuiltMotor

_PRACTICE = "common practice, no source"
_TEXTS = ("voltage", "current", "power", "frequency", "speed", "torque", "resistance", "temperature")


def by_readings(section: MotorSection, book: Book, build: Callable[[MotorSection, Book], BuiltMotor]) -> BuiltMotor:
    """The motor of bench readings. build: `build_motor`, called again with the circuit found.

    Raises:
        InputError: readings no machine can give; the faults are in the book as well.
    """
    from slipwise.study.motor_block import motor_block

    given = section.readings
    assert given is not None
    for name in ("circuit", "curves", "bars", "saturation"):
        if getattr(section, name) is not None:
            reason = "the motor is given twice, by this and by bench readings"
            book.fault(f"motor.{name}", "", reason, "keep one of the two tables")
    bench = bench_of(section, given, book)
    book.close()
    fit = _fitted(bench, f"Bench tests, {section.rated_power.text} motor")
    for row in fit.answer.estimated:
        book.estimated(row)
    whole = with_circuit(section, fit, book)
    built = build(whole, book)
    block = motor_block(whole, built.motor)
    rows = (*built.plate, *fit.answer.plate)
    notes = (*fit.answer.notes, *_turned(book))
    answer = replace(fit.answer, plate=rows, notes=notes, motor_block=block)
    return replace(built, identification=answer)


@lru_cache(maxsize=8)
def _fitted(bench: Bench, title: str) -> BenchFit:
    """The readings reduced, once for studies that differ in load or supply only."""
    from slipwise import __version__
    from slipwise.identify.bench.fit import fit_bench

    return fit_bench(bench, title=title, version=__version__)


def _turned(book: Book) -> Iterator[str]:
    """The readings in which a wattmeter without a sign was found to have read backwards."""
    places = [row.name for row in book.rows if REVERSED in row.why]
    if places:
        titles = (reading_title(name.removeprefix("motor.readings.")) for name in places)
        names = runs_of([title.partition(",")[0] for title in titles])
        yield f"The smaller of the two wattmeters counts as negative in {names}: only so they agree with volts and amperes."


def bench_of(section: MotorSection, given: ReadingsSection, book: Book) -> Bench:
    """The readings in SI."""
    tested = given.connection or book.assumed_word(
        "motor.readings.connection", section.connection, "tested as it runs; " + _PRACTICE
    )
    metal = given.stator_conductor or book.assumed_word("motor.readings.stator_conductor", "copper", _PRACTICE)
    usual = "aluminium" if section.wound_ratio is None and section.rotor_voltage is None else "copper"
    cage = given.rotor_conductor or book.assumed_word("motor.readings.rotor_conductor", usual, _PRACTICE)
    split = given.leakage_split
    friction = section.friction_and_windage
    return Bench(
        power=section.rated_power.value,
        voltage=section.rated_voltage.value,
        frequency=section.rated_frequency.value,
        poles=section.poles,
        connection=section.connection,
        tested=tested,
        dc=_dc(given.dc),
        no_load=tuple(NoLoadReading(**row) for row in _rows(given, "no_load", book)),
        locked=tuple(LockedReading(**row) for row in _rows(given, "locked_rotor", book)),
        loads=tuple(LoadReading(**row) for row in _rows(given, "load", book)),
        meters=meters_of(given.meters),
        split=None if split is None else Split(ratio=split.value, low=split.value, high=split.value, why="given"),
        design=section.design,
        friction=None if friction is None else watts(friction, section),
        speed=value(section.rated_speed),
        current=value(section.rated_current),
        stator_conductor=metal,
        rotor_conductor=cage,
        wound_ratio=1.0 if usual == "copper" else None,
        texts=tuple(_texts(given)),
    )


def _dc(given: DcSection) -> DcReading:
    return DcReading(
        between=given.between,
        temperature=given.temperature.value,
        resistance=value(given.resistance),
        voltage=value(given.voltage),
        current=value(given.current),
    )


def _rows(given: ReadingsSection, test: str, book: Book) -> Iterator[dict[str, Any]]:
    """The readings of one test, each with the power of all three phases."""
    for place, row in enumerate(getattr(given, test)):
        names = [name for name in _TEXTS if hasattr(row, name) and name != "power"]
        found = {name: value(getattr(row, name)) for name in names}
        yield {**found, "power": _power(row, f"motor.readings.{test}[{place}]", book)}


def _power(row: Any, name: str, book: Book) -> float:
    """As read, or of two wattmeters; what is missing goes into the book, and 0 stands for it until the book is closed."""
    first, second = row.wattmeter_1, row.wattmeter_2
    if row.power is not None and first is None and second is None:
        return float(row.power.value)
    if row.power is not None or first is None or second is None:
        reason = "the power is to be known from one of two: one figure for all phases, or both wattmeters"
        book.fault(f"{name}.power", "", reason, 'write power = "420 W", or wattmeter_1 and wattmeter_2')
        return 0.0
    try:
        found = two_wattmeters(first.value, second.value, row.voltage.value, row.current.value, f"{name}.wattmeter_2")
    except InputError as error:
        book.faults.extend(error.faults)
        return 0.0
    return book.derived(f"{name}.power", found.power, "W", f"two wattmeters: {found.words}")


def meters_of(given: MetersSection | None) -> Meters:
    """Classes in per cent to limits of error."""
    if given is None:
        return Meters()
    found = {}
    for name in (
        "voltage",
        "current",
        "power",
        "resistance",
        "dc_voltage",
        "dc_current",
        "frequency",
        "speed",
        "torque",
    ):
        grade, span = getattr(given, f"{name}_class"), getattr(given, f"{name}_range")
        if grade is not None:
            found[name] = Meter(accuracy=grade.value / 100, span=value(span))
    if given.temperature_error is not None:
        found["temperature"] = Meter(accuracy=1.0, span=given.temperature_error.value)
    return Meters(**found)


def _texts(given: ReadingsSection) -> Iterator[tuple[str, str]]:
    for test, rows in (("dc", (given.dc,)), *((t, getattr(given, t)) for t in ("no_load", "locked_rotor", "load"))):
        for place, row in enumerate(rows):
            head = test if test == "dc" else f"{test}[{place}]"
            for name in _TEXTS:
                parsed = getattr(row, name, None)
                if parsed is not None:
                    yield f"{head}.{name}", parsed.text


def with_circuit(section: MotorSection, fit: BenchFit, book: Book) -> MotorSection:
    """The section with the circuit and the losses found, and without the readings."""
    motor, circuit = fit.motor, fit.motor.circuit
    assert circuit is not None
    ohms = {"R1": circuit.R1, "X1": circuit.X1, "Xm": circuit.Xm, "Rfe": circuit.Rfe}
    for place, branch in enumerate(circuit.rotor, start=2):
        ohms |= {f"R{place}": branch.R, f"X{place}": branch.X}
    known: dict[str, Any] = {name: _parsed(number, "ohm") for name, number in ohms.items() if isfinite(number)}
    found = CircuitSection.model_construct(
        values="star equivalent",
        **known,
        temperature_R1=_parsed(motor.stator_temperature, "degC"),
        temperature_R2=_parsed(motor.rotor_temperature, "degC"),
        stator_conductor=motor.stator_conductor,
        rotor_conductor=motor.rotor_conductor,
        rotor_values="referred to the stator" if motor.wound_ratio is not None else None,
    )
    update: dict[str, Any] = {"readings": None, "circuit": found, "saturation": _saturation(fit)}
    if section.friction_and_windage is None:
        speed = motor.rating.speed
        update["friction_and_windage"] = _parsed(float(motor.mechanical_torque(speed)) * speed, "W")
    if section.stray_load_loss is None and fit.answer.stray is not None:
        update["stray_load_loss"] = _parsed(motor.stray, "W")
    if section.inertia is None:
        update["inertia"] = _parsed(_inertia(section, book), "kg m2")
    return section.model_copy(update=update)


def _parsed(number: float, unit: str) -> Parsed:
    return Parsed(value=number, unit=unit, text=f"{number:.5g} {unit}")


def _inertia(section: MotorSection, book: Book) -> float:
    """A bench sheet seldom says it: typical of the size, with its range."""
    typical = typical_inertia(section.rated_power.value, section.poles)
    book.estimated(
        Sourced(
            name="motor.inertia", value=typical.value, unit="kg m2", origin=Origin.ESTIMATED, low=typical.low,
            high=typical.high, why=f"not given: typical of size and poles; {typical.source}",
        )
    )  # fmt: skip
    return typical.value


def _saturation(fit: BenchFit) -> SaturationSection | None:
    """The laws fitted, as the section that states them."""
    circuit = fit.motor.circuit
    assert circuit is not None
    leakage, main = circuit.leakage_saturation, circuit.main_saturation
    found: dict[str, Any] = {}
    if leakage is not None:
        found["leakage_knee"] = _parsed(leakage.knee / 2**0.5, "A")
        for name, number in (("stator_share", leakage.stator_share), ("rotor_share", leakage.rotor_share)):
            found[name] = Parsed(value=number, unit="pu", text=f"{100 * number:.4g} %")
        found["leakage_floor"] = Parsed(value=leakage.floor, unit="pu", text=f"{100 * leakage.floor:.4g} %")
    if main is not None and main.unsaturated < inf:
        found["main_unsaturated"] = Parsed(value=main.unsaturated, unit="", text=f"{main.unsaturated:.4g}", bare=True)
        found["main_exponent"] = Parsed(value=main.exponent, unit="", text=f"{main.exponent:.3g}", bare=True)
    return SaturationSection.model_construct(**found) if found else None

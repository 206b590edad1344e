"""From a generator at the head of `[[supply.path]]` to its impedance, its voltage before the start and its engine."""

from __future__ import annotations

from slipwise.model.supply.impedance import generator_impedance
from slipwise.quantity.show import show
from slipwise.study.assemble.book import Book
from slipwise.study.assemble.elements import Piece
from slipwise.study.schema.supply import GeneratorSection

_PRACTICE = "common practice, no source"
_PATH = "supply.path[1]"
USUAL_POWER_FACTOR = 0.8  # at which sets are rated: ISO 8528-1 (from memory)


def generator_piece(generator: GeneratorSection, book: Book) -> Piece:
    """Transient reactance in the nominal and the weak state; for the strong one, of the first peaks, the subtransient."""
    voltage, rating = generator.voltage.value, generator.rating.value
    resistance = _resistance(generator, book)
    dip = generator_impedance(voltage, rating, generator.transient_reactance.value, resistance)
    first = generator_impedance(voltage, rating, _subtransient(generator, book), resistance)
    power, source = _engine(generator, book)
    nominal = generator.nominal_voltage.value if generator.nominal_voltage is not None else voltage
    book.assumed_word(
        f"{_PATH}.regulator",
        "not modelled",
        "the internal voltage stays as it was before the start; regulator and governor act later and are left out",
    )
    return Piece(
        kind="generator",
        impedance=(dip, dip, first),
        ratio=1.0,
        nominal=nominal,
        engine_power=power,
        engine_source=source,
    )


def regulated_level(generator: GeneratorSection, book: Book) -> float:
    """Voltage at the generator's terminals before the start. [V]"""
    if generator.regulated_voltage is not None:
        return generator.regulated_voltage.value * generator.voltage.value
    why = f"the regulator holds rated voltage; {_PRACTICE}"
    return generator.voltage.value * book.assumed(f"{_PATH}.regulated_voltage", 1.0, "pu", (0.98, 1.05), why)


def _resistance(generator: GeneratorSection, book: Book) -> float:
    """Armature resistance. [pu]"""
    reactance = generator.transient_reactance.value
    if generator.armature_resistance is not None and generator.x_to_r is not None:
        book.fault(f"{_PATH}.x_to_r", generator.x_to_r, "armature_resistance says the same", "give one of the two")
    if generator.armature_resistance is not None:
        return generator.armature_resistance.value
    if generator.x_to_r is not None:
        name, why = f"{_PATH}.armature_resistance", "transient reactance / x_to_r"
        return book.derived(name, reactance / generator.x_to_r.value, "pu", why)
    why = f"sets of some hundred kVA; {_PRACTICE}"
    return book.assumed(f"{_PATH}.armature_resistance", 0.015, "pu", (0.005, 0.03), why)


def _subtransient(generator: GeneratorSection, book: Book) -> float:
    """X''d, that of the first peak; where it is not known it is taken from X'd. [pu]"""
    transient = generator.transient_reactance
    if generator.subtransient_reactance is None:
        value = 0.65 * transient.value
        why = f"0.65 of the transient reactance; {_PRACTICE}"
        between = (0.5 * transient.value, transient.value)
        return book.assumed(f"{_PATH}.subtransient_reactance", value, "pu", between, why)
    if generator.subtransient_reactance.value > transient.value:
        book.fault(
            f"{_PATH}.subtransient_reactance",
            generator.subtransient_reactance,
            f"it is above the transient reactance, {transient.text}",
            "exchange the two: X''d is the smaller",
        )
    return generator.subtransient_reactance.value


def _engine(generator: GeneratorSection, book: Book) -> tuple[float, str]:
    """Active power the engine bears [W], and where the figure comes from."""
    rating = generator.rating.value
    if generator.engine_power is None:
        why = f"rating at power factor {USUAL_POWER_FACTOR:g}, ISO 8528-1 (from memory)"
        power = USUAL_POWER_FACTOR * rating
        return book.assumed(f"{_PATH}.engine_power", power, "W", (0.7 * rating, 0.9 * rating), why), why
    if generator.engine_power.value > 1.1 * rating:
        book.fault(
            f"{_PATH}.engine_power",
            generator.engine_power,
            f"it is above the apparent power of the generator, {show(rating, 'VA')}",
            "give the active power at the generator's terminals",
        )
    return generator.engine_power.value, "given by user"

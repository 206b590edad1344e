"""`[motor.readings]`: what was read on the bench; the motor's circuit is reduced from it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Quantity, Section, Word

_METALS = ("copper", "aluminium")
MOST = 200  # readings of one kind


def _temperature(doc: str) -> Quantity:
    return Quantity(doc, '"24 degC"', unit="degC", low=-60.0, high=400.0)


def _class_of(what: str) -> Quantity:
    doc = (
        f"Accuracy class of the {what}: its largest error in per cent of the range, or of the reading without a range."
    )
    return Quantity(doc, "0.5", unit="", above=0.0, high=10.0)


def _range_of(what: str, unit: str, example: str) -> Quantity:
    return Quantity(f"Upper end of the range of the {what}.", example, unit=unit, above=0.0)


class DcSection(Section):
    """Winding resistance by direct current: an ohmmeter, or voltage and current."""

    between: Annotated[
        str,
        Word(
            "Across two terminals of the connected machine, or across one winding with its links taken off.",
            '"two terminals"',
            words=("two terminals", "one winding"),
        ),
    ]
    temperature: Annotated[Parsed, _temperature("Temperature of the winding, for which the resistance holds.")]
    resistance: Annotated[Parsed | None, Quantity("Resistance read.", '"5.1 ohm"', unit="ohm", above=0.0, high=1e6)] = (
        None
    )
    voltage: Annotated[Parsed | None, Quantity("Direct voltage.", '"13.6 V"', unit="V", above=0.0, high=1e4)] = None
    current: Annotated[Parsed | None, Quantity("Direct current.", '"28 A"', unit="A", above=0.0, high=1e5)] = None


class _Test(Section):
    """What every alternating-current test reads."""

    voltage: Annotated[Parsed, Quantity("Line voltage.", '"400 V"', unit="V", above=0.0, high=1e6)]
    current: Annotated[Parsed, Quantity("Line current, mean of the three.", '"4.9 A"', unit="A", above=0.0, high=1e6)]
    power: Annotated[Parsed | None, Quantity("Power of all three phases.", '"420 W"', unit="W", above=0.0)] = None
    wattmeter_1: Annotated[
        Parsed | None, Quantity("First of two wattmeters, with its sign where it was noted.", '"910 W"', unit="W")
    ] = None
    wattmeter_2: Annotated[
        Parsed | None, Quantity("Second of two wattmeters, with its sign where it was noted.", '"-490 W"', unit="W")
    ] = None
    temperature: Annotated[Parsed | None, _temperature("Temperature of the winding in this test.")] = None


class NoLoadSection(_Test):
    """One reading running free, at rated frequency."""


class LockedRotorSection(_Test):
    """One reading with the rotor held."""

    frequency: Annotated[Parsed, Quantity("Frequency of the test.", '"12.5 Hz"', unit="Hz", low=0.5, high=1000.0)]


class LoadTestSection(_Test):
    """One reading on a brake, at rated frequency."""

    speed: Annotated[Parsed, Quantity("Speed of the shaft.", '"1438 r/min"', unit="rad/s", above=0.0)]
    torque: Annotated[Parsed, Quantity("Torque at the shaft.", '"14.6 N m"', unit="N m", above=0.0)]


class MetersSection(Section):
    """The meters; one without a class is taken as exact, and the answer says so."""

    voltage_class: Annotated[Parsed | None, _class_of("voltmeter")] = None
    voltage_range: Annotated[Parsed | None, _range_of("voltmeter", "V", '"500 V"')] = None
    current_class: Annotated[Parsed | None, _class_of("ammeter")] = None
    current_range: Annotated[Parsed | None, _range_of("ammeter", "A", '"10 A"')] = None
    power_class: Annotated[Parsed | None, _class_of("wattmeters")] = None
    power_range: Annotated[Parsed | None, _range_of("wattmeters", "W", '"5 kW"')] = None
    resistance_class: Annotated[Parsed | None, _class_of("ohmmeter")] = None
    resistance_range: Annotated[Parsed | None, _range_of("ohmmeter", "ohm", '"20 ohm"')] = None
    dc_voltage_class: Annotated[Parsed | None, _class_of("direct-voltage meter")] = None
    dc_voltage_range: Annotated[Parsed | None, _range_of("direct-voltage meter", "V", '"20 V"')] = None
    dc_current_class: Annotated[Parsed | None, _class_of("direct-current meter")] = None
    dc_current_range: Annotated[Parsed | None, _range_of("direct-current meter", "A", '"30 A"')] = None
    frequency_class: Annotated[Parsed | None, _class_of("frequency meter")] = None
    frequency_range: Annotated[Parsed | None, _range_of("frequency meter", "Hz", '"60 Hz"')] = None
    speed_class: Annotated[Parsed | None, _class_of("tachometer")] = None
    speed_range: Annotated[Parsed | None, _range_of("tachometer", "rad/s", '"2000 r/min"')] = None
    torque_class: Annotated[Parsed | None, _class_of("torque meter")] = None
    torque_range: Annotated[Parsed | None, _range_of("torque meter", "N m", '"20 N m"')] = None
    temperature_error: Annotated[
        Parsed | None, Quantity("Largest error of every winding temperature.", '"2 K"', unit="K", above=0.0, high=50.0)
    ] = None


class ReadingsSection(Section):
    """Bench readings: direct current, no load, locked rotor, and load where there was a brake."""

    connection: Annotated[
        str | None,
        Word(
            "How the winding was connected in the tests; as in service when not given.",
            '"star"',
            words=("star", "delta"),
        ),
    ] = None
    leakage_split: Annotated[
        Parsed | None,
        Quantity("X1 / X2; that of the design letter when not given.", "0.67", unit="", above=0.0, high=10.0),
    ] = None
    stator_conductor: Annotated[str | None, Word("Metal of the stator winding.", '"copper"', words=_METALS)] = None
    rotor_conductor: Annotated[
        str | None, Word("Metal of the cage or rotor winding.", '"aluminium"', words=_METALS)
    ] = None
    dc: DcSection = Field(description="Winding resistance.")
    no_load: tuple[NoLoadSection, ...] = Field(
        max_length=MOST, description="Readings running free, one or more voltages."
    )
    locked_rotor: tuple[LockedRotorSection, ...] = Field(max_length=MOST, description="Readings with the rotor held.")
    load: tuple[LoadTestSection, ...] = Field(default=(), max_length=MOST, description="Readings on a brake.")
    meters: MetersSection | None = Field(default=None, description="Classes and ranges of the meters.")

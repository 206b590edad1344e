"""`[supply]`: the source, network or generator, and `[[supply.path]]` from it to the motor's terminals."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Line, Quantity, Section, Whole, Word

KINDS = ("network", "generator", "transformer", "cable")
KINDS_ALSO = (  # what the trade also calls them
    *((word, "network") for word in ("grid", "utility", "mains", "source", "infeed")),
    *((word, "generator") for word in ("genset", "generating set", "diesel")),
    *((word, "transformer") for word in ("trafo", "xfmr")),
    *((word, "cable") for word in ("line", "feeder", "overhead line", "wire")),
)


class BaseLoadSection(Section):
    """What already runs on a busbar."""

    power: Annotated[Parsed, Quantity("Active or apparent three-phase power.", '"120 kW"', unit=("W", "VA"), low=0.0)]
    power_factor: Annotated[
        Parsed | None, Quantity("Its power factor, lagging.", "0.88", unit="pu", low=0.1, high=1.0)
    ] = None
    model: Annotated[
        str | None,
        Word(
            "How it answers a voltage change.", '"constant impedance"', words=("constant impedance", "constant power")
        ),
    ] = None


class ElementSection(Section):
    """What every element of the path has: it ends at a busbar."""

    busbar: Annotated[
        str,
        Line(
            "Name of the busbar at its far end; the last one is where the starter is fed.", '"main board"', longest=60
        ),
    ]
    nominal_voltage: Annotated[
        Parsed | None, Quantity("Nominal line voltage of that busbar.", '"400 V"', unit="V", above=0.0)
    ] = None
    base_load: BaseLoadSection | None = Field(default=None, description="What already runs on that busbar.")
    dip_limit: Annotated[
        Parsed | None,
        Quantity(
            "Largest dip that busbar may see, of its voltage before the start.",
            '"10 %"',
            unit="pu",
            low=0.005,
            high=0.9,
        ),
    ] = None
    change_limits: Annotated[
        str | None,
        Word(
            "Standard whose limits of voltage changes hold at that busbar, by starts a day, instead of `dip_limit`.",
            '"IEC 61000-3-3"',
            words=("IEC 61000-3-3",),
        ),
    ] = None


class NetworkSection(ElementSection):
    """The network at its connection point."""

    kind: Literal["network"] = Field(description="What this element of the path is.")
    voltage: Annotated[Parsed, Quantity("Nominal line voltage.", '"11 kV"', unit="V", above=0.0)]
    fault_level: Annotated[
        Parsed,
        Quantity("Short-circuit power, or current, in the ordinary state.", '"120 MVA"', unit=("VA", "A"), above=0.0),
    ]
    lowest_fault_level: Annotated[
        Parsed | None, Quantity("The same in the weakest state.", '"80 MVA"', unit=("VA", "A"), above=0.0)
    ] = None
    highest_fault_level: Annotated[
        Parsed | None, Quantity("The same in the strongest state.", '"160 MVA"', unit=("VA", "A"), above=0.0)
    ] = None
    x_to_r: Annotated[
        Parsed | None, Quantity("Reactance to resistance of the source.", "8", unit="", above=0.0, high=1e3)
    ] = None
    source_voltage: Annotated[
        Parsed | None,
        Quantity(
            "Voltage behind the source impedance, of nominal.", '"102 %"', unit="pu", low=0.5, bare_high=1.5, high=1.5
        ),
    ] = None


class GeneratorSection(ElementSection):
    """A generating set as the source. Its voltage regulator and governor are not modelled."""

    kind: Literal["generator"] = Field(description="What this element of the path is.")
    rating: Annotated[Parsed, Quantity("Rated apparent power.", '"250 kVA"', unit="VA", above=0.0)]
    voltage: Annotated[Parsed, Quantity("Rated line voltage.", '"400 V"', unit="V", above=0.0)]
    transient_reactance: Annotated[
        Parsed,
        Quantity(
            "Transient reactance X'd, of the rating: the one that makes the dip.",
            '"22 %"',
            unit="pu",
            low=0.03,
            high=0.8,
            bare_high=0.8,
        ),
    ]
    subtransient_reactance: Annotated[
        Parsed | None,
        Quantity(
            "Subtransient reactance X''d, of the rating: for the first peak of current.",
            '"14 %"',
            unit="pu",
            low=0.02,
            high=0.6,
            bare_high=0.6,
        ),
    ] = None
    armature_resistance: Annotated[
        Parsed | None,
        Quantity("Armature resistance, of the rating.", '"1.5 %"', unit="pu", low=0.0, high=0.2, bare_high=0.2),
    ] = None
    x_to_r: Annotated[
        Parsed | None,
        Quantity("Transient reactance to armature resistance, instead.", "15", unit="", above=0.5, high=1e3),
    ] = None
    regulated_voltage: Annotated[
        Parsed | None,
        Quantity(
            "Voltage that the regulator holds at the generator before the start, of rated.",
            '"100 %"',
            unit="pu",
            low=0.8,
            high=1.2,
            bare_high=1.2,
        ),
    ] = None
    engine_power: Annotated[
        Parsed | None,
        Quantity("Active power that the engine bears, at the generator's terminals.", '"200 kW"', unit="W", above=0.0),
    ] = None


class TransformerSection(ElementSection):
    """A two-winding transformer."""

    kind: Literal["transformer"] = Field(description="What this element of the path is.")
    rating: Annotated[Parsed, Quantity("Rated power.", '"630 kVA"', unit="VA", above=0.0)]
    primary_voltage: Annotated[Parsed, Quantity("Rated voltage on the source's side.", '"11 kV"', unit="V", above=0.0)]
    secondary_voltage: Annotated[
        Parsed, Quantity("Rated no-load voltage on the motor's side.", '"410 V"', unit="V", above=0.0)
    ]
    short_circuit_voltage: Annotated[
        Parsed, Quantity("Short-circuit voltage (impedance).", '"4 %"', unit="pu", low=0.005, high=0.3)
    ]
    load_losses: Annotated[
        Parsed | None, Quantity("Losses in the windings at rated current.", '"6.5 kW"', unit="W", above=0.0)
    ] = None
    x_to_r: Annotated[Parsed | None, Quantity("Reactance to resistance.", "3.6", unit="", above=0.0, high=1e3)] = None
    tap: Annotated[
        Parsed | None,
        Quantity(
            "Tap in use: primary turns above (+) or below (-) the middle tap.",
            '"-2.5 %"',
            unit="pu",
            high=0.2,
            bare_high=0.2,
        ),
    ] = None


class CableSection(ElementSection):
    """A cable or line."""

    kind: Literal["cable"] = Field(description="What this element of the path is.")
    length: Annotated[Parsed, Quantity("Length of the run, one way.", '"85 m"', unit="m", above=0.0)]
    resistance: Annotated[
        Parsed | None, Quantity("Resistance of one core per length.", '"0.193 ohm/km"', unit="ohm/m", above=0.0)
    ] = None
    reactance: Annotated[
        Parsed | None, Quantity("Reactance of one core per length.", '"0.08 ohm/km"', unit="ohm/m", low=0.0)
    ] = None
    section: Annotated[
        Parsed | None,
        Quantity("Cross-section of one core, when the resistance is not known.", '"95 mm2"', unit="m2", above=0.0),
    ] = None
    conductor: Annotated[str | None, Word("Metal of the cores.", '"copper"', words=("copper", "aluminium"))] = None
    resistance_temperature: Annotated[
        Parsed | None,
        Quantity("Temperature at which `resistance` holds.", '"20 degC"', unit="degC", low=-60.0, high=250.0),
    ] = None
    temperature: Annotated[
        Parsed | None,
        Quantity("Temperature of the cores when the motor starts.", '"50 degC"', unit="degC", low=-60.0, high=250.0),
    ] = None
    parallel_runs: Annotated[int | None, Whole("Number of equal cables side by side.", "2", low=1, high=40)] = None


Element = Annotated[NetworkSection | GeneratorSection | TransformerSection | CableSection, Field(discriminator="kind")]


class SupplySection(Section):
    """The way from the network or generator to the motor's terminals."""

    path: tuple[Element, ...] = Field(
        min_length=1, max_length=20, description="Elements from the source to the terminals."
    )

"""`[starting]`, `[limits]` and `[tolerances]`. The keys of each way of starting come from the dials of the way itself."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Annotated, Any

from pydantic import Field, create_model

from slipwise.methods.starting import STARTING
from slipwise.methods.way import Dial, StartingWay, dials
from slipwise.quantity.unit_table import KINDS
from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Keys, Leaf, Quantity, Section, Whole, Word
from slipwise.study.schema.names import also_called


class LimitsSection(Section):
    """Limits beside the busbars' own dip limits."""

    terminal_voltage: Annotated[
        Parsed | None,
        Quantity("Least voltage at the terminals while starting, of rated.", '"85 %"', unit="pu", low=0.2, high=1.0),
    ] = None
    torque_margin: Annotated[
        Parsed | None,
        Quantity(
            "Least motor torque above load torque, of rated torque, in the worst case.",
            '"10 %"',
            unit="pu",
            low=0.0,
            bare_high=2.0,
        ),
    ] = None
    run_up_time: Annotated[Parsed | None, Quantity("Longest run-up.", '"10 s"', unit="s", above=0.0)] = None
    heat: Annotated[
        Parsed | None,
        Quantity("Greatest share of the locked-rotor heat limit.", '"90 %"', unit="pu", low=0.05, high=1.0),
    ] = None
    line_current: Annotated[
        Parsed | None,
        Quantity(
            "Greatest rms line current after the first cycles, or its ratio to rated.",
            '"600 A"',
            unit=("A", "pu"),
            above=0.0,
            bare_high=20.0,
        ),
    ] = None
    peak_current: Annotated[
        Parsed | None,
        Quantity(
            "Greatest instantaneous line current, or its ratio to rated rms.",
            '"2 kA"',
            unit=("A", "pu"),
            above=0.0,
            bare_high=40.0,
        ),
    ] = None
    shaft_torque: Annotated[
        Parsed | None,
        Quantity(
            "Greatest instantaneous torque, of rated torque or in N m.",
            "5",
            unit=("pu", "N m"),
            above=0.0,
            bare_high=30.0,
        ),
    ] = None
    running_voltage: Annotated[
        Parsed | None,
        Quantity(
            "Largest deviation of the voltage at the terminals from rated once the motor runs, either way.",
            '"10 %"',
            unit="pu",
            low=0.01,
            high=0.3,
        ),
    ] = None
    belt_acceleration: Annotated[
        Parsed | None,
        Quantity("Greatest acceleration of a mass that moves in a line.", '"0.3 m/s2"', unit="m/s2", above=0.0),
    ] = None


class TolerancesSection(Section):
    """What the worst case takes off."""

    low_voltage: Annotated[
        Parsed | None, Quantity("Lowest source voltage, of nominal.", '"95 %"', unit="pu", low=0.5, high=1.0)
    ] = None
    high_voltage: Annotated[
        Parsed | None,
        Quantity("Highest source voltage, of nominal.", '"105 %"', unit="pu", low=1.0, high=1.5, bare_high=1.5),
    ] = None
    torque: Annotated[
        Parsed | None,
        Quantity("Tolerance of the motor's torque downwards.", '"-15 %"', unit="pu", low=-0.9, high=0.0),
    ] = None
    current: Annotated[
        Parsed | None,
        Quantity("Tolerance of the locked-rotor current upwards.", '"20 %"', unit="pu", low=0.0, high=1.0),
    ] = None
    cold_temperature: Annotated[
        Parsed | None, Quantity("Windings and cage in the cold case.", '"20 degC"', unit="degC", low=-60.0, high=250.0)
    ] = None
    hot_temperature: Annotated[
        Parsed | None, Quantity("Windings and cage in the hot case.", '"110 degC"', unit="degC", low=-60.0, high=250.0)
    ] = None


@cache
def starting_section(ways: Sequence[type[StartingWay]] = STARTING) -> type[Section]:
    """The model of `[starting]` for these ways: their names, and a table of settings for each."""
    names = tuple(way.key for way in ways)
    fields: dict[str, Any] = {
        "ways": (
            Annotated[
                tuple[str, ...] | None,
                Keys("Ways to be compared; all when not given.", _listed(names), known=names, also=also_called(ways)),
            ],
            None,
        ),
        "order": (
            Annotated[
                tuple[str, ...] | None,
                Keys(
                    "Order of preference, simplest first, when several ways pass.",
                    _listed(names),
                    known=names,
                    also=also_called(ways),
                ),
            ],
            None,
        ),
        "starts_per_hour": (
            Annotated[
                Parsed | None, Quantity("Starts in an hour, evenly spread.", "3", unit="", above=0.0, high=600.0)
            ],
            None,
        ),
        "starts_per_day": (
            Annotated[
                Parsed | None,
                Quantity(
                    "Starts in a day, for limits of voltage changes that hang on it.", "2", unit="", above=0.0, high=1e4
                ),
            ],
            None,
        ),
        "restart": (
            Annotated[
                str | None,
                Word(
                    "How the motor starts again when the supply returns, for limits that hang on it.",
                    '"by hand"',
                    words=("by hand", "delayed", "at once"),
                ),
            ],
            None,
        ),
        "switching_angles": (
            Annotated[
                int | None,
                Whole("Number of switching angles over which the transient is computed.", "12", low=1, high=360),
            ],
            None,
        ),
        "pause_scatter": (
            Annotated[
                Parsed | None,
                Quantity("How much a pause varies from start to start.", '"10 ms"', unit="s", low=0.0, high=0.2),
            ],
            None,
        ),
    }
    for way in ways:
        fields[way.key] = (way_section(way) | None, Field(default=None, description=way.summary))
    return create_model("StartingSection", __base__=Section, __doc__="How the motor may be started.", **fields)


def _listed(names: tuple[str, ...]) -> str:
    return "[" + ", ".join(f'"{name}"' for name in names[:3]) + "]"


@cache
def way_section(way: type[StartingWay]) -> type[Section]:
    """The table of settings of one way, from its dials; every setting may be left out and is then designed."""
    fields: dict[str, Any] = {name: (Annotated[Any, dial_leaf(dial)], None) for name, dial in dials(way).items()}
    return create_model(f"{way.__name__}Section", __base__=Section, __doc__=f"Settings of: {way.title}.", **fields)


def dial_leaf(dial: Dial) -> Leaf:
    """The kind of value a dial takes in the file. A speed may be given as a share of synchronous speed."""
    if dial.choices:
        return Word(dial.doc, f'"{dial.choices[0]}"', words=dial.choices)
    plain = dial.unit in {"", "pu"}
    unit: str | tuple[str, ...] = ("rad/s", "pu") if dial.unit == "rad/s" else dial.unit
    example = dial.example or (KINDS[dial.unit].example if dial.unit in KINDS else "1")
    return Quantity(
        dial.doc,
        example if example.replace(".", "", 1).isdigit() else f'"{example}"',
        unit=unit,
        low=dial.low,
        high=dial.high,
        bare_high=dial.high if plain else 1.5,
    )

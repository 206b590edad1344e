"""`[speed]`, `[[speed.duty]]`, `[speed.process]` and `[tariff]`. The keys of each way come from the dials of the way itself."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Annotated, Any

from pydantic import Field, create_model

from slipwise.methods.speed import SPEED
from slipwise.methods.speed.way import SpeedWay
from slipwise.methods.way import dials
from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Keys, Line, Quantity, Section, Word
from slipwise.study.schema.names import also_called
from slipwise.study.schema.starting import dial_leaf

OWN_FAN, BLOWER = "own fan", "separate blower"
MACHINES = ("pump", "fan")


class DutySection(Section):
    """One demand: a speed with its torque or power, or a flow; and how long it lasts in a year."""

    name: Annotated[str | None, Line("What it is called.", '"night"', longest=40)] = None
    speed: Annotated[
        Parsed | None, Quantity("Speed at the motor's shaft.", '"1200 r/min"', unit="rad/s", above=0.0)
    ] = None
    torque: Annotated[
        Parsed | None,
        Quantity(
            "Torque at that speed, at the motor's shaft; that of the load when left out.", '"380 N m"', unit="N m"
        ),
    ] = None
    power: Annotated[Parsed | None, Quantity("Shaft power at that speed, instead of torque.", '"48 kW"', unit="W")] = (
        None
    )
    flow: Annotated[
        Parsed | None,
        Quantity(
            "Flow, or its share of the rated flow, instead of speed and torque.",
            '"70 %"',
            unit=("pu", "m3/s"),
            above=0.0,
            bare_high=1.5,
        ),
    ] = None
    hours: Annotated[Parsed, Quantity("Hours in a year.", "3000", unit="", low=0.0, high=8784.0)]


class ProcessSection(Section):
    """The pump or fan and the system it works on, all at the motor's shaft."""

    machine: Annotated[str, Word("What it is.", '"pump"', words=MACHINES)]
    shaft_power: Annotated[
        Parsed | None, Quantity("Shaft power at rated flow and `speed`.", '"78 kW"', unit="W", above=0.0)
    ] = None
    efficiency: Annotated[
        Parsed | None,
        Quantity(
            "Efficiency at the rated point, instead of shaft power; for water.",
            '"78 %"',
            unit="pu",
            low=0.05,
            high=0.95,
        ),
    ] = None
    speed: Annotated[
        Parsed | None,
        Quantity("Speed at which flow, head and power are rated.", '"1483 r/min"', unit="rad/s", above=0.0),
    ] = None
    rated_flow: Annotated[Parsed | None, Quantity("Rated flow.", '"320 m3/h"', unit="m3/s", above=0.0)] = None
    rated_head: Annotated[Parsed | None, Quantity("Rated head.", '"62 m"', unit="m", above=0.0)] = None
    shut_head: Annotated[
        Parsed | None,
        Quantity(
            "Head at no flow and rated speed, or its ratio to the rated one; for a fan its pressure.",
            '"75 m"',
            unit=("pu", "m"),
            above=0.0,
            bare_high=3.0,
        ),
    ] = None
    shut_power: Annotated[
        Parsed | None,
        Quantity(
            "Shaft power at no flow and rated speed, or its share of `shaft_power`.",
            '"45 %"',
            unit=("pu", "W"),
            above=0.0,
            bare_high=3.0,
        ),
    ] = None
    static_head: Annotated[
        Parsed | None,
        Quantity(
            "Head that the system asks at no flow, or its share of the rated head; for a fan the pressure that is kept.",
            '"38 m"',
            unit=("pu", "m"),
            low=0.0,
            bare_high=2.0,
        ),
    ] = None


class MoneySection(Section):
    """What a way costs to buy and install, beyond the motor and its starter."""

    cost: Annotated[Parsed, Quantity("In the tariff's currency.", "9500", unit="", low=0.0)]
    low: Annotated[Parsed | None, Quantity("At the least.", "8000", unit="", low=0.0)] = None
    high: Annotated[Parsed | None, Quantity("At the most.", "12000", unit="", low=0.0)] = None


@cache
def investment_section(ways: Sequence[type[SpeedWay]] = SPEED) -> type[Section]:
    """The model of `[tariff.investment]`: one entry for each way."""
    fields: dict[str, Any] = {
        way.key: (
            MoneySection | None,
            Field(default=None, description=f"What it costs to buy and install: {way.title}."),
        )
        for way in ways
    }
    return create_model("InvestmentSection", __base__=Section, __doc__="What each way costs to buy.", **fields)


class TariffPlain(Section):
    """What energy costs, and what it does to the air."""

    currency: Annotated[str | None, Line("Name of the currency.", '"EUR"', longest=12)] = None
    price_per_kwh: Annotated[
        Parsed | None, Quantity("Price of a kWh, every part that falls with use.", "0.16", unit="", low=0.0)
    ] = None
    price_low: Annotated[Parsed | None, Quantity("The same at the least.", "0.12", unit="", low=0.0)] = None
    price_high: Annotated[Parsed | None, Quantity("The same at the most.", "0.22", unit="", low=0.0)] = None
    co2_kg_per_kwh: Annotated[
        Parsed | None, Quantity("CO2 given off for a kWh.", "0.31", unit="", low=0.0, high=3.0)
    ] = None
    years: Annotated[
        Parsed | None, Quantity("Years over which a purchase is spread.", "10", unit="", low=1.0, high=40.0)
    ] = None


@cache
def tariff_section() -> type[Section]:
    """The model of `[tariff]`."""
    investment = investment_section()
    fields: dict[str, Any] = {
        "investment": (investment | None, Field(default=None, description="What each way costs to buy and install."))
    }
    return create_model("TariffSection", __base__=TariffPlain, __doc__=TariffPlain.__doc__, **fields)


class SpeedPlain(Section):
    """How the speed may be set, where the motor stands, and what is asked of it over a year."""

    duty: tuple[DutySection, ...] = Field(min_length=1, max_length=60, description="The demands of a year.")
    process: ProcessSection | None = Field(default=None, description="Pump or fan and its system, for demands by flow.")
    altitude: Annotated[
        Parsed | None, Quantity("Height of the site above the sea.", '"350 m"', unit="m", low=-500.0, high=6000.0)
    ] = None
    ambient: Annotated[
        Parsed | None, Quantity("Warmest air at the motor.", '"35 degC"', unit="degC", low=-40.0, high=90.0)
    ] = None
    cooling: Annotated[str | None, Word("What cools the motor at low speed.", '"own fan"', words=(OWN_FAN, BLOWER))] = (
        None
    )
    overload: Annotated[
        Parsed | None,
        Quantity(
            "Short-time current of a converter, of rated.", '"150 %"', unit="pu", low=1.0, high=3.0, bare_high=3.0
        ),
    ] = None
    coupling_point: Annotated[
        str | None,
        Line("Busbar at which harmonics count; the first of the path when left out.", '"11 kV line"', longest=60),
    ] = None
    power_factor: Annotated[
        Parsed | None, Quantity("Least true power factor at any demand.", "0.9", unit="pu", low=0.1, high=1.0)
    ] = None


@cache
def speed_section(ways: Sequence[type[SpeedWay]] = SPEED) -> type[Section]:
    """The model of `[speed]` for these ways: their names, and a table of settings for each."""
    names = tuple(way.key for way in ways)
    listed = "[" + ", ".join(f'"{name}"' for name in names[:3]) + "]"
    asked, preferred = "Ways to be compared; all when not given.", "Order of preference, simplest first, among equals."
    fields: dict[str, Any] = {
        "ways": (Annotated[tuple[str, ...] | None, Keys(asked, listed, known=names, also=also_called(ways))], None),
        "order": (
            Annotated[tuple[str, ...] | None, Keys(preferred, listed, known=names, also=also_called(ways))],
            None,
        ),
    }
    for way in ways:
        fields[way.key] = (_way_section(way) | None, Field(default=None, description=way.summary))
    return create_model("SpeedSection", __base__=SpeedPlain, __doc__=SpeedPlain.__doc__, **fields)


def _way_section(way: type[SpeedWay]) -> type[Section]:
    """The table of settings of one way, from its dials; every setting may be left out and is then designed."""
    fields: dict[str, Any] = {name: (Annotated[Any, dial_leaf(dial)], None) for name, dial in dials(way).items()}
    return create_model(f"{way.__name__}SpeedSection", __base__=Section, __doc__=f"Settings of: {way.title}.", **fields)

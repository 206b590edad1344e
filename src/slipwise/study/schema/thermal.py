"""`[thermal]`: how the motor warms, and the duties it is to be judged in."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Line, Quantity, Section, Whole, Word

CLASSES = ("A", "E", "B", "F", "H")
TYPES = ("S1", "S2", "S3", "S4", "S5", "S6", "S7", "S8", "S9")
BRAKING = ("direct current", "plugging")


class ThermalStepSection(Section):
    """A stretch of a duty at one load and speed."""

    time: Annotated[Parsed, Quantity("How long it lasts.", '"4 min"', unit="s", above=0.0, high=1e6)]
    load: Annotated[Parsed, Quantity("Torque, of rated torque.", '"80 %"', unit="pu", low=0.0, high=3.0, bare_high=3.0)]
    speed: Annotated[
        Parsed | None,
        Quantity("Speed, of rated speed; 0 at standstill.", '"60 %"', unit="pu", low=0.0, high=1.5, bare_high=1.5),
    ] = None


class ThermalDutySection(Section):
    """One duty type of IEC 60034-1 with its times."""

    type: Annotated[str, Word("Duty type.", '"S3"', words=TYPES)]
    name: Annotated[str | None, Line("What it is called.", '"filling"', longest=40)] = None
    load: Annotated[
        Parsed | None,
        Quantity("Torque while loaded, of rated torque.", '"110 %"', unit="pu", low=0.0, high=3.0, bare_high=3.0),
    ] = None
    on_time: Annotated[
        Parsed | None, Quantity("Time under load in each cycle.", '"10 min"', unit="s", above=0.0, high=1e6)
    ] = None
    off_time: Annotated[
        Parsed | None,
        Quantity("Time at standstill (S3 to S5) or at no load (S6, S7).", '"20 min"', unit="s", above=0.0, high=1e6),
    ] = None
    braking: Annotated[
        str | None, Word("How the motor is stopped in S5 and S7.", '"direct current"', words=BRAKING)
    ] = None
    step: tuple[ThermalStepSection, ...] = Field(
        default=(), max_length=50, description="Stretches of a duty S8 or S9, in order."
    )


class ThermalSection(Section):
    """How the motor warms and cools; what is left out is estimated and listed with its range."""

    insulation: Annotated[str | None, Word("Insulation class.", '"F"', words=CLASSES)] = None
    rise: Annotated[
        Parsed | None,
        Quantity("Rise of the winding at rated load.", '"80 K"', unit="K", above=5.0, high=200.0),
    ] = None
    time_constant: Annotated[
        Parsed | None,
        Quantity("Heating time constant of the whole motor.", '"40 min"', unit="s", above=10.0, high=1e5),
    ] = None
    ambient: Annotated[
        Parsed | None,
        Quantity("Temperature of the cooling air.", '"40 degC"', unit="degC", low=-40.0, high=80.0),
    ] = None
    starts_in_a_row: Annotated[
        int | None, Whole("Starts that follow each other, drawn over time.", "3", low=1, high=12)
    ] = None
    rest_time: Annotated[
        Parsed | None,
        Quantity("Standstill between those starts.", '"5 min"', unit="s", low=0.0, high=1e6),
    ] = None
    duty: tuple[ThermalDutySection, ...] = Field(
        default=(), max_length=20, description="Duties to be judged, each for itself."
    )

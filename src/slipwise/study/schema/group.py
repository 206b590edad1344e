"""`[group]`: several motors on the same supply path, started together or one after another."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from slipwise.methods.starting import STARTING
from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Line, Quantity, Section, Word
from slipwise.study.schema.names import also_called

MOST = 8  # motors in a group


class GroupCableSection(Section):
    """The motor's own cable from its busbar."""

    length: Annotated[Parsed, Quantity("Length of the run, one way.", '"60 m"', unit="m", above=0.0)]
    resistance: Annotated[
        Parsed,
        Quantity("Resistance of one core per length, warm.", '"0.193 ohm/km"', unit="ohm/m", above=0.0),
    ]
    reactance: Annotated[
        Parsed | None, Quantity("Reactance of one core per length.", '"0.08 ohm/km"', unit="ohm/m", low=0.0)
    ] = None


class GroupMotorSection(Section):
    """One motor of the group."""

    name: Annotated[str, Line("What it is called; every motor has its own name.", '"P3"', longest=24)]
    study: Annotated[
        str | None,
        Line("Study file that describes motor, load and way of starting; this file when left out.", '"fan.toml"'),
    ] = None
    busbar: Annotated[
        str | None,
        Line(
            "Busbar of this file's supply path that feeds it; the last one when left out.", '"main board"', longest=60
        ),
    ] = None
    way: Annotated[
        str | None,
        Word("Way of starting.", '"star_delta"', words=tuple(w.key for w in STARTING), also=also_called(STARTING)),
    ] = None
    cable: GroupCableSection | None = Field(default=None, description="Its own cable from the busbar.")
    switch_on: Annotated[
        Parsed | None,
        Quantity("When it is switched on, as it is done today.", '"10 s"', unit="s", low=0.0, high=3600.0),
    ] = None
    running: Annotated[
        str | None, Word('"yes" when it runs already while the others start.', '"yes"', words=("yes", "no"))
    ] = None
    drop_out: Annotated[
        Parsed | None,
        Quantity(
            "Voltage of its busbar at which its contactor falls out, of nominal.",
            '"60 %"',
            unit="pu",
            low=0.0,
            high=0.95,
            bare_high=0.95,
        ),
    ] = None


class GroupDipSection(Section):
    """A dip of the source while all motors of the group run."""

    remaining: Annotated[
        Parsed,
        Quantity("Voltage left during the dip.", '"60 %"', unit="pu", low=0.0, high=0.99, bare_high=0.99),
    ]
    duration: Annotated[Parsed, Quantity("How long it lasts.", '"300 ms"', unit="s", above=0.0, high=30.0)]


class GroupSection(Section):
    """Several motors on this supply path, which sequence holds the busbars, and what a dip does to them."""

    motor: tuple[GroupMotorSection, ...] = Field(
        min_length=1, max_length=MOST, description="The motors, in the order in which they would be switched on."
    )
    pause: Annotated[
        Parsed | None,
        Quantity("From the last motor at speed to the next switching-on.", '"2 s"', unit="s", low=0.0, high=600.0),
    ] = None
    dip: GroupDipSection | None = Field(default=None, description="A dip of the source while all of them run.")

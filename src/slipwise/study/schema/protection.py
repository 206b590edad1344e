"""`[protection]`: relay, trips, contactors, starter and resistor bank as they are, where they are known."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from slipwise.limits.overload_relay import trip_classes
from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Line, Quantity, Section, Whole, Word, Yes

CLASSES = tuple(kind.name for kind in trip_classes())
PLACES = ("line", "winding")


def _current(doc: str, example: str) -> Quantity:
    return Quantity(doc, example, unit="A", above=0.0, high=1e5)


class SoftStarterRatingSection(Section):
    """Rating of the soft starter as its plate has it: rated current, ratio and time of the start, starts an hour."""

    rated_current: Annotated[Parsed, _current("Rated current of the thyristors.", '"210 A"')]
    current_ratio: Annotated[
        Parsed, Quantity("Current while starting, of rated current.", "3.5", unit="pu", low=1.0, bare_high=12.0)
    ]
    start_time: Annotated[
        Parsed, Quantity("How long it bears that current.", '"20 s"', unit="s", above=0.0, high=600.0)
    ]
    starts_per_hour: Annotated[
        Parsed | None, Quantity("Starts an hour that it bears.", "4", unit="", above=0.0, high=600.0)
    ] = None


class ResistorBankSection(Section):
    """The resistor bank as a body that warms; what is left out is designed or assumed, and listed."""

    heat_capacity: Annotated[
        Parsed | None, Quantity("Heat it takes for each kelvin.", '"45 kJ/K"', unit="J/K", above=0.0, high=1e9)
    ] = None
    time_constant: Annotated[
        Parsed | None, Quantity("Cooling time constant.", '"10 min"', unit="s", above=1.0, high=1e5)
    ] = None
    rise: Annotated[
        Parsed | None, Quantity("Permitted rise over the air around it.", '"375 K"', unit="K", above=10.0, high=1000.0)
    ] = None
    ambient: Annotated[
        Parsed | None, Quantity("Temperature of the air around it.", '"40 degC"', unit="degC", low=-40.0, high=80.0)
    ] = None
    starts_in_a_row: Annotated[int | None, Whole("Starts that follow each other.", "3", low=1, high=12)] = None
    rest_time: Annotated[Parsed | None, Quantity("Time between them.", '"2 min"', unit="s", low=0.0, high=1e5)] = None


class ProtectionSection(Section):
    """Relay, trips and switchgear as they are; what is left out is proposed."""

    trip_class: Annotated[str | None, Word("Trip class of the overload relay.", '"20"', words=CLASSES)] = None
    setting: Annotated[Parsed | None, _current("Current the overload relay is set to, at its place.", '"158 A"')] = None
    place: Annotated[
        str | None, Word("Where the relay stands: in the line, or in the winding of a delta.", '"line"', words=PLACES)
    ] = None
    phase_loss_sensitive: Annotated[
        bool | None, Yes("Whether the relay trips quicker when one pole carries nothing.", "true")
    ] = None
    instantaneous: Annotated[
        Parsed | None,
        Quantity(
            "Setting of the instantaneous trip, rms, or its ratio to rated current.",
            '"2 kA"',
            unit=("A", "pu"),
            above=0.0,
            bare_high=40.0,
        ),
    ] = None
    instantaneous_tolerance: Annotated[
        Parsed | None, Quantity("Tolerance of that trip, either way.", '"20 %"', unit="pu", low=0.0, high=0.5)
    ] = None
    speed_switch: Annotated[
        Parsed | None,
        Quantity(
            "Speed that must be passed in time, or its share of synchronous speed.",
            '"150 r/min"',
            unit=("rad/s", "pu"),
            above=0.0,
            bare_high=1.0,
        ),
    ] = None
    speed_switch_delay: Annotated[
        Parsed | None,
        Quantity("Time after switching on in which it must be.", '"4 s"', unit="s", above=0.0, high=600.0),
    ] = None
    line_contactor: Annotated[
        Parsed | None,
        _current("Rated operational current of K1, in AC-3, or AC-2 with slip rings.", '"185 A"'),
    ] = None
    coil_busbar: Annotated[str | None, Line("Busbar that feeds the contactors' coils.", '"main board"', longest=60)] = (
        None
    )
    hold_in_voltage: Annotated[
        Parsed | None,
        Quantity(
            "Coil voltage at which contactors surely stay closed, of nominal.", '"70 %"', unit="pu", low=0.1, high=1.0
        ),
    ] = None
    soft_starter: SoftStarterRatingSection | None = Field(default=None, description="Rating of the soft starter.")
    resistor_bank: ResistorBankSection | None = Field(
        default=None, description="The resistor bank as a body that warms."
    )

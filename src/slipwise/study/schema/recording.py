"""`[motor.recording]`: a recorded start, to which inertia, load torque and the motor's circuit are fitted."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Line, Quantity, Section, Whole


def _named(what: str, example: str) -> Line:
    return Line(f"Name in the file of the channel that is {what}.", example, longest=80)


class ChannelsSection(Section):
    """What the channels are, where their names in the file do not say."""

    ua: Annotated[str | None, _named("the voltage of phase a", '"CH1"')] = None
    ub: Annotated[str | None, _named("the voltage of phase b", '"CH2"')] = None
    uc: Annotated[str | None, _named("the voltage of phase c", '"CH3"')] = None
    uab: Annotated[str | None, _named("the voltage from a to b", '"CH1"')] = None
    ubc: Annotated[str | None, _named("the voltage from b to c", '"CH2"')] = None
    uca: Annotated[str | None, _named("the voltage from c to a", '"CH3"')] = None
    ia: Annotated[str | None, _named("the current in line a", '"CH4"')] = None
    ib: Annotated[str | None, _named("the current in line b", '"CH5"')] = None
    ic: Annotated[str | None, _named("the current in line c", '"CH6"')] = None
    speed: Annotated[str | None, _named("the speed of the shaft", '"CH7"')] = None
    torque: Annotated[str | None, _named("the torque at the motor's shaft", '"CH8"')] = None


class RecordingSection(Section):
    """A recorded start of this motor with its load."""

    file: Annotated[
        str,
        Line(
            "The recording, seen from the folder of this file: a text table (.csv), or COMTRADE (.cfg with .dat, .cff).",
            '"start.csv"',
            longest=300,
        ),
    ]
    temperature: Annotated[
        Parsed | None,
        Quantity(
            "Temperature of the windings in the recorded start; 40 degC is assumed when not given.",
            '"25 degC"',
            unit="degC",
            low=-60.0,
            high=400.0,
        ),
    ] = None
    cages: Annotated[int | None, Whole("Cages to fit, 1 or 2; two when not given.", "2", low=1, high=2)] = None
    channels: ChannelsSection | None = Field(default=None, description="What the channels are.")

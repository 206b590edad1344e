"""`[[disturbance]]`: what is wrong with the supply, one table for each thing to be looked at."""

from __future__ import annotations

from typing import Annotated

from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Line, Quantity, Section, Word

UNBALANCE, OPEN_LINE, DIP, INTERRUPTION = "unbalance", "open line", "voltage dip", "interruption"
TRANSFER, REVERSED, OFF_NOMINAL = "bus transfer", "reversed phases", "off nominal"
KINDS = (UNBALANCE, OPEN_LINE, DIP, INTERRUPTION, TRANSFER, REVERSED, OFF_NOMINAL)

_Volts = Annotated[
    Parsed | None, Quantity("Between these two lines at the motor, rms.", '"405 V"', unit="V", above=0.0, high=50e3)
]


class DisturbanceSection(Section):
    """One thing that is wrong with the supply while the motor runs on its load; which keys it takes goes by its kind."""

    kind: Annotated[str, Word("What is wrong.", '"open line"', words=KINDS)]
    name: Annotated[str | None, Line("What it is called.", '"end of the long line"', longest=40)] = None
    voltage_12: _Volts = None
    voltage_23: _Volts = None
    voltage_31: _Volts = None
    negative_sequence: Annotated[
        Parsed | None,
        Quantity(
            "Unbalance: negative over positive sequence voltage.", '"2 %"', unit="pu", low=0.0, high=0.5, bare_high=0.5
        ),
    ] = None
    remaining_voltage: Annotated[
        Parsed | None,
        Quantity(
            "Voltage dip: voltage that is left, of the source's.",
            '"60 %"',
            unit="pu",
            low=0.0,
            high=0.99,
            bare_high=0.99,
        ),
    ] = None
    duration: Annotated[
        Parsed | None,
        Quantity("Voltage dip, interruption: how long it lasts.", '"0.3 s"', unit="s", above=0.0, high=60.0),
    ] = None
    drop_out_voltage: Annotated[
        Parsed | None,
        Quantity(
            "Voltage dip: voltage at which contactors let go.", '"65 %"', unit="pu", low=0.05, high=0.95, bare_high=0.95
        ),
    ] = None
    dead_time: Annotated[
        Parsed | None,
        Quantity("Bus transfer: from the loss of one source to the other.", '"80 ms"', unit="s", above=0.0, high=60.0),
    ] = None
    source_angle: Annotated[
        Parsed | None,
        Quantity("Bus transfer: lead of the new source.", '"20 deg"', unit="rad", low=-3.1416, high=3.1416),
    ] = None
    scatter: Annotated[
        Parsed | None,
        Quantity(
            "Interruption, bus transfer: how much earlier or later it may end.",
            '"10 ms"', unit="s", low=0.0, high=1.0,
        ),
    ] = None  # fmt: skip
    voltage: Annotated[
        Parsed | None,
        Quantity("Off nominal: voltage at the motor, of rated.", '"92 %"', unit="pu", low=0.5, high=1.5, bare_high=1.5),
    ] = None
    frequency: Annotated[
        Parsed | None,
        Quantity("Off nominal: frequency, of rated.", '"97 %"', unit="pu", low=0.5, high=1.5, bare_high=1.5),
    ] = None

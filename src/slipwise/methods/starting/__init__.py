"""The ways of starting, simplest first: this tuple is the published order of preference."""

from __future__ import annotations

from slipwise.methods.starting.autotransformer import Autotransformer
from slipwise.methods.starting.direct import Direct
from slipwise.methods.starting.inverter import Inverter
from slipwise.methods.starting.part_winding import PartWinding
from slipwise.methods.starting.rotor_resistor import RotorResistor
from slipwise.methods.starting.series_reactor import SeriesReactor
from slipwise.methods.starting.series_resistor import SeriesResistor
from slipwise.methods.starting.soft_starter import SoftStarter
from slipwise.methods.starting.star_delta import StarDelta
from slipwise.methods.way import StartingWay

STARTING: tuple[type[StartingWay], ...] = (
    Direct,
    StarDelta,
    PartWinding,
    SeriesReactor,
    SeriesResistor,
    Autotransformer,
    RotorResistor,
    SoftStarter,
    Inverter,
)

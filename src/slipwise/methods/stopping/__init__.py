"""The ways of stopping, simplest first: this tuple is the published order of preference."""

from __future__ import annotations

from slipwise.methods.stopping.braking_resistor import BrakingResistor
from slipwise.methods.stopping.coasting import Coasting
from slipwise.methods.stopping.dc_injection import DcInjection
from slipwise.methods.stopping.more_poles import MorePoles
from slipwise.methods.stopping.plugging import Plugging
from slipwise.methods.stopping.regenerative import Regenerative
from slipwise.methods.stopping.soft_stop import SoftStop
from slipwise.methods.stopping.way import StoppingWay

STOPPING: tuple[type[StoppingWay], ...] = (
    Coasting,
    SoftStop,
    DcInjection,
    Plugging,
    MorePoles,
    BrakingResistor,
    Regenerative,
)

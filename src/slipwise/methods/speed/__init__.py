"""The ways of speed control, simplest first: this tuple is the published order of preference."""

from __future__ import annotations

from slipwise.methods.speed.damper import FanDamper
from slipwise.methods.speed.frequency_only import FrequencyOnly
from slipwise.methods.speed.on_off import OnOff
from slipwise.methods.speed.pole_changing_separate import SeparateWindings
from slipwise.methods.speed.pole_changing_tapped import TappedWinding
from slipwise.methods.speed.rotor_chopper import RotorChopper
from slipwise.methods.speed.rotor_fed import RotorFed
from slipwise.methods.speed.rotor_resistance import RotorResistance
from slipwise.methods.speed.slip_recovery import SlipRecovery
from slipwise.methods.speed.stator_voltage_thyristors import PhaseControl
from slipwise.methods.speed.stator_voltage_transformer import VariableTransformer
from slipwise.methods.speed.throttle import ThrottleValve
from slipwise.methods.speed.volts_per_hertz import VoltsPerHertz
from slipwise.methods.speed.way import SpeedWay

SPEED: tuple[type[SpeedWay], ...] = (
    ThrottleValve,
    FanDamper,
    OnOff,
    TappedWinding,
    SeparateWindings,
    VariableTransformer,
    PhaseControl,
    FrequencyOnly,
    VoltsPerHertz,
    RotorResistance,
    RotorChopper,
    SlipRecovery,
    RotorFed,
)

"""Steady operating points: what a motor does at one speed on its supply."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatingPoint:
    """One steady state in the running connection.

    asked: what was asked for, in words. speed rad/s; slip pu; torque at the shaft N m; shaft_power, input_power and the
    three-phase losses W; currents rms A; terminal_voltage line rms V. efficiency: shaft power / input power when motoring,
    input / shaft when generating, None when neither.
    """

    asked: str
    speed: float
    slip: float
    torque: float
    shaft_power: float
    input_power: float
    line_current: float
    winding_current: float
    power_factor: float
    efficiency: float | None
    terminal_voltage: float
    stator_loss: float
    rotor_loss: float
    core_loss: float
    mechanical_loss: float
    stray_loss: float

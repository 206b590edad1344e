"""Line-commutated inverter that feeds slip power back: link voltage, overlap, line current, and its transformer.

Angles in rad, firing measured from natural commutation: pi/2 gives no voltage, towards pi the link is held at most.
The transformer is a short-circuit impedance seen from its inverter side; the link current is smooth.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt
from typing import Any

import numpy as np

from slipwise.model.converter.rotor_bridge import DC_PER_LINE, FUNDAMENTAL_PER_DC, RMS_PER_DC

ORDERS = (5, 7, 11, 13)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InverterPoint:
    """The inverter at one link current or many, on the inverter side of the transformer.

    voltage: mean, against the link current, before valve drops and winding resistance [V]. overlap [rad].
    margin: angle left for a valve to recover, pi - firing - overlap; 0 where commutation fails [rad].
    power: fed into the line, before the transformer's resistance and core [W]. reactive: drawn, positive [var].
    """

    voltage: Any
    overlap: Any
    margin: Any
    power: Any
    reactive: Any


def inverter(current: Any, line_voltage: Any, firing: Any, reactance: float) -> InverterPoint:
    """Two-way thyristor bridge at firing angles from pi/2 upwards; arguments broadcast.

    Args:
        current: in the link, smooth. [A]   line_voltage: behind the reactance, rms. [V]   firing: [rad]
        reactance: of transformer and supply per phase on the inverter side, at line frequency. [ohm]

    Source: commutation under constant current, Mohan, Undeland, Robbins, Power Electronics, ch. 6; fundamental of the
    line current with overlap, Kimbark, Direct Current Transmission, vol. 1, ch. 3 (from memory).
    """
    start = np.cos(firing)
    end = start - sqrt(2) * reactance * current / line_voltage
    finish = np.arccos(np.clip(end, -1.0, 1.0))
    overlap = finish - firing
    power = -DC_PER_LINE * line_voltage * (start + end) / 2 * current
    return InverterPoint(
        voltage=-DC_PER_LINE * line_voltage * (start + end) / 2,
        overlap=overlap,
        margin=pi - finish,
        power=power,
        reactive=sqrt(3) * line_voltage * FUNDAMENTAL_PER_DC * current * _lag(firing, finish, overlap),
    )


def _lag(firing: Any, finish: Any, overlap: Any) -> Any:
    """Reactive share of the fundamental; sin(firing) without overlap. [1]"""
    spread = np.cos(firing) - np.cos(finish)
    wide = spread > 1e-6
    whole = 2 * overlap + np.sin(2 * firing) - np.sin(2 * finish)
    return np.where(wide, whole / (4 * np.where(wide, spread, 1.0)), np.sin(firing))


def firing_angle(voltage: Any, current: Any, line_voltage: Any, reactance: float) -> Any:
    """Firing angle at which the inverter holds a link voltage at a current; 0 or pi where it cannot. [rad]

    Source: as `inverter`: Vd = -1.35 U cos(firing) + 3 X Id / pi.
    """
    cosine = -(voltage - 3 / pi * reactance * current) / (DC_PER_LINE * line_voltage)
    return np.arccos(np.clip(cosine, -1.0, 1.0))


def no_load_slip(firing: Any, ring_line_voltage: Any, inverter_line_voltage: Any) -> Any:
    """Slip at which no link current flows, without any drop: s0 = -(U_T / U_2) cos(firing). [1]

    Both line voltages rms, the rings' at standstill. Source: Rashid, Power Electronics, 3rd ed., ch. 15; balance of the two
    open link voltages.
    """
    return -inverter_line_voltage / ring_line_voltage * np.cos(firing)


def inverter_voltage_for(deepest_slip: float, firing: float, ring_line_voltage: float) -> float:
    """Line voltage on the inverter side that lets the greatest firing angle reach the deepest no-load slip. [V]

    Source: `no_load_slip` solved for the voltage; Dubey, Fundamentals of Electrical Drives, 2nd ed., Example 6.18.
    """
    return -ring_line_voltage * deepest_slip / float(np.cos(firing))


def average_link_current(rectified: Any, held: Any, resistance: Any) -> Any:
    """Link current driven by the difference of the two mean voltages through a resistance. [A]

    Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.18: resistance 2 (s R1' + R2) + Rd in the link.
    """
    return (rectified - held) / resistance


def link_torque(held: Any, current: Any, slip: Any, synchronous_speed: float) -> Any:
    """Torque of the fed-back link power alone, rotor copper loss neglected: Vd Id / (s omega_s). [N m]

    Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.18.
    """
    return held * current / (slip * synchronous_speed)


def apparent_power(line_voltage: float, link_current: float) -> float:
    """What the inverter and its transformer are bought for: sqrt(3) U times the rms of the 120 degree blocks. [VA]

    Greatest voltage and greatest current count, even when they never meet: this is not the slip power.
    """
    return sqrt(3) * line_voltage * RMS_PER_DC * link_current

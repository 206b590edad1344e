"""Converter between slip rings and line that passes power both ways: ring voltage and losses."""

from __future__ import annotations

from math import pi, sqrt
from typing import Any


def ring_voltage(gap_voltage: Any, rotor_current: Any, slip: Any, resistance: float, reactance: float) -> Any:
    """Phase voltage at the rings, referred like its arguments: s E - (R2 + j s X2) I. [V]

    gap_voltage V, rotor_current A: phasors of one frame, current into the rotor's working branch. resistance, reactance: of
    the rotor, at line frequency. [ohm]  Power out of the rings is 3 Re(U I*) = s P_gap - 3 R2 I^2.
    Source: equivalent circuit with a voltage at the rings, Leonhard, Control of Electrical Drives, ch. 13 (from memory).
    """
    return slip * gap_voltage - (resistance + 1j * slip * reactance) * rotor_current


def bridge_loss(current: Any, link_voltage: Any, valve_drop: float, switching: float) -> Any:
    """Loss of a three-phase bridge of switched valves: 3 x mean current x (drop + switching x link voltage). [W]

    current: rms of the sinusoidal phase current. [A]  switching: loss per unit of link voltage times current.
    Source: conduction and switching both proportional to the mean of |i| (common practice, no source).
    """
    return 3 * 2 * sqrt(2) / pi * current * (valve_drop + switching * link_voltage)


def transformer_loss(power: Any, share: float) -> Any:
    """Loss of the transformer as a share of the power through it, either way. [W]"""
    return share * abs(power)

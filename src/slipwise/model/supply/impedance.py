"""Impedances of the elements of a supply path, positive sequence, per phase, at the voltage level named.

Source of all: IEC 60909-0, equations for network feeders, synchronous generators, two-winding transformers and
lines (from memory, without the
voltage and correction factors c and K, which belong to short-circuit currents and not to voltage drop).
"""

from __future__ import annotations

from math import sqrt

ZERO_RESISTANCE = {"copper": 234.5, "aluminium": 228.0}  # degC below zero; IEC 60287-1-1, from memory
RESISTIVITY = {"copper": 18.3e-9, "aluminium": 30.3e-9}  # ohm m at 20 degC, from the largest resistances of IEC 60228


def split_by_ratio(magnitude: float, x_to_r: float) -> complex:
    """R + jX of a magnitude [ohm] with the given X/R."""
    resistance = magnitude / sqrt(1 + x_to_r**2)
    return complex(resistance, resistance * x_to_r)


def network_impedance(voltage: float, fault_level: float, x_to_r: float) -> complex:
    """Z = U^2 / Sk, at the network's voltage. voltage: line, V; fault_level: VA. [ohm]"""
    return split_by_ratio(voltage**2 / fault_level, x_to_r)


def generator_impedance(voltage: float, rating: float, reactance: float, resistance: float) -> complex:
    """Z = (r + jx) U^2 / S of a synchronous machine, its reactance and armature resistance per unit of its rating.

    voltage: rated line voltage, V; rating: VA. With the transient reactance X'd it is the impedance behind which the
    internal voltage stays as it was while a motor starts, until the voltage regulator acts. [ohm]
    """
    return complex(resistance, reactance) * voltage**2 / rating


def transformer_impedance(secondary: float, rating: float, short_circuit_voltage: float, resistance: float) -> complex:
    """Z = uk U^2 / S at the secondary side, R part given.

    secondary: rated line voltage, V; rating: VA; short_circuit_voltage and resistance (load losses / rating): pu, with
    resistance below short_circuit_voltage. [ohm]
    """
    base = secondary**2 / rating
    return base * complex(resistance, sqrt(short_circuit_voltage**2 - resistance**2))


def at_temperature(resistance: float, conductor: str, given_at: float, wanted_at: float) -> float:
    """A conductor's resistance at another temperature (degC), linear in it; unit of `resistance`."""
    zero = ZERO_RESISTANCE[conductor]
    return resistance * (zero + wanted_at) / (zero + given_at)


def cable_impedance(resistance: float, reactance: float, length: float, runs: int) -> complex:
    """(R' + jX') l / n of equal cables side by side. resistance, reactance: ohm/m; length: m. [ohm]"""
    return complex(resistance, reactance) * length / runs

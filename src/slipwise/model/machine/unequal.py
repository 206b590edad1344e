"""A wound rotor with unequal resistors on its slip rings: currents of both sequences, and the torque dip near half speed.

The unequal star (neutral free) turns part of the rotor current into the opposite sequence. That part makes a field which
turns backwards on the rotor at slip frequency, hence at (1 - 2 s) times synchronous speed in space; it drives a current
of frequency |1 - 2 s| f through stator and supply, which brakes below slip 1/2 and drives above it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi
from typing import Any

import numpy as np

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.point import source_seen_by_rotor
from slipwise.quantity.errors import DomainError

_TURN = np.exp(2j * pi / 3)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnequalRotor:
    """Steady state at one slip or many; per-phase rms, referred to the stator, shape of the slip (phases: first axis 3).

    forward: rotor current of the working sequence, phasor against the voltage behind the source [A].
    backward: magnitude of the opposite sequence [A]. stator_backward: what it drives in the stator, at |1 - 2 s| f [A].
    phases: magnitude of the current in each ring [A]. external_loss: in the three resistors together [W].
    backward_torque: mean torque of the backward field, positive when driving [N m].
    """

    forward: Any
    backward: Any
    stator_backward: Any
    phases: Any
    external_loss: Any
    backward_torque: Any

    @property
    def unbalance(self) -> Any:
        """Backward over forward rotor current. [1]"""
        return self.backward / np.maximum(abs(self.forward), 1e-300)


def unequal_rotor(
    circuit: Circuit,
    slip: Any,
    phase_voltage: Any,
    frequency: float,
    synchronous_speed: float,
    *,
    resistors: tuple[Any, Any, Any],
    supply: complex = 0.0,
) -> UnequalRotor:
    """Sequence components of a single-circuit wound rotor with three different resistors in star, neutral free.

    Args:
        circuit: one rotor branch; R1 and X1 of the motor alone. [ohm]
        slip: number or array. [1]   phase_voltage: rms behind `supply`. [V]   frequency: of the supply. [Hz]
        synchronous_speed: of the shaft. [rad/s]   resistors: per ring, referred to the stator. [ohm]
        supply: series impedance before the terminals at `frequency`. [ohm]

    Returns:
        An UnequalRotor; with equal resistors the backward sequence is exactly zero.

    Raises:
        DomainError: more than one rotor branch, or a resistor below zero.

    Source: space-vector equations of the machine written for e^(j s w t) and e^(-j s w t) in the rotor, with the
    resistors' vector law v = -(R0 i + Rd conj(i)); the dip is described in Say, Alternating Current Machines (from memory).
    Core loss is left out of the backward field.
    """
    if len(circuit.rotor) != 1:
        raise DomainError.of("circuit.rotor", len(circuit.rotor), "only a wound rotor has rings", "give one branch")
    if any(np.any(np.asarray(r) < 0) for r in resistors):
        raise DomainError.of("resistors", resistors, "a resistance cannot be negative", "give zero or more ohm")
    own, scale = circuit.rotor[0], frequency / circuit.frequency
    fed = _behind(circuit, supply, frequency)
    open_voltage, source = source_seen_by_rotor(fed, phase_voltage, frequency)
    mean = (resistors[0] + resistors[1] + resistors[2]) / 3
    coupled = (resistors[0] + resistors[1] * _TURN**2 + resistors[2] * _TURN) / 3
    first = own.R + mean + slip * source + 1j * slip * own.X * scale
    second, stator_share = _backward_loop(fed, slip, scale, own.R + mean)
    forward = slip * abs(open_voltage) / (first - abs(coupled) ** 2 / second)
    conjugate = -np.conj(coupled) * forward / second
    stator = abs(stator_share * conjugate)
    phases = np.array([abs(forward * _TURN**-k + conjugate * _TURN**k) for k in range(3)])
    external = sum(r * phases[k] ** 2 for k, r in enumerate(resistors))
    return UnequalRotor(
        forward=forward,
        backward=abs(conjugate),
        stator_backward=stator,
        phases=phases,
        external_loss=external,
        backward_torque=_backward_torque(fed, slip, scale, conjugate, synchronous_speed),
    )


def _backward_loop(circuit: Circuit, slip: Any, scale: float, resistance: Any) -> tuple[Any, Any]:
    """Conjugate loop impedance of the backward sequence [ohm], and its stator current per rotor current [1]."""
    mutual, space = circuit.Xm * scale, 1 - 2 * slip
    stator = circuit.R1 - 1j * space * (circuit.X1 * scale + mutual)
    whole = mutual + circuit.rotor[0].X * scale
    loop = resistance + 1j * slip * whole - slip * space * mutual**2 / stator
    return loop, space * mutual / stator


def _backward_torque(circuit: Circuit, slip: Any, scale: float, current: Any, speed: float) -> Any:
    """-3 R1 Is^2 / ((1 - 2 s) omega_s), written so that slip 1/2 needs no special case. [N m]"""
    mutual, space = circuit.Xm * scale, 1 - 2 * slip
    stator = circuit.R1 - 1j * space * (circuit.X1 * scale + mutual)
    return -3 * circuit.R1 * space * (mutual * abs(current) / abs(stator)) ** 2 / speed


def _behind(circuit: Circuit, supply: complex, frequency: float) -> Circuit:
    """The circuit with the supply's impedance put into its stator."""
    return replace(circuit, R1=circuit.R1 + supply.real, X1=circuit.X1 + supply.imag * circuit.frequency / frequency)


def current_unbalance(phases: Any) -> Any:
    """Greatest deviation of a ring current from the mean of the three, over that mean. phases: first axis 3. [1]"""
    mean = phases.sum(axis=0) / 3
    return np.max(abs(phases - mean), axis=0) / mean


def dip_slip(slip: Any, torque: Any) -> tuple[float, float] | None:
    """Slip and torque of the lowest point of a dip between two rises; None when the curve has none. Arrays of shape (n,)."""
    order = np.argsort(slip)
    s, t = np.asarray(slip)[order], np.asarray(torque)[order]
    valley = np.flatnonzero((t[1:-1] < t[:-2]) & (t[1:-1] <= t[2:])) + 1
    if not valley.size:
        return None
    at = int(valley[np.argmin(t[valley])])
    return float(s[at]), float(t[at])

"""What the pulses do to the motor: ripple of voltage and flux, and the loss it makes in copper and iron."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import pi, sqrt
from typing import Any

import numpy as np

from slipwise.model.converter.inverter import SIX_STEP_RATIO, SPACE_VECTOR_RATIO, Modulation
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.skin import reactance_ratio, reduced_height, resistance_ratio

# Height of a rotor bar by rated power, for current displacement at the pulse frequency (common practice, no source).
BAR_HEIGHT, BAR_EXPONENT, BAR_RESISTIVITY = 0.014, 0.17, 3.5e-8
LOSS_RANGE = (0.4, 2.5)  # of the harmonic loss so computed
HARMONIC_NOTE = "harmonic loss in the motor by a typical rotor bar, 0.4 to 2.5 times (common practice, no source)"
_LOW_ORDERS = (5, 7, 11, 13, 17, 19, 23, 25)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ripple:
    """Pulse ripple seen by one phase of a star. voltage: rms V. flux: rms of its integral, V s."""

    voltage: float
    flux: float


def pulse_ripple(ratio: float, dc_voltage: float, switching_frequency: float, modulation: Modulation) -> Ripple:
    """Ripple of carrier modulation at a ratio of line voltage (rms) to dc voltage within its linear range.

    Exact for a carrier much faster than the fundamental: in each half carrier period the four switching states are laid
    out in their order and the error of the voltage against its mean is integrated piece by piece.
    Source: Holmes and Lipo, Pulse Width Modulation for Power Converters, ch. 2 (harmonic losses; from memory).
    """
    depth = ratio / SPACE_VECTOR_RATIO * 2 / sqrt(3)  # peak of the phase voltage over half the dc voltage
    square, flux = _normal_ripple(round(depth, 6), modulation is Modulation.SINUSOIDAL)
    return Ripple(voltage=dc_voltage * sqrt(square), flux=dc_voltage / switching_frequency * sqrt(flux))


@lru_cache(maxsize=4096)
def _normal_ripple(depth: float, sinusoidal: bool) -> tuple[float, float]:
    """Mean square of voltage ripple, and of its integral, for unit dc voltage and unit carrier frequency."""
    angle = (np.arange(72) + 0.5) * (2 * pi / 72)
    wanted = depth / 2 * np.cos(angle[:, None] - np.array([0, 2, 4]) * pi / 3)  # phase voltages, of the dc voltage
    if not sinusoidal:
        wanted = wanted - (wanted.max(axis=1) + wanted.min(axis=1))[:, None] / 2
    duty = np.clip(wanted + 0.5, 0.0, 1.0)
    order = np.sort(duty, axis=1)[:, ::-1]
    spans = -np.diff(np.concatenate((np.ones((72, 1)), order, np.zeros((72, 1))), axis=1), axis=1)
    # state k: the k phases of greatest duty are switched up; phase a's voltage in it
    rank = np.argsort(np.argsort(-duty, axis=1), axis=1)[:, 0]
    up = np.arange(4)[None, :]
    volts = (up > rank[:, None]) - up / 3
    mean = np.sum(spans * volts, axis=1)
    error = volts - mean[:, None]
    corners = np.concatenate((np.zeros((72, 1)), np.cumsum(spans * error, axis=1)), axis=1) / 2  # half a carrier period
    first, last = corners[:, :-1], corners[:, 1:]
    flux = np.sum(spans * (first**2 + first * last + last**2) / 3, axis=1)
    return float(np.mean(np.sum(spans * error**2, axis=1))), float(np.mean(flux))


def bar_height(power: float) -> float:
    """Typical height of a rotor bar for a rated power (W). [m]"""
    return float(BAR_HEIGHT * (max(power, 100.0) / 1e3) ** BAR_EXPONENT)


def at_high_frequency(circuit: Circuit, frequency: float, height: float) -> Circuit:
    """The circuit at a harmonic frequency: bars by Field's formula, half of the rotor leakage in the slot, no saturation.

    A circuit of several branches already has part of the displacement up to its own frequency; only what lies above is
    added. Source: Field's formula (`machine.skin`); the share of the slot is common practice, no source.
    """
    xi = reduced_height(height, frequency, BAR_RESISTIVITY)
    before = reduced_height(height, circuit.frequency if len(circuit.rotor) > 1 else 0.0, BAR_RESISTIVITY)
    r = float(resistance_ratio(xi) / resistance_ratio(before))
    x = 0.5 + 0.5 * float(reactance_ratio(xi) / reactance_ratio(before))
    rotor = tuple(replace(b, R=b.R * r, X=b.X * x) for b in circuit.rotor)
    return replace(circuit, rotor=rotor, leakage_saturation=None, main_saturation=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class HarmonicLoss:
    """current: rms of all harmonics in the line, A. copper, iron: W in the motor, three-phase. voltage: rms per phase, V."""

    current: float
    copper: float
    iron: float
    voltage: float

    @property
    def total(self) -> float:
        return self.copper + self.iron


def motor_harmonics(
    circuit: Circuit,
    *,
    frequency: float,
    ratio: float,
    dc_voltage: float,
    switching_frequency: float,
    modulation: Modulation,
    power: float,
) -> HarmonicLoss:
    """Harmonic current and loss of a motor on an inverter.

    Args:
        circuit: per phase. frequency: fundamental [Hz]. ratio: fundamental line voltage rms over dc voltage.
        dc_voltage: V. switching_frequency: Hz. power: rated, W, for the height of a typical bar.

    The pulse ripple acts as one sine of its own rms voltage and of the frequency that gives its rms flux; over-modulation
    adds the orders 6k +- 1 of six steps in proportion to how far it has gone and takes the pulse ripple back by as much
    (common practice, no source).
    """
    height = bar_height(power)
    linear = min(ratio, SPACE_VECTOR_RATIO)
    past = max(ratio - SPACE_VECTOR_RATIO, 0.0) / (SIX_STEP_RATIO - SPACE_VECTOR_RATIO)
    ripple = pulse_ripple(linear, dc_voltage, switching_frequency, modulation)
    volts = (1 - min(past, 1.0)) * ripple.voltage
    rows = [_one(circuit, volts, ripple.voltage / max(ripple.flux, 1e-12) / (2 * pi), height)] if volts else []
    fundamental = ratio * dc_voltage / sqrt(3)
    rows += [_one(circuit, past * fundamental / h, h * frequency, height) for h in _LOW_ORDERS if past > 0]
    return HarmonicLoss(
        current=sqrt(sum(row[0] ** 2 for row in rows)),
        copper=sum(row[1] for row in rows),
        iron=sum(row[2] for row in rows),
        voltage=sqrt(sum(row[3] ** 2 for row in rows)),
    )


def _one(circuit: Circuit, voltage: float, frequency: float, height: float) -> tuple[float, float, float, float]:
    """Current, copper loss, iron loss and voltage of one harmonic; the rotor stands still to it (slip near 1).

    Leakage flux of the pulses runs through the teeth as well, so the core-loss resistance sees the whole voltage
    (common practice, no source).
    """
    here = at_high_frequency(circuit, frequency, height)
    at: Any = operating_point(here, 1.0, voltage, frequency, 1.0)
    return float(abs(at.stator_current)), float(at.stator_loss + at.rotor_loss), 3 * voltage**2 / circuit.Rfe, voltage

"""Inverter-fed motors against other ways of computing the same: pulses in time, a root finder, the saturated point."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest
from scipy.optimize import brentq

from slipwise.methods.speed.voltage_law import Demand
from slipwise.methods.speed.volts_per_hertz_laws import LAWS, LawSettings
from slipwise.model.converter.harmonics import pulse_ripple
from slipwise.model.converter.inverter import SPACE_VECTOR_RATIO, Modulation
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.saturated import saturated_point
from slipwise.model.machine.saturation import LeakageSaturation
from slipwise.solve.converter_feed import Feed, Hold
from tests.behaviour import ways_drives


@pytest.mark.parametrize("depth", [0.2, 0.6, 0.95])
@pytest.mark.parametrize("kind", [Modulation.SINUSOIDAL, Modulation.SPACE_VECTOR])
def test_ripple_against_pulses_in_time(depth: float, kind: Modulation):
    """A carrier 201 times the fundamental, compared with its references sample by sample, then integrated: within 2 %."""
    samples, pulses = 201 * 2000, 201
    angle = (np.arange(samples) + 0.5) * 2 * pi / samples
    wanted = depth * np.cos(angle[:, None] - np.array([0.0, 2.0, 4.0]) * pi / 3)
    if kind is Modulation.SPACE_VECTOR:
        wanted = wanted - (wanted.max(axis=1) + wanted.min(axis=1))[:, None] / 2
    carrier = 2 / pi * np.arcsin(np.sin(pulses * angle))
    legs = (wanted > carrier[:, None]).astype(float)
    phase = legs[:, 0] - legs.mean(axis=1)
    spectrum = np.fft.rfft(phase) / samples * sqrt(2)
    orders = np.arange(spectrum.size)
    ripple = abs(spectrum[2:])
    flux = ripple / (2 * pi * 50.0 * orders[2:])
    ours = pulse_ripple(depth * SPACE_VECTOR_RATIO * sqrt(3) / 2, 1.0, 50.0 * pulses, kind)
    assert abs(spectrum[1]) == pytest.approx(depth / 2 / sqrt(2), rel=5e-3)
    assert ours.voltage == pytest.approx(sqrt(np.sum(ripple**2)), rel=0.02)
    assert ours.flux == pytest.approx(sqrt(np.sum(flux**2)), rel=0.02)


@pytest.mark.parametrize("frequency", [5.0, 25.0, 50.0, 75.0])
def test_fed_motor_agrees_with_the_saturated_point(frequency: float):
    """Both saturation laws at once: Newton on the flux against damped repetition of all reactances."""
    motor = ways_drives.pump().motor
    assert motor.circuit is not None
    law = LeakageSaturation(knee=600.0, stator_share=0.4, rotor_share=0.5)
    feed = Feed.of(replace(motor, circuit=replace(motor.circuit, leakage_saturation=law))).with_typical_saturation()
    slips = np.linspace(0.0, 1.0, 23)
    volts = motor.rating.phase_voltage * min(1.05 * frequency / 50.0, 1.0)
    ours = feed.at(np.full(slips.shape, frequency), slips * frequency, volts, Hold.TERMINALS)
    theirs = saturated_point(feed.circuit, slips, volts, frequency, feed.per_hertz * frequency).point
    assert ours.current == pytest.approx(abs(theirs.stator_current), rel=1e-7)
    assert ours.point.torque == pytest.approx(theirs.torque, rel=1e-7, abs=1e-6)


@pytest.mark.parametrize("law", ["plain", "fixed_boost", "stator_drop", "air_gap_flux"])
@pytest.mark.parametrize("hertz", [1.0, 7.0, 40.0])
def test_demand_against_a_root_finder(law: str, hertz: float):
    """The slip frequency that meets a torque, sought by bisection on the plain circuit formula with the law written out."""
    motor = ways_drives.small().motor
    circuit, rating = motor.circuit, motor.rating
    assert circuit is not None
    feed = Feed.of(motor)
    made = LAWS[law](feed, LawSettings(boost=0.06, slip_frequency=2.0, base=50.0))
    speed, wanted = feed.per_hertz * hertz, 4.0
    share, volts = {
        "plain": (lambda *_: 1.0, rating.phase_voltage),
        "fixed_boost": (lambda *_: 1.0, rating.phase_voltage),
        "stator_drop": (lambda z, _: abs(1 - circuit.R1 / z), feed.stator_voltage),
        "air_gap_flux": (lambda z, z1: abs(1 - z1 / z), feed.gap_voltage),
    }[law]

    def surplus(slip: float) -> float:
        frequency = hertz + slip
        x = frequency / 50.0
        z1 = circuit.R1 + 1j * circuit.X1 * x
        rotor = circuit.rotor[0].R * frequency / slip + 1j * circuit.rotor[0].X * x
        z = z1 + 1 / (1 / (1j * circuit.Xm * x) + 1 / rotor)
        start = 0.06 * volts if law == "fixed_boost" else 0.0
        terminal = (start + (volts - start) * x) / share(z, z1)
        at = operating_point(circuit, slip / frequency, terminal, frequency, feed.per_hertz * frequency)
        return float(at.torque) - float(motor.mechanical_torque(speed)) - wanted

    grid = np.linspace(1e-4, 20.0, 4001)
    first = next(i for i, x in enumerate(grid) if surplus(float(x)) > 0)
    wanted_slip = brentq(surplus, grid[first - 1], grid[first], xtol=1e-12)
    met = made.met(feed, Demand(speed=speed, load=lambda w: wanted + 0.0 * w))
    assert met.reached
    assert float(met.fed.frequency[0] - hertz) == pytest.approx(wanted_slip, rel=1e-5)

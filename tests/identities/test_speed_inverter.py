"""Identities of inverter-fed motors on random machines."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.methods.speed.frequency_only import FrequencyOnly
from slipwise.methods.speed.search import first_rise
from slipwise.methods.speed.voltage_law import Demand, StraightLaw
from slipwise.methods.speed.volts_per_hertz import VoltsPerHertz
from slipwise.methods.speed.volts_per_hertz_laws import LAWS
from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.model.converter.harmonics import pulse_ripple
from slipwise.model.converter.inverter import SINUSOIDAL_RATIO, Modulation, typical_valves, valve_loss
from slipwise.model.converter.rectifier import Bridge, at_power
from slipwise.model.machine.motor import Motor
from slipwise.results.speed import DutyPoint
from slipwise.solve.converter_feed import Feed, Hold
from slipwise.solve.plan import Drive
from tests.drives import drives, motors
from tests.reference import from_reference, sampled

EVERY = sampled(30)


def without_stator_resistance(motor: Motor) -> Motor:
    assert motor.circuit is not None
    return replace(motor, circuit=replace(motor.circuit, R1=0.0))


def plain(feed: Feed) -> StraightLaw:
    rating = feed.motor.rating
    return StraightLaw(hold=Hold.TERMINALS, start=0.0, slope=rating.phase_voltage / rating.frequency)


def peak(feed: Feed, law: StraightLaw, frequency: float, top: float = np.inf) -> tuple[float, float]:
    """Greatest torque and the slip frequency there, found on grids closing in."""
    low, high = 1e-6, 60.0
    for _ in range(6):
        slips = np.linspace(low, high, 201)
        torque = law.fed(feed, np.full(slips.shape, frequency), slips, top).torque
        best = int(np.argmax(torque))
        low, high = slips[max(best - 1, 0)], slips[min(best + 1, 200)]
    return float(torque[best]), float(slips[best])


@from_reference("D14")
@given(motor=motors(core=False), frequency=st.floats(5.0, 50.0))
@EVERY
def test_plain_law_without_stator_resistance_keeps_breakdown(motor: Motor, frequency: float):
    """Torque and slip speed at breakdown do not depend on frequency, with and without saturation of the main flux."""
    for feed in (Feed.of(without_stator_resistance(motor)), Feed.of(motor).with_typical_saturation()):
        free = replace(feed, circuit=replace(feed.circuit, R1=0.0))
        (high, at_high), (low, at_low) = peak(free, plain(free), 50.0), peak(free, plain(free), frequency)
        assert low == pytest.approx(high, rel=1e-6)
        assert at_low == pytest.approx(at_high, rel=1e-3)  # a flat top


@from_reference("D15")
@given(motor=motors(core=False), frequency=st.floats(50.0, 100.0))
@EVERY
def test_breakdown_at_constant_voltage_falls_with_frequency_squared(motor: Motor, frequency: float):
    """Without stator resistance and with constant reactances."""
    feed = Feed.of(without_stator_resistance(motor))
    top = motor.rating.phase_voltage
    high, low = peak(feed, plain(feed), 50.0, top)[0], peak(feed, plain(feed), frequency, top)[0]
    assert low / high == pytest.approx((50.0 / frequency) ** 2, rel=1e-6)


@from_reference("D16")
@given(motor=motors(branches=2, core=False), frequency=st.floats(1.0, 50.0), share=st.floats(0.1, 3.0))
@EVERY
def test_constant_flux_makes_torque_a_matter_of_slip_speed(motor: Motor, frequency: float, share: float):
    """Torque and current at one slip speed are the same at every frequency, down to 1 Hz, saturation or not."""
    slip = np.array([share * 50.0 * motor.rating.slip])
    for feed in (Feed.of(motor), Feed.of(motor).with_typical_saturation()):
        law = StraightLaw(hold=Hold.AIR_GAP, start=0.0, slope=feed.gap_voltage / 50.0)
        here, rated = (law.fed(feed, np.array([f]), slip) for f in (frequency, 50.0))
        assert float(here.torque[0]) == pytest.approx(float(rated.torque[0]), rel=1e-9)
        assert float(here.current[0]) == pytest.approx(float(rated.current[0]), rel=1e-9)
        assert float(here.flux[0]) == pytest.approx(1.0, rel=1e-9)


@given(motor=motors(branches=2), frequency=st.floats(1.0, 90.0), share=st.floats(0.0, 4.0))
@EVERY
def test_each_place_of_holding_really_holds(motor: Motor, frequency: float, share: float):
    """The voltage asked for stands at the terminals, behind the stator resistance, or across the air gap."""
    feed = Feed.of(motor).with_typical_saturation()
    assert motor.circuit is not None
    target, slip = 2.0 * frequency, np.array([share * 50.0 * motor.rating.slip])
    places = {
        Hold.TERMINALS: lambda fed: fed.voltage,
        Hold.STATOR_FLUX: lambda fed: abs(fed.voltage - motor.circuit.R1 * fed.point.stator_current),
        Hold.AIR_GAP: lambda fed: abs(fed.point.gap_voltage),
    }
    for place, measured in places.items():
        fed = feed.at(np.array([frequency]), slip, target, place)
        assert float(measured(fed)[0]) == pytest.approx(target, rel=1e-9)


@given(motor=motors(), share=st.floats(0.02, 1.0), demand=st.floats(0.05, 0.6), law=st.sampled_from(tuple(LAWS)))
@EVERY
def test_a_demand_is_met_exactly(motor: Motor, share: float, demand: float, law: str):
    """Speed and torque of the state found are those asked for, under every law that can reach them."""
    from slipwise.methods.speed.volts_per_hertz_laws import LawSettings

    feed = Feed.of(motor).with_typical_saturation()
    made = LAWS[law](feed, LawSettings(boost=0.05, slip_frequency=feed.slip_frequency, base=50.0))
    wanted = demand * motor.rating.torque * 0.3
    speed = share * motor.rating.speed
    met = made.met(feed, Demand(speed=speed, load=lambda w: wanted + 0.0 * w), motor.rating.phase_voltage)
    if met.reached:
        assert float(met.fed.torque[0]) == pytest.approx(wanted, rel=1e-5)
        assert float(met.fed.speed[0]) == pytest.approx(speed, rel=1e-9)
        assert float(met.fed.voltage[0]) <= motor.rating.phase_voltage * (1 + 1e-9)
    else:
        assert met.peak < wanted
        assert law == "plain"  # only without boost is so little torque out of reach


@from_reference("D06")
@given(drive=drives(), share=st.floats(0.05, 1.3), way=st.sampled_from((VoltsPerHertz, FrequencyOnly)))
@sampled(25)
def test_losses_close_and_no_motor_beats_one_less_slip(
    drive: Drive, share: float, way: type[VoltsPerHertz] | type[FrequencyOnly]
):
    """Line power = shaft power + every loss, to 1e-9; motor efficiency stays below 1 - s; chain efficiency below that."""
    rating = drive.motor.rating
    duty = DutyPoint(name="point", speed=share * rating.speed, torque=0.3 * rating.torque, hours=1.0)
    task = SpeedTask(drive=drive, duty=(duty,), site=Site())
    point = way.designed_for(task, {}).way.point(task, duty)
    lost = sum(loss.power for loss in point.losses)
    assert point.line_power == pytest.approx(point.shaft_power + lost, rel=1e-9)
    assert all(loss.power >= 0 for loss in point.losses)
    assert 0 < point.efficiency < point.motor_efficiency < 1 - point.slip
    assert point.power_factor <= point.displacement_factor <= 1 + 1e-12


@given(
    line=st.floats(3e-3, 0.06),
    link=st.floats(0.0, 0.3),
    load=st.floats(0.05, 1.2),
)
@sampled(60)
def test_bridge_conserves_power_and_keeps_its_shape(line: float, link: float, load: float):
    """Fundamental power at the line = dc power; no even, no triple harmonic; the wave holds the rms and its harmonics."""
    base = 400.0**2 / 100e3
    drawn = at_power(Bridge(voltage=400.0, line_reactance=line * base, dc_reactance=link * base), load * 100e3)
    wave = np.array(drawn.wave)
    from_line = sqrt(3) * 400.0 * drawn.fundamental * np.cos(drawn.angle)
    assert from_line == pytest.approx(load * 100e3, rel=3e-4)
    assert drawn.dc_voltage * drawn.dc_current == pytest.approx(load * 100e3, rel=1e-8)
    spectrum = abs(np.fft.rfft(wave)) / wave.size * sqrt(2)
    assert spectrum[[0, 2, 3, 4, 6, 9]] == pytest.approx(0.0, abs=1e-9 * drawn.rms)
    assert sqrt(np.mean(wave**2)) == pytest.approx(drawn.rms, rel=1e-4)
    assert np.mean(np.abs(wave)) * 1.5 == pytest.approx(drawn.dc_current, rel=1e-3)  # two phases share the dc current
    assert drawn.distortion > 0.2


@given(depth=st.floats(0.05, 1.0))
@EVERY
def test_pulses_carry_the_voltage_of_their_width(depth: float):
    """Mean square of the line voltage = sqrt 3 m / pi of the dc voltage squared for every carrier modulation.

    The line voltage stands for the share of time in which two legs differ, whose mean over a period is sqrt 3 m / pi.
    """
    for kind in (Modulation.SINUSOIDAL, Modulation.SPACE_VECTOR):
        ripple = pulse_ripple(depth * SINUSOIDAL_RATIO, 1.0, 1000.0, kind)
        fundamental = depth**2 / 8
        assert 3 * (ripple.voltage**2 + fundamental) == pytest.approx(sqrt(3) * depth / pi, rel=1e-3)


def test_equal_valve_parts_do_not_ask_for_the_power_factor():
    """With transistor and diode alike, conduction loss is that of a current always in one valve of each leg."""
    valves = typical_valves(100.0)
    loss = [float(valve_loss(valves, 80.0, pf, 0.6, 540.0, 0.0)) for pf in (0.0, 0.5, 1.0)]
    peak_current = sqrt(2) * 80.0
    wanted = 6 * (valves.threshold * peak_current / pi + valves.slope * peak_current**2 / 4)
    assert loss == pytest.approx([wanted] * 3)


def test_search_finds_the_first_of_several_crossings():
    """sin x - 1/2 first rises through zero at 30 degrees; a curve always below shows its highest point."""
    found = first_rise(lambda x: np.sin(x) - 0.5, np.linspace(0.0, 20.0, 81))
    assert found.found
    assert found.x == pytest.approx(pi / 6, abs=1e-6)
    missed = first_rise(lambda x: np.sin(x) - 2.0, np.linspace(0.0, 3.0, 81))
    assert not missed.found
    assert missed.x == pytest.approx(pi / 2, abs=0.01)

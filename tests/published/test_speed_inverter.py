"""Inverter-fed speed control against published examples: volts per hertz, field weakening, constant flux, line current."""

from __future__ import annotations

from math import cos, inf, pi, sqrt

import numpy as np
import pytest

from slipwise.data import table
from slipwise.methods.speed.drive_class import drive_class, reference_loss
from slipwise.methods.speed.voltage_law import Demand, StraightLaw
from slipwise.model.converter.inverter import SINUSOIDAL_RATIO, SIX_STEP_RATIO, SPACE_VECTOR_RATIO
from slipwise.model.converter.rectifier import DC_PER_LINE, ORDERS, Bridge, at_power, ideal_harmonic
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import Motor, Rating
from slipwise.solve.converter_feed import Feed, Hold
from tests.reference import compare, from_reference, published, reference

RPM = pi / 30


def dubey(key: str, magnetising: float) -> Feed:
    """The 400 V, 50 Hz, 4-pole star motor of the examples at 1370 r/min."""
    given = reference(key)["inputs"]
    circuit = Circuit(
        frequency=50.0,
        R1=given["R1_ohm"],
        X1=given["X1_ohm"],
        Xm=magnetising,
        rotor=(RotorBranch(R=given["R2_ohm"], X=given["X2_ohm"]),),
    )
    rating = Rating(
        power=22.7 * 1370 * RPM,
        voltage=given["line_voltage_V"],
        frequency=50.0,
        poles=4,
        speed=1370 * RPM,
        current=7.2,
        connection="star",
    )
    return Feed.of(Motor(rating=rating, inertia=0.02, circuit=circuit))


def plain(feed: Feed) -> StraightLaw:
    rating = feed.motor.rating
    return StraightLaw(hold=Hold.TERMINALS, start=0.0, slope=rating.phase_voltage / rating.frequency)


def breakdown(feed: Feed, law: StraightLaw, frequency: float, top: float = inf) -> float:
    slips = np.linspace(1e-4, 1.0, 40001) * frequency
    return float(np.max(law.fed(feed, np.full(slips.shape, frequency), slips, top).torque))


@from_reference("A29-dubey-vf")
def test_plain_volts_per_hertz_lowers_breakdown_torque():
    """400 V motor without magnetising branch at 10 to 50 Hz: breakdown torque, and the start at 10 Hz against 50 Hz."""
    feed = dubey("A29-dubey-vf", 1e12)
    law = plain(feed)
    start, rated = (law.fed(feed, np.array([f]), np.array([f])) for f in (10.0, 50.0))
    compare(
        "A29-dubey-vf",
        {
            "breakdown_torque_Nm": [breakdown(feed, law, f) for f in (10.0, 20.0, 30.0, 40.0, 50.0)],
            "start_torque_10Hz_over_50Hz": float(start.torque[0] / rated.torque[0]),
            "start_current_10Hz_over_50Hz": float(start.current[0] / rated.current[0]),
        },
    )


@from_reference("A30-dubey-fieldweak")
def test_breakdown_torque_at_constant_voltage_above_base():
    """At 60 Hz with the voltage of 50 Hz the breakdown torque is 0.727 of that at 50 Hz."""
    feed = dubey("A30-dubey-fieldweak", 1e12)
    law = plain(feed)
    top = feed.motor.rating.phase_voltage
    compare(
        "A30-dubey-fieldweak",
        {"breakdown_torque_over_base": breakdown(feed, law, 60.0, top) / breakdown(feed, law, 50.0, top)},
    )


@from_reference("A31-dubey-constflux")
def test_constant_flux_keeps_the_slip_speed():
    """Rated flux at every frequency: the slip speed follows the torque alone, driving and braking."""
    feed = dubey("A31-dubey-constflux", 55.0)
    law = StraightLaw(hold=Hold.AIR_GAP, start=0.0, slope=feed.gap_voltage / 50.0)
    rated = law.fed(feed, np.array([50.0]), np.array([50.0 - 1370 / 30]))
    torque = float(rated.torque[0])

    def speed(frequency: float, load: float) -> float:
        ideal = frequency * feed.per_hertz
        met = law.met(feed, Demand(speed=ideal, load=lambda w: load + 0.0 * w, compensation=0.0))
        assert met.reached
        return float(met.fed.speed[0]) / RPM

    raised = law.met(feed, Demand(speed=1200 * RPM, load=lambda w: torque + 0.0 * w))
    compare(
        "A31-dubey-constflux",
        {
            "torque_Nm": torque,
            "stator_current_A": float(rated.current[0]),
            "speed_at_30Hz_rated_torque_rpm": speed(30.0, torque),
            "frequency_for_1200rpm_Hz": float(raised.fed.frequency[0]),
            "speed_at_30Hz_half_torque_rpm": speed(30.0, torque / 2),
            "speed_at_45Hz_rated_braking_rpm": speed(45.0, -braking(feed, law)),
        },
    )


def braking(feed: Feed, law: StraightLaw) -> float:
    """Torque at rated slip speed the other way: equal under constant flux."""
    fed = law.fed(feed, np.array([45.0]), np.array([1370 / 30 - 50.0]))
    assert float(fed.torque[0]) == pytest.approx(
        -float(law.fed(feed, np.array([45.0]), np.array([50.0 - 1370 / 30])).torque[0]), rel=1e-9
    )
    return -float(fed.torque[0])


@from_reference("A15-hubert-vf-dip")
def test_voltage_and_frequency_dip_at_constant_torque():
    """At small slip, 0.9 of voltage and 0.94 of frequency: the slip goes with frequency over voltage squared."""
    given = reference("A15-hubert-vf-dip")["inputs"]
    speed = given["speed_rpm"] * RPM
    rating = Rating(
        power=given["rated_power_hp"] * 745.7,
        voltage=460.0,
        frequency=60.0,
        poles=given["poles"],
        speed=speed,
        current=25.0,
        connection="star",
    )
    # no leakage and no stator resistance to speak of: the straight part of the torque curve
    circuit = Circuit(frequency=60.0, R1=1e-6, X1=1e-6, Xm=1e6, rotor=(RotorBranch(R=0.3, X=1e-6),))
    feed = Feed.of(Motor(rating=rating, inertia=0.2, circuit=circuit))
    whole = StraightLaw(hold=Hold.TERMINALS, start=rating.phase_voltage, slope=0.0)
    torque = float(whole.fed(feed, np.array([60.0]), np.array([60.0 * rating.slip])).torque[0])
    low = StraightLaw(hold=Hold.TERMINALS, start=given["voltage_factor"] * rating.phase_voltage, slope=0.0)
    ideal = given["frequency_factor"] * 60.0 * feed.per_hertz
    met = low.met(feed, Demand(speed=ideal, load=lambda w: torque + 0.0 * w, compensation=0.0))
    reached = float(met.fed.speed[0])
    compare(
        "A15-hubert-vf-dip",
        {"new_speed_rpm": reached / RPM, "new_power_hp": given["rated_power_hp"] * reached / speed},
    )


@from_reference("C-sixpulse")
def test_bridge_with_a_great_choke_draws_blocks_of_current():
    """With much link inductance and little in the line, the numerically found current is the ideal six-pulse current."""
    wanted = reference("C-sixpulse")["expected"]
    drawn = at_power(Bridge(voltage=400.0, line_reactance=1e-5, dc_reactance=40.0), 20e3)
    assert drawn.steady
    assert drawn.dc_voltage / 400.0 == pytest.approx(wanted["Vd0_over_line_voltage"], rel=1e-3)
    assert drawn.fundamental / drawn.dc_current == pytest.approx(wanted["I1_over_Id"], rel=2e-3)
    assert drawn.rms / drawn.dc_current == pytest.approx(wanted["Irms_over_Id"], rel=2e-3)
    assert 100 * drawn.distortion == pytest.approx(wanted["THD_percent"], rel=0.01)
    measured = dict(drawn.harmonics)
    for order, percent in wanted["harmonic_percent"].items():
        assert 100 * ideal_harmonic(int(order)) == pytest.approx(percent, rel=1e-3)
        assert 100 * measured[int(order)] / drawn.fundamental == pytest.approx(percent, rel=0.03)
    assert pytest.approx(wanted["Vd0_over_line_voltage"], rel=1e-4) == DC_PER_LINE
    assert cos(drawn.angle) * drawn.fundamental / drawn.rms == pytest.approx(wanted["distortion_factor"], rel=3e-3)
    assert set(map(int, wanted["harmonic_percent"])) <= set(ORDERS)


@from_reference("E18")
@pytest.mark.parametrize(
    ("reactance", "low", "high"), [(0.012, 60, 120), (0.03, 35, 45), (0.05, 30, 35)], ids=["none", "3 %", "5 %"]
)
def test_line_distortion_is_of_the_usual_size(reactance: float, low: float, high: float):
    """Full load behind the supply alone (1.2 %), 3 % and 5 % of line reactance: the distortion the trade expects."""
    base = 400.0**2 / 100e3
    drawn = at_power(Bridge(voltage=400.0, line_reactance=reactance * base), 95e3)
    assert low <= 100 * drawn.distortion <= high


@published(
    "Mohan, Undeland, Robbins, Power Electronics, 3rd ed., ch. 8: 0.612 and 0.78 of the dc voltage", "from memory"
)
def test_modulation_limits():
    """Greatest fundamental line voltage over dc voltage; of the line voltage 0.827, 0.955, 1.053 behind an ideal bridge."""
    assert pytest.approx(0.612, abs=5e-4) == SINUSOIDAL_RATIO
    assert pytest.approx(0.78, abs=5e-4) == SIX_STEP_RATIO
    assert SPACE_VECTOR_RATIO / SINUSOIDAL_RATIO == pytest.approx(2 / sqrt(3))
    assert [DC_PER_LINE * r for r in (SINUSOIDAL_RATIO, SPACE_VECTOR_RATIO, SIX_STEP_RATIO)] == pytest.approx(
        [0.827, 0.955, 1.053], abs=5e-4
    )


@from_reference("C-61800-9-2")
def test_loss_classes_follow_the_published_bands():
    """Module: 25 % about the reference; system: 20 %; both sides of each edge."""
    expected = reference("C-61800-9-2")["expected"]
    low, high = expected["CDM_IE1_band_percent_of_reference"]
    reference_watts, source = reference_loss(111e3) or (0.0, "")
    assert "from memory" in source

    def named(percent: float, of: str) -> str:
        found = drive_class(111e3, reference_watts * (1 + percent / 100), of)
        assert found is not None
        return found.name

    assert [named(p, "module") for p in (low - 1, low + 1, high - 1, high + 1)] == ["IE2", "IE1", "IE1", "IE0"]
    low, high = expected["PDS_IES1_band_percent"]
    assert [named(p, "system") for p in (low - 1, low + 1, high - 1, high + 1)] == ["IES2", "IES1", "IES1", "IES0"]


@from_reference("C-eu1781-vsd")
def test_reference_losses_agree_with_the_second_writing_down():
    """Every cell of the table of reference losses, which says of itself that it is from memory."""
    rows = table("drive_reference_losses").rows
    assert [[r["apparent_kVA"], r["loss_kW"]] for r in rows] == reference("C-eu1781-vsd")["expected"][
        "apparent_power_kVA_to_loss_kW"
    ]
    assert {row.status for row in rows} == {"from memory"}
    assert reference_loss(0.0) is None
    assert reference_loss(5e6) is None
    assert reference_loss(100.0) == reference_loss(278.0)

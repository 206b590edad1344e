"""Frequency alone and volts per hertz as ways: design, points that can and cannot be held, envelope, what must be bought."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from slipwise.methods.speed import SPEED
from slipwise.methods.speed.frequency_only import FrequencyOnly
from slipwise.methods.speed.inverter_curves import frequency_curves
from slipwise.methods.speed.loss_ranges import INVERTER_FED, line_power_range
from slipwise.methods.speed.volts_per_hertz import VoltsPerHertz
from slipwise.methods.speed.volts_per_hertz_laws import LAWS
from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.methods.way import dials
from slipwise.model.machine.motor import CurvePoint
from slipwise.quantity.errors import InputError
from slipwise.results.speed import DutyPoint, Envelope, OperatingPoint, Part
from slipwise.solve.plan import Drive
from tests.behaviour.ways_drives import constant, pump, small, wound
from tests.reference import from_reference

WAYS = (FrequencyOnly, VoltsPerHertz)


def demand(drive: Drive, speed: float, torque: float, hours: float = 1000.0) -> DutyPoint:
    """A point at shares of rated speed and torque."""
    rating = drive.motor.rating
    return DutyPoint(name=f"{speed:g}", speed=speed * rating.speed, torque=torque * rating.torque, hours=hours)


def task(drive: Drive, *points: tuple[float, float], site: Site | None = None) -> SpeedTask:
    return SpeedTask(drive=drive, duty=tuple(demand(drive, *p) for p in points), site=site or Site())


def fan(drive: Drive) -> SpeedTask:
    return task(drive, *((x, 0.8 * x * x) for x in (0.3, 0.5, 0.7, 0.9, 1.0)))


def holding(drive: Drive, torque: float = 0.6) -> Drive:
    """The same motor on a load of constant torque."""
    rating = drive.motor.rating
    return replace(drive, load=constant(torque * rating.torque, rating.speed, 2.0))


def operate(way: object, made: SpeedTask, duty: DutyPoint, **given: float | str) -> OperatingPoint:
    assert isinstance(way, type)
    return way.designed_for(made, given).way.point(made, duty)


@pytest.mark.parametrize("way", WAYS)
def test_every_setting_is_explained_and_both_ways_are_listed(way: type[VoltsPerHertz]):
    """Each dial comes back as a setting with an origin and a reason; the way stands in the published tuple."""
    made = fan(pump())
    found = way.designed_for(made, {})
    assert {row.key for row in found.settings} == set(dials(way))
    assert all(row.origin in {"given", "derived", "assumed"} and row.why for row in found.settings)
    assert way in SPEED
    assert found.way.started_by(made) == ("inverter",)
    assert [d.kind for d in found.way.wiring().devices] == ["breaker", "contactor", "inverter", "motor"]
    again = way.designed_for(made, {row.key: row.text or row.value for row in found.settings})
    assert again.way == found.way
    assert {row.origin for row in again.settings} == {"given"}


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"low": 1.0}, "speed.volts_per_hertz.low"),
        ({"law": "vector"}, "not one of the words"),
        ({"boost": 0.9}, "outside its range"),
        ({"winding": "delta"}, "stands in delta already"),
    ],
)
def test_bad_settings_are_named(given: dict[str, float | str], says: str):
    """Unknown setting, unknown word, out of range, a delta of a delta."""
    with pytest.raises(InputError, match=says):
        VoltsPerHertz.designed_for(fan(pump()), given)


@pytest.mark.parametrize("way", WAYS)
def test_a_motor_known_by_curves_cannot_be_used(way: type[VoltsPerHertz]):
    """Start curves say nothing of other frequencies."""
    drive = pump()
    curve = tuple(CurvePoint(speed=x, torque=500.0, current=500.0, power_factor=0.5) for x in (0.0, 1.0))
    known = replace(drive, motor=replace(drive.motor, circuit=None, curves=curve))
    with pytest.raises(InputError, match="hold at rated frequency only"):
        way.designed_for(replace(fan(drive), drive=known), {})


def test_frequency_alone_saturates_below_rated_and_follows_above():
    """At 60 % speed the flux is half as high again and the current beyond the converter; at 120 % it is a usable point."""
    made = task(holding(pump(), 0.3), (0.6, 0.3), (0.9, 0.3), (1.2, 0.3))
    found = FrequencyOnly.designed_for(made, {})
    low, near, high = (found.way.point(made, duty) for duty in made.duty)
    assert not low.feasible
    assert "the converter gives" in low.reason
    assert low.flux > 1.4
    assert any("over-fluxed" in note and "assumed" in note for note in low.notes)
    assert near.feasible
    assert high.feasible
    assert high.flux < 0.9 < near.flux < 1.15
    assert "flux passes 110 %" in found.way.families(made)[0].note


def test_over_fluxing_is_less_than_proportion_and_more_than_none():
    """At half frequency and full voltage proportion would give twice the flux; iron and stator drop leave 1.5 to 1.8."""
    made = task(holding(pump(), 0.2), (0.5, 0.2))
    assert 1.5 < operate(FrequencyOnly, made, made.duty[0]).flux < 1.8


def test_laws_differ_where_the_stator_drop_matters():
    """At 1 Hz the plain law loses the torque that the others keep; a boost over-fluxes without load."""
    drive = holding(small(), 0.7)
    speed = 1.0 / 50.0 * drive.motor.rating.synchronous_speed / drive.motor.rating.speed
    made = task(drive, (speed, 0.7))
    duty = made.duty[0]
    seen = {law: operate(VoltsPerHertz, made, duty, law=law, converter_current=8.0) for law in LAWS}
    assert not seen["plain"].feasible
    assert all(seen[law].feasible for law in ("fixed_boost", "stator_drop", "air_gap_flux", "slip_frequency"))
    assert seen["air_gap_flux"].flux == pytest.approx(1.0, rel=1e-6)
    bare = {law: next(s.value for s in point.settings if s.key == "no_load_flux") for law, point in seen.items()}
    assert bare["fixed_boost"] is not None
    assert bare["fixed_boost"] > 1.2
    assert bare["air_gap_flux"] == pytest.approx(1.0, rel=1e-6)


def test_design_takes_the_simplest_law_that_does():
    """A fan is content with the plain law; a constant torque down to a tenth of speed is not."""
    easy = VoltsPerHertz.designed_for(fan(small()), {})
    hard = VoltsPerHertz.designed_for(task(holding(small()), (0.1, 0.6), (1.0, 0.6), site=Site(forced=True)), {})
    assert easy.way.law == "plain"
    assert hard.way.law != "plain"
    assert "the simplest that holds" in hard.words


def test_constant_slip_frequency_saves_at_light_load():
    """At a tenth of torque and half speed the flux falls with the square root of torque, and so does the loss."""
    made = task(holding(small(), 0.1), (0.5, 0.1))
    duty = made.duty[0]
    slip, full = (operate(VoltsPerHertz, made, duty, law=law) for law in ("slip_frequency", "air_gap_flux"))
    assert slip.flux < 0.5
    assert slip.frequency * slip.slip == pytest.approx(50 * made.drive.motor.rating.slip, rel=1e-6)
    assert slip.line_power < full.line_power


def test_without_slip_compensation_the_speed_is_the_lower_one():
    """The frequency is that of the speed asked; the motor runs slower by its slip, and the point says so."""
    made = task(holding(small()), (0.6, 0.6))
    duty = made.duty[0]
    bare = operate(VoltsPerHertz, made, duty, slip_compensation=0.0, law="stator_drop")
    full = operate(VoltsPerHertz, made, duty, slip_compensation=1.0, law="stator_drop")
    assert full.speed == pytest.approx(duty.speed, rel=1e-9)
    assert bare.frequency * made.drive.motor.rating.synchronous_speed / 50 == pytest.approx(duty.speed, rel=1e-9)
    assert bare.speed < 0.98 * duty.speed
    assert "for want of slip compensation" in bare.reason


def test_star_motor_in_delta_past_its_plate_frequency():
    """230/400 V, 50 Hz in delta on 400 V: full flux to 87 Hz, so rated torque at 1.6 times the speed and the power with it."""
    drive = holding(small(), 0.9)
    made = task(drive, (1.6, 0.9))
    star = operate(VoltsPerHertz, made, made.duty[0])
    designed = VoltsPerHertz.designed_for(made, {"winding": "delta"})
    delta = designed.way.point(made, made.duty[0])
    assert designed.way.base_frequency == pytest.approx(86.6, abs=0.05)
    assert designed.way.converter_current >= sqrt(3) * drive.motor.rating.current * 0.999
    assert "insulation" in designed.words
    assert not star.feasible or "reserve" in star.reason
    assert delta.feasible
    assert delta.flux > 0.93
    assert delta.shaft_power == pytest.approx(1.6 * 0.9 * 2200.0, rel=0.01)


def test_what_is_beyond_breakdown_says_how_much_there_is():
    """Rated torque at twice base speed: not held, and the greatest torque there is named."""
    made = task(holding(pump(), 1.0), (2.0, 1.0))
    point = operate(VoltsPerHertz, made, made.duty[0])
    assert not point.feasible
    assert "the most there is" in point.reason
    assert 0 < point.torque < made.duty[0].torque


def test_motor_and_supply_limits_are_reasons():
    """Above the motor's greatest speed; more current than a given converter has; a supply too weak for the bridge."""
    drive = holding(pump(), 0.8)
    slow = replace(drive, motor=replace(drive.motor, maximum_speed=150.0))
    made = task(slow, (1.0, 0.8))
    assert "greatest speed" in operate(VoltsPerHertz, made, made.duty[0]).reason
    made = task(drive, (1.0, 0.8))
    assert "the converter gives 100 A" in operate(VoltsPerHertz, made, made.duty[0], converter_current=100.0).reason
    links = tuple(replace(link, impedance=link.impedance * 40) for link in drive.supply.links)
    weak = replace(drive, supply=replace(drive.supply, links=links))
    made = task(weak, (1.0, 0.8))
    assert "too weak" in operate(VoltsPerHertz, made, made.duty[0], converter_current=160.0).reason


def test_a_driving_load_needs_a_braking_resistor():
    """A hoist lowering: the slip is negative, the power ends in the resistor, the line gives none, the books close."""
    drive = holding(small(), 0.8)
    made = task(drive, (0.8, -0.8))
    point = operate(VoltsPerHertz, made, made.duty[0])
    assert point.feasible
    assert point.slip < 0
    assert point.shaft_power < 0
    assert point.loss(Part.EXTERNAL) > 0
    assert point.line_power == 0.0
    assert point.shaft_power + sum(x.power for x in point.losses) == pytest.approx(0.0, abs=1e-6)
    assert "braking resistor" in point.reason
    assert any(r.key == "brake" for r in VoltsPerHertz.designed_for(made, {}).way.ratings(made))


def envelope_of(site: Site, **given: float | str) -> tuple[Envelope, float]:
    drive = small()
    made = replace(fan(drive), site=site)
    found = VoltsPerHertz.designed_for(made, {"law": "air_gap_flux", **given}).way.envelope(made)
    assert found is not None
    return found, drive.motor.rating.torque


@from_reference("E13")
def test_self_ventilated_envelope_has_the_usual_shape():
    """At half speed nearly all of the torque, at standstill 40 to 60 % of it; a blower takes the whole fall away."""
    own, rated = envelope_of(Site())
    blown, _ = envelope_of(Site(forced=True))
    at = own.speed / small().motor.rating.speed

    def torque(found: Envelope, share: float) -> float:
        return float(np.interp(share, at, found.continuous)) / rated

    full = torque(own, 0.95)
    assert 0.4 <= torque(own, 0.0) / full <= 0.6
    assert 0.85 <= torque(own, 0.5) / full <= 1.0
    assert torque(blown, 0.0) > 0.95 * torque(blown, 0.9)
    assert np.all(own.short_time >= own.continuous - 1e-9)
    assert np.all(blown.continuous >= own.continuous - 1e-9)


def test_altitude_and_heat_take_torque_away():
    """2500 m, and 55 degC, each leave less than sea level at 40 degC; 500 m leaves the same."""
    plain, _ = envelope_of(Site())
    low, _ = envelope_of(Site(altitude=500.0))
    high, _ = envelope_of(Site(altitude=2500.0))
    hot, _ = envelope_of(Site(ambient=55.0))
    middle = plain.speed.size // 3
    assert low.continuous == pytest.approx(plain.continuous)
    assert high.continuous[middle] < 0.97 * plain.continuous[middle]
    assert hot.continuous[middle] < 0.97 * plain.continuous[middle]


def test_constant_power_range_ends_at_the_breakdown_reserve():
    """Above base speed the torque first falls with the inverse of speed, and faster once breakdown binds."""
    found, _ = envelope_of(Site(forced=True), breakdown_reserve=1.6)
    assert found.continuous_limit[-1] == "breakdown reserve"
    assert "breakdown reserve" not in found.continuous_limit[: found.speed.size // 2]
    power = found.continuous * found.speed
    assert power[-1] < 0.95 * power.max()


def test_chokes_lessen_harmonics_and_raise_the_power_factor():
    """None, in the link, in the line: distortion falls, true power factor rises, and the choke's loss is shown."""
    made = fan(pump())
    duty = made.duty[-1]
    seen = {c: operate(VoltsPerHertz, made, duty, choke=c, choke_size=0.04) for c in ("none", "link", "line")}
    assert seen["none"].distortion > seen["link"].distortion > seen["line"].distortion
    assert seen["none"].power_factor < 0.8
    assert seen["link"].power_factor > 0.88
    assert seen["line"].loss(Part.SERIES) > 0
    assert seen["none"].loss(Part.LINK) < seen["link"].loss(Part.LINK)
    orders = [h.order for h in seen["link"].harmonics[:4]]
    assert orders == [5.0, 7.0, 11.0, 13.0]


def test_six_steps_give_more_voltage_and_more_harmonic_loss():
    """At base speed six steps reach the plate's voltage where sinusoidal pulses stay a fifth below."""
    made = fan(pump())
    duty = made.duty[-1]
    seen = {m: operate(VoltsPerHertz, made, duty, modulation=m) for m in ("sinusoidal", "space_vector", "six_step")}
    volts = {m: next(s.value or 0.0 for s in p.settings if s.key == "voltage") for m, p in seen.items()}
    assert volts["sinusoidal"] / volts["space_vector"] == pytest.approx(sqrt(3) / 2, rel=0.01)
    assert volts["six_step"] == pytest.approx(400.0, rel=5e-3)
    assert seen["six_step"].loss(Part.HARMONIC) > 2 * seen["space_vector"].loss(Part.HARMONIC)


def test_fast_pulses_move_loss_from_motor_to_inverter():
    """Four times the switching frequency: less ripple loss in the motor, more in the valves."""
    made = fan(small())
    duty = made.duty[-1]
    slow, fast = (operate(VoltsPerHertz, made, duty, switching_frequency=f) for f in (2000.0, 8000.0))
    assert fast.loss(Part.HARMONIC) < slow.loss(Part.HARMONIC)
    assert fast.loss(Part.INVERTER) > slow.loss(Part.INVERTER)


def test_a_breakaway_sizes_the_converter():
    """A load that sticks with twice rated torque needs more than a converter of the motor's size."""
    drive = holding(small(), 0.5)
    sticky = replace(drive, load=replace(drive.load, breakaway=2.0 * drive.motor.rating.torque, breakaway_speed=5.0))
    plain = VoltsPerHertz.designed_for(task(drive, (0.8, 0.5)), {"law": "air_gap_flux"})
    stuck = VoltsPerHertz.designed_for(task(sticky, (0.8, 0.5)), {"law": "air_gap_flux"})
    assert stuck.way.converter_current > 1.1 * plain.way.converter_current
    assert "breakaway" in stuck.words


def test_what_must_be_bought_is_named_with_its_class():
    """Converter current and kVA, choke in henry, loss class with the status of its tables."""
    made = fan(pump())
    rows = {r.key: r for r in VoltsPerHertz.designed_for(made, {}).way.ratings(made)}
    assert rows["converter_power"].value == pytest.approx(sqrt(3) * 400.0 * 160.0, rel=0.02)
    assert rows["choke"].unit == "H"
    assert rows["drive_class"].text in {"IE0", "IE1", "IE2"}
    assert "from memory" in rows["drive_class"].why


@pytest.mark.parametrize("drive", [small, pump, wound])
@pytest.mark.parametrize("way", WAYS)
def test_families_end_at_synchronous_speed_and_pass_through_the_points(way: type[VoltsPerHertz], drive: object):
    """Each curve ends without torque at its synchronous speed; the operating point lies on its frequency's curve."""
    assert callable(drive)
    made = fan(drive())
    found = way.designed_for(made, {}).way
    arranged = found.arranged(made)
    point = found.point(made, made.duty[2])
    top = next(s.value or 0.0 for s in point.settings if s.key == "voltage") / sqrt(3) * (1 + 1e-9)
    curve = frequency_curves(arranged.feed, arranged.law, [point.frequency], max(top, 1.0), 4001)[0]
    assert float(np.interp(point.speed, curve.speed, curve.torque)) == pytest.approx(point.torque, rel=2e-3)
    for family in found.families(made):
        assert family.load_speed.shape == family.load_torque.shape
        for one in family.curves:
            assert one.speed.shape == one.torque.shape == one.current.shape
            assert one.torque[-1] == pytest.approx(0.0, abs=0.02 * made.drive.motor.rating.torque)
            assert one.speed[0] == pytest.approx(0.0, abs=1e-9)


def test_typical_losses_give_the_line_power_a_range():
    """The range holds the value shown, and is as wide as the typical parts alone make it."""
    made = fan(pump())
    point = operate(VoltsPerHertz, made, made.duty[-1])
    low, high = line_power_range(point, INVERTER_FED)
    typical = sum(point.loss(part) for part in INVERTER_FED)
    assert low < point.line_power < high
    assert high - low < 2.2 * typical
    assert line_power_range(point, {}) == (point.line_power, point.line_power)

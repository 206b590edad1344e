"""Ways of speed control at the slip rings, as someone choosing a drive for a crusher meets them."""

from __future__ import annotations

from dataclasses import fields, replace
from math import degrees, isfinite, pi, sqrt

import numpy as np
import pytest

from slipwise.methods.speed.rotor_chopper import RotorChopper
from slipwise.methods.speed.rotor_fed import RotorFed
from slipwise.methods.speed.rotor_resistance import RotorResistance
from slipwise.methods.speed.slip_recovery import SlipRecovery
from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.methods.starting import STARTING
from slipwise.methods.way import dials
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss, Motor, Rating
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.quantity.errors import InputError
from slipwise.results.speed import DutyPoint, OperatingPoint, Part
from slipwise.solve.plan import Drive
from tests.drives import quadratic

WAYS = (RotorResistance, RotorChopper, SlipRecovery, RotorFed)
BASE = 400**2 / 380e3


def crusher() -> Drive:
    """A 315 kW, 6-pole slip-ring motor with invented circuit values, behind a transformer."""
    circuit = Circuit(
        frequency=50.0,
        R1=0.015 * BASE,
        X1=0.1 * BASE,
        Xm=3.0 * BASE,
        Rfe=60 * BASE,
        rotor=(RotorBranch(R=0.014 * BASE, X=0.1 * BASE),),
    )
    rating = Rating(
        power=315e3, voltage=400, frequency=50, poles=6, speed=984 * pi / 30, current=560, connection="delta"
    )
    motor = Motor(
        rating=rating,
        inertia=12.0,
        circuit=circuit,
        mechanical_loss=MechanicalLoss(torque=20.0, exponent=1.5),
        stray=2e3,
        wound_ratio=400 / 550,
        maximum_speed=1300 * pi / 30,
    )
    busbar = Busbar(name="terminals", nominal=400.0)
    link = Link(name="transformer", kind="transformer", impedance=0.0015 + 0.006j, busbar=busbar)
    supply = SupplyPath(voltage=405.0, frequency=50.0, links=(link,))
    return Drive(motor=motor, load=quadratic(motor, 0.9, 10.0), supply=supply)


def task(*speeds: float) -> SpeedTask:
    """Demands of the crusher's load at these speeds per unit of synchronous."""
    drive = crusher()
    sync = drive.motor.rating.synchronous_speed
    duty = tuple(
        DutyPoint(name=f"{x:g}", speed=x * sync, torque=float(drive.load.torque(x * sync)), hours=1000) for x in speeds
    )
    return SpeedTask(drive=drive, duty=duty, site=Site())


TASK = task(0.95, 0.9, 0.8, 0.7, 0.6)


def value(point: OperatingPoint, key: str) -> float:
    """A setting of a point."""
    found = next(s.value for s in point.settings if s.key == key)
    assert found is not None
    return found


@pytest.mark.parametrize("way", WAYS)
def test_each_way_serves_the_whole_duty(way: type) -> None:
    """All demands are met, stably, with every number finite, power balanced, and a documented wiring and start."""
    designed = way.designed_for(TASK, {})
    assert {s.key for s in designed.settings} == set(dials(way)) == {f.name for f in fields(way)}
    assert designed.words
    for duty in TASK.duty:
        point = designed.way.point(TASK, duty)
        assert point.feasible, point.reason
        assert point.stable
        assert point.winding_heat < 1
        numbers = [getattr(point, f.name) for f in fields(point) if isinstance(getattr(point, f.name), float)]
        assert all(isfinite(x) for x in numbers)
        assert point.line_power == pytest.approx(point.shaft_power + sum(x.power for x in point.losses), rel=1e-9)
    assert set(designed.way.started_by(TASK)) <= {w.key for w in STARTING}
    wiring = designed.way.wiring()
    labels = {device.label for device in wiring.devices}
    assert len(wiring.stages) == len(wiring.closed)
    assert all(set(row) <= labels for row in wiring.closed)
    assert all(device.after in labels | {""} for device in wiring.devices)


@pytest.mark.parametrize("way", WAYS)
def test_settings_given_back_make_the_same_way(way: type) -> None:
    """A designed way, written down and read again, is the same way."""
    designed = way.designed_for(TASK, {}).way
    given = {f.name: getattr(designed, f.name) for f in fields(designed)}
    assert way.designed_for(TASK, given).way == designed


@pytest.mark.parametrize("way", WAYS)
def test_families_and_envelope_are_fit_to_draw(way: type) -> None:
    """Each family has several finite curves of one length, and the envelope stays below pull-out."""
    designed = way.designed_for(TASK, {}).way
    for family in designed.families(TASK):
        assert len(family.curves) >= 4
        assert family.load_speed.shape == family.load_torque.shape
        assert family.bound == ("limit" if way in (RotorResistance, RotorChopper) else "reference")
        for curve in family.curves:
            assert curve.speed.shape == curve.torque.shape == curve.current.shape
            assert np.isfinite(curve.torque).all()
            assert np.isfinite(curve.current).all()
    envelope = designed.envelope(TASK)
    assert envelope is not None
    assert (envelope.continuous > 0).all()
    assert (envelope.short_time >= envelope.continuous * (1 - 1e-9)).all()
    assert set(envelope.continuous_limit) <= {"cooling", "current", "breakdown reserve", "speed"}


@pytest.mark.parametrize("way", WAYS)
def test_a_cage_motor_is_refused(way: type) -> None:
    """Nothing can be done at rings that a cage does not have: the message says what would do."""
    caged = replace(TASK, drive=replace(TASK.drive, motor=replace(TASK.drive.motor, wound_ratio=None)))
    with pytest.raises(InputError, match=rf"speed\.{way.key}.*slip rings"):
        way.designed_for(caged, {})


@pytest.mark.parametrize("way", WAYS)
def test_too_much_torque_is_an_answer_with_numbers(way: type) -> None:
    """Six times rated torque at 0.7 of speed: not feasible, and the most there is stands in the reason."""
    heavy = replace(TASK.duty[3], torque=6 * TASK.drive.motor.rating.torque)
    point = way.designed_for(TASK, {}).way.point(TASK, heavy)
    assert not point.feasible
    assert f"{point.torque:.4g} N m" in point.reason
    assert point.torque < heavy.torque


@pytest.mark.parametrize("way", [RotorResistance, RotorChopper, SlipRecovery])
def test_full_speed_by_short_circuited_rings(way: type) -> None:
    """98 % of synchronous speed is met with the rings shorted or nearly; 110 % is not, and says what is reached."""
    designed = way.designed_for(TASK, {}).way
    near = designed.point(TASK, task(0.985).duty[0])
    assert near.feasible
    above = designed.point(TASK, replace(TASK.duty[0], speed=1.1 * TASK.drive.motor.rating.synchronous_speed))
    assert not above.feasible
    assert "r/min" in above.reason


@pytest.mark.parametrize("way", [RotorChopper, SlipRecovery])
def test_slower_than_the_equipment_allows(way: type) -> None:
    """Designed for 0.6 of speed, asked for 0.3: the lowest speed reached stands in the answer."""
    designed = way.designed_for(TASK, {}).way
    point = designed.point(TASK, task(0.3).duty[0])
    assert not point.feasible
    sync = TASK.drive.motor.rating.synchronous_speed
    assert 0.3 * sync < point.speed < 0.62 * sync
    assert f"{point.speed * 30 / pi:.4g} r/min" in point.reason
    assert point.line_power == pytest.approx(point.shaft_power + sum(x.power for x in point.losses), rel=1e-9)


def test_small_bank_leaves_the_motor_too_fast() -> None:
    """A bank given at a tenth of what is needed: the way keeps it and says where the motor runs."""
    whole = RotorResistance.designed_for(TASK, {}).way.resistance
    point = RotorResistance.designed_for(TASK, {"resistance": whole / 10}).way.point(TASK, TASK.duty[-1])
    assert not point.feasible
    assert value(point, "rotor_ohms") == whole / 10
    assert point.speed > TASK.duty[-1].speed


def test_steps_of_a_bank() -> None:
    """With steps each demand gets the step nearest in speed; more steps come nearer, and no step is none of the taps."""
    misses = []
    for steps in (3.0, 12.0):
        way = RotorResistance.designed_for(TASK, {"steps": steps}).way
        points = [way.point(TASK, duty) for duty in TASK.duty]
        misses.append(max(abs(p.speed - p.duty.speed) for p in points))
    assert misses[1] < misses[0]


def test_recovery_returns_and_beats_the_plain_bank_but_draws_more_current() -> None:
    """At 0.7 of speed recovery is more efficient than the bank and than 1 - s, at a far worse power factor."""
    duty = TASK.duty[3]
    bank = RotorResistance.designed_for(TASK, {}).way.point(TASK, duty)
    back = SlipRecovery.designed_for(TASK, {}).way.point(TASK, duty)
    assert bank.efficiency < 1 - bank.slip < back.efficiency
    assert back.returned > 0.5 * bank.loss(Part.EXTERNAL)
    assert back.power_factor < 0.75 * bank.power_factor


def test_recovery_transformer_follows_the_range() -> None:
    """A narrower range asks for a lower transformer voltage and less kVA, greatest voltage times greatest current."""
    wide, narrow = SlipRecovery.designed_for(TASK, {}).way, SlipRecovery.designed_for(task(0.95, 0.9, 0.85), {}).way
    assert narrow.transformer_voltage < 0.5 * wide.transformer_voltage
    rows = {row.key: row.value for row in wide.ratings(TASK)}
    current = max(value(wide.point(TASK, duty), "link_current") for duty in TASK.duty)
    assert rows["inverter_power"] == pytest.approx(sqrt(3) * wide.transformer_voltage * sqrt(2 / 3) * current, rel=1e-9)
    assert rows["returned_power"] < 0.5 * rows["inverter_power"]
    angles = [degrees(value(wide.point(TASK, duty), "firing")) for duty in TASK.duty]
    assert angles == sorted(angles)
    assert 80 < angles[0] < angles[-1] < 150


def test_rotor_feeding_gives_below_and_takes_above() -> None:
    """Power direction at the rings turns with the sign of slip; at synchronous speed the rotor carries direct current."""
    both = task(1.2, 1.0, 0.8)
    way = RotorFed.designed_for(both, {}).way
    above, at, below = (way.point(both, duty) for duty in both.duty)
    assert value(above, "rotor_power") < 0 < value(below, "rotor_power")
    assert "takes power" in above.notes[0]
    assert "gives power" in below.notes[0]
    assert value(at, "rotor_frequency") == pytest.approx(0, abs=1e-9)
    assert value(at, "rotor_power") == pytest.approx(-at.loss(Part.ROTOR), rel=1e-9)
    assert below.returned > 0 == above.returned


def test_rotor_feeding_can_make_up_reactive_power() -> None:
    """With the whole magnetising current from the rotor the line sees a displacement factor near 1."""
    plain = RotorFed.designed_for(TASK, {}).way.point(TASK, TASK.duty[2])
    excited = RotorFed.designed_for(TASK, {"excitation": 1.0}).way.point(TASK, TASK.duty[2])
    assert plain.displacement_factor < 0.9
    assert excited.displacement_factor > 0.995


def test_rotor_converter_too_small() -> None:
    """A converter of 20 V cannot run the motor at 0.6 of speed; volts needed and volts there both stand in the reason."""
    point = RotorFed.designed_for(TASK, {"converter_voltage": 20.0}).way.point(TASK, TASK.duty[-1])
    assert not point.feasible
    assert "the converter gives 20 V" in point.reason


def test_unequal_bank_says_what_it_does() -> None:
    """Ring currents apart, a stator component at |1 - 2 s| of line frequency, and a note with both."""
    way = RotorResistance.designed_for(TASK, {"factor_c": 3.0}).way
    point = way.point(TASK, TASK.duty[2])
    assert point.feasible
    assert [h.order for h in point.harmonics] == [pytest.approx(0.6)]
    assert point.power_factor < point.displacement_factor
    assert "differ by" in point.notes[0]


def test_chopper_ripple_is_held_by_the_choke() -> None:
    """The designed choke keeps the chopper's ripple within a fifth of the greatest link current."""
    way = RotorChopper.designed_for(TASK, {}).way
    points = [way.point(TASK, duty) for duty in TASK.duty]
    greatest = max(value(p, "link_current") for p in points)
    assert all(value(p, "link_ripple") <= 0.2 * greatest * (1 + 1e-9) for p in points)
    shares = [value(p, "duty") for p in points]
    assert shares == sorted(shares, reverse=True)

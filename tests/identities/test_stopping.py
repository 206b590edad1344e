"""Stops against theorems: nothing is heated by coasting, books close, turns add up, every dc connection costs the same."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.methods.stopping.dc_injection import CONNECTIONS, DcInjection, feed_for, saturating
from slipwise.methods.stopping.way import StopTask
from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.direct_current import FEEDS, DcConnection
from slipwise.model.machine.motor import Motor
from slipwise.results.start import Outcome
from slipwise.solve import steady
from slipwise.solve.plan import Drive, Law, Stage, elapsed, settled
from slipwise.solve.stop import (
    REST,
    motor_power,
    off,
    returned,
    revolutions,
    running_speed,
    stop,
    stop_time,
    turned_about,
)
from slipwise.solve.transient import stop_band
from tests.behaviour.ways_drives import open_limits, pump, wound
from tests.drives import machine, motors, quadratic, stiff, unloaded
from tests.reference import sampled


def fan(motor: Motor, share: float = 0.6) -> Drive:
    """A fan on a stiff supply."""
    return Drive(motor=motor, load=quadratic(motor, share, inertia=5 * motor.inertia), supply=stiff(motor))


@sampled(5)
@given(motor=motors(), share=st.floats(0.2, 1.0))
def test_coasting_heats_nothing_and_follows_its_closed_form(motor: Motor, share: float):
    """Without friction a fan's speed falls as w0 / (1 + k w0 t / J), k the torque per speed squared."""
    drive = replace(fan(motor, share), motor=replace(motor, mechanical_loss=replace(motor.mechanical_loss, torque=0.0)))
    begin = running_speed(drive)
    run = stop((off(drive),), drive, speed=begin)
    assert run.outcome is Outcome.STOPPED
    assert run.rotor_heat == run.stator_heat == 0.0
    k = float(drive.load.torque(begin)) / begin**2
    expected = begin / (1 + k * begin * run.time / drive.inertia)
    assert run.speed == pytest.approx(expected, rel=1e-6)
    level = REST * motor.rating.synchronous_speed
    wanted = (begin / level - 1) * drive.inertia / (k * begin)
    assert stop_time(run, motor.rating.synchronous_speed) == pytest.approx(wanted, rel=1e-5)
    assert revolutions(run) == pytest.approx(drive.inertia / k * np.log(begin / level) / 2 / np.pi, rel=1e-3)
    assert abs(run.energy.closure) < 1e-9


@sampled(6)
@given(motor=motors(branches=2), share=st.floats(0.05, 0.9))
def test_the_running_point_is_a_stable_balance(motor: Motor, share: float):
    """Torque equals load there; a little slower the motor has more, a little faster less."""
    drive = fan(motor, share)
    at = running_speed(drive)
    stage = Stage(name="on", until=settled())

    def spare(w: float) -> float:
        return float(steady.solve(drive, stage, w).torque) - float(drive.load.torque(w))

    assert abs(spare(at)) < 1e-6 * motor.rating.torque
    assert spare(at * 0.999) > 0 > spare(at * 1.001)


def test_a_load_seen_from_the_other_side_mirrors_the_drive():
    """Lifting forward is lowering in reverse: torque at minus the speed is minus the torque."""
    terms = (PowerTerm(coefficient=100.0, exponent=0.0, overhauling=True), PowerTerm(coefficient=20.0, exponent=1.0))
    load = Load(terms=terms, base_speed=100.0, inertia=1.0)
    speeds = np.array([-150.0, -3.0, 3.0, 80.0])
    assert turned_about(load).torque(speeds) == pytest.approx(-load.torque(-speeds), rel=1e-12)
    assert turned_about(turned_about(load)) == load


def test_a_driven_motor_runs_above_its_synchronous_speed():
    """A weight that is lowered drives the motor as a generator, and it is that speed the stop begins at."""
    motor = machine("B-krause-50hp")
    weight = PowerTerm(coefficient=-0.8 * motor.rating.torque, exponent=0.0, overhauling=True)
    drive = Drive(
        motor=motor, load=Load(terms=(weight,), base_speed=motor.rating.speed, inertia=1.0), supply=stiff(motor)
    )
    at = running_speed(drive)
    assert motor.rating.synchronous_speed < at < 1.1 * motor.rating.synchronous_speed
    assert stop((off(drive),), drive, speed=at).outcome is Outcome.RUNS_AWAY


def test_energy_returned_by_a_ramp_is_what_is_missing_from_the_books():
    """Through the motor's terminals goes what motion loses less heat, friction and load: trapezoids against the ledger."""
    drive = pump()
    frequency, voltage = Law(x=(0.0, 1.0), y=(1.0, 0.02)), Law(x=(0.0, 1.0), y=(1.0, 0.04))
    plan = (Stage(name="ramp", until=elapsed(1.0), frequency=frequency, voltage=voltage), off(drive))
    full = Law(x=(0.0,), y=(1.0,))
    begin = running_speed(drive, Stage(name="on", until=settled(), frequency=full, voltage=full))
    run = stop(plan, drive, speed=begin)
    assert abs(run.energy.closure) < 1e-9
    books = run.energy
    through = sum(books.get(n) for n in ("stator winding", "core", "rotor", "friction and windage", "stray load loss"))
    through += books.get("kinetic energy") + books.get("driven machine")
    power = motor_power(plan, drive, run)
    assert float(np.trapezoid(power, run.time)) == pytest.approx(through, rel=2e-3)
    back = returned(plan, drive, run)
    assert back.energy > -through > 0
    assert back.power == pytest.approx(-float(power.min()))


@sampled(30)
@given(equivalent=st.floats(1.0, 1000.0))
def test_every_connection_makes_one_field_at_one_cost(equivalent: float):
    """The same magnetomotive force takes the same power in each connection: 3 R I^2 of one winding's equivalent current."""
    drive = pump()
    circuit = drive.motor.circuit
    assert circuit is not None
    winding, current = 3 * circuit.R1, equivalent / sqrt(3)  # a delta motor
    for connection in DcConnection:
        amperes, volts = feed_for(drive, connection, equivalent)
        assert amperes * volts == pytest.approx(3 * winding * current**2, rel=1e-12)
    assert feed_for(drive, DcConnection.DELTA_TWO, equivalent)[0] == pytest.approx(
        equivalent / FEEDS[DcConnection.DELTA_TWO].share, rel=1e-12
    )


@pytest.mark.parametrize("terminals", ["two terminals", "three terminals"])
def test_dc_stop_gives_the_rotor_the_energy_of_motion(terminals: str):
    """Without load and friction the rotor takes what the delay has left of the energy of motion, whatever saturates."""
    motor = machine("B-krause-50hp")
    drive = Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))
    way = DcInjection(current=150.0, terminals=terminals, delay=0.2, duration=30.0, rotor_resistance=0.0)
    assert way.connection(drive) is CONNECTIONS["star", terminals]
    begin = running_speed(drive, way.running(drive) or Stage(name="on", until=settled()))
    run = stop(way.stages(drive), drive, speed=begin)
    assert run.rotor_heat == pytest.approx(0.5 * motor.inertia * begin**2, rel=1e-3)
    assert abs(run.energy.closure) < 1e-9


def test_a_resistor_on_the_rings_takes_its_share_of_the_heat():
    """Of the energy of motion the resistor takes r / (R2 + r), and the torque is greatest where r was designed to put it."""
    drive = wound()
    drive = replace(drive, load=unloaded(drive.motor))
    circuit, ratio = drive.motor.circuit, drive.motor.wound_ratio
    assert circuit is not None
    assert ratio is not None
    task = StopTask(nominal=drive, worst=drive, limits=open_limits())
    way = DcInjection.designed_for(task, {"delay": 0.2}).way
    outside = way.rotor_resistance * ratio**2
    begin = running_speed(drive, way.running(drive) or Stage(name="on", until=settled()))
    run = stop(way.stages(drive), drive, speed=begin)
    both = run.rotor_heat + run.energy.get("rotor resistors")
    assert run.energy.get("rotor resistors") / both == pytest.approx(outside / (outside + circuit.rotor[0].R), rel=1e-9)
    linear = replace(way.direct(drive), motor=drive.motor)
    speeds = np.linspace(0.01, 1.0, 400) * drive.motor.rating.synchronous_speed
    torque = steady.solve(drive, linear, speeds).electromagnetic
    assert speeds[np.argmin(torque)] == pytest.approx(0.5 * drive.motor.rating.synchronous_speed, rel=0.01)


def test_the_usual_saturation_holds_the_rated_field():
    """The law put in reproduces the magnetising reactance at the rated gap voltage, and a law of the motor's own stays."""
    motor = machine("B-krause-50hp")
    held = saturating(motor)
    assert held.circuit is not None
    law = held.circuit.main_saturation
    assert law is not None
    assert law.susceptance_factor(law.rated_gap_voltage) == pytest.approx(1.0, rel=1e-12)
    assert saturating(held) is held


def test_transient_and_steady_stop_share_begin_and_books():
    """The transient of a stop begins at the running point, its books close, and dc braking comes to rest at the same time."""
    drive = pump()
    way = DcInjection(current=300.0, terminals="two terminals", delay=0.5, duration=4.0, rotor_resistance=0.0)
    running = way.running(drive)
    assert running is not None
    begin = running_speed(drive, running)
    plan = way.stages(drive)
    slow = stop(plan, drive, speed=begin)
    fast = stop_band(plan, drive, running=running, speed=begin, angles=2).worst
    assert fast.speed[0] == pytest.approx(begin, rel=1e-4)
    assert abs(fast.energy.closure) < 1e-6
    sync = drive.motor.rating.synchronous_speed
    times = [float(t[np.argmax(w < REST * sync)]) for t, w in ((slow.time, slow.speed), (fast.time, fast.speed))]
    assert times[1] == pytest.approx(times[0], rel=0.05)
    assert fast.energy.get("kinetic energy") == pytest.approx(-0.5 * drive.inertia * begin**2, rel=2e-3)

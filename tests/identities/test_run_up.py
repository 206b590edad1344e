"""The run-up: energy, heat theorems, and starts that do not arrive."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.motor import Motor
from slipwise.results.start import Outcome
from slipwise.solve import steady
from slipwise.solve.plan import Drive, Law, Stage, current_falls_to, elapsed, settled, speed_reaches
from slipwise.solve.run_up import run_up
from tests.drives import drives, machine, motors, quadratic, stiff, unloaded
from tests.reference import from_reference, reference, sampled

DIRECT = (Stage(name="direct", until=settled()),)


@sampled(25)
@given(drive=drives(branches=2), speed=st.floats(-1.0, 1.2))
def test_power_balance_at_every_speed(drive: Drive, speed: float) -> None:
    """Power in = losses + air-gap conversion, for any speed, through any starter, to 1e-9."""
    sync = drive.motor.rating.synchronous_speed
    stage = Stage(name="s", until=settled(), ratio=0.6 + 0.1j, series=0.01 + 0.05j, line_series=0.02, shunt=5.0)
    p = steady.solve(drive, stage, speed * sync)
    parts = (p.starter_loss, p.stator_loss, p.core_loss, p.rotor_loss, p.external_loss)
    shaft = p.electromagnetic * speed * sync
    assert sum(parts) + shaft == pytest.approx(p.power, rel=1e-9, abs=1e-9 * abs(p.stator_loss))
    series = 3 * p.motor**2 * 0.01 + 3 * (p.motor * abs(stage.ratio)) ** 2 * 0.02
    shunted = 3 * abs(p.busbars[-1]) ** 2 / 5.0
    assert p.starter_loss == pytest.approx(series + shunted, rel=1e-9)


@sampled(12)
@given(drive=drives(branches=2))
def test_books_close_over_a_start(drive: Drive) -> None:
    """Every joule supplied is lost, stored or delivered, to 1e-6 of the throughput."""
    sync = drive.motor.rating.synchronous_speed
    plan = (
        Stage(name="tap", ratio=0.65, until=speed_reaches(0.8 * sync, timeout=20)),
        Stage(name="pause", connected=False, until=elapsed(0.1)),
        Stage(name="full", until=settled()),
    )
    assert abs(run_up(plan, drive).energy.closure) < 1e-6


@from_reference("D07")
@sampled(8)
@given(motor=motors(core=False))
def test_rotor_heat_of_an_unloaded_start_is_the_kinetic_energy(motor: Motor) -> None:
    """Whatever the circuit, an unloaded quasi-steady start heats the rotor by half J w^2."""
    answer = run_up(DIRECT, Drive(motor=motor, load=unloaded(motor), supply=stiff(motor)))
    kinetic = 0.5 * motor.inertia * motor.rating.synchronous_speed**2
    assert answer.rotor_heat == pytest.approx(kinetic, rel=0.005)


@from_reference("D08")
def test_reversal_heats_four_times() -> None:
    """Plugging from full reverse speed through rest to full speed heats the rotor by four kinetic energies."""
    motor = machine("B-krause-50hp")
    sync = motor.rating.synchronous_speed
    drive = Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))
    answer = run_up(DIRECT, drive, speed=-sync)
    assert answer.rotor_heat == pytest.approx(4 * 0.5 * motor.inertia * sync**2, rel=0.005)


@pytest.mark.parametrize("key", ["B-krause-3hp", "B-krause-50hp", "B-krause-500hp", "B-krause-2250hp"])
def test_free_acceleration_times(key: str) -> None:
    """Times to 90 and 95 % speed of the published machines, against a separate quasi-steady computation (not printed)."""
    motor = machine(key)
    expected = reference(key)["expected"]["recomputed_here_not_published"]
    answer = run_up(DIRECT, Drive(motor=motor, load=unloaded(motor), supply=stiff(motor)))
    levels = np.array([0.9, 0.95]) * motor.rating.synchronous_speed
    wanted = [expected[f"time_to_{n}_percent_speed_quasi_steady_s"] for n in (90, 95)]
    assert np.interp(levels, answer.speed, answer.time) == pytest.approx(wanted, rel=0.002)


@from_reference("D10")
@sampled(20)
@given(motor=motors(), speed=st.floats(0, 1))
def test_star_takes_a_third_of_line_current_and_torque(motor: Motor, speed: float) -> None:
    """On a stiff supply star gives a third of torque and line current, and 1/sqrt 3 of the winding current."""
    drive = Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))
    star = Stage(name="star", ratio=np.exp(1j * pi / 6) / sqrt(3), until=settled())
    a = steady.solve(drive, star, speed * motor.rating.synchronous_speed)
    b = steady.solve(drive, DIRECT[0], speed * motor.rating.synchronous_speed)
    assert a.line == pytest.approx(b.line / 3, rel=1e-9)
    assert a.electromagnetic == pytest.approx(b.electromagnetic / 3, rel=1e-9)
    assert a.winding == pytest.approx(b.winding / sqrt(3), rel=1e-9)
    assert a.motor == pytest.approx(a.line, rel=1e-9)


def _case(load_share: float, exponent: float, **fields: float) -> Drive:
    motor = machine("B-krause-500hp")
    term = PowerTerm(
        coefficient=load_share * motor.rating.torque, exponent=exponent, overhauling=bool(fields.pop("overhauling", 0))
    )
    load = Load(terms=(term,), base_speed=motor.rating.speed, inertia=20.0, **fields)
    return Drive(motor=motor, load=load, supply=stiff(motor))


def test_load_above_the_valley_hangs() -> None:
    """A load that the star torque cannot lift past its valley hangs, and the speed is named."""
    drive = _case(0.9, 2)
    plan = (Stage(name="star", ratio=1 / sqrt(3), until=settled()),)
    answer = run_up(plan, drive)
    assert answer.outcome is Outcome.HANGS
    assert answer.hang_speed is not None
    torque = steady.solve(drive, plan[0], answer.hang_speed).torque
    assert torque == pytest.approx(float(drive.load.torque(answer.hang_speed)), rel=1e-3)


def test_load_above_the_starting_torque_never_moves() -> None:
    """A constant load heavier than the locked-rotor torque is held at rest."""
    assert run_up(DIRECT, _case(0.9, 0)).outcome is Outcome.NEVER_MOVED


def test_breakaway_holds_until_the_ramp_lifts_it() -> None:
    """Under a voltage ramp the shaft leaves rest when the torque reaches the breakaway torque, not before."""
    motor = machine("B-krause-500hp")
    drive = _case(0.2, 0, breakaway=0.3 * motor.rating.torque, breakaway_speed=5.0)
    ramp = Stage(name="ramp", voltage=Law(x=(0.0, 5.0), y=(0.3, 1.0)), until=settled())
    answer = run_up((ramp,), drive)
    moving = int(np.argmax(answer.speed > 0))
    assert answer.outcome is Outcome.ARRIVED
    assert answer.torque[moving - 1 : moving + 1].mean() == pytest.approx(0.3 * motor.rating.torque, rel=0.05)


def test_hanging_weight_too_heavy_runs_away() -> None:
    """A weight heavier than the motor's torque pulls it backwards; that is an outcome, not an endless run."""
    answer = run_up(DIRECT, _case(0.6, 0, overhauling=1))
    assert answer.outcome is Outcome.RUNS_AWAY


def test_current_ends_a_stage() -> None:
    """A stage may end when the line current has fallen to a level; it does so at that current."""
    motor = machine("B-krause-50hp")
    drive = Drive(motor=motor, load=quadratic(motor, 0.5), supply=stiff(motor))
    level = 2 * motor.rating.current
    answer = run_up((Stage(name="first", until=current_falls_to(level)), *DIRECT), drive)
    switch = answer.stages[0].end
    assert np.interp(switch, answer.time, answer.line_current) == pytest.approx(level, rel=0.01)


def test_phase_control_conserves_active_power_and_line_current() -> None:
    """Under phase control the line carries the motor's current and the converter takes no active power."""
    motor = machine("B-krause-50hp")
    drive = Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))
    stage = Stage(name="limited", voltage=Law(x=(0.0,), y=(0.5,)), until=settled())
    half = steady.solve(drive, stage, 50.0)
    whole = steady.solve(drive, DIRECT[0], 50.0)
    assert half.line == pytest.approx(half.motor, rel=1e-12)
    assert half.motor == pytest.approx(0.5 * whole.motor, rel=1e-9)
    assert half.starter_loss == pytest.approx(0.0, abs=1e-9 * half.power)
    assert half.torque == pytest.approx(0.25 * whole.torque, rel=1e-9)

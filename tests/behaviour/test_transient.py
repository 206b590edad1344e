"""What the electrical transient answers: outcomes, standstill, poles, residual voltage, bad input."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.motor import CurvePoint
from slipwise.quantity.errors import InputError
from slipwise.results.start import Outcome, Transient
from slipwise.solve.plan import Drive, Law, Plan, Stage, current_falls_to, elapsed, settled, speed_reaches
from slipwise.solve.transient import band, batch, transient
from tests.drives import machine, quadratic, stiff, unloaded

MOTOR = machine("B-krause-50hp")
RATED = MOTOR.rating.torque
SYNC = MOTOR.rating.synchronous_speed
DIRECT = (Stage(name="direct", until=settled()),)


def constant(torque: float, breakaway: float = 0.0, fade: float = 0.0, overhauling: bool = False) -> Load:
    """A constant torque with its breakaway."""
    term = PowerTerm(coefficient=torque, exponent=0.0, overhauling=overhauling)
    return Load(terms=(term,), base_speed=SYNC, inertia=1.0, breakaway=breakaway, breakaway_speed=fade)


def run(load: Load, plan: Plan = DIRECT, **words: float) -> Transient:
    return transient(plan, Drive(motor=MOTOR, load=load, supply=stiff(MOTOR)), **words)


def test_a_load_beyond_the_motor_never_moves() -> None:
    """A breakaway far above any torque holds the shaft at exactly zero, and no work is done."""
    start = run(constant(200.0, breakaway=20 * RATED))
    assert start.outcome is Outcome.NEVER_MOVED
    assert np.all(start.speed == 0.0)
    assert start.energy.get("driven machine") == 0.0
    assert start.stages[0].reason == "held at rest"


def test_swings_alone_are_no_breakaway() -> None:
    """A breakaway between the steady locked torque and the first swing lets the shaft twitch, and it stays."""
    start = run(constant(4.0 * RATED))
    assert start.peaks.torque_max > 4.0 * RATED
    assert start.outcome is Outcome.NEVER_MOVED
    assert 0 < start.speed.max() < 0.05 * SYNC


def test_the_shaft_waits_for_the_breakaway_torque() -> None:
    """At standstill passive torque only holds: speed is never negative, and rises when the torque is there."""
    start = run(constant(100.0, breakaway=400.0, fade=10.0))
    assert start.outcome is Outcome.ARRIVED
    assert start.speed.min() >= -1e-9
    moving = np.flatnonzero(start.speed > 0)[0]
    assert np.all(start.torque[: moving - 1] <= 400.0 + 1e-6)
    assert start.load[1] == pytest.approx(start.torque[1])


def test_a_hanging_weight_pulls_the_shaft_back_first() -> None:
    """An overhauling torque without friction drives backwards until the motor's torque has built up."""
    start = run(constant(150.0, overhauling=True))
    assert start.outcome is Outcome.ARRIVED
    assert start.speed.min() < 0


def test_a_weight_beyond_the_motor_runs_away() -> None:
    """An overhauling load above every torque drives the shaft past twice synchronous speed."""
    assert run(constant(9 * RATED, overhauling=True)).outcome is Outcome.RUNS_AWAY


def test_a_start_that_hangs_says_where() -> None:
    """Reduced voltage that cannot carry the load settles below the changeover speed: the stage never ends, the start hangs."""
    plan = (Stage(name="tap", until=speed_reaches(0.95 * SYNC), ratio=0.4), Stage(name="full", until=settled()))
    start = run(quadratic(MOTOR, 1.2), plan)
    assert start.outcome is Outcome.HANGS
    assert len(start.stages) == 1
    assert start.stages[0].reason == "settled"
    assert 0.05 * SYNC < start.final_speed < 0.95 * SYNC
    assert start.run_up_time is None


def test_a_timeout_ends_a_stage_that_hangs() -> None:
    """With a timeout the same start goes on to full voltage and arrives."""
    until = speed_reaches(0.95 * SYNC, timeout=2.0)
    start = run(quadratic(MOTOR, 1.0), (Stage(name="tap", until=until, ratio=0.4), Stage(name="full", until=settled())))
    assert start.outcome is Outcome.ARRIVED
    assert start.stages[0].end == pytest.approx(2.0)
    assert start.stages[0].reason == "time elapsed"


def test_time_over_is_unfinished() -> None:
    """A start cut short by the time allowed is unfinished, with everything up to there."""
    start = run(quadratic(MOTOR, 0.5, 100.0), max_time=0.7)
    assert start.outcome is Outcome.UNFINISHED
    assert start.time[-1] == pytest.approx(0.7)
    assert abs(start.energy.closure) < 1e-6


def test_a_motor_coming_to_rest_has_stalled() -> None:
    """Cut from the supply under load, the shaft comes back to rest."""
    plan = (Stage(name="on", until=elapsed(1.0)), Stage(name="off", until=settled(), connected=False))
    start = run(constant(100.0), plan)
    assert start.outcome is Outcome.STALLED
    assert start.final_speed == 0.0
    assert start.speed.max() > 0.9 * SYNC


def test_poles_open_at_their_own_current_zeros() -> None:
    """After a stage's end currents flow on until their zeros, the first pole alone, then the other two together."""
    plan = (Stage(name="on", until=elapsed(0.3)), Stage(name="off", until=elapsed(0.1), connected=False))
    start = run(quadratic(MOTOR, 0.5), plan, points=40_000)
    after = start.time > 0.3
    flowing = np.abs(start.line_currents[:, after]) > 1e-3 * start.peaks.line_current
    last = [start.time[after][np.flatnonzero(phase)[-1]] for phase in flowing]
    assert sorted(last)[1] == pytest.approx(sorted(last)[2], abs=2e-5)
    assert 0.3 < sorted(last)[0] < sorted(last)[1] < 0.3 + 0.0167
    assert start.energy.get("interruption") == pytest.approx(0.0, abs=1e-4 * start.energy.throughput)
    assert np.allclose(start.line_currents[:, -1], 0.0)


def test_a_pause_too_short_for_the_poles_is_booked() -> None:
    """A pause that ends before the poles have opened tears the current off: its energy is a row of the ledger."""
    plan = (
        Stage(name="on", until=elapsed(0.3)), Stage(name="off", until=elapsed(0.001), connected=False),
        Stage(name="on again", until=elapsed(0.1)),
    )  # fmt: skip
    start = run(quadratic(MOTOR, 0.5), plan)
    assert start.energy.get("interruption") > 1.0
    assert abs(start.energy.closure) < 1e-6


def test_residual_voltage_decays_with_the_rotor() -> None:
    """With the supply off the terminals show a voltage that decays with (Lm + L2) / R2 and turns with the rotor."""
    circuit = MOTOR.circuit
    assert circuit is not None
    plan = (Stage(name="on", until=elapsed(1.0)), Stage(name="off", until=elapsed(0.6), connected=False))
    start = run(unloaded(MOTOR), plan, points=40_000)
    off = start.time > 1.05
    magnitude = np.sqrt(np.sum(start.terminal_voltages[:, off] ** 2, axis=0) * 2 / 3)
    time = start.time[off]
    fitted = -1 / np.polyfit(time, np.log(magnitude / start.speed[off]), 1)[0]
    constant_of_rotor = (circuit.Xm + circuit.rotor[0].X) / (2 * np.pi * 60) / circuit.rotor[0].R
    assert fitted == pytest.approx(constant_of_rotor, rel=1e-3)
    crossings = np.flatnonzero(np.diff(np.sign(start.terminal_voltages[0, off])) > 0)
    period = np.mean(np.diff(time[crossings]))
    assert 2 * np.pi / period / 2 == pytest.approx(float(np.mean(start.speed[off])), rel=5e-3)


def test_a_stage_ends_when_the_current_has_fallen() -> None:
    """A current criterion waits for the inrush to pass, then ends the stage at that rms line current."""
    plan = (Stage(name="star", until=current_falls_to(80.0), ratio=0.6), Stage(name="full", until=settled()))
    start = run(quadratic(MOTOR, 0.3), plan)
    assert start.outcome is Outcome.ARRIVED
    at = np.searchsorted(start.time, start.stages[0].end) - 1
    assert np.sqrt(np.sum(start.line_currents[:, at] ** 2) / 3) == pytest.approx(80.0, rel=1e-2)
    assert start.stages[0].end_speed > 0.7 * SYNC


def test_a_part_winding_hands_its_flux_to_the_whole() -> None:
    """A stage may bring another motor: fluxes go over branch by branch, the difference in energy is booked."""
    assert MOTOR.circuit is not None
    half = replace(MOTOR, circuit=replace(MOTOR.circuit, R1=2 * MOTOR.circuit.R1, X1=2 * MOTOR.circuit.X1))
    plan = (Stage(name="half winding", until=elapsed(0.3), motor=half), Stage(name="whole winding", until=settled()))
    start = run(quadratic(MOTOR, 0.3), plan)
    assert start.outcome is Outcome.ARRIVED
    assert abs(start.energy.closure) < 1e-6
    assert start.stage_peaks[0].line_current < run(quadratic(MOTOR, 0.3)).peaks.line_current


def test_an_inverter_shows_the_lines_its_active_power() -> None:
    """Behind a dc link the lines carry the active power at displacement factor 1, not the motor's current."""
    laws = {"voltage": Law(x=(0.0, 2.0), y=(0.05, 1.0)), "frequency": Law(x=(0.0, 2.0), y=(0.03, 1.0))}
    start = run(quadratic(MOTOR, 0.9), (Stage(name="ramp", until=elapsed(3.5), **laws),))
    assert start.outcome is Outcome.ARRIVED
    line = np.sqrt(np.sum(start.line_currents[:, -1] ** 2) / 3)
    motor = np.sqrt(np.sum(start.winding_currents[:, -1] ** 2) / 3)
    assert line < 0.97 * motor
    assert start.peaks.line_current < 0.5 * run(quadratic(MOTOR, 0.9)).peaks.line_current


def test_every_array_has_the_same_length_and_every_switching_is_sampled() -> None:
    """Arrays fit each other; each stage's begin is a sample; no cycle has fewer than twelve."""
    plan = (Stage(name="on", until=elapsed(0.3)), Stage(name="off", until=elapsed(0.05), connected=False), *DIRECT)
    start = run(quadratic(MOTOR, 0.5), plan, points=100)
    n = start.time.size
    assert start.speed.shape == start.torque.shape == start.load.shape == (n,)
    assert start.line_currents.shape == start.winding_currents.shape == start.terminal_voltages.shape == (3, n)
    assert all(mark.begin in start.time for mark in start.stages)
    assert np.diff(start.time).max() <= 1 / 60 / 12 * 1.001
    assert np.all(np.diff(start.time) > 0)


def test_the_band_keeps_its_worst_start_whole() -> None:
    """The band lists peaks at each angle and keeps the start with the greatest torque magnitude."""
    plan = (Stage(name="on", until=elapsed(0.5)), Stage(name="off", until=elapsed(0.05), connected=False), *DIRECT)
    drive = Drive(motor=MOTOR, load=quadratic(MOTOR, 0.5), supply=stiff(MOTOR))
    spread = band(plan, drive, case="weak", angles=6)
    top = np.maximum(spread.torque_max, -spread.torque_min)
    assert spread.worst.switching_angle == spread.angles[np.argmax(top)]
    assert spread.worst.case == "weak"
    assert np.ptp(spread.torque_max) < 0.05 * spread.torque_max.max()  # the reconnection follows the supply's own angle
    assert spread.line_current.shape == (6,)


def test_pauses_that_scatter_spread_the_peaks() -> None:
    """Contactors that differ by a few milliseconds reconnect at other angles of the residual voltage."""
    pause = Stage(name="off", until=elapsed(0.05), connected=False)
    plan = (Stage(name="on", until=elapsed(0.4)), pause, Stage(name="on again", until=elapsed(0.1)))
    drive = Drive(motor=MOTOR, load=quadratic(MOTOR, 0.5, 2.0), supply=stiff(MOTOR))
    same, spread = (band(plan, drive, angles=12, pause_scatter=scatter) for scatter in (0.0, 0.02))
    assert np.ptp(np.minimum(spread.torque_min, -1.0)) > 2 * np.ptp(np.minimum(same.torque_min, -1.0))
    lengths = spread.worst.stages[1].end - spread.worst.stages[1].begin
    assert 0.03 <= lengths <= 0.07


def test_a_batch_says_of_each_start_what_it_came_to() -> None:
    """Different starts in one batch, one of them hopeless: the same outcomes, peaks and times as one by one."""
    loads = (quadratic(MOTOR, 0.5), quadratic(MOTOR, 0.9, 3.0), constant(200.0, breakaway=20 * RATED), unloaded(MOTOR))
    pairs = [(DIRECT, Drive(motor=MOTOR, load=load, supply=stiff(MOTOR))) for load in loads]
    found = batch(pairs)
    for i, (plan, drive) in enumerate(pairs):
        alone = transient(plan, drive, points=20_000)
        assert found.outcome[i] is alone.outcome
        assert found.final_speed[i] == pytest.approx(alone.final_speed, rel=1e-4)
        assert found.torque_max[i] == pytest.approx(alone.peaks.torque_max, rel=1e-3)
        assert found.torque_min[i] == pytest.approx(alone.peaks.torque_min, rel=1e-2, abs=1e-3 * RATED)
        assert found.line_current[i] == pytest.approx(alone.peaks.line_current, rel=1e-3)
        if alone.run_up_time is None:
            assert np.isnan(found.run_up_time[i])
        else:
            assert found.run_up_time[i] == pytest.approx(alone.run_up_time, abs=2e-3)


def test_an_empty_batch_is_refused() -> None:
    """There is nothing to run."""
    with pytest.raises(InputError, match="starts"):
        batch([])


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"inertia": 0.0}, "motor.inertia"),
        ({"circuit": replace(MOTOR.circuit, X1=0.0)}, "motor.circuit.X1"),
        ({"circuit": None, "curves": (CurvePoint(speed=0, torque=1, current=1, power_factor=0.5),)}, "motor.curves"),
    ],
)
def test_what_cannot_be_marched_is_named(change: dict[str, object], field: str) -> None:
    """A missing inertia, a reactance of zero, or curves without a circuit: refused by name."""
    motor = replace(MOTOR, **change)
    with pytest.raises(InputError, match=field):
        transient(DIRECT, Drive(motor=motor, load=unloaded(MOTOR), supply=stiff(MOTOR)))


@pytest.mark.parametrize(
    ("words", "field"),
    [
        ({"max_time": 0.0}, "max_time"), ({"tolerance": -1.0}, "tolerance"),
        ({"switching_angle": float("nan")}, "switching_angle"), ({"engine": "fast"}, "engine"),
    ],
)  # fmt: skip
def test_bad_arguments_are_named(words: dict[str, object], field: str) -> None:
    """Each argument outside its range is refused by name."""
    with pytest.raises(InputError, match=field):
        run(unloaded(MOTOR), **words)


def test_a_plan_without_stages_is_refused() -> None:
    """There is nothing to run."""
    with pytest.raises(InputError, match="plan"):
        run(unloaded(MOTOR), ())

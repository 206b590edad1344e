"""What the settings of each way do, seen in the run-up."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from slipwise.methods import survey
from slipwise.methods.starting.autotransformer import Autotransformer
from slipwise.methods.starting.grading import rotor_ohms, stator_ohms
from slipwise.methods.starting.inverter import Inverter
from slipwise.methods.starting.part_winding import PartWinding
from slipwise.methods.starting.rotor_resistor import RotorResistor
from slipwise.methods.starting.series_reactor import SeriesReactor
from slipwise.methods.starting.soft_starter import SoftStarter
from slipwise.methods.starting.star_delta import StarDelta
from slipwise.model.load.load import Load
from slipwise.quantity.errors import InputError
from slipwise.results.start import Outcome, RunUp
from slipwise.solve.plan import Drive
from slipwise.solve.run_up import run_up
from slipwise.solve.transient import transient
from tests.behaviour.ways_drives import constant, large, pump, small, task, wound


def started(way: Any, drive: Drive, given: dict[str, float | str] | None = None, **limits: float) -> RunUp:
    """A start on the nominal drive with the way designed for it."""
    designed = way.designed_for(task(drive, **limits), given or {}).way
    return run_up(designed.stages(drive), drive, max_time=200.0)


@pytest.mark.parametrize("drive", [pump(), large()], ids=["pump", "large"])
def test_soft_start_torque_follows_limit_over_current_squared_along_the_whole_curve(drive: Drive):
    """On terminals that keep their voltage the air-gap torque is (limit / current at that speed)^2 of full voltage."""
    stiff = replace(
        drive, supply=replace(drive.supply, links=tuple(replace(k, impedance=0j) for k in drive.supply.links))
    )
    limit = 3.0
    way = SoftStarter.designed_for(task(drive), {"current_limit": limit, "start_voltage": 1.0}).way
    ramp = way.stages(stiff)[0]
    assert ramp.voltage is None
    assert ramp.voltage_cap is not None
    speeds = np.array(ramp.voltage_cap.x[:-4])
    held, full = survey.curves(ramp, stiff, speeds), survey.curves(survey.RUNNING, stiff, speeds)
    drag = drive.motor.mechanical_torque(speeds)
    share = np.minimum(limit * drive.motor.rating.current / full.motor_current, 1.0) ** 2
    assert held.torque + drag == pytest.approx(share * (full.torque + drag), rel=1e-6)


def test_soft_start_holds_its_current_limit_and_line_current_is_motor_current():
    """The motor current stays at 3 times rated until the bypass; phase control does not transform it."""
    run = started(SoftStarter, large(), {"current_limit": 3.8})
    before = run.time < run.stages[0].end
    assert float(np.max(run.motor_current[before])) == pytest.approx(3.8 * large().motor.rating.current, rel=0.01)
    assert run.line_current == pytest.approx(run.motor_current)
    assert run.outcome is Outcome.ARRIVED


def test_a_current_limit_too_low_for_the_load_hangs_below_speed():
    """Twice rated does not lift the fan: it hangs where the limited torque meets the load."""
    run = started(SoftStarter, large(), {"current_limit": 2.0})
    assert run.outcome is Outcome.HANGS
    assert run.hang_speed is not None
    assert 0.05 < run.hang_speed / large().motor.rating.synchronous_speed < 0.9


def test_a_voltage_ramp_that_ends_below_speed_leaves_the_direct_current_of_that_speed():
    """After a 0.5 s ramp the fan is far from speed and takes what it takes on full voltage there."""
    drive = large()
    run = started(SoftStarter, drive, {"mode": "voltage ramp", "ramp_time": 0.5})
    i = int(np.searchsorted(run.time, 0.6))
    assert run.speed[i] < 0.5 * drive.motor.rating.synchronous_speed
    direct = survey.curves(survey.RUNNING, drive, run.speed[i : i + 1]).line_current[0]
    assert run.line_current[i] == pytest.approx(direct, rel=1e-6)


def test_a_longer_voltage_ramp_takes_less_current_and_more_time():
    """2 s against 12 s on the pump."""
    short, long = (started(SoftStarter, pump(), {"mode": "voltage ramp", "ramp_time": t}) for t in (2.0, 12.0))
    assert np.max(long.line_current) < 0.95 * np.max(short.line_current)
    assert (long.run_up_time or 0) > (short.run_up_time or 0)


def test_a_torque_ramp_gives_the_torque_asked_for():
    """From 20 to 60 % of rated over 6 s: the shaft torque is on that line within 3 % of rated while the ramp lasts."""
    drive = pump()
    given: dict[str, float | str] = {"mode": "torque ramp", "start_torque": 0.2, "end_torque": 0.6, "ramp_time": 6.0}
    run = started(SoftStarter, drive, given)
    rated = drive.motor.rating.torque
    part = (run.time < 6.0) & (run.speed < 0.9 * drive.motor.rating.synchronous_speed)
    assert np.count_nonzero(part) > 20
    asked = 0.2 + 0.4 * run.time[part] / 6.0
    assert run.torque[part] / rated == pytest.approx(asked, abs=0.03)
    assert run.outcome is Outcome.ARRIVED


def test_a_breakaway_pulse_frees_a_load_that_the_ramp_alone_frees_later():
    """With a pulse the pump moves within the pulse."""
    given: dict[str, float | str] = {"start_voltage": 0.2, "ramp_time": 8.0, "pulse_voltage": 0.8, "pulse_time": 0.3}
    run = started(SoftStarter, pump(), given)
    late = started(SoftStarter, pump(), {**given, "pulse_time": 0.0})
    moved, moved_late = (float(r.time[np.argmax(r.speed > 0.5)]) for r in (run, late))
    assert run.stages[0].name == "pulse"
    assert moved < 0.3 < moved_late


def test_an_inverter_raises_its_frequency_no_faster_than_its_current_limit_lets():
    """A ramp of half a second takes over four times as long; the motor current stays near the limit and the start arrives."""
    drive = large()
    given: dict[str, float | str] = {"ramp_time": 0.5, "current_limit": 1.5}
    plan = Inverter.designed_for(task(drive), given).way.stages(drive)
    assert plan[0].frequency is not None
    assert plan[0].frequency.x[-1] > 2.0
    run = run_up(plan, drive)
    assert run.outcome is Outcome.ARRIVED
    assert float(np.max(run.motor_current)) < 1.55 * drive.motor.rating.current


@pytest.mark.parametrize(
    ("limit", "load"), [(0.6, constant(2440.0, 103.4, 60.0)), (0.7, large().load)], ids=["constant", "fan"]
)
def test_an_inverter_too_small_for_the_load_does_not_arrive(limit: float, load: Load):
    """Its frequency is held where the load needs more than the limit: at rest, or part of the way up a fan's curve."""
    drive = replace(wound() if load.terms[0].exponent == 0 else large(), load=load)
    run = started(Inverter, drive, {"current_limit": limit})
    assert run.outcome in (Outcome.NEVER_MOVED, Outcome.HANGS)
    assert run.final_speed < 0.95 * drive.motor.rating.synchronous_speed


def test_an_inverter_ramp_keeps_a_run_up_limit_that_the_rated_line_current_alone_would_break():
    """Rated line current is an aim, the limit is asked for: the same ramp is cut to nine tenths of it, and arrives in time."""
    drive = large()
    gentle = Inverter.designed_for(task(drive), {}).way.ramp_time
    limit = 0.6 * gentle
    found = Inverter.designed_for(task(drive, run_up_time=limit), {})
    assert found.way.ramp_time == pytest.approx(0.9 * limit)
    assert "the line passes" in next(row.why for row in found.settings if row.key == "ramp_time")
    run = run_up(found.way.stages(drive), drive)
    assert run.run_up_time is not None
    assert run.run_up_time < limit


def test_an_inverter_ramp_keeps_an_agreed_line_current_before_a_run_up_limit():
    """What was agreed with the supply is not given up for time: the ramp says that it is longer."""
    drive = large()
    current = drive.motor.rating.current
    gentle = Inverter.designed_for(task(drive, line_current=current), {}).way.ramp_time
    found = Inverter.designed_for(task(drive, line_current=current, run_up_time=0.6 * gentle), {})
    assert found.way.ramp_time == pytest.approx(gentle)
    assert "longer than the run-up limit" in next(row.why for row in found.settings if row.key == "ramp_time")


def test_energy_of_the_bank_by_step_adds_up_to_the_ledger():
    """Sum over the steps is the ledger's row of the whole start."""
    drive = wound()
    way = RotorResistor.designed_for(task(drive), {}).way
    run = run_up(way.stages(drive), drive)
    assert sum(way.energy_per_step(drive)) == pytest.approx(run.energy.get("rotor resistors"), rel=1e-6)
    assert sum(way.sections()) == pytest.approx(way.resistance, rel=1e-12)


@pytest.mark.parametrize("factor", [0.75, 1.3])
def test_least_time_is_less_than_with_other_ohms(factor: float):
    """Three quarters and 1.3 times the designed bank take longer, by the full run-up."""
    drive = wound()
    best = RotorResistor.designed_for(task(drive), {"aim": "least time", "steps": 2.0}).way
    other = started(RotorResistor, drive, {"steps": 2.0, "resistance": factor * best.resistance})
    run = run_up(best.stages(drive), drive)
    assert run.run_up_time is not None
    assert other.run_up_time is not None
    assert run.run_up_time < other.run_up_time


def test_rotor_ohms_and_stator_ohms_are_never_mixed():
    """With a ratio of 0.8 a bank of 1 ohm counts 0.64 ohm in the circuit, and back; the stage carries referred ohms."""
    assert stator_ohms(1.0, 0.8) == pytest.approx(0.64)
    assert rotor_ohms(0.64, 0.8) == pytest.approx(1.0)
    way = RotorResistor.designed_for(task(wound()), {}).way
    assert way.stages(wound())[0].rotor_external == pytest.approx(0.64 * way.resistance)
    assert way.stages(wound())[-1].rotor_external == 0.0


def test_ohms_and_closing_speeds_do_not_change_with_the_supply():
    """A bank is built once: the worst case meets the same ohms and the same speeds."""
    job = task(wound())
    way = RotorResistor.designed_for(job, {}).way
    for one, other in zip(way.stages(job.nominal), way.stages(job.worst), strict=True):
        assert (one.rotor_external, one.until) == (other.rotor_external, other.until)


@pytest.mark.parametrize(
    ("way", "drive", "words"),
    [
        (StarDelta, small(), "runs in delta"),
        (RotorResistor, pump(), "slip rings"),
        (RotorResistor, wound(), "whole number"),
        (SoftStarter, pump(), "brings this load no higher"),
    ],
    ids=["star", "cage", "steps", "bypass"],
)
def test_a_way_that_cannot_be_says_why(way: Any, drive: Drive, words: str):
    """A star motor, a cage, two and a half steps, a bypass speed beyond the running speed."""
    given = {RotorResistor: {"steps": 2.5}, SoftStarter: {"bypass_speed": 156.9}}.get(way, {})
    given = {} if words == "slip rings" else given
    with pytest.raises(InputError, match=words):
        way.designed_for(task(drive), given)


@pytest.mark.parametrize("way", [PartWinding, Inverter, RotorResistor])
def test_ways_that_need_a_circuit_refuse_curves(way: Any):
    """A motor typed as curves cannot be split, fed at another frequency or given rotor resistors."""
    drive = pump()
    bare = replace(drive, motor=replace(drive.motor, circuit=None, curves=()))
    with pytest.raises(InputError, match=r"starting\."):
        way.designed_for(task(bare), {})


def test_an_agreed_current_sets_the_reactor_and_its_words():
    """550 A at the pump: the reactor is designed to it, and the words name it."""
    found = SeriesReactor.designed_for(task(pump(), line_current=550.0), {})
    run = run_up(found.way.stages(pump()), pump())
    assert float(np.max(run.line_current)) == pytest.approx(550.0, rel=0.01)
    assert "550 A" in found.words


def test_a_free_tap_is_the_weakest_that_lifts_the_load():
    """One per cent less leaves less than the reserve; the usual tap above it is stronger."""
    job = task(large())
    free = Autotransformer.designed_for(job, {"taps": "free"}).way
    usual = Autotransformer.designed_for(job, {}).way
    assert free.tap < usual.tap
    for factor, enough in ((1.0, True), (0.99, False)):
        stage = replace(free, tap=factor * free.tap).stages(job.worst)[0]
        spare = survey.margins(survey.curves(stage, job.worst), job.worst)
        reached = survey.grid(job.worst) <= 0.85 * job.worst.motor.rating.synchronous_speed
        assert bool(np.min(spare[reached]) >= 0.0999) == enough


def test_a_run_up_limit_asks_for_a_stronger_tap():
    """The fan on its weakest usual tap takes over 8 s; a limit of 7 s leads to words that say so."""
    words = Autotransformer.designed_for(task(large(), run_up_time=7.0), {}).words
    assert "run-up limit" in words


@pytest.mark.parametrize("pause", [0.03, 0.05, 0.08])
def test_the_designed_wiring_meets_the_residual_voltage_at_the_smaller_angle(pause: float):
    """The current peak after the changeover is less with the delta voltage behind the star voltage (common practice)."""
    drive = pump()
    way = StarDelta.designed_for(task(drive), {"pause": pause}).way
    assert way.changeover_wiring == "lagging"
    designed, other = (transient(w.stages(drive), drive).stage_peaks[-1].line_current for w in (way, way.twin()))
    assert designed < 0.8 * other


def test_resistors_of_a_closed_transition_soften_the_changeover():
    """Compared with an open transition of the same pause, the last current peak is lower."""
    drive = pump()
    peaks = {
        kind: transient(
            StarDelta.designed_for(task(drive), {"transition": kind, "pause": 0.08}).way.stages(drive), drive
        )
        for kind in ("open", "closed")
    }
    assert peaks["closed"].stage_peaks[-1].line_current < 0.7 * peaks["open"].stage_peaks[-1].line_current

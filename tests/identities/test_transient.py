"""The electrical transient: books that close, twins that agree, symmetries that must hold."""

from __future__ import annotations

from cmath import rect
from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.machine.saturation import LeakageSaturation, MainSaturation
from slipwise.results.start import Outcome
from slipwise.solve import steady
from slipwise.solve.plan import Drive, Law, Plan, Stage, elapsed, settled, speed_reaches
from slipwise.solve.run_up import run_up
from slipwise.solve.transient import band, transient
from tests.drives import drives, machine, quadratic, stiff, unloaded
from tests.reference import sampled

STAR = rect(1 / sqrt(3), -pi / 6)
DIRECT = (Stage(name="direct", until=settled()),)


@st.composite
def plans(draw: st.DrawFn, drive: Drive) -> Plan:
    """A reduced stage of any kind, a changeover of any kind, full voltage."""
    changeover = draw(st.floats(0.2, 0.9)) * drive.motor.rating.synchronous_speed
    ends = draw(st.sampled_from((elapsed(draw(st.floats(0.01, 0.6))), speed_reaches(changeover, timeout=1.0))))
    reduced = draw(
        st.sampled_from(
            (
                Stage(name="star", until=ends, ratio=STAR),
                Stage(name="tap", until=ends, ratio=0.65),
                Stage(name="reactor", until=ends, series=0.01 + 0.4j),
                Stage(name="resistor", until=ends, line_series=0.5),
                Stage(name="rotor resistor", until=ends, rotor_external=0.2),
                Stage(name="ramp", until=ends, voltage=Law(x=(0.0, 0.5), y=(0.3, 1.0))),
                Stage(name="cap", until=ends, voltage_cap=Law(x=(0.0, changeover), y=(0.5, 0.9))),
                Stage(
                    name="inverter", until=ends, voltage=Law(x=(0.0, 1.0), y=(0.1, 1.0)),
                    frequency=Law(x=(0.0, 1.0), y=(0.05, 1.0)),
                ),
            )
        )
    )  # fmt: skip
    pause = Stage(name="pause", until=elapsed(draw(st.floats(0.001, 0.2))), connected=False)
    kept = Stage(name="kept closed", until=elapsed(0.05), series=0.3 + 0.1j, shunt=2.0)
    between = draw(st.sampled_from(((pause,), (kept,), ())))
    return (reduced, *between, Stage(name="full", until=elapsed(draw(st.floats(0.05, 0.5)))))


def saturating(drive: Drive) -> Drive:
    """The drive with a motor whose leakage and main flux saturate."""
    motor = drive.motor
    assert motor.circuit is not None
    leakage = LeakageSaturation(knee=1.2 * motor.rating.current, stator_share=0.4, rotor_share=0.5)
    main = MainSaturation(rated_gap_voltage=0.95 * motor.rating.phase_voltage, unsaturated=1.3)
    circuit = replace(motor.circuit, leakage_saturation=leakage, main_saturation=main)
    return replace(drive, motor=replace(motor, circuit=circuit))


@sampled(10)
@given(data=st.data(), branches=st.integers(1, 3))
def test_books_close_with_saturation(data: st.DataObject, branches: int) -> None:
    """The same with leakage and main flux saturating: stored energy is the area beside the curves."""
    drive = saturating(data.draw(drives(branches=branches)))
    start = transient(data.draw(plans(drive)), drive, points=10, engine="compiled")
    assert abs(start.energy.closure) < 1e-6


@sampled(30)
@given(data=st.data(), branches=st.integers(1, 3))
def test_books_close_over_a_whole_transient(data: st.DataObject, branches: int) -> None:
    """Supplied = lost + stored + shaft to 1e-6 of the throughput: random machines, losses, paths, plans, angles."""
    drive = data.draw(drives(branches=branches))
    drive = replace(drive, motor=replace(drive.motor, stray=1500.0))
    plan = data.draw(plans(drive))
    start = transient(plan, drive, switching_angle=data.draw(st.floats(0, 6.3)), points=10, engine="compiled")
    assert abs(start.energy.closure) < 1e-6
    assert start.energy.throughput > 100
    assert all(row.energy >= -1e-9 for row in start.energy.rows if row.name in ("stator winding", "rotor branch 1"))


@sampled(4)
@given(data=st.data(), branches=st.integers(1, 2), saturates=st.booleans())
def test_compiled_and_plain_kernel_agree(data: st.DataObject, branches: int, saturates: bool) -> None:
    """The compiled kernel gives what its plain twin gives, through every mode of conduction, saturating or not."""
    drive = data.draw(drives(branches=branches))
    drive = saturating(drive) if saturates else drive
    stages = (
        Stage(name="star", until=elapsed(0.05), ratio=STAR, voltage=Law(x=(0.0, 0.04), y=(0.5, 1.0))),
        Stage(name="pause", until=elapsed(0.04), connected=False),
        Stage(name="full", until=elapsed(0.06)),
    )
    one, two = (transient(stages, drive, points=300, engine=engine) for engine in ("compiled", "plain"))
    assert one.steps == two.steps
    for name in ("speed", "torque", "line_currents", "winding_currents", "terminal_voltages"):
        a, b = getattr(one, name), getattr(two, name)
        assert a == pytest.approx(b, rel=0, abs=1e-9 * float(np.max(np.abs(b))))
    assert one.peaks.torque_max == pytest.approx(two.peaks.torque_max, rel=1e-9)
    assert [row.energy for row in one.energy.rows] == pytest.approx(
        [row.energy for row in two.energy.rows], rel=1e-6, abs=1e-6
    )


@sampled(5)
@given(drive=drives(branches=2))
def test_switching_angle_repeats_after_a_third_of_a_turn(drive: Drive) -> None:
    """Three equal phases: torque repeats over the angle every 60 degrees, and the largest phase current with it."""
    plan = (Stage(name="direct", until=elapsed(0.12)),)
    spread = band(plan, drive, angles=12, points=10)
    assert spread.torque_max == pytest.approx(np.roll(spread.torque_max, 2), rel=1e-4)
    assert spread.torque_min == pytest.approx(np.roll(spread.torque_min, 2), rel=1e-3, abs=1e-3 * spread.torque_max[0])
    assert spread.line_current == pytest.approx(np.roll(spread.line_current, 2), rel=1e-3)
    assert spread.torque_max == pytest.approx(np.full(12, spread.torque_max[0]), rel=1e-4)  # no residual flux, no angle
    assert spread.worst.peaks.torque_max == pytest.approx(spread.torque_max.max(), rel=1e-6)


def test_reconnection_depends_on_when_it_happens() -> None:
    """After a pause the residual voltage turns against the supply: the peak torque has a spread over the pause."""
    motor = machine("B-krause-50hp")
    drive = Drive(motor=motor, load=quadratic(motor, 0.5), supply=stiff(motor))
    tops = []
    for pause in (0.05, 0.06, 0.07, 0.08, 0.09):
        stages = (
            Stage(name="on", until=elapsed(0.8)), Stage(name="off", until=elapsed(pause), connected=False),
            Stage(name="on again", until=elapsed(0.1)),
        )  # fmt: skip
        again = transient(stages, drive).stage_peaks[2]
        tops.append(max(again.torque_max, -again.torque_min))
    assert max(tops) > 1.3 * min(tops)


def _held(key: str) -> Drive:
    """A machine clamped at rest by an enormous inertia."""
    motor = machine(key)
    return Drive(motor=replace(motor, inertia=1e9), load=unloaded(motor), supply=stiff(motor))


def rms_at_end(stage: Stage, drive: Drive) -> float:
    """Rms line current once the dc offsets are gone, from the three instantaneous values. [A]"""
    start = transient((replace(stage, until=elapsed(10.0)),), drive, points=10, engine="compiled")
    return float(np.sqrt(np.sum(start.line_currents[:, -1] ** 2) / 3))


@pytest.mark.parametrize("key", ["B-krause-3hp", "B-krause-50hp"])
def test_star_takes_a_third_of_the_delta_line_current(key: str) -> None:
    """At standstill the star line current is a third of the delta line current, and a tap k draws k squared."""
    drive = _held(key)
    full = rms_at_end(Stage(name="delta", until=settled()), drive)
    assert rms_at_end(Stage(name="star", until=settled(), ratio=STAR), drive) == pytest.approx(full / 3, rel=1e-6)
    assert rms_at_end(Stage(name="tap", until=settled(), ratio=0.65), drive) == pytest.approx(0.65**2 * full, rel=1e-6)
    assert full == pytest.approx(float(steady.solve(drive, DIRECT[0], 0.0).line), rel=1e-6)


@sampled(8)
@given(drive=drives(branches=2, constant_power=False))
def test_transient_settles_on_the_steady_state(drive: Drive) -> None:
    """Where the transient settles, torque, current and voltage are those of the equivalent circuit, core loss included."""
    start = transient(DIRECT, drive, points=10, engine="compiled")
    p = steady.solve(drive, DIRECT[0], start.final_speed)
    if start.outcome is not Outcome.ARRIVED:
        return
    current = float(np.sqrt(np.sum(start.line_currents[:, -1] ** 2) / 3))
    voltage = float(np.sqrt(np.sum(start.terminal_voltages[:, -1] ** 2) / 3))
    assert current == pytest.approx(float(p.line), rel=1e-3)
    assert voltage == pytest.approx(abs(complex(p.busbars[-1])), rel=1e-4)
    assert start.torque[-1] == pytest.approx(float(p.electromagnetic), rel=5e-3, abs=1e-3 * drive.motor.rating.torque)


@sampled(6)
@given(drive=drives(branches=1, constant_power=False))
def test_transient_and_run_up_agree_on_the_outcome(drive: Drive) -> None:
    """Both levels of time end alike, at the same speed, and the slow start takes about the same time in both."""
    slow, full = run_up(DIRECT, drive), transient(DIRECT, drive, points=10, engine="compiled")
    assert full.outcome is slow.outcome
    assert full.final_speed == pytest.approx(slow.final_speed, rel=1e-3)
    if slow.run_up_time is not None and slow.run_up_time > 2.0:
        assert full.run_up_time == pytest.approx(slow.run_up_time, rel=0.1)


def test_without_a_load_the_machine_runs_synchronously() -> None:
    """No load, no loss at the shaft: synchronous speed, no torque; what the shaft got is its kinetic energy."""
    motor = machine("B-krause-50hp")
    drive = Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))
    start = transient(DIRECT, drive)
    assert start.final_speed == pytest.approx(motor.rating.synchronous_speed, rel=1e-5)
    assert start.energy.get("driven machine") == 0
    kinetic = 0.5 * motor.inertia * start.final_speed**2
    assert start.energy.get("kinetic energy") == pytest.approx(kinetic, rel=1e-9)
    assert abs(start.torque[-1]) < 1e-3 * motor.rating.torque


def test_peaks_are_not_missed_between_steps() -> None:
    """The peaks are those of a very dense sampling, not of the step ends."""
    motor = machine("B-krause-500hp")
    drive = Drive(motor=motor, load=quadratic(motor, 0.8, 5.0), supply=stiff(motor))
    start = transient(DIRECT, drive, points=60_000, switching_angle=1.0, engine="compiled")
    assert start.peaks.torque_max == pytest.approx(start.torque.max(), rel=1e-4)
    assert start.peaks.torque_min == pytest.approx(start.torque.min(), rel=1e-4)
    phase = "abc".index(start.peaks.line_current_phase)
    assert start.peaks.line_current == pytest.approx(np.abs(start.line_currents).max(), rel=1e-4)
    assert start.peaks.line_current == pytest.approx(np.abs(start.line_currents[phase]).max(), rel=1e-4)
    assert start.peaks.winding_current == pytest.approx(np.abs(start.winding_currents).max(), rel=1e-4)

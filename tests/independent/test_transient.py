"""The electrical transient against an independent solution of the full machine equations."""

from __future__ import annotations

from cmath import rect
from collections.abc import Callable
from math import pi, sqrt

import numpy as np
import pytest

from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss, Motor, Rating
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.results.start import Transient
from slipwise.solve.plan import Drive, Law, Plan, Stage, elapsed, settled, speed_reaches
from slipwise.solve.transient import transient
from tests.independent.full_equations import Array, Feed, Machine, Run, go, open_at_zeros, started

F, OMEGA = 50.0, 2 * pi * 50.0
SYNC = OMEGA / 2
GRID = 0.004 + 0.02j
STAR = rect(1 / sqrt(3), -pi / 6)
SINGLE = (RotorBranch(R=0.02, X=0.07),)
DOUBLE = (RotorBranch(R=0.018, X=0.15), RotorBranch(R=0.09, X=0.05))


def drive(rotor: tuple[RotorBranch, ...], load: float = 250.0, inertia: float = 2.0, grid: complex = GRID) -> Drive:
    """A made-up 132 kW, 400 V, 50 Hz, 4-pole delta motor with a fan, behind `grid`."""
    rating = Rating(
        power=132e3, voltage=400.0, frequency=F, poles=4, speed=155.0, current=235.0, connection="delta"
    )  # fmt: skip
    circuit = Circuit(frequency=F, R1=0.02, X1=0.09, Xm=3.6, rotor=rotor)
    motor = Motor(
        rating=rating, inertia=1.0, circuit=circuit, mechanical_loss=MechanicalLoss(torque=6.0, exponent=2), stray=900.0
    )
    bus = Busbar(name="terminals", nominal=400.0)
    path = SupplyPath(voltage=400.0, frequency=F, links=(Link(name="n", kind="network", impedance=grid, busbar=bus),))
    term = PowerTerm(coefficient=load, exponent=2.0)
    return Drive(motor=motor, load=Load(terms=(term,), base_speed=SYNC, inertia=inertia - 1.0), supply=path)


def machine(rotor: tuple[RotorBranch, ...], load: float = 250.0, inertia: float = 2.0) -> Machine:
    """The same motor for the independent solution."""
    return Machine(
        frequency=F, R1=0.02, X1=0.09, Xm=3.6, rotor=[(b.R, b.X) for b in rotor], pairs=2, inertia=inertia,
        load=lambda w: (load + 6.0) * (max(w, 0.0) / SYNC) ** 2,
        stray=lambda w, square: 900.0 / 155.0 * square / 2 / 235.0**2 * w / 155.0,
    )  # fmt: skip


def line_voltage(t: float) -> Array:
    peak = 400.0 * sqrt(2 / 3)
    return peak * np.array([np.cos(OMEGA * t + 0.4), np.sin(OMEGA * t + 0.4)])


def line(ratio: complex = 1.0, external: float = 0.0) -> Feed:
    return Feed(voltage=line_voltage, R=GRID.real, X=GRID.imag, ratio=ratio, external=external)


def reaches(speed: float) -> list[Callable[[float, Array], float]]:
    return [lambda _t, y: float(y[-1] - speed)]


def line_of(run: Run, ratio: complex) -> Array:
    """Line current that the motor current stands for, two axes."""
    current = np.conj(ratio) * complex(run.state[0], run.state[1])
    return np.array([current.real, current.imag])


def agree(ours: Transient, run: Run, plan: Plan) -> None:
    """Speed within 1e-4 of synchronous, torque and line currents within 1e-3 of their peaks, aligned at every switching."""
    assert [mark.begin for mark in ours.stages] == pytest.approx(run.marks, abs=2e-5)
    for stage, mark, begin in zip(plan, ours.stages, run.marks, strict=True):
        inside = (ours.time > mark.begin) & (ours.time < mark.end)
        theirs = run.at(begin + ours.time[inside] - mark.begin)
        known = np.isfinite(theirs[:, 0])
        assert known.sum() > 0.5 * min(inside.sum(), 400)
        theirs, chosen = theirs[known], np.flatnonzero(inside)[known]
        assert ours.speed[chosen] == pytest.approx(theirs[:, -1], rel=0, abs=1e-4 * SYNC)
        top = max(ours.peaks.torque_max, -ours.peaks.torque_min)
        assert ours.torque[chosen] == pytest.approx(run.torque(theirs), rel=0, abs=1e-3 * top)
        through = np.conj(stage.ratio) * (theirs[:, 0] + 1j * theirs[:, 1])
        if not stage.connected:
            continue  # the ratio of the stage before counts while poles open; covered by torque and speed
        for phase, angle in enumerate((0.0, 2 * pi / 3, -2 * pi / 3)):
            wanted = (through * np.exp(-1j * angle)).real
            assert ours.line_currents[phase, chosen] == pytest.approx(wanted, rel=0, abs=1e-3 * ours.peaks.line_current)


@pytest.mark.parametrize("rotor", [SINGLE, DOUBLE], ids=["single cage", "double cage"])
def test_direct_start(rotor: tuple[RotorBranch, ...]) -> None:
    """A direct start against the full equations, single and double cage."""
    plan = (Stage(name="direct", until=settled()),)
    run = started(machine(rotor))
    run.mark()
    go(run, line(), 1.2)
    agree(transient(plan, drive(rotor), switching_angle=0.4), run, plan)


@pytest.mark.parametrize("rotor", [SINGLE, DOUBLE], ids=["single cage", "double cage"])
@pytest.mark.parametrize("ratio", [STAR, STAR.conjugate(), 0.65], ids=["star, one wiring", "star, the other", "tap"])
def test_changeover_with_pause(rotor: tuple[RotorBranch, ...], ratio: complex) -> None:
    """Star-delta in both wirings and autotransformer, each with a pause: poles open at current zeros, residual voltage."""
    plan = (
        Stage(name="reduced", until=speed_reaches(135.0), ratio=ratio),
        Stage(name="pause", until=elapsed(0.06), connected=False),
        Stage(name="running", until=settled()),
    )
    run = started(machine(rotor, load=60.0, inertia=1.2))
    run.mark()
    go(run, line(ratio), 60.0, stop=reaches(135.0))
    run.mark()
    open_at_zeros(run, line(ratio), run.time + 0.06)
    run.mark()
    go(run, line(), run.time + 0.3)
    agree(transient(plan, drive(rotor, load=60.0, inertia=1.2), switching_angle=0.4), run, plan)


def test_changeover_without_pause() -> None:
    """From a tap straight to full voltage: the flux of the closed loop is kept."""
    plan = (Stage(name="tap", until=elapsed(0.25), ratio=0.65), Stage(name="full", until=settled()))
    run = started(machine(SINGLE))
    run.mark()
    go(run, line(0.65), 0.25)
    run.mark()
    go(run, line(), 0.5, carried=line_of(run, 0.65))
    agree(transient(plan, drive(SINGLE), switching_angle=0.4), run, plan)


def test_rotor_resistor_in_steps() -> None:
    """A wound rotor whose resistors are cut out at two speeds, then short-circuited."""
    steps = ((0.3, 70.0), (0.1, 125.0))
    plan = (*(Stage(name=f"{r}", until=speed_reaches(n), rotor_external=r) for r, n in steps),)
    plan = (*plan, Stage(name="short-circuited", until=settled()))
    run = started(machine(SINGLE))
    for external, speed in steps:
        run.mark()
        go(run, line(external=external), 60.0, stop=reaches(speed), carried=line_of(run, 1.0))
    run.mark()
    go(run, line(), run.time + 0.3, carried=line_of(run, 1.0))
    agree(transient(plan, drive(SINGLE), switching_angle=0.4), run, plan)


def test_inverter_ramp() -> None:
    """An inverter's voltage and frequency ramp; the lines are behind its dc link, so motor currents are compared."""
    ramp, end = 1.5, 1.8
    voltage, frequency = Law(x=(0.0, ramp), y=(0.06, 1.0)), Law(x=(0.0, ramp), y=(0.04, 1.0))
    plan = (Stage(name="ramp", until=elapsed(end), voltage=voltage, frequency=frequency),)

    def source(t: float) -> Array:
        f = np.interp(t, frequency.x, frequency.y)
        area = 0.5 * (0.04 + f) * t if t < ramp else 0.52 * ramp + (t - ramp)
        peak = 400.0 * sqrt(2 / 3) * np.interp(t, voltage.x, voltage.y)
        angle = OMEGA * area + 0.4
        return np.array([peak * np.cos(angle), peak * np.sin(angle)])

    run = started(machine(SINGLE))
    run.mark()
    feed = Feed(voltage=source)
    go(run, feed, ramp)
    go(run, None, end, frozen=feed)
    ours = transient(plan, drive(SINGLE), switching_angle=0.4)
    theirs = run.at(ours.time[:-1])
    assert ours.speed[:-1] == pytest.approx(theirs[:, -1], rel=0, abs=1e-4 * SYNC)
    assert ours.torque[:-1] == pytest.approx(run.torque(theirs), rel=0, abs=1e-3 * ours.peaks.torque_max)
    winding = (theirs[:, 0] + 1j * theirs[:, 1]) * rect(1 / sqrt(3), pi / 6)
    top = ours.peaks.winding_current
    assert ours.winding_currents[0, :-1] == pytest.approx(winding.real, rel=0, abs=1e-3 * top)

"""A lost line and a returning supply against the full machine equations of another form, and the books of both."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import inf, pi

import numpy as np
import pytest

from slipwise.model.machine.circuit import RotorBranch
from slipwise.solve.disturbed.fed import fed, running_speed
from slipwise.solve.disturbed.interruption import residual
from slipwise.solve.plan import Stage, elapsed
from slipwise.solve.transient import transient
from slipwise.solve.transient.line_loss import line_loss
from slipwise.solve.transient.reclosing import reclosings
from tests.independent.full_equations import Array, Run, go, open_at_zeros, started
from tests.independent.test_transient import DOUBLE, OMEGA, SINGLE, SYNC, agree, drive, line, machine

Rotor = tuple[RotorBranch, ...]
BRANCHES = pytest.mark.parametrize("rotor", [SINGLE, DOUBLE], ids=["single cage", "double cage"])


@cache
def _settled(rotor: Rotor) -> tuple[float, Run]:
    """The machine of the tests settled on its supply: begun dead at its running speed, one second long."""
    speed = running_speed(drive(rotor))
    run = started(machine(rotor))
    run.state[-1] = speed
    run.mark()
    go(run, line(), 1.0)
    return speed, run


def running(rotor: Rotor) -> tuple[float, Run]:
    """Speed it was begun at, and a run of one's own to go on with."""
    speed, run = _settled(rotor)
    return speed, replace(run, pieces=list(run.pieces), marks=list(run.marks), state=run.state.copy())


@BRANCHES
def test_loss_of_a_line(rotor: Rotor) -> None:
    """After a line opens at its current zero: speed within 1e-4 of synchronous, torque and current within 1e-3 of peaks."""
    _, run = running(rotor)
    go(run, None, 1.1, frozen=line(), stop=[lambda _t, y: float(y[0])])
    opened, speed = run.time, float(run.state[-1])
    go(run, None, opened + 0.2, frozen=line(), poles=np.array([[0.0], [1.0]]))
    given = drive(rotor)
    ours = line_loss(fed(given, given.motor.rating.slip), speed, 0.2)
    theirs = run.at(opened + ours.time[1:-1])
    assert ours.speed[1:-1] == pytest.approx(theirs[:, -1], rel=0, abs=1e-4 * SYNC)
    assert ours.torque[1:-1] == pytest.approx(run.torque(theirs), rel=0, abs=1e-3 * float(ours.torque.max()))
    across = np.sqrt(3) / 2 * theirs[:, 1]
    top = float(abs(ours.current).max())
    sign = np.sign(across[40] * ours.current[41])  # either zero of the first line may come first
    assert ours.current[1:-1] == pytest.approx(sign * across, rel=0, abs=1e-3 * top)
    assert abs(ours.energy.closure) < 1e-6


@pytest.mark.parametrize(("rotor", "dead"), [(SINGLE, 0.04), (DOUBLE, 0.12)], ids=["single cage", "double cage"])
def test_return_of_the_supply(rotor: Rotor, dead: float) -> None:
    """Running, cut off pole by pole, back on: speed, torque and currents as in every other transient; so are the peaks."""
    plan = (
        Stage(name="running", until=elapsed(1.0)),
        Stage(name="interruption", until=elapsed(dead), connected=False),
        Stage(name="return", until=elapsed(0.4)),
    )
    speed, run = running(rotor)
    run.mark()
    open_at_zeros(run, line(), 1.0 + dead)
    run.mark()
    go(run, line(), 1.4 + dead)
    given = drive(rotor)
    ours = transient(plan, given, speed=speed, switching_angle=0.4)
    agree(ours, run, plan)
    assert abs(ours.energy.closure) < 1e-6
    found = reclosings(given, np.array([dead]), speed=speed, angles=(0.4,))
    fine = run.at(np.linspace(1.0 + dead + 1e-6, 1.4 + dead - 1e-6, 20000))
    assert found.torque[0] == pytest.approx(float(abs(run.torque(fine)).max()), rel=1e-3)


@BRANCHES
def test_residual_voltage(rotor: Rotor) -> None:
    """Voltage, frequency and angle of the motor left to itself, against the independent rotor currents
    from when the last pole has opened."""
    _, run = running(rotor)
    open_at_zeros(run, line(), 1.5)
    ours = residual(drive(rotor), 0.8)
    given, opened, step = machine(rotor), run.pieces[-1][0], 1e-5
    first = 0.0
    for since in (0.001, 0.05, 0.2, 0.4):
        at = opened + since
        flux = [linkage(run, at + d) for d in (-step, 0.0, step)]
        voltage = (flux[2] - flux[0]) / (2 * step)
        assert abs(voltage) / (400 * np.sqrt(2 / 3)) == pytest.approx(ours.at("voltage", since), rel=0.02)
        theirs = float(run.at(np.array([at]))[0, -1])
        assert ours.at("speed", since) == pytest.approx(theirs, rel=5e-3)
        assert ours.at("frequency", since) == pytest.approx(given.pairs * theirs / OMEGA, rel=5e-3)
        behind = (OMEGA * at + 0.4 - np.angle(voltage)) % (2 * pi)
        apart = (behind - ours.at("angle", since) + pi) % (2 * pi) - pi
        path = np.linspace(step, since, 50)
        slower = np.interp(path, ours.time, ours.speed) - run.at(opened + path)[:, -1]  # by the parting of the poles
        first = first or apart
        assert abs(first) < 0.12  # the poles take up to a third of a turn to part
        assert apart == pytest.approx(first + given.pairs * float(np.trapezoid(slower, path)), abs=0.02)
    assert ours.residual_time < inf


def linkage(run: Run, time: float) -> complex:
    """Air-gap flux linkage at an open stator: mutual inductance times all rotor currents. [V s]"""
    state: Array = run.at(np.array([time]))[0]
    rotor = state[2:-1].reshape(-1, 2).sum(axis=0)
    return complex(*rotor) * run.machine.Xm / run.machine.omega

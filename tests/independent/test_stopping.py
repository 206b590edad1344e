"""Plugging and braking by direct current as electrical transients, against an independent solution of the full equations."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import cos, pi, sin, sqrt

import numpy as np
import pytest

from slipwise.model.machine.circuit import RotorBranch
from slipwise.model.machine.direct_current import FEEDS, DcConnection
from slipwise.solve.plan import DirectCurrent, Stage, elapsed, speed_falls_to
from slipwise.solve.transient import transient
from tests.independent.full_equations import Array, Feed, Run, go, open_at_zeros, started
from tests.independent.test_transient import DOUBLE, GRID, SINGLE, SYNC, agree, drive, line, line_voltage, machine

BEGIN = 155.0  # rad/s
LOW = 8.0  # rad/s, of the zero-speed switch
RUNNING = Stage(name="running", until=elapsed(0.3))
PAUSE = Stage(name="pause", until=elapsed(0.06), connected=False)
OFF = Stage(name="off", until=elapsed(0.05), connected=False)
R1 = 0.02  # ohm, star equivalent of the machine


def swapped(t: float) -> Array:
    """The line voltages with phases b and c exchanged."""
    return line_voltage(t) * np.array([1.0, -1.0])


def falls_to(speed: float) -> list[Callable[[float, Array], float]]:
    return [lambda _t, y: float(y[-1] - speed)]


def ran(rotor: tuple[RotorBranch, ...]) -> Run:
    """The machine thrown onto the line at its speed, then let go of at the current zeros."""
    run = started(machine(rotor, load=60.0, inertia=1.2))
    run.state[-1] = BEGIN
    run.mark()
    go(run, line(), 0.3)
    run.mark()
    open_at_zeros(run, line(), run.time + 0.06)
    return run


@pytest.mark.parametrize("rotor", [SINGLE, DOUBLE], ids=["single cage", "double cage"])
def test_plugging(rotor: tuple[RotorBranch, ...]) -> None:
    """Two phases swapped at full speed until the zero-speed switch opens: residual field, torque swings and all."""
    plug = Stage(name="countercurrent", until=speed_falls_to(LOW), reversed=True)
    plan = (RUNNING, PAUSE, plug, OFF)
    run = ran(rotor)
    run.mark()
    back = Feed(voltage=swapped, R=GRID.real, X=GRID.imag)
    go(run, back, 60.0, stop=falls_to(LOW))
    run.mark()
    open_at_zeros(run, back, run.time + 0.05)
    ours = transient(plan, drive(rotor, load=60.0, inertia=1.2), switching_angle=0.4, speed=BEGIN)
    agree(ours, run, plan)
    assert abs(ours.energy.closure) < 1e-6


def direct(connection: DcConnection, current: float) -> tuple[DirectCurrent, Feed, Array | None]:
    """The stage's feed and the same for the independent solution: terminal voltages by the connection, open terminal."""
    feed = FEEDS[connection]
    winding = R1 if connection.value.startswith("star") else 3 * R1
    dc = DirectCurrent(current=current, share=feed.share, resistance=feed.windings * winding)
    volts = dc.resistance * current
    if connection in (DcConnection.STAR_THREE, DcConnection.DELTA_THREE):
        return dc, Feed(voltage=lambda _t: np.array([2 * volts / 3, 0.0])), None
    across = np.array([[cos(pi / 6)], [-sin(pi / 6)]])  # a and b carry, c is open
    return dc, Feed(voltage=lambda _t: volts / sqrt(3) * across[:, 0]), across


@pytest.mark.parametrize(
    ("rotor", "connection"),
    [*((SINGLE, connection) for connection in DcConnection), (DOUBLE, DcConnection.STAR_THREE)],
    ids=lambda x: x.name.lower() if isinstance(x, DcConnection) else f"{len(x)} branches",
)
def test_direct_current(rotor: tuple[RotorBranch, ...], connection: DcConnection) -> None:
    """A constant voltage across the winding, in each connection, from full speed until the shaft has slowed down."""
    dc, feed, poles = direct(connection, 400.0)
    plan = (RUNNING, PAUSE, Stage(name="direct current", until=speed_falls_to(60.0), dc=dc), OFF)
    run = ran(rotor)
    run.mark()
    stopped = go(run, feed, 60.0, poles=poles, stop=falls_to(60.0))
    assert stopped == 0
    run.mark()
    run.state[:2] = 0.0
    ours = transient(plan, drive(rotor, load=60.0, inertia=1.2), switching_angle=0.4, speed=BEGIN)
    agree(replace(ours, stages=ours.stages[:3]), replace(run, marks=run.marks[:3]), plan[:3])
    assert abs(ours.energy.closure) < 1e-6
    assert ours.speed[-1] < 60.0 + 1e-6 * SYNC

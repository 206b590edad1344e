"""Starts side by side in lanes against an independent solution of the full machine equations."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from slipwise.model.machine.circuit import RotorBranch
from slipwise.results.start import Outcome
from slipwise.solve.plan import Stage, elapsed
from slipwise.solve.transient import batch, transient
from tests.independent.full_equations import go, started
from tests.independent.test_transient import DOUBLE, SINGLE, SYNC, drive, line, machine

SECONDS = 1.0


@pytest.mark.parametrize("rotor", [SINGLE, DOUBLE], ids=["single cage", "double cage"])
def test_direct_start_in_a_lane(rotor: tuple[RotorBranch, ...]) -> None:
    """A direct start with friction, stray loss and a supply path: end and every peak (scipy, rtol 1e-9)."""
    case = (Stage(name="direct", until=elapsed(SECONDS)),), drive(rotor)
    ours = batch([case], switching_angle=0.4, engine="plain")
    assert ours.steps[0] < 0.6 * transient(*case, switching_angle=0.4, points=10, tolerance=3e-6, engine="plain").steps
    run = started(machine(rotor))
    run.mark()
    go(run, line(), SECONDS)
    states = run.at(np.linspace(0.0, SECONDS, 20_001))
    torque = run.torque(states)
    assert ours.outcome == (Outcome.ARRIVED,)
    assert ours.final_speed[0] == pytest.approx(states[-1, -1], abs=1e-4 * SYNC)
    assert ours.torque_max[0] == pytest.approx(torque.max(), abs=1e-3 * torque.max())
    assert ours.torque_min[0] == pytest.approx(torque.min(), abs=1e-3 * torque.max())
    current = states[:, 0] + 1j * states[:, 1]
    peak = max(np.abs((current * np.exp(-1j * angle)).real).max() for angle in (0.0, 2 * pi / 3, -2 * pi / 3))
    assert ours.line_current[0] == pytest.approx(peak, rel=1e-3)

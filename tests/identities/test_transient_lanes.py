"""Starts side by side in lanes: the same as one by one in the kernel, whoever stands beside them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.load.load import PowerTerm
from slipwise.model.machine.motor import MechanicalLoss
from slipwise.results.start import Outcome
from slipwise.solve.plan import Drive, Stage, elapsed, settled
from slipwise.solve.transient import Batch, batch, transient
from slipwise.solve.transient import kernel as k
from slipwise.solve.transient.engine import lanes
from slipwise.solve.transient.pack import numbers_of
from tests.drives import drives, machine, quadratic, stiff
from tests.reference import sampled

DIRECT = (Stage(name="direct", until=settled()),)
MOTOR = machine("B-krause-50hp")
NUMBERS = ("final_speed", "end", "torque_max", "torque_min", "line_current", "winding_current", "steps")


def lossy(drive: Drive) -> Drive:
    """The drive with friction and stray loss."""
    loss = MechanicalLoss(torque=5.0, exponent=1.0)
    return replace(drive, motor=replace(drive.motor, mechanical_loss=loss, stray=1500.0))


def same(one: Batch, i: int, two: Batch, j: int, rel: float) -> None:
    """Every number of start i of one batch is that of start j of the other."""
    assert one.outcome[i] is two.outcome[j]
    for name in NUMBERS:
        assert getattr(one, name)[i] == pytest.approx(getattr(two, name)[j], rel=rel), name


@sampled(3)
@given(data=st.data(), branches=st.integers(1, 2))
def test_compiled_and_plain_lanes_agree(data: st.DataObject, branches: int) -> None:
    """The compiled lanes give what their plain twin gives, step for step."""
    drive = lossy(data.draw(drives(branches=branches)))
    case = ((Stage(name="direct", until=elapsed(0.4)),), drive)
    one, two = (batch([case], tolerance=1e-6, engine=engine) for engine in ("compiled", "plain"))
    same(one, 0, two, 0, 1e-7)


@sampled(6)
@given(data=st.data(), branches=st.integers(1, 2))
def test_lanes_agree_with_the_kernel(data: st.DataObject, branches: int) -> None:
    """Random machines behind random paths, left to settle: outcome, end and peaks as the general kernel finds them."""
    drive = lossy(data.draw(drives(branches=branches)))
    assert lanes(branches, compiled=False).plain(_bare(drive), 0)
    found = batch([(DIRECT, drive)], tolerance=1e-8, engine="compiled")
    alone = transient(DIRECT, drive, points=20_000, tolerance=1e-8, engine="compiled")
    sync = drive.motor.rating.synchronous_speed
    assert found.outcome[0] is alone.outcome
    assert found.final_speed[0] == pytest.approx(
        alone.final_speed, abs=1e-5 * sync
    )  # when it counts as settled differs
    assert found.end[0] == pytest.approx(alone.time[-1], abs=0.2)
    top = alone.peaks.torque_max
    assert found.torque_max[0] == pytest.approx(top, rel=2e-4)
    assert found.torque_min[0] == pytest.approx(alone.peaks.torque_min, abs=1e-3 * top)
    assert found.line_current[0] == pytest.approx(alone.peaks.line_current, rel=1e-3)
    assert found.winding_current[0] == pytest.approx(alone.peaks.winding_current, rel=1e-3)
    if alone.run_up_time is not None:
        assert found.run_up_time[0] == pytest.approx(alone.run_up_time, abs=2e-3)


def _bare(drive: Drive) -> list[float]:
    numbers = numbers_of(DIRECT, drive, max_time=120.0, tolerance=1e-8)
    numbers[k.O_BOOKS] = numbers[k.O_RECORD] = 0.0
    return numbers


def test_neighbours_change_nothing() -> None:
    """Twenty-one starts of different length in eight lanes: each as it is alone, in the order given."""
    cases = [
        ((Stage(name="direct", until=elapsed(0.1 + 0.05 * i)),), Drive(motor=MOTOR, load=load, supply=stiff(MOTOR)))
        for i, load in enumerate(quadratic(MOTOR, 0.04 * i, 0.3 * (i % 5)) for i in range(21))
    ]
    together = batch(cases, engine="compiled")
    for i, case in enumerate(cases):
        same(together, i, batch([case], engine="compiled"), 0, 1e-6)


def test_a_start_that_is_not_plain_is_left_to_the_kernel() -> None:
    """A load that drives past every generating torque is met in a lane; the answer is the kernel's: it runs away."""
    pull = PowerTerm(coefficient=-9 * MOTOR.rating.torque, exponent=1.0, overhauling=True)
    load = replace(quadratic(MOTOR, 0.0), terms=(pull,))
    drive = Drive(motor=MOTOR, load=load, supply=stiff(MOTOR))
    assert lanes(1, compiled=False).plain(_bare(drive), 0)
    found = batch([(DIRECT, drive)], engine="compiled")
    assert found.outcome == (transient(DIRECT, drive, engine="compiled").outcome,) == (Outcome.RUNS_AWAY,)
    assert np.isnan(found.run_up_time[0])

"""How far a way carries, and which missing datum weighs most."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from slipwise.identify.ensemble import draw
from slipwise.identify.records import Plate
from slipwise.methods.way import StartingWay
from slipwise.model.machine.motor import StallLimit
from slipwise.results.criteria import Status
from slipwise.study.boundary import RESOLUTION, boundary, directions, judged
from slipwise.study.cases import cases_of
from slipwise.study.model import Study
from slipwise.study.one_way import task_of, way_of
from slipwise.study.ranking import rank_share, ranking
from tests.studies import limits, load, motor, study, supply


def _designed(key: str, of: Study) -> StartingWay:
    return way_of(key).designed_for(task_of(of, cases_of(of)), {}).way


@pytest.mark.parametrize("key", ["direct", "star_delta"])
def test_an_edge_is_where_the_verdict_turns(key: str) -> None:
    """Just inside each edge the way passes; a step beyond it fails."""
    base = study(limits=limits(run_up_time=6.0))
    way = _designed(key, base)
    found = boundary(base, way)
    assert [edge.key for edge in found.edges] == ["inertia", "load", "fault_level", "voltage"]
    for edge, direction in zip(found.edges, directions(base), strict=True):
        assert edge.factor is not None
        assert judged(direction.at(edge.factor), way).status is not Status.FAILS
        if not edge.open:
            step = RESOLUTION if direction.far > 1 else 1 / RESOLUTION
            assert judged(direction.at(edge.factor * step), way).status is Status.FAILS
            assert edge.binding


def test_the_edge_of_the_inertia_is_that_of_the_run_up_time() -> None:
    """The run-up time grows with the inertia of motor and load together, so the edge can be told beforehand."""
    base = study("direct", limits=limits(run_up_time=4.0, heat=None))
    way = _designed("direct", base)
    nominal = cases_of(base)["nominal"]
    time = nominal.run_up(way.stages(nominal.drive)).run_up_time
    assert time is not None
    wanted = 4.0 / time * (base.motor.inertia + base.load.inertia) - base.motor.inertia
    edge = boundary(base, way).edges[0]
    assert edge.edge == pytest.approx(wanted, rel=0.01)


def test_a_way_that_fails_as_stated_has_no_edge() -> None:
    """Nothing to stretch from: the edge is none and the reason stands beside it."""
    base = study("direct", supply=supply(scale=3.0))
    edges = boundary(base, _designed("direct", base)).edges
    assert all(edge.edge is None and "dip at main board" in edge.binding for edge in edges)


def test_what_is_not_there_is_not_stretched() -> None:
    """A stiff source and a bare shaft leave the voltage alone to be moved."""
    base = study("direct", load=load(share=0.0, inertia=0.0), supply=supply(scale=0.0))
    assert [d.key for d in directions(base)] == ["voltage"]


PLATE = Plate(
    power=90e3,
    voltage=400.0,
    frequency=50.0,
    poles=4,
    connection="delta",
    speed=155.3,
    current=158.0,
    power_factor=0.865,
    efficiency=0.952,
    locked_rotor_current_ratio=7.0,
    locked_rotor_torque_ratio=2.3,
    inertia=1.4,
    stall=StallLimit(hot=14.0, cold=28.0),
)


def test_verdicts_over_the_motors_of_one_plate() -> None:
    """Breakdown torque is the only ratio not given; it is what a star-delta start near its limit hangs on."""
    base = study("star_delta", load=load(share=0.6), motor=motor(inertia=1.4))
    way = _designed("star_delta", base)
    found = ranking(base, [way], draw(PLATE, 12))
    (spread,) = found.ranges
    assert found.members == 12
    assert sum(count for _, count in spread.statuses) == 12
    assert spread.low < spread.high
    assert all(item.low <= item.high for item in spread.spreads)
    assert found.missing[0].name == "motor.breakdown_torque_ratio"
    assert "breakdown torque ratio would narrow the verdict most" in found.words


def test_a_missing_stall_time_is_asked_for_first() -> None:
    """Heat cannot be judged without it, whatever else is missing."""
    plate = replace(PLATE, stall=StallLimit())
    base = study("direct", motor=motor(stall=StallLimit()))
    members = draw(plate, 4)
    members = replace(
        members,
        members=tuple(replace(m, motor=replace(m.motor, stall=StallLimit())) for m in members.members),
    )
    found = ranking(base, [_designed("direct", base)], members)
    assert "Ask first for what is missing to judge: Heat, start from hot." in found.words


def test_rank_share_against_a_worked_sample() -> None:
    """One exchange in 1..5 gives a rank correlation of 0.9; a curve that only rises gives 1; a constant gives 0."""
    x = np.array([1.0, 2, 3, 4, 5])
    assert rank_share(x, np.array([1.0, 2, 3, 5, 4])) == pytest.approx(0.81)
    assert rank_share(x, x**3) == pytest.approx(1.0)
    assert rank_share(x, np.ones(5)) == 0.0

"""What must hold of several motors on one path, whatever they are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.results.start import Outcome
from slipwise.solve.group import run_group
from slipwise.solve.group_grid import Member
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.run_up import run_up
from tests.drives import machine, quadratic
from tests.reference import sampled

MOTOR = machine("B-krause-50hp")
DIRECT = (Stage(name="direct", until=settled()),)


def path(impedance: complex) -> SupplyPath:
    bar = Busbar(name="board", nominal=460.0)
    return SupplyPath(
        voltage=460.0,
        frequency=60.0,
        links=(Link(name="board", kind="cable", impedance=impedance, busbar=bar),),
    )


def member(name: str, share: float, **more: float | complex | None) -> Member:
    load = quadratic(MOTOR, share, 0.4)
    return Member(
        name=name,
        drive=Drive(motor=MOTOR, load=load, supply=path(0.1j)),
        plan=DIRECT,
        place=0,
        **more,
    )


@sampled(12)
@given(share=st.floats(0.1, 0.9), x=st.floats(0.01, 0.15))
def test_one_motor_is_the_single_run_up(share: float, x: float) -> None:
    """A group of one is the ordinary start."""
    alone = member("one", share)
    drive = replace(alone.drive, supply=path(x * 1j))
    single = run_up(DIRECT, drive)
    grouped = run_group(path(x * 1j), (alone,))
    at = np.linspace(0.0, 0.9 * float(single.time[-1]), 7)
    assert np.interp(at, grouped.time, grouped.speed[0]) == pytest.approx(
        np.interp(at, single.time, single.speed), abs=2e-3 * MOTOR.rating.synchronous_speed
    )
    assert grouped.tracks[0].run_up_time == pytest.approx(single.run_up_time, rel=1e-3)
    assert grouped.tracks[0].final_speed == pytest.approx(single.final_speed, rel=1e-6)
    assert grouped.dips[0] == pytest.approx(
        float((single.prestart_voltage[0] - single.busbar_voltage.min()) / single.prestart_voltage[0]), rel=1e-6
    )


def test_two_alike_are_one_on_twice_the_impedance() -> None:
    """Two motors together see what one sees behind twice the impedance."""
    two = run_group(path(0.05j), (member("a", 0.6), member("b", 0.6)))
    one = run_group(path(0.1j), (member("a", 0.6),))
    assert [t.final_speed for t in two.tracks] == pytest.approx([one.tracks[0].final_speed] * 2, rel=1e-9)
    assert two.tracks[0].run_up_time == pytest.approx(one.tracks[0].run_up_time, rel=1e-6)
    assert two.dips[0] == pytest.approx(float(one.dips[0]), rel=1e-9)


def test_the_order_in_the_list_does_not_matter() -> None:
    """The same motors listed the other way round do the same."""
    first, second = member("a", 0.3), member("b", 0.8, switch_on=0.2)
    one, other = run_group(path(0.08j), (first, second)), run_group(path(0.08j), (second, first))
    assert one.total_time == pytest.approx(other.total_time, rel=1e-6)
    assert [t.final_speed for t in one.tracks] == pytest.approx([t.final_speed for t in other.tracks[::-1]], rel=1e-9)


def test_running_motors_begin_at_rest_with_themselves() -> None:
    """Motors that run already stay where they are when nothing is switched."""
    run = run_group(path(0.08j), (member("a", 0.3, switch_on=None), member("b", 0.8, switch_on=None)))
    assert np.ptp(run.speed, axis=1) == pytest.approx(0.0, abs=1e-3)
    assert all(t.outcome is Outcome.ARRIVED and t.run_up_time is None for t in run.tracks)


def test_a_contactor_falls_out_below_its_voltage() -> None:
    """A running motor whose contactor does not hold at the dip of another's start coasts from then on."""
    weak = member("a", 0.5, switch_on=None, drop_out=0.9)
    run = run_group(path(0.2j), (weak, member("b", 0.2, switch_on=0.5)), max_time=20.0)
    assert run.tracks[0].dropped == pytest.approx(0.5)
    assert run.tracks[0].outcome is Outcome.STOPPED
    assert run.tracks[1].outcome is Outcome.ARRIVED

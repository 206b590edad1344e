"""Process loads keep the affinity laws; a repeating load closes its cycle and its books."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.load.process import (
    Centrifugal,
    Conveyor,
    against_open_valve,
    against_shut_valve,
    against_static_head,
    conveyor,
)
from slipwise.quantity.errors import DomainError
from slipwise.solve import network
from slipwise.solve.duty import Pulse, steady_cycle
from slipwise.solve.plan import Drive, Stage, settled
from tests.drives import machine, paths, quadratic, stiff
from tests.reference import from_reference, sampled

PUMP = Centrifugal(torque=500.0, speed=155.0, inertia=2.0, shut_torque=0.4, shut_head=1.25)


@from_reference("D25")
def test_no_static_head_is_the_affinity_law() -> None:
    """Without static head torque follows speed squared, 0.512 of the power at 0.8 speed."""
    free, law = against_static_head(PUMP, 0.0), against_open_valve(PUMP)
    speed = np.linspace(0, 1.2, 40) * PUMP.speed
    assert free.torque(speed) == pytest.approx(law.torque(speed), rel=2e-3, abs=0.05)
    assert float(law.torque(0.8 * PUMP.speed)) * 0.8 / PUMP.torque == pytest.approx(0.512)


@given(head=st.floats(0.05, 1.1))
def test_static_head_keeps_the_valve_shut_to_its_lift_speed(head: float) -> None:
    """Below the lift speed the torque is that of the shut pump; at rated speed it is the rated torque."""
    load = against_static_head(PUMP, head)
    lift = (head / PUMP.shut_head) ** 0.5
    below = np.array([0.3, 0.6, 0.95]) * lift * PUMP.speed
    assert load.torque(below) == pytest.approx(against_shut_valve(PUMP).torque(below), rel=0.02, abs=0.1)
    assert float(load.torque(PUMP.speed)) == pytest.approx(PUMP.torque, rel=2e-3)


def test_static_head_above_the_shut_head_is_refused() -> None:
    """A head the pump cannot reach is named."""
    with pytest.raises(DomainError, match="static_head"):
        against_static_head(PUMP, 1.4)


def test_belt_keeps_power_and_kinetic_energy() -> None:
    """At the shaft the belt takes its power over the gear efficiency and has its kinetic energy."""
    belt = Conveyor(mass=8000, belt_speed=2.0, speed=155.0, pull=20e3, lift=5e3, breakaway=1.4, drive_efficiency=0.94)
    load = conveyor(belt, breakaway_speed=8.0)
    assert float(load.running(belt.speed)) * belt.speed == pytest.approx(belt.pull * belt.belt_speed / 0.94)
    assert 0.5 * load.inertia * belt.speed**2 == pytest.approx(0.5 * belt.mass * belt.belt_speed**2)
    assert load.holding == pytest.approx(1.4 * 15e3 * 2.0 / 155 / 0.94)
    assert float(load.torque(-belt.speed)) == pytest.approx((5e3 - 15e3) * 2.0 / 155 / 0.94)


@pytest.mark.parametrize("flywheel", [0.0, 20.0, 200.0])
def test_steady_cycle_closes(flywheel: float) -> None:
    """The cycle ends at the speed it began with, its books close, and a flywheel flattens the current."""
    motor = machine("B-krause-50hp")
    drive = Drive(motor=motor, load=quadratic(motor, 0.2), supply=stiff(motor))
    pulses = (Pulse(seconds=0.4, torque=1.5 * motor.rating.torque), Pulse(seconds=1.6, torque=0.0))
    answer = steady_cycle(drive, Stage(name="run", until=settled()), pulses, flywheel)
    assert abs(answer.residual) < 1e-8
    assert abs(answer.energy.closure) < 1e-6
    mean = np.trapezoid(answer.line_current, answer.time) / answer.period
    assert answer.rms_current >= mean * 0.999
    assert answer.period == pytest.approx(2.0)


def test_flywheel_lessens_rms_current() -> None:
    """More inertia, less rms current and less speed swing under the same pulses."""
    motor = machine("B-krause-50hp")
    drive = Drive(motor=motor, load=quadratic(motor, 0.2), supply=stiff(motor))
    pulses = (Pulse(seconds=0.4, torque=1.5 * motor.rating.torque), Pulse(seconds=1.6, torque=0.0))
    run = Stage(name="run", until=settled())
    small, large = steady_cycle(drive, run, pulses, 1.0), steady_cycle(drive, run, pulses, 100.0)
    assert large.rms_current < small.rms_current
    assert large.highest_speed - large.lowest_speed < small.highest_speed - small.lowest_speed


@sampled(30)
@given(path=paths(), level=st.floats(0.95, 1.05))
def test_regulator_holds_its_busbar(path: network.SupplyPath, level: float) -> None:
    """A source raised for a busbar holds that busbar before the start."""
    held = network.held_at(path, level)
    assert network.per_unit(held, network.prestart(held))[0] == pytest.approx(level, rel=1e-9)

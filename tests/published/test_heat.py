"""Heat of a start against theorems of the run-up and the stall limit."""

from __future__ import annotations

import pytest

from slipwise.limits.heat import cage_share, equivalent_stall, locked_rotor
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.run_up import run_up
from tests import hand_made
from tests.drives import machine, stiff, unloaded
from tests.reference import from_reference

DIRECT = (Stage(name="direct", until=settled()),)


@from_reference("D07")
@pytest.mark.parametrize("key", ["B-krause-50hp", "B-krause-500hp"])
def test_an_unloaded_start_heats_the_cage_by_its_kinetic_energy(key: str) -> None:
    """Stall seconds of the cage: half J w^2 over the rotor loss at standstill, whatever the torque curve."""
    motor = machine(key)
    start = run_up(DIRECT, Drive(motor=motor, load=unloaded(motor), supply=stiff(motor)))
    kinetic = 0.5 * motor.inertia * motor.rating.synchronous_speed**2
    standstill = locked_rotor(motor)
    seconds = kinetic / standstill.rotor_loss
    assert cage_share(start, standstill, 10.0) == pytest.approx(seconds / 10.0, rel=0.005)


@from_reference("D01")
def test_a_stall_at_reduced_voltage_may_last_as_the_inverse_square() -> None:
    """Standing at 80 % voltage for 1/0.64 of the stall time uses the whole stall limit: current follows voltage."""
    motor = machine("B-krause-500hp")
    current = locked_rotor(motor).winding_current
    stall = 12.0
    standing = hand_made.run_up(seconds=stall / 0.64, winding=0.8 * current)
    assert equivalent_stall(standing, current) / stall == pytest.approx(1.0, rel=1e-9)

"""A motor's thermal network shows what it was built from."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from slipwise.model.machine.motor import Motor, StallLimit
from slipwise.model.thermal.parameters import CAGE, FRAME, IRON, WINDING, Given, class_rise, rated_losses, thermal_motor
from slipwise.quantity.errors import DomainError
from slipwise.solve.heat import Piece, heat, steady_rise
from tests.drives import machine


@pytest.fixture
def motor() -> Motor:
    return replace(machine("B-krause-50hp"), stall=StallLimit(hot=14.0))


def test_rated_load_gives_the_rated_rise(motor: Motor) -> None:
    """At rated losses and full cooling the winding settles at the stated rise."""
    built = thermal_motor(motor, Given(rise=90.0))
    losses = built.losses
    steady = steady_rise(
        built.network, {WINDING: losses.stator, CAGE: losses.rotor, IRON: losses.core, FRAME: losses.other}
    )
    assert steady[built.network.names.index(WINDING)] == pytest.approx(90.0, rel=1e-9)
    assert steady[built.network.names.index(FRAME)] == pytest.approx(0.55 * 90, rel=1e-9)


def test_hot_stall_ends_at_the_cage_limit_in_the_stated_time(motor: Motor) -> None:
    """From its running temperature the rotor reaches its limit in about the given hot stall time."""
    built = thermal_motor(motor, Given(rise=80.0))
    begin = np.array([120.0, 40 + 1.3 * 80, 100.0, 84.0])
    loss = 3 * _locked_rotor_branch_loss(motor)
    trace = heat(built.network, [Piece(seconds=14.0, losses={CAGE: loss}, cooling=0.0)], ambient=40.0, start=begin)
    assert trace.peak(CAGE) == pytest.approx(300.0, rel=0.06)


def _locked_rotor_branch_loss(motor: Motor) -> float:
    circuit = motor.circuit
    assert circuit is not None
    rotor = circuit.rotor_admittance(1.0, circuit.frequency)
    gap = motor.rating.phase_voltage / (
        1 + circuit.stator_impedance(circuit.frequency) * (rotor + circuit.magnetising_admittance(circuit.frequency))
    )
    return float(abs(gap) ** 2 * rotor.real)


def test_what_was_not_given_is_listed(motor: Motor) -> None:
    """Every figure taken from practice has a name, a range and a source; given ones are not in the list."""
    names = {e.name for e in thermal_motor(motor, Given()).estimates}
    assert "thermal.winding_rise" in names
    assert "motor.stall_time_hot" not in names
    less = {e.name for e in thermal_motor(motor, Given(rise=80.0, constant=1800.0)).estimates}
    assert not {"thermal.winding_rise", "thermal.time_constant"} & less
    for estimate in thermal_motor(motor, Given()).estimates:
        assert estimate.typical.low < estimate.typical.value < estimate.typical.high
        assert estimate.typical.source


def test_losses_add_up_to_what_the_circuit_takes(motor: Motor) -> None:
    """The sum of the losses is input less shaft output at rated slip."""
    losses = rated_losses(motor)
    assert losses.total == pytest.approx(losses.stator + losses.rotor + losses.core + losses.other)
    assert losses.rotor > 0


def test_unknown_class_is_named() -> None:
    """An insulation class that is not in the table is refused with those that are."""
    with pytest.raises(DomainError, match="F"):
        class_rise("Q", 1e4)

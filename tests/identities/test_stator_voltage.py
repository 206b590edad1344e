"""Stator-voltage control on random machines: what no slip control can escape."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.methods.speed.stator_voltage import needed_motor, require_circuit
from slipwise.methods.speed.stator_voltage_thyristors import PhaseControl
from slipwise.methods.speed.stator_voltage_transformer import VariableTransformer
from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.results.speed import DutyPoint, Part
from slipwise.solve.plan import Drive
from tests.drives import drives
from tests.reference import sampled

WAYS = (VariableTransformer, PhaseControl)


def task_of(drive: Drive, share: float, torque: float = 0.3) -> SpeedTask:
    """One demand at a share of rated speed, its torque with the square of speed."""
    rating = drive.motor.rating
    speed = share * rating.speed
    duty = DutyPoint(name="part", speed=speed, torque=torque * rating.torque * share**2, hours=1)
    return SpeedTask(drive=drive, duty=(duty,), site=Site())


@pytest.mark.parametrize("way", WAYS)
@sampled(25)
@given(drive=drives(), share=st.floats(0.3, 0.95))
def test_never_better_than_one_less_slip(way: type, drive: Drive, share: float) -> None:
    """Losses make up line less shaft power to rounding, efficiency stays below 1 - s, the demand is met."""
    task = task_of(drive, share)
    found = way.designed_for(task, {}).way.point(task, task.duty[0])
    assert found.line_power == pytest.approx(found.shaft_power + sum(row.power for row in found.losses), rel=1e-9)
    assert all(row.power >= -1e-9 * found.line_power for row in found.losses)
    assert found.efficiency <= 1 - found.slip
    if found.feasible:
        assert found.torque == pytest.approx(task.duty[0].torque, rel=1e-4)
        assert found.speed == task.duty[0].speed
        gap = found.shaft_power + found.loss(Part.ROTOR) + found.loss(Part.FRICTION) + found.loss(Part.STRAY)
        assert found.loss(Part.ROTOR) == pytest.approx(found.slip * gap, rel=0.02)


@sampled(15)
@given(drive=drives(), share=st.floats(0.4, 0.9))
def test_thyristors_cost_more_than_a_transformer_without_loss(drive: Drive, share: float) -> None:
    """For one demand harmonics can only add current and motor loss to the sinusoidal state."""
    task = task_of(drive, share)
    smooth = VariableTransformer(resistance=0.0, reactance=0.0, no_load=0.0).point(task, task.duty[0])
    cut = PhaseControl.designed_for(task, {}).way.point(task, task.duty[0])
    if not (smooth.feasible and cut.feasible):
        return
    assert cut.motor_current >= smooth.motor_current * (1 - 1e-4)
    assert cut.winding_heat >= smooth.winding_heat * (1 - 1e-4)
    assert cut.power_factor < cut.displacement_factor


@sampled(20)
@given(drive=drives(), share=st.floats(0.4, 0.9))
def test_a_motor_of_the_size_said_keeps_cool(drive: Drive, share: float) -> None:
    """Scaling every impedance down and the heat limit up by the size found brings the winding heat to 1 or less."""
    task = task_of(drive, share)
    found = needed_motor(task, require_circuit("variable_transformer", drive.motor))
    ideal = VariableTransformer(resistance=0.0, reactance=0.0, no_load=0.0)
    as_is = ideal.point(task, task.duty[0])
    assert found.oversize <= found.oversize_as_is
    if as_is.feasible:
        assert as_is.winding_heat <= found.oversize_as_is * (1 + 1e-6)
        if found.oversize_as_is > 1 and as_is.settings[0].value < 0.9:
            assert as_is.winding_heat == pytest.approx(found.oversize_as_is, rel=1e-6)

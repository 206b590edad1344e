"""A saturating motor in the steady solver: the same point as at its terminals alone, and energy kept."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.machine.saturated import saturated_point
from slipwise.model.machine.saturation import LeakageSaturation, MainSaturation
from slipwise.solve import steady
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.run_up import run_up
from tests.drives import machine, quadratic, stiff
from tests.reference import sampled

DIRECT = Stage(name="direct", until=settled())


def saturating(knee: float = 150.0, unsaturated: float = 1.4) -> Drive:
    """A 50 hp machine of the published sets with invented saturation laws."""
    motor = machine("B-krause-50hp")
    circuit = replace(
        motor.circuit,
        leakage_saturation=LeakageSaturation(knee=knee, stator_share=0.4, rotor_share=0.5),
        main_saturation=MainSaturation(rated_gap_voltage=255.0, unsaturated=unsaturated),
    )
    motor = replace(motor, circuit=circuit)
    return Drive(motor=motor, load=quadratic(motor, 0.6, 1.0), supply=stiff(motor))


@sampled(20)
@given(slip=st.floats(-0.2, 1.5), knee=st.floats(60, 400))
def test_on_a_stiff_supply_the_point_is_that_at_the_terminals(slip: float, knee: float) -> None:
    """Current and torque equal the separate solution of the motor alone at its rated voltage."""
    drive = saturating(knee)
    rating = drive.motor.rating
    assert drive.motor.circuit is not None
    alone = saturated_point(drive.motor.circuit, slip, rating.phase_voltage, 60.0, rating.synchronous_speed).point
    p = steady.solve(drive, DIRECT, (1 - slip) * rating.synchronous_speed)
    assert p.motor == pytest.approx(abs(alone.stator_current), rel=1e-7)
    assert p.electromagnetic == pytest.approx(alone.torque, rel=1e-7, abs=1e-7)


def test_reduced_voltage_gives_less_than_proportion() -> None:
    """Half the voltage gives less than half the locked-rotor current and less than a quarter of the torque."""
    drive = saturating()
    full = steady.solve(drive, DIRECT, 0.0)
    half = steady.solve(drive, replace(DIRECT, ratio=0.5), 0.0)
    assert 0.35 < half.motor / full.motor < 0.49
    assert 0.1 < half.torque / full.torque < 0.24


def test_books_close_with_saturation() -> None:
    """A whole start of a saturating motor keeps its energy to 1e-6."""
    assert abs(run_up((DIRECT,), saturating()).energy.closure) < 1e-6

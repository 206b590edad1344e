"""Reversed phases and direct current in the steady solver and the run-up: heat theorems, symmetry, balances."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.machine.direct_current import FEEDS, TORQUE, DcConnection, braking_point
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.saturation import MainSaturation
from slipwise.results.start import Outcome
from slipwise.solve import steady
from slipwise.solve.plan import DirectCurrent, Drive, Stage, elapsed, settled, speed_falls_to
from slipwise.solve.run_up import run_up
from tests.drives import machine, motors, stiff, unloaded
from tests.reference import from_reference, sampled

AHEAD = Stage(name="ahead", until=settled())
BACK = Stage(name="back", until=settled(), reversed=True)


@sampled(30)
@given(motor=motors(branches=2), speed=st.floats(-1.2, 1.2))
def test_swapped_phases_mirror_the_motor(motor: Motor, speed: float) -> None:
    """With two phases swapped the torque at minus the speed is minus the torque, everything else the same."""
    drive = Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))
    w = speed * motor.rating.synchronous_speed
    a, b = steady.solve(drive, AHEAD, w), steady.solve(drive, BACK, -w)
    assert b.torque == pytest.approx(-a.torque, rel=1e-12)
    assert (b.line, b.power, b.rotor_loss) == pytest.approx((a.line, a.power, a.rotor_loss), rel=1e-12)


@from_reference("D08")
@sampled(6)
@given(motor=motors(core=False))
def test_plugging_to_rest_heats_three_times(motor: Motor) -> None:
    """Plugged from full speed to rest the rotor takes three kinetic energies, quasi-steady and without load."""
    drive = Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))
    sync = motor.rating.synchronous_speed
    stage = replace(BACK, until=speed_falls_to(0.0))
    answer = run_up((stage, Stage(name="off", connected=False, until=elapsed(0.01))), drive, speed=sync)
    assert answer.stages[0].end_speed == pytest.approx(0.0, abs=1e-6 * sync)
    assert answer.rotor_heat == pytest.approx(3 * 0.5 * motor.inertia * sync**2, rel=0.005)
    assert abs(answer.energy.closure) < 1e-6


@from_reference("D09")
@pytest.mark.parametrize("connection", list(DcConnection))
def test_dc_stop_heats_the_rotor_by_the_kinetic_energy(connection: DcConnection) -> None:
    """Stopped by direct current, however connected, the rotor takes the kinetic energy and no more."""
    motor = machine("B-krause-50hp")
    drive = Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))
    feed = FEEDS[connection]
    dc = DirectCurrent(current=120.0, share=feed.share, resistance=feed.windings * 0.087)
    sync = motor.rating.synchronous_speed
    answer = run_up((Stage(name="dc", dc=dc, until=speed_falls_to(0.001 * sync)),), drive, speed=sync)
    assert answer.rotor_heat == pytest.approx(0.5 * motor.inertia * sync**2, rel=0.005)
    assert answer.stator_heat == pytest.approx(dc.resistance * dc.current**2 * answer.time[-1], rel=1e-6)
    assert abs(answer.energy.closure) < 1e-6


@sampled(40)
@given(motor=motors(core=False), share=st.floats(0.001, 1.2), current=st.floats(10, 1000))
def test_braking_torque_of_one_cage_is_the_textbook_formula(motor: Motor, share: float, current: float) -> None:
    """The general braking point reduces to the closed form of one branch."""
    circuit = motor.circuit
    assert circuit is not None
    branch, sync = circuit.rotor[0], motor.rating.synchronous_speed
    expected = TORQUE.evaluate(I_e=current, X_m=circuit.Xm, R2=branch.R, S=share, X2=branch.X, omega_s=sync)
    assert braking_point(circuit, current, share).torque_power / sync == pytest.approx(expected.real, rel=1e-9)


def test_equal_ampere_turns_by_any_connection() -> None:
    """The share of each connection is the space vector of its three currents, as rms."""
    a = np.exp(2j * np.pi / 3)
    currents = {
        DcConnection.STAR_TWO: (1, -1, 0),
        DcConnection.STAR_THREE: (1, -0.5, -0.5),
        DcConnection.DELTA_TWO: (1, -1, 0),
        DcConnection.DELTA_THREE: (1, -0.5, -0.5),
    }
    for connection, (i1, i2, i3) in currents.items():
        vector = 2 / 3 * abs(i1 + a * i2 + a**2 * i3) / np.sqrt(2)
        assert FEEDS[connection].share == pytest.approx(vector, rel=1e-12)


@sampled(20)
@given(current=st.floats(5, 2000), exponent=st.floats(1, 12))
def test_saturated_braking_point_holds_its_own_law(current: float, exponent: float) -> None:
    """With saturation the flux found agrees with the law, and grows less than in proportion."""
    circuit = machine("B-krause-50hp").circuit
    assert circuit is not None
    law = MainSaturation(rated_gap_voltage=255.0, unsaturated=1.4, exponent=exponent)
    speeds = np.linspace(0.0, 1.0, 21)
    at = braking_point(replace(circuit, main_saturation=law), current, speeds)
    rotor = circuit.rotor_admittance(speeds, circuit.frequency)
    flux = np.where(speeds > 0, np.sqrt(at.torque_power / 3 / np.where(speeds > 0, rotor.real, 1.0)), 0.0)
    held = flux * abs(rotor + law.susceptance_factor(flux) / (1j * circuit.Xm))
    assert held[1:] == pytest.approx(current, rel=1e-8)


def test_a_motor_known_by_curves_cannot_be_braked_by_dc() -> None:
    """Without a circuit there is no braking point, and the message says so."""
    motor = replace(machine("B-krause-50hp"), circuit=None, curves=())
    drive = Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))
    dc = DirectCurrent(current=1.0, share=0.8, resistance=1.0)
    with pytest.raises(ValueError, match="circuit"):
        steady.solve(drive, Stage(name="dc", dc=dc, until=settled()), 10.0)


def test_plugged_motor_turns_round_when_left_on() -> None:
    """Left connected, a plugged motor runs up the other way."""
    motor = machine("B-krause-50hp")
    drive = Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))
    answer = run_up((BACK,), drive, speed=motor.rating.synchronous_speed)
    assert answer.final_speed == pytest.approx(-motor.rating.synchronous_speed, rel=1e-3)
    assert answer.outcome is not Outcome.NEVER_MOVED

"""Stator-voltage control against a worked example and the algebra of a fan load."""

from __future__ import annotations

from math import hypot, pi, sqrt

import pytest

from slipwise.methods.speed import duty_load
from slipwise.methods.speed.stator_voltage import settles_at
from slipwise.methods.speed.stator_voltage_transformer import VariableTransformer
from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import Motor, Rating
from slipwise.results.speed import DutyPoint
from slipwise.solve.plan import Drive
from tests.drives import stiff
from tests.reference import compare, from_reference, reference


def line_current(current: float, factor: float, voltage: float) -> float:
    """With the magnetising current of 80/3 ohm across the terminals added; voltage is that of the motor's line. [A]"""
    magnetising = voltage / sqrt(3) / (80 / 3)
    return hypot(current * factor, current * sqrt(1 - factor**2) + magnetising)


IDEAL = VariableTransformer(resistance=0.0, reactance=0.0, no_load=0.0)
RPM = pi / 30


def fan(speed: float, torque: float) -> Load:
    """Torque with the square of speed through one point."""
    return Load(terms=(PowerTerm(coefficient=torque, exponent=2),), base_speed=speed, inertia=0.1)


def task_of(motor: Motor, torque: float) -> SpeedTask:
    """A fan that asks `torque` at rated speed, fed by a stiff source."""
    duty = DutyPoint(name="full", speed=motor.rating.speed, torque=torque, hours=1)
    drive = Drive(motor=motor, load=fan(motor.rating.speed, torque), supply=stiff(motor))
    return SpeedTask(drive=drive, duty=(duty,), site=Site())


def dubey() -> tuple[SpeedTask, float]:
    """The delta motor of the example as its star equivalent, and its fan through the rated point.

    The print puts the magnetising reactance across the terminals, where it changes no torque: `line_current` adds it.
    """
    given = reference("A28-dubey-stator-voltage-fan")["inputs"]
    third = {key: given[f"{key}_ohm_per_phase"] / 3 for key in ("R1", "X1", "Xm", "R2", "X2")}
    circuit = Circuit(
        frequency=50.0,
        R1=third["R1"],
        X1=third["X1"],
        Xm=1e9,
        rotor=(RotorBranch(R=third["R2"], X=third["X2"]),),
    )
    speed = given["rated_speed_rpm"] * RPM
    rating = Rating(power=2800.0, voltage=400.0, frequency=50.0, poles=4, speed=speed, current=6.0, connection="delta")
    motor = Motor(rating=rating, inertia=0.02, circuit=circuit)
    torque = float(IDEAL.fed(task_of(motor, 1.0), speed, 1.0).torque)
    return task_of(motor, torque), torque


@from_reference("A28-dubey-stator-voltage-fan")
def test_voltage_for_a_speed() -> None:
    """The fan at 1200 r/min: torque, voltage and line current of the print."""
    task, rated = dubey()
    speed = 1200 * RPM
    torque = rated * (1200 / 1370) ** 2
    found = IDEAL.point(task, DutyPoint(name="i", speed=speed, torque=torque, hours=1))
    voltage = 400 * float(found.settings[0].value or 0)
    computed = {
        "case_i_torque_Nm": found.torque,
        "case_i_voltage_V": voltage,
        "case_i_line_current_A": line_current(found.motor_current, found.displacement_factor, voltage),
    }
    compare("A28-dubey-stator-voltage-fan", computed)


@from_reference("A28-dubey-stator-voltage-fan")
def test_speed_at_a_voltage() -> None:
    """The fan at 300 V: torque, speed and line current of the print."""
    task, _ = dubey()
    law = duty_load.through(task.drive.load, task.duty[0])
    speed = settles_at(lambda w: IDEAL.fed(task, w, 0.75 + 0.0 * w).torque, law, task.drive.motor)
    found = IDEAL.point(task, DutyPoint(name="ii", speed=speed, torque=float(law(speed)), hours=1))
    computed = {
        "case_ii_torque_Nm": found.torque,
        "case_ii_speed_rpm": speed / RPM,
        "case_ii_line_current_A": line_current(found.motor_current, found.displacement_factor, 300.0),
    }
    compare("A28-dubey-stator-voltage-fan", computed)


@from_reference("D19")
@pytest.mark.parametrize(("slip", "ratio"), [(0.03, 2.291), (0.10, 1.352)])
def test_fan_load_is_worst_at_a_slip_of_one_third(slip: float, ratio: float) -> None:
    """Without magnetising current the rotor current peaks at s = 1/3, at (2 / 3 sqrt 3) / ((1 - s) sqrt s) of rated."""
    circuit = Circuit(frequency=50.0, R1=0.01, X1=0.05, Xm=1e7, rotor=(RotorBranch(R=0.03, X=0.05),))
    synchronous = 50 * pi
    rating = Rating(
        power=1.0,
        voltage=400.0,
        frequency=50.0,
        poles=4,
        speed=synchronous * (1 - slip),
        current=100.0,
        connection="star",
    )
    motor = Motor(rating=rating, inertia=1.0, circuit=circuit)
    torque = float(IDEAL.fed(task_of(motor, 1.0), rating.speed, 1.0).torque)
    found = IDEAL.heating(task_of(motor, torque))
    assert found.worst_current_speed == pytest.approx(synchronous * 2 / 3, rel=0.02)
    assert found.rotor_current.max() / found.rotor_current[-1] == pytest.approx(ratio, rel=0.002)
    assert ratio == pytest.approx(2 / (3 * sqrt(3)) / ((1 - slip) * sqrt(slip)), rel=0.002)

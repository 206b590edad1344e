"""Published examples of plugging, by the way of stopping and the solvers a study uses."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import pytest

from slipwise.limits.thresholds import Threshold
from slipwise.methods.stopping.plugging import WITHIN, Plugging
from slipwise.methods.stopping.way import StopTask
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import Motor, Rating
from slipwise.results.start import RunUp
from slipwise.solve.plan import Drive, Stage, elapsed, settled, speed_falls_to
from slipwise.solve.run_up import run_up
from slipwise.solve.steady import solve
from tests.behaviour.ways_drives import constant, open_limits
from tests.drives import stiff, unloaded
from tests.reference import compare, from_reference, reference

RPM = pi / 30
NO_MAGNETISING = 1e6  # ohm, where an example leaves the branch out


def of_example(key: str, speed: float, inertia: float, ratio: float | None = None) -> Drive:
    """The star-connected machine of an example on a stiff supply, without load. speed: rated, rad/s."""
    d = reference(key)["inputs"]
    circuit = Circuit(
        frequency=d["frequency_Hz"],
        R1=d["R1_ohm"],
        X1=d["X1_ohm"],
        Xm=NO_MAGNETISING,
        rotor=(RotorBranch(R=d["R2_ohm"], X=d["X2_ohm"]),),
    )
    rating = Rating(
        power=1e3, voltage=d["line_voltage_V"], frequency=d["frequency_Hz"], poles=d["poles"], speed=speed, current=1.0,
        connection="star",
    )  # fmt: skip
    motor = Motor(rating=rating, inertia=inertia, circuit=circuit, wound_ratio=ratio)
    at = solve(Drive(motor=motor, load=unloaded(motor), supply=stiff(motor)), Stage(name="on", until=settled()), speed)
    rating = replace(rating, current=float(at.line), power=float(at.torque * speed))
    motor = replace(motor, rating=rating)
    return Drive(motor=motor, load=unloaded(motor), supply=stiff(motor))


@from_reference("A20-dubey-plugging")
def test_plugging_of_a_wound_rotor():
    """Current and torque at the first moment, without a resistor and with the one designed for 1.5 times rated."""
    d = reference("A20-dubey-plugging")["inputs"]
    drive = of_example("A20-dubey-plugging", d["speed_rpm"] * RPM, 1.0, d["stator_to_rotor_turns"])
    rated = solve(drive, Stage(name="on", until=settled()), d["speed_rpm"] * RPM)
    drive = replace(drive, load=constant(float(rated.torque), d["speed_rpm"] * RPM, 0.0))  # it runs at that speed
    bare = Plugging(pause=0.05, switch_speed=1.0, resistance=0.0, rotor_resistance=0.0)
    at_once = solve(drive, bare.swapped(drive), d["speed_rpm"] * RPM)
    allowed = d["current_limit_over_rated"] * float(rated.line) / WITHIN  # the design leaves a little in hand
    limits = replace(open_limits(), line_current=Threshold(value=allowed, unit="A", source="given by user"))
    way = Plugging.designed_for(StopTask(nominal=drive, worst=drive, limits=limits), {}).way
    held = solve(drive, way.swapped(drive), d["speed_rpm"] * RPM)
    compare(
        "A20-dubey-plugging",
        {
            "plug_current_over_rated": float(at_once.line / rated.line),
            "plug_torque_over_rated": -float(at_once.torque / rated.torque),
            "with_resistor_torque_over_rated": -float(held.torque / rated.torque),
        },
    )
    compare("A20-dubey-plugging", {"rotor_resistor_actual_ohm": way.rotor_resistance}, into="recomputed")


def plugged(drive: Drive, external: float = 0.0) -> RunUp:
    """From synchronous speed to rest with swapped phases, at once."""
    stage = Stage(name="countercurrent", until=speed_falls_to(0.0), reversed=True, rotor_external=external)
    off = Stage(name="off", connected=False, until=elapsed(0.01))
    return run_up((stage, off), drive, speed=drive.motor.rating.synchronous_speed)


@from_reference("A21-dubey-accel-energy")
def test_energy_of_starting_and_plugging_an_inertia():
    """Heat of motor and stator in a start and in plugging to rest; time and heat with the resistor of least time.

    The printed times without resistor rest on the torque formula with R1 = 0 and are 6 % off the circuit's; the heat with
    the resistor keeps the stator heat of the stop without it, as the text does.
    """
    key = "A21-dubey-accel-energy"
    d = reference(key)["inputs"]
    drive = of_example(key, 99.0 * pi / 3, d["total_inertia_kgm2"])
    start = run_up((Stage(name="direct", until=settled()),), drive)
    bare, best = plugged(drive), plugged(drive, reference(key)["expected"]["external_resistor_for_min_time_ohm"])
    compare(
        key,
        {
            "start_energy_kJ": (start.rotor_heat + start.stator_heat) / 1e3,
            "plug_energy_kJ": (bare.rotor_heat + bare.stator_heat) / 1e3,
            "min_plug_stop_time_s": best.stages[0].end,
            "motor_energy_with_resistor_kJ": (best.rotor_heat + bare.stator_heat) / 1e3,
        },
    )


@from_reference("D08")
def test_reversal_heats_four_times():
    """Plugging whose zero-speed switch does not open: the rotor takes four kinetic energies by the time it runs back."""
    drive = of_example("A21-dubey-accel-energy", 99.0 * pi / 3, 100.0)
    way = Plugging(pause=0.05, switch_speed=1.0, resistance=0.0, rotor_resistance=0.0)
    _, plan = way.failed(drive)
    sync = drive.motor.rating.synchronous_speed
    run = run_up(plan, drive, speed=sync)
    assert run.final_speed == pytest.approx(-sync, rel=1e-3)
    assert run.rotor_heat == pytest.approx(4 * 0.5 * drive.inertia * sync**2, rel=0.005)
    assert sqrt(abs(run.energy.closure)) < 1e-4

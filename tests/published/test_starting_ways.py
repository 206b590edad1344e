"""Starting ways against published examples: the stages each way builds, solved on the steady characteristics."""

from __future__ import annotations

from dataclasses import replace
from math import log, pi, sqrt
from typing import Any

import numpy as np
import pytest

from slipwise.methods import survey
from slipwise.methods.starting.autotransformer import TAPS, Autotransformer, tapped
from slipwise.methods.starting.grading import graded, resistance_for_least_time, rotor_ohms, with_bank
from slipwise.methods.starting.inverter import Inverter
from slipwise.methods.starting.part_winding import PartWinding
from slipwise.methods.starting.rotor_resistor import RotorResistor
from slipwise.methods.starting.series_reactor import ELEMENT as REACTOR
from slipwise.methods.starting.series_reactor import SeriesReactor
from slipwise.methods.starting.series_resistor import ELEMENT as RESISTOR
from slipwise.methods.starting.series_resistor import SeriesResistor
from slipwise.methods.starting.soft_starter import SoftStarter
from slipwise.methods.starting.star_delta import StarDelta
from slipwise.methods.starting.strength import Ladder, strongest_allowed
from slipwise.methods.way import Task
from slipwise.model.load.load import Load
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import CurvePoint, Motor, Rating
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.solve.plan import Drive, Stage
from slipwise.solve.run_up import run_up
from tests.behaviour.ways_drives import large, open_limits, pump, task, wound
from tests.reference import compare, from_reference, reference

NO_MAGNETISING = 1e12  # ohm: the examples leave the magnetising branch out


def stiff(voltage: float, frequency: float) -> SupplyPath:
    """Terminals that keep their voltage."""
    end = Link(name="bus", kind="network", impedance=0j, busbar=Busbar(name="bus", nominal=voltage))
    return SupplyPath(voltage=voltage, frequency=frequency, links=(end,))


def drive_of(
    circuit: Circuit, *, voltage: float, poles: int, connection: str, slip: float = 0.03, current: float = 1.0
) -> Drive:
    """An unloaded drive with a circuit in star equivalents, on stiff terminals."""
    sync = 4 * pi * circuit.frequency / poles
    rating = Rating(
        power=1e4,
        voltage=voltage,
        frequency=circuit.frequency,
        poles=poles,
        speed=sync * (1 - slip),
        current=current,
        connection=connection,
    )
    load = Load(terms=(), base_speed=sync, inertia=1.0)
    return Drive(
        motor=Motor(rating=rating, inertia=1.0, circuit=circuit), load=load, supply=stiff(voltage, circuit.frequency)
    )


def at(stage: Stage, drive: Drive, slip: float = 1.0) -> dict[str, float]:
    """Torque and currents of a stage at a slip."""
    speed = np.array([drive.motor.rating.synchronous_speed * (1 - slip)])
    found = survey.curves(stage, drive, speed)
    return {
        "torque": float(found.torque[0]),
        "line": float(found.line_current[0]),
        "motor": float(found.motor_current[0]),
        "winding": float(found.winding_current[0]),
    }


def dubey() -> tuple[Drive, dict[str, float]]:
    """The delta motor of the example, per-phase values divided by 3, and its rated torque and line current."""
    given: dict[str, Any] = reference("A10-dubey-starters")["inputs"]
    circuit = Circuit(
        frequency=given["frequency_Hz"],
        R1=given["R1_ohm_per_phase"] / 3,
        X1=given["X1_ohm_per_phase"] / 3,
        Xm=NO_MAGNETISING,
        rotor=(RotorBranch(R=given["R2_ohm_per_phase"] / 3, X=given["X2_ohm_per_phase"] / 3),),
    )
    drive = drive_of(circuit, voltage=given["line_voltage_V"], poles=given["poles"], connection="delta")
    slip = 1 - given["rated_speed_rpm"] * pi / 30 / drive.motor.rating.synchronous_speed
    rated = at(survey.RUNNING, drive, slip)
    rating = replace(drive.motor.rating, current=rated["line"], speed=drive.motor.rating.synchronous_speed * (1 - slip))
    return replace(drive, motor=replace(drive.motor, rating=rating)), rated


def star_stage(drive: Drive, wiring: str = "lagging") -> Stage:
    """The first stage of a star-delta start."""
    way = StarDelta(
        changeover_speed=1.0, pause=0.05, transition="open", changeover_wiring=wiring, transition_resistance=1.0
    )
    return way.stages(drive)[0]


@from_reference("A10-dubey-starters")
def test_star_of_a_delta_motor_starts_with_the_printed_current_and_torque():
    """Line current 1251 A, 17.3 % of rated torque at standstill and 83 % at the peak."""
    drive, rated = dubey()
    start = at(star_stage(drive), drive)
    peak = float(np.max(survey.curves(star_stage(drive), drive, survey.grid(drive, 4001)).torque))
    compare(
        "A10-dubey-starters",
        {
            "star_start_line_current_A": start["line"],
            "star_start_torque_over_rated": start["torque"] / rated["torque"],
            "star_max_torque_over_rated": peak / rated["torque"],
        },
    )


@from_reference("A10-dubey-starters")
def test_tap_under_an_agreed_current_is_the_printed_one():
    """Twice rated line current allows a tap of 0.627, which then starts with 7041 N m."""
    drive, rated = dubey()
    agreed = 2 * rated["line"]
    ladder = Ladder(stage=lambda tap, on: tapped(tap, 0.0, on), steps=None, low=0.2, high=1.0)
    job = Task(nominal=drive, worst=drive, limits=open_limits(line_current=agreed))
    tap = strongest_allowed(ladder, job)
    assert tap is not None
    torque = at(tapped(tap, 0.0, drive), drive)["torque"]
    compare("A10-dubey-starters", {"autotransformer_ratio": tap, "autotransformer_start_torque_Nm": torque})


@from_reference("A10-dubey-starters")
def test_half_a_winding_takes_the_printed_current():
    """2590 A and 8539 N m at standstill with R1 and X1 doubled."""
    drive, _ = dubey()
    half = at(PartWinding(share=0.5, hold=1.0).stages(drive)[0], drive)
    compare(
        "A10-dubey-starters",
        {"part_winding_line_current_A": half["line"], "part_winding_start_torque_Nm": half["torque"]},
    )


@from_reference("A10-dubey-starters")
def test_reactor_for_an_agreed_current_is_the_printed_one():
    """Twice rated line current asks for 0.527 ohm in each line of the delta motor."""
    drive, rated = dubey()
    limits = open_limits(line_current=2 * rated["line"], torque_margin=0.0)
    found = SeriesReactor.designed_for(Task(nominal=drive, worst=drive, limits=limits), {})
    compare("A10-dubey-starters", {"series_reactor_ohm_per_line": found.way.ohms})
    assert "line current" in found.words


@from_reference("A13-hubert-primary-resistor")
def test_resistor_for_an_agreed_current_is_the_printed_one():
    """234 A asks for 0.409 ohm in each line, which leaves 63.9 V on each phase."""
    given = reference("A13-hubert-primary-resistor")["inputs"]
    locked_r, locked_x, agreed = given["locked_rotor_R_ohm"], given["locked_rotor_X_ohm"], given["current_limit_A"]
    circuit = Circuit(
        frequency=60.0,
        R1=locked_r / 2,
        X1=locked_x / 2,
        Xm=NO_MAGNETISING,
        rotor=(RotorBranch(R=locked_r / 2, X=locked_x / 2),),
    )
    voltage = given["branch_voltage_V"] * sqrt(3)
    drive = drive_of(circuit, voltage=voltage, poles=4, connection="star", current=agreed / 3)
    limits = open_limits(line_current=agreed, torque_margin=0.0)
    ohms = SeriesResistor.designed_for(Task(nominal=drive, worst=drive, limits=limits), {}).way.ohms
    current = at(RESISTOR.stage(ohms), drive)["line"]
    compare(
        "A13-hubert-primary-resistor",
        {"series_resistor_ohm": ohms, "motor_phase_voltage_V": current * abs(complex(locked_r, locked_x))},
    )


@from_reference("A22-nagrath-mintime")
def test_rotor_resistance_for_the_shortest_run_up():
    """0.591 ohm in all brings 11 kg m2 to 96 % speed in 2.66 s, sooner than any other fixed resistance."""
    given = reference("A22-nagrath-mintime")["inputs"]
    own = 0.05
    circuit = Circuit(
        frequency=50.0,
        R1=given["R1_ohm"],
        X1=given["total_reactance_ohm"] / 2,
        Xm=NO_MAGNETISING,
        rotor=(RotorBranch(R=own, X=given["total_reactance_ohm"] / 2),),
    )
    drive = drive_of(circuit, voltage=given["line_voltage_V"], poles=6, connection="star")
    motor = replace(drive.motor, wound_ratio=1.0, inertia=given["inertia_kgm2"])
    drive = replace(drive, motor=motor, load=replace(drive.load, inertia=0.0))
    end = given["final_speed_pu"] * motor.rating.synchronous_speed
    bank, seconds = resistance_for_least_time(drive, end)
    compare("A22-nagrath-mintime", {"rotor_resistance_ohm": own + bank, "start_time_s": seconds})


@from_reference("A35-theraja-rotor-stages")
def test_sections_of_a_rotor_starter():
    """Five sections in geometric progression, with 1 ohm in all on the first stud."""
    given = reference("A35-theraja-rotor-stages")["inputs"]
    own = given["rotor_resistance_ohm"]
    found = graded(own, own / given["full_load_slip_pu"] - own, given["studs"] - 1)
    expected = reference("A35-theraja-rotor-stages")["expected"]["section_resistances_ohm"]
    assert found.sections() == pytest.approx(expected, rel=0.003)


@from_reference("A11-theraja-stardelta-auto")
def test_starting_torque_from_the_short_circuit_current():
    """Six times rated current at 4 % rated slip gives 48 % in star and 72 % on a 70.7 % tap."""
    given = reference("A11-theraja-stardelta-auto")["inputs"]
    ratio, slip = given["short_circuit_current_over_rated"], given["full_load_slip_percent"] / 100
    reactance = sqrt((1 / slip**2 - ratio**2) / (ratio**2 - 1))  # per ohm of R2, so that I(1) = ratio x I(slip)
    circuit = Circuit(frequency=50.0, R1=0.0, X1=0.0, Xm=NO_MAGNETISING, rotor=(RotorBranch(R=1.0, X=reactance),))
    drive = drive_of(circuit, voltage=400.0, poles=4, connection="delta")
    full = at(survey.RUNNING, drive, slip)["torque"]
    tap = tapped(given["autotransformer_tap_percent"] / 100, 0.0, drive)
    compare(
        "A11-theraja-stardelta-auto",
        {
            "star_delta_torque_percent": 100 * at(star_stage(drive), drive)["torque"] / full,
            "autotransformer_torque_percent": 100 * at(tap, drive)["torque"] / full,
        },
    )


@from_reference("A12-hubert-auto65")
def test_a_65_percent_tap_on_a_motor_known_by_its_plate():
    """Torque falls to 412 N m, motor current to 683 A and line current to 444 A."""
    given = reference("A12-hubert-auto65")["inputs"]
    horsepower, speed = given["rated_power_hp"], given["rated_speed_rpm"] * pi / 30
    torque = given["locked_rotor_torque_pu"] * horsepower * 745.7 / speed
    apparent = (given["code_letter_low_kVA_per_hp"] + given["code_letter_high_kVA_per_hp"]) / 2 * 1e3 * horsepower
    inrush = apparent / sqrt(3) / given["line_voltage_V"]
    points = (
        CurvePoint(speed=0.0, torque=torque, current=inrush, power_factor=0.3),
        CurvePoint(speed=1.0, torque=0.0, current=0.3 * inrush, power_factor=0.1),
    )
    drive = drive_of(
        Circuit(frequency=60.0, R1=1, X1=1, Xm=1, rotor=(RotorBranch(R=1, X=1),)),
        voltage=given["line_voltage_V"],
        poles=6,
        connection="star",
    )
    drive = replace(drive, motor=replace(drive.motor, circuit=None, curves=points))
    found = at(tapped(given["tap_pu"], 0.0, drive), drive)
    compare(
        "A12-hubert-auto65",
        {
            "locked_rotor_torque_Nm": torque,
            "inrush_current_A": inrush,
            "reduced_torque_Nm": found["torque"],
            "motor_current_at_tap_A": found["motor"],
            "line_current_at_tap_A": found["line"],
        },
    )


@from_reference("A40-srivastava-star-delta-auto")
def test_one_winding_in_star_in_delta_and_at_half_voltage():
    """98.8 A and 37.3 N m in star, three times both in delta, 49.4 A and 9.32 N m at half voltage in star."""
    given = reference("A40-srivastava-star-delta-auto")["inputs"]
    phase = Circuit(
        frequency=given["frequency_Hz"],
        R1=given["R1_ohm"],
        X1=given["X1_ohm"],
        Xm=NO_MAGNETISING,
        rotor=(RotorBranch(R=given["R2_ohm"], X=given["X2_ohm"]),),
    )
    third = replace(
        phase, R1=phase.R1 / 3, X1=phase.X1 / 3, rotor=(RotorBranch(R=phase.rotor[0].R / 3, X=phase.rotor[0].X / 3),)
    )
    shape: dict[str, Any] = {"voltage": given["line_voltage_V"], "poles": given["poles"]}
    delta = drive_of(third, connection="delta", **shape)
    star = drive_of(phase, connection="star", **shape)
    in_star, in_delta = at(star_stage(delta), delta), at(survey.RUNNING, delta)
    half = at(tapped(given["reduced_voltage_pu"], 0.0, star), star)
    assert in_star["winding"] == pytest.approx(in_star["line"], rel=1e-12)
    assert in_delta["winding"] == pytest.approx(in_delta["line"] / sqrt(3), rel=1e-12)
    compare(
        "A40-srivastava-star-delta-auto",
        {
            "star_line_current_A": in_star["line"],
            "star_start_torque_Nm": in_star["torque"],
            "delta_line_current_A": in_delta["line"],
            "delta_start_torque_Nm": in_delta["torque"],
            "half_voltage_star_motor_current_A": half["motor"],
            "half_voltage_star_torque_Nm": half["torque"],
        },
    )


def loaded() -> Drive:
    """The pump's motor on stiff terminals, without friction: the identities hold for air-gap torque."""
    drive = pump()
    return replace(
        drive,
        motor=replace(drive.motor, mechanical_loss=replace(drive.motor.mechanical_loss, torque=0.0)),
        supply=stiff(400.0, 50.0),
    )


@from_reference("D10")
@pytest.mark.parametrize("slip", [1.0, 0.4, 0.02])
@pytest.mark.parametrize("wiring", ["lagging", "leading"])
def test_star_is_a_third_of_delta_at_every_slip(slip: float, wiring: str):
    """Line current and torque one third, winding current 1/sqrt 3, whichever way the changeover is wired."""
    star, delta = at(star_stage(loaded(), wiring), loaded(), slip), at(survey.RUNNING, loaded(), slip)
    assert star["line"] == pytest.approx(delta["line"] / 3, rel=1e-9)
    assert star["torque"] == pytest.approx(delta["torque"] / 3, rel=1e-9)
    assert star["winding"] == pytest.approx(delta["winding"] / sqrt(3), rel=1e-9)


@from_reference("D11")
@pytest.mark.parametrize("tap", [0.5, 0.65, 0.8])
@pytest.mark.parametrize("slip", [1.0, 0.1])
def test_tap_scales_motor_current_by_k_line_current_and_torque_by_its_square(tap: float, slip: float):
    """Motor current k, line current and torque k squared, at every slip, for an autotransformer without leakage."""
    on_tap, direct = at(tapped(tap, 0.0, loaded()), loaded(), slip), at(survey.RUNNING, loaded(), slip)
    assert on_tap["motor"] == pytest.approx(tap * direct["motor"], rel=1e-9)
    assert on_tap["line"] == pytest.approx(tap**2 * direct["line"], rel=1e-9)
    assert on_tap["torque"] == pytest.approx(tap**2 * direct["torque"], rel=1e-9)


@from_reference("E02")
def test_star_delta_changeover_is_designed_late():
    """A light pump load changes over above 85 % of synchronous speed, with a pause of 30 to 100 ms."""
    way = StarDelta.designed_for(task(pump()), {}).way
    assert 0.85 < way.changeover_speed / pump().motor.rating.synchronous_speed < 1.0
    assert 0.03 <= way.pause <= 0.1


@from_reference("E03")
def test_autotransformer_is_designed_on_a_usual_tap():
    """50, 65 or 80 %."""
    assert Autotransformer.designed_for(task(pump()), {}).way.tap in TAPS == (0.5, 0.65, 0.8)


@from_reference("D12")
@pytest.mark.parametrize("element", [REACTOR, RESISTOR], ids=["reactor", "resistor"])
def test_series_element_scales_current_by_k_and_torque_by_its_square(element: Any):
    """k is the motor's share of the voltage at standstill; an autotransformer gives more torque for the line ampere."""
    drive = loaded()
    direct, reduced = at(survey.RUNNING, drive), at(element.stage(0.3), drive)
    k = reduced["line"] / direct["line"]
    assert 0.3 < k < 0.9
    assert reduced["torque"] == pytest.approx(k**2 * direct["torque"], rel=1e-9)
    same_line = at(tapped(sqrt(k), 0.0, drive), drive)
    assert same_line["line"] == pytest.approx(reduced["line"], rel=1e-9)
    assert same_line["torque"] == pytest.approx(reduced["torque"] / k, rel=1e-9)


@from_reference("D23")
def test_torque_swings_between_the_same_two_values_on_every_step():
    """Each step begins at T1 and ends at T2; without reactance the grading is T2/T1 and n = ln s1 / ln(T2/T1)."""
    resistive = Circuit(frequency=50.0, R1=0.0, X1=1e-9, Xm=NO_MAGNETISING, rotor=(RotorBranch(R=0.02, X=1e-9),))
    for drive, linear in ((slip_ring(resistive), True), (slip_ring(wound().motor.circuit), False)):
        sync, steps = drive.motor.rating.synchronous_speed, 5
        own = rotor_ohms(drive.motor.circuit.rotor[0].R, drive.motor.wound_ratio)
        found = graded(own, 20 * own, steps)
        edges = [0.0, *(sync * (1 - found.closing_slip(k)) for k in range(steps))]
        swings = [
            survey.curves(with_bank(drive, found.left(k)), drive, np.array(edges[k : k + 2])).torque
            for k in range(steps)
        ]
        upper, lower = swings[0]
        assert np.array(swings) == pytest.approx(np.array([[upper, lower]] * steps), rel=1e-6)
        if linear:
            first_slip = own / (own + 20 * own)
            assert found.grading == pytest.approx(lower / upper, rel=1e-6)
            assert steps == pytest.approx(log(first_slip) / log(lower / upper), rel=1e-6)


def slip_ring(circuit: Any) -> Drive:
    """A slip-ring motor without friction on stiff terminals."""
    drive = drive_of(circuit, voltage=400.0, poles=6, connection="star")
    return replace(drive, motor=replace(drive.motor, wound_ratio=0.8))


@from_reference("E04")
def test_soft_starter_is_designed_in_the_usual_range():
    """A high-inertia fan needs three to four times rated current; the pump starts on 30 to 50 % voltage."""
    fan, water = SoftStarter.designed_for(task(large()), {}).way, SoftStarter.designed_for(task(pump()), {}).way
    assert 3.0 <= fan.current_limit <= 4.0
    assert 0.3 <= water.start_voltage <= 0.5
    assert 5.0 <= fan.ramp_time <= 15.0


@from_reference("E05")
def test_rotor_starter_is_designed_in_the_usual_range():
    """Three to six steps, current not above twice rated."""
    way = RotorResistor.designed_for(task(wound()), {}).way
    run = run_up(way.stages(wound()), wound())
    assert 3 <= way.steps <= 6
    assert 1.2 < float(np.max(run.line_current)) / wound().motor.rating.current <= 2.01


@from_reference("E06")
@pytest.mark.parametrize("make", [pump, large, wound])
def test_inverter_is_designed_in_the_usual_range(make: Any):
    """Motor current 1.0 to 1.5 times rated, line current below rated."""
    drive = make()
    run = run_up(Inverter.designed_for(task(drive), {}).way.stages(drive), drive)
    assert 1.0 <= float(np.max(run.motor_current)) / drive.motor.rating.current <= 1.5
    assert float(np.max(run.line_current)) < drive.motor.rating.current

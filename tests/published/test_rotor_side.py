"""Printed values of rotor resistance, rotor chopper and slip-energy recovery."""

from __future__ import annotations

from math import cos, degrees, pi, radians, sqrt

import numpy as np
import pytest

from slipwise.methods.speed.rotor_resistance import RotorResistance
from slipwise.methods.speed.rotor_side import rings
from slipwise.model.converter.recovery import (
    average_link_current,
    firing_angle,
    inverter_voltage_for,
    link_torque,
    no_load_slip,
)
from slipwise.model.converter.rotor_bridge import (
    DC_PER_LINE,
    added_resistance,
    bridge,
    ideal_link_current,
    ideal_link_voltage,
)
from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import Motor, Rating
from slipwise.model.machine.point import operating_point, turning_slips
from slipwise.results.speed import DutyPoint
from slipwise.solve.plan import Drive
from tests.drives import stiff
from tests.reference import compare, from_reference, reference

NO_BRANCH = 1e9  # ohm: a magnetising branch that the source leaves out
RPM = pi / 30


def slip_ring(
    circuit: Circuit, *, voltage: float, poles: int, slip: float, ratio: float, power: float = 100e3
) -> Drive:
    """A slip-ring motor on a stiff source, its load unimportant."""
    speed = (1 - slip) * 4 * pi * circuit.frequency / poles
    rating = Rating(
        power=power,
        voltage=voltage,
        frequency=circuit.frequency,
        poles=poles,
        speed=speed,
        current=100.0,
        connection="star",
    )
    motor = Motor(rating=rating, inertia=1.0, circuit=circuit, wound_ratio=ratio)
    load = Load(terms=(PowerTerm(coefficient=1.0, exponent=2),), base_speed=speed, inertia=0.0)
    return Drive(motor=motor, load=load, supply=stiff(motor))


def single(r1: float, x1: float, r2: float, x2: float, frequency: float = 50.0) -> Circuit:
    """A circuit without a magnetising branch."""
    return Circuit(frequency=frequency, R1=r1, X1=x1, Xm=NO_BRANCH, rotor=(RotorBranch(R=r2, X=x2),))


def ohms_for(drive: Drive, torque: float, rpm: float) -> float:
    """Ohms per phase at the rings that carry a torque at a speed."""
    way = RotorResistance(resistance=1e9, steps=0.0, factor_b=1.0, factor_c=1.0)
    duty = DutyPoint(name="", speed=rpm * RPM, torque=torque, hours=1.0)
    found = way.needed(rings(drive, way.key), duty)
    assert found is not None
    return found


@from_reference("A20-dubey-plugging")
def test_resistor_that_holds_plugging_to_a_current() -> None:
    """At slip 2 - s the resistor that lets 1.5 times rated current through gives 1.426 of rated torque."""
    given = reference("A20-dubey-plugging")["inputs"]
    circuit = single(given["R1_ohm"], given["X1_ohm"], given["R2_ohm"], given["X2_ohm"])
    sync = 1000 * RPM
    slip = 1 - given["speed_rpm"] / 1000
    volts = given["line_voltage_V"] / sqrt(3)
    rated = operating_point(circuit, slip, volts, 50.0, sync)
    most = given["current_limit_over_rated"] * abs(rated.rotor_current)
    reach = sqrt((volts / most) ** 2 - (circuit.X1 + circuit.rotor[0].X) ** 2) - circuit.R1
    external = reach * (2 - slip) - circuit.rotor[0].R
    plugged = operating_point(circuit, 2 - slip, volts, 50.0, sync, external=external)
    assert abs(plugged.rotor_current) == pytest.approx(most, rel=1e-6)
    compare("A20-dubey-plugging", {"with_resistor_torque_over_rated": plugged.torque / rated.torque})
    ring = external / given["stator_to_rotor_turns"] ** 2
    compare("A20-dubey-plugging", {"rotor_resistor_actual_ohm": ring}, into="recomputed")


@from_reference("A32-dubey-rotor-res-fan")
def test_rotor_resistance_of_a_fan_with_a_delta_stator() -> None:
    """850 r/min with a fan: 0.772 ohm per delta phase, 0.159 ohm at the rings."""
    given = reference("A32-dubey-rotor-res-fan")["inputs"]
    turns = given["stator_to_rotor_turns"]
    drive = slip_ring(
        single(0.0, 0.0, given["R2_ohm"] / 3, given["X2_ohm"] / 3),
        voltage=given["line_voltage_V"],
        poles=given["poles"],
        slip=given["full_load_slip_pu"],
        ratio=turns / sqrt(3),
    )
    seen = rings(drive, "")
    full = RotorResistance(resistance=0.0, steps=0.0, factor_b=1.0, factor_c=1.0)
    torque = float(full.torque(seen, given["full_load_slip_pu"], 0.0)) * (given["target_speed_rpm"] / 960) ** 2
    ring = ohms_for(drive, torque, given["target_speed_rpm"])
    compare(
        "A32-dubey-rotor-res-fan",
        {
            "load_torque_Nm": torque,
            "external_resistor_stator_side_ohm": ring * turns**2,
            "external_resistor_rotor_side_ohm": ring,
        },
    )


@from_reference("A33-nagrath-rotor-res-fan")
def test_rotor_resistance_of_a_fan_without_reactance() -> None:
    """0.061 ohm between rings is half of that a phase; 450 r/min needs 0.0458 ohm more."""
    given = reference("A33-nagrath-rotor-res-fan")["inputs"]
    slip = given["full_load_slip_pu"]
    drive = slip_ring(
        single(0.0, 0.0, given["rotor_resistance_between_slip_rings_ohm"] / 2, 0.0),
        voltage=400.0,
        poles=given["poles"],
        slip=slip,
        ratio=1.0,
    )
    full = RotorResistance(resistance=0.0, steps=0.0, factor_b=1.0, factor_c=1.0)
    torque = float(full.torque(rings(drive, ""), slip, 0.0)) * (given["target_speed_rpm"] / (500 * (1 - slip))) ** 2
    ring = ohms_for(drive, torque, given["target_speed_rpm"])
    compare("A33-nagrath-rotor-res-fan", {"external_resistor_ohm_per_phase": ring})


@from_reference("A34-hubert-rheostat")
def test_rheostat_in_the_linear_region() -> None:
    """Half torque at half of rated slip; the same torque at 1000 r/min needs 0.0627 ohm at the rings."""
    given = reference("A34-hubert-rheostat")["inputs"]
    slip, circuit = given["rated_slip_pu"], single(0.00536, 0.0383, 0.00613, 0.0383)
    drive = slip_ring(circuit, voltage=480.0, poles=given["poles"], slip=slip, ratio=given["stator_to_rotor_turns"])
    half = slip * given["load_torque_pu"]  # the example takes torque as proportional to slip
    full = RotorResistance(resistance=0.0, steps=0.0, factor_b=1.0, factor_c=1.0)
    torque = float(full.torque(rings(drive, ""), half, 0.0))
    compare(
        "A34-hubert-rheostat",
        {
            "rotor_frequency_Hz": slip * given["frequency_Hz"],
            "slip_at_max_torque_pu": turning_slips(circuit, 50.0)[1],
            "speed_half_torque_rpm": 1500 * (1 - half),
            "rheostat_ohm_per_phase": ohms_for(drive, torque, given["target_speed_rpm"]),
        },
    )


@from_reference("A36-dubey-rotor-chopper")
def test_duty_of_a_chopper_for_greatest_torque() -> None:
    """Greatest torque at every speed: the duty falls by 0.001195 for each r/min downwards, from the circuit's peak slip."""
    given = reference("A36-dubey-rotor-chopper")["inputs"]
    circuit, turns = single(0.5, 1.2, 0.4, 1.2), given["stator_to_rotor_turns"]
    per_slip = circuit.rotor[0].R / turning_slips(circuit, 50.0)[1]  # rotor-circuit ohms of peak torque per slip
    resistor = 2 * (per_slip - circuit.rotor[0].R) / turns**2  # duty 0 at standstill
    assert added_resistance(resistor, 0.0) * turns**2 + 0.4 == pytest.approx(per_slip)

    def duty(rpm: float) -> float:
        wanted = (per_slip * (1 - rpm / 1000) - circuit.rotor[0].R) / turns**2
        found = 1 - wanted / added_resistance(resistor, 0.0)
        peak = turning_slips(circuit, 50.0, added_resistance(resistor, found) * turns**2)[1]
        assert peak == pytest.approx(1 - rpm / 1000)  # the torque does peak at this speed
        return float(found)

    compare("A36-dubey-rotor-chopper", {"duty_per_rpm": (duty(400.0) - duty(200.0)) / 200})
    compare("A36-dubey-rotor-chopper", {"chopper_resistor_ohm": resistor}, into="recomputed")


@from_reference("A37-bimbhra-rotor-chopper")
def test_chopper_on_a_fan() -> None:
    """Resistor for 1000 r/min at duty 0, then duty, link current and voltage at 1320 r/min, no drops."""
    given = reference("A37-bimbhra-rotor-chopper")["inputs"]
    rest = given["line_voltage_V"] / sqrt(3) * given["rotor_to_stator_ratio"]
    sync = 1500 * RPM

    def link(rpm: float) -> tuple[float, float]:
        torque = given["load_torque_Nm"] * (rpm / given["load_speed_rpm"]) ** 2
        return ideal_link_voltage(1 - rpm / 1500, rest), ideal_link_current(torque, rest, sync)

    slow, fast = link(given["min_speed_rpm"]), link(given["run_speed_rpm"])
    resistor = slow[0] / slow[1]
    compare(
        "A37-bimbhra-rotor-chopper",
        {
            "chopper_resistor_ohm": resistor,
            "link_current_A": fast[1],
            "duty_pu": 1 - fast[0] / fast[1] / resistor,
            "rectified_voltage_V": fast[0],
        },
    )


@from_reference("A38-rashid-static-kramer")
def test_recovery_of_a_fan_drive() -> None:
    """1050 r/min of 1200: firing angle 106.3 degrees, 9.4 kW fed back; ideal bridges."""
    given = reference("A38-rashid-static-kramer")["inputs"]
    volts, sync = given["line_voltage_V"], 1200 * RPM
    rest, feeding = volts / sqrt(3) * given["rotor_to_stator_ratio"], volts * given["converter_ac_to_supply_ratio"]
    slip = 1 - given["run_speed_rpm"] / 1200
    torque = given["load_torque_Nm"] * (given["run_speed_rpm"] / given["load_speed_rpm"]) ** 2
    held, current = ideal_link_voltage(slip, rest), ideal_link_current(torque, rest, sync)
    firing = float(firing_angle(held, current, feeding, 0.0))
    assert no_load_slip(firing, rest * sqrt(3), feeding) == pytest.approx(slip)
    compare(
        "A38-rashid-static-kramer",
        {
            "slip_pu": slip,
            "torque_Nm": torque,
            "link_current_A": current,
            "link_voltage_V": held,
            "firing_angle_deg": degrees(firing),
            "feedback_power_W": held * current,
            "output_power_W": torque * given["run_speed_rpm"] * RPM,
        },
    )


@from_reference("A39-dubey-scherbius")
def test_recovery_with_link_resistance() -> None:
    """Transformer ratio from the range; torque at an angle; the angle for half of rated torque."""
    given = reference("A39-dubey-scherbius")["inputs"]
    volts, turns, sync = given["line_voltage_V"], given["stator_to_rotor_turns"], 1000 * RPM
    rest = volts / turns
    feeding = inverter_voltage_for(given["speed_range_below_sync_pu"], radians(165), rest)

    def link(slip: float) -> tuple[float, float]:
        ohms = 2 * (slip * given["R1_ohm"] + given["R2_ohm"]) / turns**2 + given["dc_link_resistance_ohm"]
        return DC_PER_LINE * slip * rest, ohms

    held = -DC_PER_LINE * feeding * cos(radians(given["case_ii_firing_angle_deg"]))
    slip = 1 - given["case_ii_speed_rpm"] / 1000
    open_voltage, ohms = link(slip)
    torque = link_torque(held, average_link_current(open_voltage, held, ohms), slip, sync)
    circuit = single(given["R1_ohm"], given["X1_ohm"], given["R2_ohm"], given["X2_ohm"])
    half = 0.5 * float(operating_point(circuit, 0.03, volts / sqrt(3), 50.0, sync).torque)
    slip = 1 - given["case_iii_speed_rpm"] / 1000
    open_voltage, ohms = link(slip)
    # held (open - held) / ohms = half torque's slip power: the greater root, at the lesser current
    power = half * slip * sync
    root = (open_voltage + sqrt(open_voltage**2 - 4 * ohms * power)) / 2
    compare(
        "A39-dubey-scherbius",
        {
            "transformer_ratio": volts / feeding,
            "case_ii_torque_Nm": torque,
            "half_rated_torque_Nm": half,
            "case_iii_firing_angle_deg": degrees(float(firing_angle(root, 0.0, feeding, 0.0))),
        },
    )


@from_reference("D17")
def test_ideal_recovery_starts_at_its_no_load_slip() -> None:
    """Ideal bridges: no link current at s0 = -(Ut / U2) cos(firing); torque proportional to link current, slip power kept."""
    slip = float(no_load_slip(radians(130), 500.0, 300.0))
    assert slip == pytest.approx(-300 / 500 * cos(radians(130)), rel=1e-6)
    rest = 500 / sqrt(3)
    held = -DC_PER_LINE * 300 * cos(radians(130))
    assert ideal_link_voltage(slip, rest) == pytest.approx(held, rel=1e-6)
    nearly = bridge(np.array([1e-9, 2e-9]), slip * rest, 1e-9, 1e-9)
    assert nearly.voltage == pytest.approx(held, rel=1e-6)
    assert nearly.fundamental[1].real == pytest.approx(2 * nearly.fundamental[0].real, rel=1e-6)


@from_reference("D18")
def test_chopped_resistor_as_phase_resistance() -> None:
    """Equal heat: half of R (1 - duty) in each phase carries what the resistor takes from a smooth link."""
    for duty in (0.0, 0.3, 0.9):
        found = bridge(1e-6, 100.0, 1.0, 1.0)
        heat = 3 * added_resistance(8.0, duty) * found.square
        assert heat == pytest.approx(8.0 * (1 - duty) * 1e-12, rel=1e-6)

"""Operating points and torque peaks against textbooks."""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

import pytest

from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.point import Point, breakdown, operating_point, source_seen_by_rotor
from slipwise.model.machine.simplified import (
    breakdown_slip_from_current,
    locked_rotor_current_at,
    locked_rotor_torque_at,
    ohms_from_per_unit,
    torque_ratio,
)
from tests.reference import compare, from_reference, reference

HORSEPOWER = 745.69987158227022  # W, mechanical: 550 ft lbf/s exactly


def inputs(key: str) -> dict[str, Any]:
    data: dict[str, Any] = reference(key)["inputs"]
    return data


def synchronous(data: dict[str, Any]) -> float:
    return float(4 * pi * data["frequency_Hz"] / data["poles"])


def circuit_of(data: dict[str, Any], suffix: str = "_ohm") -> Circuit:
    branch = RotorBranch(R=data["R2" + suffix], X=data["X2" + suffix])
    return Circuit(
        frequency=data["frequency_Hz"],
        R1=data["R1" + suffix],
        X1=data["X1" + suffix],
        Xm=data.get("Xm" + suffix, 1e12),
        Rfe=data.get("Rfe" + suffix, float("inf")),
        rotor=(branch,),
    )


def point_of(data: dict[str, Any], slip: float, suffix: str = "_ohm") -> Point:
    voltage = data["line_voltage_V"] / sqrt(3) if "line_voltage_V" in data else data["phase_voltage_V"]
    return operating_point(circuit_of(data, suffix), slip, voltage, data["frequency_Hz"], synchronous(data))


def power_factor(point: Point) -> float:
    return float(point.input_power.real / abs(point.input_power))


@from_reference("A01-chapman-oppoint")
def test_operating_point_with_losses_after_the_gap() -> None:
    """A 460 V, 60 Hz, 4-pole motor at slip 0.022: currents, powers and torques of the print."""
    data = inputs("A01-chapman-oppoint")
    p = point_of(data, data["slip_pu"], "_ohm_per_phase")
    out = p.converted_power - data["rotational_plus_core_loss_W"]
    speed = synchronous(data) * (1 - data["slip_pu"])
    compare(
        "A01-chapman-oppoint",
        {
            "speed_rpm": speed * 30 / pi,
            "stator_current_A": abs(p.stator_current),
            "power_factor": power_factor(p),
            "input_power_W": p.input_power.real,
            "stator_copper_loss_W": p.stator_loss,
            "air_gap_power_W": p.gap_power,
            "converted_power_W": p.converted_power,
            "output_power_W": out,
            "induced_torque_Nm": p.torque,
            "shaft_torque_Nm": out / speed,
            "efficiency_pu": out / p.input_power.real,
        },
    )


@from_reference("A02-chapman-thevenin")
@pytest.mark.parametrize(("factor", "prefix"), [(1.0, "exact_"), (2.0, "exact_doubled_R2_")])
def test_exact_torque_peak(factor: float, prefix: str) -> None:
    """The exact source seen by the rotor gives the exact peak; doubling R2 doubles its slip and keeps its height."""
    data = inputs("A02-chapman-thevenin")
    circuit = circuit_of(data, "_ohm_per_phase").with_rotor_resistance(factor)
    voltage, speed = data["line_voltage_V"] / sqrt(3), synchronous(data)
    peak = breakdown(circuit, voltage, 60, speed)
    start = operating_point(circuit, 1, voltage, 60, speed)
    found = {f"{prefix}slip_at_max_torque_pu": peak.slip, f"{prefix}start_torque_Nm": start.torque}
    if factor == 1:
        _, impedance = source_seen_by_rotor(circuit, voltage, 60)
        found |= {
            "exact_max_torque_Nm": peak.torque,
            "exact_R_thevenin_ohm": impedance.real,
            "exact_X_thevenin_ohm": impedance.imag,
        }
    compare("A02-chapman-thevenin", found, relative=1e-4, into="recomputed")
    printed = {"doubled_R2_max_torque_Nm": peak.torque} if factor == 2 else {"max_torque_Nm": peak.torque}
    compare("A02-chapman-thevenin", printed, relative=0.03)


@from_reference("A04-chapman-smallslip")
def test_torque_is_proportional_to_small_slip() -> None:
    """On the straight part of the simplified formula, twice the torque takes twice the slip."""
    data = inputs("A04-chapman-smallslip")
    speed = data["speed_rpm"] * pi / 30
    slip = 1 - speed / synchronous(data)
    torque = data["output_power_W"] / speed
    far = 1e4  # a breakdown slip so far off that the curve is straight
    doubled = torque * torque_ratio(2 * slip, far) / torque_ratio(slip, far)
    new_speed = synchronous(data) * (1 - 2 * slip)
    compare(
        "A04-chapman-smallslip",
        {
            "slip_pu": slip,
            "torque_Nm": torque,
            "new_speed_rpm": new_speed * 30 / pi,
            "new_power_W": doubled * new_speed,
        },
    )


@from_reference("A07-hubert-oppoint-rfe")
def test_operating_point_with_core_loss_branch() -> None:
    """With Rfe across Xm the currents, losses and torque are those of the print."""
    data = inputs("A07-hubert-oppoint-rfe")
    slip = 1 - data["speed_rpm"] / 1200
    p = point_of(data, slip)
    compare(
        "A07-hubert-oppoint-rfe",
        {
            "slip_pu": slip,
            "line_current_A": abs(p.stator_current),
            "power_factor": power_factor(p),
            "input_power_W": p.input_power.real,
            "rotor_current_A": abs(p.rotor_current),
            "stator_copper_loss_W": p.stator_loss,
            "rotor_copper_loss_W": p.rotor_loss,
            "core_loss_W": p.core_loss,
            "air_gap_power_W": p.gap_power,
            "developed_torque_Nm": p.torque,
            "efficiency_pu": (p.converted_power - data["fw_and_stray_loss_W"]) / p.input_power.real,
        },
    )


@from_reference("A08-nagrath-start-run-max")
def test_start_run_and_peak_of_one_motor() -> None:
    """Standstill, full load and peak of one 4-pole motor."""
    data = inputs("A08-nagrath-start-run-max")
    slip = 1 - data["full_load_speed_rpm"] / 1500
    start, full = point_of(data, 1.0), point_of(data, slip)
    peak = breakdown(circuit_of(data), data["phase_voltage_V"], 50, synchronous(data))
    speed = synchronous(data) * (1 - slip)
    net = full.converted_power - data["rotational_loss_W"]
    compare(
        "A08-nagrath-start-run-max",
        {
            "start_current_A": abs(start.stator_current),
            "start_torque_Nm": start.torque,
            "full_load_current_A": abs(full.stator_current),
            "full_load_power_factor": power_factor(full),
            "net_torque_Nm": net / speed,
            "efficiency_pu": net / full.input_power.real,
            "internal_efficiency_pu": full.converted_power / full.input_power.real,
            "slip_at_max_torque_pu": peak.slip,
            "max_torque_Nm": peak.torque,
        },
    )


@from_reference("A09-guru-approx")
def test_peak_without_stator_impedance() -> None:
    """Without stator impedance the peak sits at R2/X2; doubling R2 brings standstill to 0.8 of the peak."""
    data = inputs("A09-guru-approx")
    circuit = circuit_of(data)
    peak = breakdown(circuit, data["phase_voltage_V"], 60, synchronous(data))
    ratio = point_of(data, 1.0).torque / peak.torque
    compare(
        "A09-guru-approx",
        {"breakdown_slip_pu": peak.slip, "max_torque_Nm": peak.torque, "start_over_max": ratio},
    )
    factor = reference("A09-guru-approx")["expected"]["rotor_resistance_for_target_ohm"] / data["R2_ohm"]
    helped = circuit.with_rotor_resistance(factor)
    start = operating_point(helped, 1.0, data["phase_voltage_V"], 60, synchronous(data))
    assert start.torque / peak.torque == pytest.approx(data["target_start_over_max"], rel=0.005)


@from_reference("A16-hubert-lrc-50hz")
def test_locked_rotor_current_at_another_voltage_and_frequency() -> None:
    """I ~ V/f."""
    data = inputs("A16-hubert-lrc-50hz")
    new = locked_rotor_current_at(
        data["locked_rotor_current_A"],
        data["new_voltage_V"] / data["voltage_V"],
        data["new_frequency_Hz"] / data["frequency_Hz"],
    )
    compare("A16-hubert-lrc-50hz", {"new_locked_rotor_current_A": new})


@from_reference("A17-hubert-torque-voltage")
def test_locked_rotor_torque_at_another_voltage_and_frequency() -> None:
    """T ~ (V/f)^2."""
    data = inputs("A17-hubert-torque-voltage")
    rated = data["rated_power_hp"] * HORSEPOWER / (data["rated_speed_rpm"] * pi / 30)
    torque = data["locked_rotor_torque_pu"] * rated
    new = locked_rotor_torque_at(
        torque, data["new_voltage_V"] / data["voltage_V"], data["new_frequency_Hz"] / data["frequency_Hz"]
    )
    compare("A17-hubert-torque-voltage", {"locked_rotor_torque_Nm": torque, "new_locked_rotor_torque_Nm": new})


@from_reference("A18-hubert-pu")
def test_per_unit_circuit_in_ohm() -> None:
    """Per-unit values on the shaft rating turn into the ohms of the print."""
    data = inputs("A18-hubert-pu")
    base = 3 * data["base_power_W_per_phase"]
    ohms = {
        name.replace("_pu", "_ohm").replace("r", "R", 1).replace("x", "X", 1): ohms_from_per_unit(
            data[name], data["line_voltage_V"], base
        )
        for name in ("r1_pu", "x1_pu", "r2_pu", "x2_pu", "rfe_pu", "xm_pu")
    }
    compare("A18-hubert-pu", ohms)


@from_reference("A40-srivastava-star-delta-auto")
def test_one_winding_in_star_in_delta_and_at_half_voltage() -> None:
    """In star a third of the line current and torque of delta; at half voltage a half and a quarter."""
    data = inputs("A40-srivastava-star-delta-auto")
    delta = circuit_of({**data, **{k: data[k] / 3 for k in ("R1_ohm", "X1_ohm", "R2_ohm", "X2_ohm")}})
    volts, speed = data["line_voltage_V"] / sqrt(3), synchronous(data)
    star = point_of(data, 1.0)
    half = operating_point(circuit_of(data), 1.0, data["reduced_voltage_pu"] * volts, 50, speed)
    in_delta = operating_point(delta, 1.0, volts, 50, speed)
    compare(
        "A40-srivastava-star-delta-auto",
        {
            "star_line_current_A": abs(star.stator_current),
            "star_start_torque_Nm": star.torque,
            "delta_line_current_A": abs(in_delta.stator_current),
            "delta_start_torque_Nm": in_delta.torque,
            "half_voltage_star_motor_current_A": abs(half.stator_current),
            "half_voltage_star_torque_Nm": half.torque,
        },
    )


@from_reference("A41-srivastava-4quadrant")
@pytest.mark.parametrize("case", [0, 1, 2])
def test_motoring_generating_and_plugging(case: int) -> None:
    """One circuit covers 1400, 1600 and -100 r/min; generating torque is negative, plugging torque still forward."""
    data, wanted = inputs("A41-srivastava-4quadrant"), reference("A41-srivastava-4quadrant")["expected"]
    p = point_of(data, 1 - data["speeds_rpm"][case] / 1500)
    assert abs(p.rotor_current) == pytest.approx(wanted["rotor_current_A"][case], rel=0.003)
    assert p.torque == pytest.approx(wanted["torque_Nm"][case], rel=0.003)


@from_reference("A42-nagrath-kloss")
def test_peak_torque_from_current_ratio() -> None:
    """Five times rated current and 4 % slip give a peak of 2.6 at slip 0.2 and rated torque at standstill."""
    data = inputs("A42-nagrath-kloss")
    slip = data["full_load_slip_pu"]
    top = breakdown_slip_from_current(data["start_current_over_rated"], slip)
    peak = 1 / torque_ratio(slip, top)
    compare(
        "A42-nagrath-kloss",
        {"slip_at_max_torque_pu": top, "max_torque_pu": peak, "start_torque_pu": peak * torque_ratio(1.0, top)},
    )


@from_reference("A45-sen-kloss")
def test_peak_torque_in_percent_from_current_ratio() -> None:
    """Six times rated current at 1710 r/min gives 318 % peak and 180 % starting torque."""
    data = inputs("A45-sen-kloss")
    slip = 1 - data["full_load_speed_rpm"] * pi / 30 / synchronous(data)
    top = breakdown_slip_from_current(data["start_current_over_rated"], slip)
    peak = 100 / torque_ratio(slip, top)
    compare(
        "A45-sen-kloss",
        {
            "slip_at_max_torque_pu": top,
            "max_torque_percent": peak,
            "start_torque_percent": peak * torque_ratio(1.0, top),
        },
    )


@from_reference("A46-hubert-slip-heat")
def test_slip_is_rotor_loss_over_gap_power() -> None:
    """A circuit whose rotor loses 263 W of 14 580 W runs at 1767.5 r/min, with the power and torque of the print."""
    data = inputs("A46-hubert-slip-heat")
    slip = data["rotor_copper_loss_W"] / data["air_gap_power_W"]
    any_circuit = circuit_of({**data, "R1_ohm": 0.3, "X1_ohm": 0.7, "R2_ohm": 0.2, "X2_ohm": 0.8, "Xm_ohm": 25})
    unit = operating_point(any_circuit, slip, 1.0, 60, synchronous(data))
    volts = sqrt(data["air_gap_power_W"] / unit.gap_power)
    p = operating_point(any_circuit, slip, volts, 60, synchronous(data))
    assert p.rotor_loss == pytest.approx(data["rotor_copper_loss_W"], rel=1e-9)
    compare(
        "A46-hubert-slip-heat",
        {
            "speed_rpm": (1 - slip) * 1800,
            "mech_power_hp": p.converted_power / HORSEPOWER,
            "torque_Nm": p.torque,
        },
    )

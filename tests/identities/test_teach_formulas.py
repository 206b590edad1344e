"""Formulas of the classroom that no published example uses, against another way to the same number."""

from __future__ import annotations

import cmath
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import minimize_scalar

from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.direct_current import FEEDS, DcConnection, braking_point
from slipwise.teach.formulas import formula
from tests.reference import published, reference, sampled

SOURCE = {"U_th": 220.0, "R_th": 0.3, "X_th": 0.9, "X2": 1.1, "omega_s": 157.08}
TURN = cmath.exp(2j * math.pi / 3)


def value(key: str, **given_values: float) -> float:
    """The value of a formula, real."""
    found = formula(key).evaluate(**given_values)
    assert not isinstance(found, complex) or found.imag == 0
    return float(found.real)


def torque(slip: float, resistance: float = 0.4) -> float:
    """Torque of the sample machine at a slip."""
    return value("torque.at_slip", s=slip, R2=resistance, **SOURCE)


def test_breakdown_is_where_the_curve_turns():
    """A search over the slip finds the peak motoring, and the one generating."""
    top = minimize_scalar(lambda s: -torque(s), bounds=(0.01, 1), method="bounded", options={"xatol": 1e-10})
    low = minimize_scalar(torque, bounds=(-1, -0.01), method="bounded", options={"xatol": 1e-10})
    given_values = {k: v for k, v in SOURCE.items() if k in {"R_th", "X_th", "X2"}}
    assert value("torque.breakdown_slip", R2=0.4, **given_values) == pytest.approx(top.x, rel=1e-6)
    assert value("torque.breakdown", **SOURCE) == pytest.approx(-top.fun, rel=1e-9)
    assert value("torque.breakdown_generating", **SOURCE) == pytest.approx(low.fun, rel=1e-9)


def test_resistance_for_the_peak_at_rest():
    """With it added, a search over the resistance finds no higher starting torque."""
    added = value("torque.resistance_for_peak_at_rest", R_th=0.3, X_th=0.9, X2=1.1, R2=0.4)
    best = minimize_scalar(lambda r: -torque(1.0, r), bounds=(0.1, 10), method="bounded", options={"xatol": 1e-10})
    assert 0.4 + added == pytest.approx(best.x, rel=1e-6)


@sampled(60)
@given(slip=st.floats(0.005, 1.5))
def test_shape_from_the_breakdown_point_is_the_curve(slip):
    """With the factor of the source resistance exactly; without it, on a source without resistance."""
    s_b, top = (value(f"torque.{key}", **_fitting(f"torque.{key}", R2=0.4)) for key in ("breakdown_slip", "breakdown"))
    q = value("torque.kloss_factor", s_b=s_b, R1=0.3, R2=0.4)
    assert value("torque.kloss_stator", T_b=top, q=q, s=slip, s_b=s_b) == pytest.approx(torque(slip), rel=1e-9)
    x = {"U_th": 220.0, "R_th": 0.0, "X_th": 0.9, "X2": 1.1, "omega_s": 157.08}
    s_b = value("torque.breakdown_slip", R2=0.4, R_th=0.0, X_th=0.9, X2=1.1)
    bare = value("torque.kloss", T_b=value("torque.breakdown", **x), s=slip, s_b=s_b)
    assert bare == pytest.approx(value("torque.at_slip", s=slip, R2=0.4, **x), rel=1e-9)


def _fitting(key: str, **more: float) -> dict[str, float]:
    every = SOURCE | more
    return {name: every[name] for name in formula(key).names}


@sampled(60)
@given(share=st.floats(0.05, 0.99), s_b=st.floats(0.02, 0.8))
def test_slip_and_torque_are_each_others_inverse(share, s_b):
    """Torque at the slip found is the torque asked for; and the breakdown slip from the plate leads back to the plate."""
    slip = value("torque.kloss_slip", s_b=s_b, T_b=1.0, T=share)
    assert value("torque.kloss", T_b=1.0, s=slip, s_b=s_b) == pytest.approx(share, rel=1e-9)
    assert value("torque.breakdown_slip_from_plate", s_n=slip, T_b=1.0, T_n=share) == pytest.approx(s_b, rel=1e-6)
    assert value("torque.start_over_breakdown", s_b=s_b) == pytest.approx(
        value("torque.kloss", T_b=1.0, s=1.0, s_b=s_b)
    )
    near, twice = (value("torque.kloss", T_b=1.0, s=s, s_b=s_b) for s in (1e-6, 2e-6))
    assert value("torque.small_slip", T_n=near, s=2e-6, s_n=1e-6) == pytest.approx(twice, rel=1e-6)


@sampled(30)
@given(z=st.builds(complex, st.floats(0.1, 5), st.floats(0.1, 9)))
def test_star_and_delta_phase_by_phase(z):
    """Kirchhoff's laws on three windings of impedance z at 400 V: current in the line, heat in the windings."""
    lines = [400 / math.sqrt(3) * TURN ** (-k) for k in range(3)]
    windings = [(lines[k] - lines[(k + 1) % 3]) / z for k in range(3)]
    in_delta = abs(windings[0] - windings[2])
    in_star = abs(lines[0] / z)
    assert value("starting.star_current", I_D=in_delta) == pytest.approx(in_star, rel=1e-9)
    heat_delta, heat_star = (3 * current**2 * z.real for current in (abs(windings[0]), in_star))
    assert value("starting.star_torque", T_D=heat_delta) == pytest.approx(heat_star, rel=1e-9)
    assert value("starting.star_voltage", U=400.0) == pytest.approx(abs(lines[0]))
    assert abs(formula("circuit.star_of_delta").evaluate(Z_D=z)) * in_delta == pytest.approx(abs(lines[0]), rel=1e-9)


def test_voltage_tap_and_limit_by_ohms_law():
    """Current with the voltage, torque with its square; a tap passes power on without loss; a limit sets the voltage."""
    z, full = 0.4 + 1.6j, 400.0
    current = {volts: volts / math.sqrt(3) / abs(z) for volts in (full, 0.65 * full)}
    heat = {volts: amperes**2 for volts, amperes in current.items()}
    assert value("starting.current_at_voltage", I_l=current[full], U=260.0, U_n=full) == pytest.approx(current[260.0])
    assert value("starting.torque_at_voltage", T_l=heat[full], U=260.0, U_n=full) == pytest.approx(heat[260.0])
    line = value("starting.tap_line_current", k=0.65, I_l=current[full])
    assert line * full == pytest.approx(current[260.0] * 260.0)
    assert value("starting.tap_for_torque", T_w=heat[260.0], T_l=heat[full]) == pytest.approx(0.65)
    assert value("starting.soft_voltage", I_lim=current[260.0], I_l=current[full]) == pytest.approx(0.65)
    assert value("starting.soft_torque", T_l=heat[full], I_lim=current[260.0], I_l=current[full]) == pytest.approx(
        heat[260.0]
    )


def test_steps_between_two_torques_end_at_the_bare_rotor():
    """Cutting out sections by the ratio of the torques, as many as the formula says, leaves the rotor's own resistance."""
    n = value("rotor_steps.number", s_1=0.05, T_low=120.0, T_high=120.0 * 20 ** (1 / 4))
    assert n == pytest.approx(4)
    total = value("rotor_steps.first_total", R2=0.06, s_1=0.05)
    for _ in range(4):
        total = value("rotor_steps.next_total", R_t=total, K=value("rotor_steps.ratio", s_1=0.05, n=4.0))
    assert total == pytest.approx(0.06)


@sampled(30)
@given(slip=st.floats(0.01, 0.3), added=st.floats(0.0, 3.0))
def test_same_torque_at_the_slip_that_goes_with_the_resistance(slip, added):
    """On the whole curve, not only its straight part."""
    moved = value("rotor_steps.slip_with_added", s_0=slip, R2=0.4, R_x=added)
    assert torque(moved, 0.4 + added) == pytest.approx(torque(slip), rel=1e-9)
    assert value("rotor_steps.added_for_slip", R2=0.4, s=moved, s_0=slip) == pytest.approx(added, abs=1e-9)
    ring = value("rotor_steps.in_rotor", R_x=added, a=2.5)
    assert value("rotor_steps.referred", a=2.5, R_r=ring) == pytest.approx(added)


@sampled(40)
@given(
    behind=st.builds(complex, st.floats(0.001, 0.05), st.floats(0.002, 0.2)),
    motor=st.builds(complex, st.floats(0.1, 2), st.floats(0.3, 4)),
)
def test_dip_by_the_two_impedances(behind, motor):
    """The share left by a divider; equal angles make the short formula of it; the straight-line rule is its first term."""
    left = abs(motor / (behind + motor))
    assert value("dip.phasors", Z_M=motor, Z_S=behind) == pytest.approx(left)
    assert value("dip.from_share", u=left) == 1 - left
    level, start = 400.0**2 / abs(behind), 400.0**2 / abs(motor)
    aligned = 1 - abs(motor) / (abs(behind) + abs(motor))
    assert value("dip.divider", S_l=start, S_k=level) == pytest.approx(aligned)
    assert value("dip.linear", S_l=start, S_k=level) >= aligned
    assert value("dip.network", U=400.0, S_k=level) == pytest.approx(abs(behind))
    assert value("dip.start_power", U=400.0, I_l=400 / math.sqrt(3) / abs(motor)) == pytest.approx(start)
    assert value("limits.dip", U_0=400.0, U_min=400.0 * left) == pytest.approx(1 - left)


def test_transformer_from_its_short_circuit_test():
    """Rated current drives the short-circuit voltage and the load losses through the impedance found."""
    rated, volts, loss = 630e3, 400.0, 6500.0
    z = value("dip.transformer", u_k=0.06, U=volts, S_r=rated)
    r = value("dip.transformer_resistance", P_k=loss, U=volts, S_r=rated)
    x = value("dip.transformer_reactance", Z_T=z, R_T=r)
    current = rated / (math.sqrt(3) * volts)
    assert abs(complex(r, x)) * current * math.sqrt(3) == pytest.approx(0.06 * volts)
    assert 3 * current**2 * r == pytest.approx(loss)
    level = value("dip.fault_level_in_series", S_1=90e6, S_2=value("dip.transformer_fault_level", S_r=rated, u_k=0.06))
    assert volts**2 / level == pytest.approx(volts**2 / 90e6 + z)


def test_drop_along_a_cable_near_the_exact_one():
    """150 A through 100 m: difference of the magnitudes at both ends, within a hundredth of itself."""
    r, x = value("dip.cable", r=0.2e-3, l=100.0), 0.008
    angle = math.acos(0.85)
    end = 400 / math.sqrt(3)
    begin = abs(end + 150 * cmath.exp(-1j * angle) * complex(r, x))
    drop = value("dip.drop", I=150.0, R_L=r, cos_phi=0.85, X_L=x, sin_phi=math.sin(angle))
    assert drop == pytest.approx(math.sqrt(3) * (begin - end), rel=0.01)


def test_inertia_and_torque_seen_through_a_gear():
    """The same energy stored and the same power passed on, seen from either shaft; a mass likewise."""
    slow, fast = 12.0, 150.0
    j = value("run_up.referred_inertia", J_L=40.0, omega_L=slow, omega=fast)
    assert value("run_up.stored_energy", J=j, omega=fast) == pytest.approx(0.5 * 40 * slow**2)
    t = value("run_up.referred_torque", T_L=800.0, omega_L=slow, eta=0.9, omega=fast)
    assert 0.9 * t * fast == pytest.approx(800 * slow)
    m = value("run_up.mass_inertia", m=1500.0, v=2.0, omega=fast)
    assert 0.5 * m * fast**2 == pytest.approx(0.5 * 1500 * 4)
    drum = value("run_up.hoist_torque", m=1500.0, g=9.80665, r=0.25)
    assert drum * (2.0 / 0.25) == pytest.approx(1500 * 9.80665 * 2.0)
    assert value("run_up.inertia_of_gd2", GD2=3.6) == pytest.approx(
        0.9
    )  # weight of m at diameter 2r: m (2r)^2 / 4 = m r^2


def test_times_of_a_run_up_by_integration():
    """Constant torque: the mean is exact. By the breakdown point: the integral of J w_s ds / T."""
    assert value("run_up.mean_time", J=2.0, omega=150.0, T_a=60.0) == pytest.approx(
        quad(lambda _: 2.0 / 60.0, 0, 150)[0]
    )
    alpha = value("run_up.acceleration", T=90.0, T_L=30.0, J=2.0)
    assert alpha * 5.0 == pytest.approx(150.0)
    assert value("braking.mean_stop", J=2.0, omega=150.0, T_br=60.0) == pytest.approx(5.0)
    steps = quad(lambda s: 2.0 * 157.08 / value("torque.kloss", T_b=400.0, s=s, s_b=0.2), 0.03, 1.0)[0]
    assert value("run_up.kloss_time", J=2.0, omega_s=157.08, T_b=400.0, s_1=1.0, s_2=0.03, s_b=0.2) == pytest.approx(
        steps
    )


def test_heat_of_a_start_by_integration():
    """Slip power over time with both torques constant; two stages each up to their own synchronous speed."""
    top, j, motor, load = 157.08, 2.0, 120.0, 40.0
    rate = (motor - load) / j
    heat = quad(lambda t: motor * (top - rate * t), 0, top / rate)[0]
    bare = value("heat.rotor", J=j, omega_s=top, s_1=1.0, s_2=0.0)
    assert value("heat.rotor_loaded", W_2=bare, T=motor, T_L=load) == pytest.approx(heat)
    low = value("heat.rotor", J=j, omega_s=top / 2, s_1=1.0, s_2=0.0)
    high = value("heat.rotor", J=j, omega_s=top, s_1=0.5, s_2=0.0)
    assert value("heat.two_speed_start", J=j, omega_s=top) == pytest.approx(low + high)
    assert value("heat.of_speed", s=0.25, T=motor, omega_s=top) == pytest.approx(motor * top - motor * 0.75 * top)


@published("IEC 60034-1, IEC 60034-2-1: resistance with temperature", status="from memory, unconfirmed")
def test_resistance_and_rise():
    """Ratio of copper from 25 to 95 degC as tabulated, and the rise read back from it."""
    row = reference("C-temp-resistance")["expected"]
    hot = value("heat.resistance", R_c=1.0, k=235.0, t_h=95.0, t_c=25.0)
    assert hot == pytest.approx(row["ratio_copper_25_to_95C"], rel=1e-3)
    assert value("heat.rise_by_resistance", R_h=hot, R_c=1.0, k=235.0, t_c=25.0, t_a=40.0) == pytest.approx(55.0)
    assert value("bench.R1_0", R1=1.0, k=235.0, t_0=95.0, t_dc=25.0) == hot


def test_warming_solves_the_heat_balance():
    """C dT/dt = P - G T by an independent solver, from a rise that is there already."""
    found = solve_ivp(lambda _, y: (60.0 - y) / 1800, (0, 2400), [12.0], rtol=1e-10, atol=1e-10).y[0, -1]
    assert value("heat.warming", theta_s=60.0, t=2400.0, tau=1800.0, theta_0=12.0) == pytest.approx(found, rel=1e-8)


def test_converter_constants_by_their_waveforms():
    """Mean of the six-pulse voltage, fundamental of six-step, rms of 120 degree blocks (C-sixpulse of the check values)."""
    angle = np.linspace(-math.pi / 6, math.pi / 6, 200001)
    assert value("frequency.link", U=1.0) == pytest.approx(
        np.trapezoid(math.sqrt(2) * np.cos(angle), angle) / (math.pi / 3), rel=1e-9
    )
    assert value("frequency.link", U=1.0) == pytest.approx(
        reference("C-sixpulse")["expected"]["Vd0_over_line_voltage"], rel=1e-5
    )
    turn = np.linspace(0, 2 * math.pi, 720001)
    block = np.where(np.abs(np.sin(turn)) > 0.5, np.sign(np.sin(turn)), 0.0)
    first = np.trapezoid(block * np.sin(turn), turn) / math.pi / math.sqrt(2)
    assert value("frequency.six_step", U_d=1.0) == pytest.approx(first, rel=1e-4)
    assert value("recovery.rotor_current", I_d=1.0) == pytest.approx(
        math.sqrt(np.trapezoid(block**2, turn) / (2 * math.pi)), rel=1e-4
    )
    assert value("rotor_chopper.open_voltage", E_2=1.0) == pytest.approx(math.sqrt(3) * value("frequency.link", U=1.0))


def test_weakened_field_without_stator_resistance():
    """The square rule is the exact one then (D15 of the check values); volts per hertz and boost meet at rated frequency."""
    common = {"U_p": 230.0, "omega_s": 157.08, "X1": 1.0, "X2": 1.2, "R1": 0.0}
    base = value("frequency.breakdown_weakened", x=1.0, **common)
    assert value("frequency.breakdown_weakened", x=1.2, **common) == pytest.approx(
        value("frequency.breakdown_square", T_b=base, x=1.2)
    )
    assert value("frequency.breakdown", x=0.3, **common) == pytest.approx(base)
    assert value("frequency.boosted_law", U_0=20.0, U_n=400.0, f=50.0, f_n=50.0) == value(
        "frequency.law", U_n=400.0, f=50.0, f_n=50.0
    )
    assert value("frequency.boosted_law", U_0=20.0, U_n=400.0, f=0.0, f_n=50.0) == 20.0


@pytest.mark.parametrize(("slip", "ratio"), [(0.03, 2.291), (0.10, 1.352)])
def test_highest_current_of_a_fan(slip, ratio):
    """D19 of the check values; and a search finds it at slip one third."""
    assert value("stator_voltage.highest_current", s_n=slip) == pytest.approx(ratio, rel=1e-3)
    top = minimize_scalar(
        lambda s: -(1 - s) * math.sqrt(s), bounds=(0.01, 0.9), method="bounded", options={"xatol": 1e-9}
    )
    assert top.x == pytest.approx(1 / 3, rel=1e-5)
    power = value("stator_voltage.fan_power", P_n=1.0, omega=0.8, omega_n=1.0)
    assert power == pytest.approx(0.512)  # D25
    assert power == pytest.approx(0.8 * value("stator_voltage.fan_torque", T_n=1.0, omega=0.8, omega_n=1.0))


def test_chopper_resistance_by_equal_heat():
    """Heat in the resistor while the chopper is open equals that of three phase resistances at the rotor's rms current."""
    phase = value("rotor_chopper.phase_resistance", R_d=2.0, d=0.35)
    rms = value("recovery.rotor_current", I_d=100.0)
    assert 3 * rms**2 * phase == pytest.approx(100.0**2 * 2.0 * 0.65)
    assert value("rotor_chopper.duty_for_phase", R_x=phase, R_d=2.0) == pytest.approx(0.35)


@published("Dubey, Fundamentals of Electrical Drives, 2nd ed. Example 6.18", status="A39 of the check values")
def test_recovery_balances_its_link():
    """At the slip of no load both bridges hold the same voltage; the transformer of the published example."""
    alpha, n_m, n_c = math.radians(110), 0.9, 0.4
    slip = value("recovery.no_load_slip", n_c=n_c, n_m=n_m, alpha=alpha)
    rotor = slip * value("rotor_chopper.open_voltage", E_2=n_m * 230.0)
    line = -value("rotor_chopper.open_voltage", E_2=n_c * 230.0) * math.cos(alpha)
    assert rotor == pytest.approx(line)
    cosine = value("recovery.cos_alpha", s=slip, n_m=n_m, n_c=n_c)
    assert value("recovery.firing_angle", cos_alpha=cosine) == pytest.approx(alpha)
    inputs, row = reference("A39-dubey-scherbius")["inputs"], reference("A39-dubey-scherbius")["expected"]
    ratio = value("recovery.transformer_ratio", a=float(inputs["stator_to_rotor_turns"]), s_m=inputs["speed_range_below_sync_pu"],
                  alpha_m=math.radians(inputs["max_firing_angle_deg"]))  # fmt: skip
    assert ratio == pytest.approx(row["transformer_ratio"], rel=1e-3)
    drawn = value("recovery.input", P_m=60.0, P_s=2.0, P_r=1.5)
    assert value("recovery.efficiency", P_m=60.0, P_1=drawn) == pytest.approx(60 / 63.5)
    assert value("recovery.slip_power", s=0.2, P_g=75.0) == pytest.approx(value("power.rotor_loss", s=0.2, P_g=75.0))


def test_poles_by_induction():
    """Flux of a pole from the induced voltage, density from the flux over the area of a pole; speeds by the frequency."""

    def density(volts: float, turns: float, factor: float, poles: float) -> float:
        flux = volts / (math.sqrt(2) * math.pi * 50 * turns * factor)
        return flux / (2 / math.pi * math.pi * 0.2 / poles * 0.15)

    before, after = density(400, 120, 0.92, 4), density(230, 60, 0.83, 8)
    given_values = {
        "U_2": 230.0,
        "U_1": 400.0,
        "k_1": 0.92,
        "N_1": 120.0,
        "k_2": 0.83,
        "N_2": 60.0,
        "p_2": 8.0,
        "p_1": 4.0,
    }
    assert value("poles.flux_density", **given_values) == pytest.approx(after / before)
    speeds = [value("machine.synchronous_speed", f=50.0, poles=p) for p in (4.0, 8.0)]
    assert value("poles.speed", omega_1=speeds[0], p_1=4.0, p_2=8.0) == pytest.approx(speeds[1])
    held = value("poles.constant_power", T_1=100.0, omega_1=speeds[0], omega_2=speeds[1])
    assert held * speeds[1] == pytest.approx(100.0 * speeds[0])


def test_direct_current_braking_against_the_model():
    """Equivalent current by the model's winding factor, torque by its braking circuit."""
    current = value("braking.dc_equivalent", I_dc=30.0)
    assert current == pytest.approx(30.0 * FEEDS[DcConnection.STAR_TWO].share)
    circuit = Circuit(frequency=50.0, R1=0.5, X1=1.0, Xm=40.0, rotor=(RotorBranch(R=0.6, X=1.1),))
    power = float(braking_point(circuit, current, 0.2).torque_power)
    made = value("machine.dc_braking_torque", I_e=current, X_m=40.0, R2=0.6, S=0.2, X2=1.1, omega_s=157.08)
    assert made == pytest.approx(power / 157.08, rel=1e-9)


def test_two_wattmeters_by_phasors():
    """Readings of two meters on a balanced load of known angle give its power and its angle back."""
    angle, lines = math.radians(50), [230.0 * TURN ** (-k) for k in range(3)]
    currents = [10 * cmath.exp(-1j * angle) * TURN ** (-k) for k in range(3)]
    first = ((lines[0] - lines[1]) * currents[0].conjugate()).real
    second = ((lines[2] - lines[1]) * currents[2].conjugate()).real
    assert value("bench.two_wattmeters", P_a=first, P_b=second) == pytest.approx(3 * 230 * 10 * math.cos(angle))
    assert abs(value("bench.wattmeter_angle", P_a=second, P_b=first)) == pytest.approx(math.tan(angle))
    assert value("power.reactive", U_p=230.0, I_1=currents[0]) == pytest.approx(3 * 230 * 10 * math.sin(angle))


def test_equivalent_torque_is_the_rms_over_the_cycle():
    """By integration over a staircase; of two parts of a cycle the power likewise."""
    parts, times = (120.0, 40.0, 0.0), (10.0, 30.0, 20.0)
    edges = np.cumsum((0.0, *times))
    square = sum(quad(lambda _, t=t: t**2, a, b)[0] for t, (a, b) in zip(parts, pairwise(edges), strict=True))
    names = {f"T_{k}": t for k, t in enumerate(parts, 1)} | {f"t_{k}": t for k, t in enumerate(times, 1)}
    assert value("duty.equivalent_torque", **names) == pytest.approx(math.sqrt(square / 60.0))
    assert value("duty.equivalent_power", P_1=120.0, t_1=10.0, P_2=40.0, t_2=30.0) == pytest.approx(
        math.sqrt((144000 + 48000) / 40)
    )
    assert value("duty.on_share", t_on=4.0, t_off=6.0) == pytest.approx(0.4)

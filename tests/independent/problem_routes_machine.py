"""Second roads of the problems on circuit, torque, bench, unbalance, rotor and braking."""

from __future__ import annotations

import numpy as np
from scipy.integrate import quad

from tests.independent.problem_routes import (
    OPEN,
    Answers,
    Given,
    breakdown_slip,
    by_breakdown,
    full,
    greatest,
    meshes,
    root,
    route,
    rpm,
    torque,
    turning,
)


@route
def slip_and_rotor_frequency(g: Given) -> Answers:
    pairs = g.poles / 2
    missing = g.f - pairs * rpm(g.omega) / 60  # turns of the field that the rotor does not make
    return {"omega_s": g.f / pairs * 2 * np.pi, "s": missing / g.f, "f_2": missing}


@route
def current_and_torque_of_a_plate(g: Given) -> Answers:
    drawn = root(lambda p: p * g.eta - g.P_n, g.P_n, 2 * g.P_n)
    return {
        "P_1": drawn,
        "I_n": drawn / 3 / (g.U / np.sqrt(3) * g.cos_phi),
        "T_n": 60 * g.P_n / (2 * np.pi * rpm(g.omega_n)),
    }


@route
def current_by_phasors(g: Given) -> Answers:
    stator, rotor = meshes(g.U / np.sqrt(3), g.R1, g.X1, g.Xm, g.R2, g.X2, g.s)
    drawn = 3 * (abs(stator) ** 2 * g.R1 + abs(rotor) ** 2 * g.R2 / g.s)
    return {"I": abs(stator), "P_1": drawn, "cos_phi": drawn / (np.sqrt(3) * g.U * abs(stator))}


@route
def way_of_the_power(g: Given) -> Answers:
    winding = np.sum(np.full(3, g.I_1) ** 2 * g.R1)
    gap = g.P_1 - winding - g.P_fe
    lost = winding + g.P_fe + g.s * gap + g.P_fw
    return {"P_s": winding, "P_g": gap, "P_r": gap - gap * (1 - g.s), "P_2": g.P_1 - lost, "eta": 1 - lost / g.P_1}


@route
def torque_and_efficiency_from_the_circuit(g: Given) -> Answers:
    stator, _ = meshes(g.U / np.sqrt(3), g.R1, g.X1, g.Xm, g.R2, g.X2, g.s)
    drawn = 3 * (g.U / np.sqrt(3) * stator).real
    gap = drawn - 3 * abs(stator) ** 2 * g.R1
    shaft = gap / turning(g) - g.P_fw / (turning(g) * (1 - g.s))
    return {"P_g": gap, "T_2": shaft, "eta": shaft * turning(g) * (1 - g.s) / drawn}


@route
def torque_on_a_low_line(g: Given) -> Answers:
    impedance = g.U_n / np.sqrt(3) / g.I_l
    current = g.U / np.sqrt(3) / impedance
    per_square = g.T_l / g.I_l**2
    return {"I_u": current, "T_u": per_square * current**2}


@route
def curve_from_the_breakdown_point(g: Given) -> Answers:
    rated = g.P_n / g.omega_n
    at = breakdown_slip(rated, g.k_b * rated, 1 - g.omega_n / g.omega_s)
    return {"T_b": g.k_b * rated, "s_b": at, "T_l": by_breakdown(g.k_b * rated, at, 1.0)}


@route
def slip_under_another_load(g: Given) -> Answers:
    at = breakdown_slip(g.T_n, g.T_b, g.s_n)
    line = np.interp(g.T, [0, g.T_n], [0, g.s_n])
    curve = root(lambda s: by_breakdown(g.T_b, at, s) - g.T, 1e-9, at)
    return {"s": line, full("s"): curve, "omega": g.omega_s - line * g.omega_s}


@route
def breakdown_by_the_short_circuit(g: Given) -> Answers:
    short, top = greatest(lambda s: torque(g, s, OPEN), 0.01, 0.9)
    whole, height = greatest(lambda s: torque(g, s), 0.01, 0.9)
    return {"s_b": short, "T_b": top, full("s_b"): whole, full("T_b"): height}


@route
def torque_at_rest_short(g: Given) -> Answers:
    phase = g.U / np.sqrt(3)
    _, short = meshes(phase, g.R1, g.X1, OPEN, g.R2, g.X2, 1.0)
    _, whole = meshes(phase, g.R1, g.X1, g.Xm, g.R2, g.X2, 1.0)
    both = {"I_2": abs(short), "T": torque(g, 1.0, OPEN)}
    return both | {full("I_2"): abs(whole), full("T"): torque(g, 1.0)}


@route
def source_seen_by_the_rotor(g: Given) -> Answers:
    stator, _ = meshes(g.U / np.sqrt(3), g.R1, g.X1, g.Xm, 1e12, 0.0, 1.0)  # rotor branch open
    at, height = greatest(lambda s: torque(g, s), 0.01, 0.9)
    return {"U_th": abs(stator * 1j * g.Xm), "s_b": at, "T_b": height}


@route
def two_wattmeters(g: Given) -> Answers:
    def ratio(angle: float) -> float:
        return g.P_a * np.cos(np.pi / 6 + angle) - g.P_b * np.cos(np.pi / 6 - angle)

    return {"P": g.P_a + g.P_b, "cos_phi": np.cos(root(ratio, -np.pi / 3, np.pi / 2))}


@route
def losses_at_no_load(g: Given) -> Answers:
    two = np.linalg.solve([[g.I_dc]], [g.U_dc])[0]
    winding = 1.5 * two * g.I_0**2
    return {"R1": two / 2, "P_s0": winding, "P_c": g.P_0 - winding}


@route
def friction_from_two_voltages(g: Given) -> Answers:
    left = [g.P_a - 3 * g.I_a**2 * g.R1, g.P_b - 3 * g.I_b**2 * g.R1]
    slope, foot = np.polyfit([g.U_a**2, g.U_b**2], left, 1)
    return {"P_ca": left[0], "P_fw": foot, "P_fe": slope * g.U_a**2}


@route
def locked_rotor_reduced(g: Given) -> Answers:
    apparent = np.sqrt(3) * g.U_k * g.I_k
    angle = np.arccos(g.P_k / apparent)
    size = g.U_k / np.sqrt(3) / g.I_k
    reactance = size * np.sin(angle)
    short = {"R2_prime": size * np.cos(angle) - g.R1_k, "X2_prime": reactance * g.f_n / g.f_k / 2}
    return {"R_k": size * np.cos(angle), "X_k": reactance, **short, full("R2_prime"): g.R_2, full("X2_prime"): g.X_1}


@route
def inertia_by_coasting(g: Given) -> Answers:
    lost = rpm(g.D) * 2 * np.pi / 60 / g.t_1
    return {"alpha": lost, "J": g.P_fw / g.omega / lost}


@route
def three_unequal_voltages(g: Given) -> Answers:
    volts = np.array([g.U_a, g.U_b, g.U_c])
    share = np.max(np.abs(volts / volts.mean() - 1))
    return {"U_m": volts.mean(), "d_u": share, "theta_u": g.theta + 2 * (100 * share) ** 2 / 100 * g.theta}


@route
def negative_sequence_of_three_voltages(g: Given) -> Answers:
    corner = (g.U_a**2 + g.U_c**2 - g.U_b**2) / (2 * g.U_a)  # the triangle of the three voltages, laid out
    third = corner + 1j * np.sqrt(g.U_c**2 - corner**2)
    lines = np.array([g.U_a, third - g.U_a, -third])
    turn = np.exp(2j * np.pi / 3)
    one, other = abs(lines @ [1, turn, turn**2]), abs(lines @ [1, turn**2, turn])
    return {"u_2": min(one, other) / max(one, other)}


@route
def current_of_the_negative_sequence(g: Given) -> Answers:
    phase = g.U / np.sqrt(3)
    forward, _ = meshes(phase, g.R1, g.X1, g.Xm, g.R2, g.X2, g.s)
    backward, _ = meshes(g.u_2 * phase, g.R1, g.X1, g.Xm, g.R2, g.X2, 2 - g.s)
    return {"I_p": abs(forward), "I_q": abs(backward), "q": abs(backward) / abs(forward)}


def _slip_at_equal_torque(R2: float, added: float, slip: float) -> float:
    """Of some circuit with constant reactances: the slip of the same torque with more rotor resistance."""
    g = Given(U=400.0, R1=0.5 * R2, X1=2 * R2, Xm=90 * R2, R2=R2, X2=3 * R2)
    wanted = torque(g, slip, speed=100.0)
    top, _ = greatest(lambda s: torque(g, s, R2=R2 + added, speed=100.0), 0.05, 60.0)
    return root(lambda s: torque(g, s, R2=R2 + added, speed=100.0) - wanted, 1e-6, top)


@route
def speed_with_added_resistance(g: Given) -> Answers:
    slip = _slip_at_equal_torque(g.R2, g.R_x, g.s_0)
    return {"s": slip, "omega": g.omega_s - slip * g.omega_s}


def added(R2: float, slip: float, wanted: float) -> float:
    """The resistance that moves a slip to another at the same torque, by search. [ohm]"""
    return root(lambda x: _slip_at_equal_torque(R2, x, slip) - wanted, 1e-3 * R2, 60 * R2)


@route
def ohms_at_the_rings(g: Given) -> Answers:
    seen = g.R_ring / 2 * g.a * g.a
    extra = added(seen, g.s_0, g.s)
    return {"R2": seen, "R_x": extra, "R_b": extra / g.a / g.a}


@route
def full_torque_at_rest(g: Given) -> Answers:
    total, height = greatest(lambda r: torque(g, 1.0, R2=r), g.R2, 50 * g.R2)
    return {"R_x": total - g.R2, "T_b": height}


@route
def graded_starter(g: Given) -> Answers:
    pull = g.T_high * g.R2 / g.s_1  # torque = pull times slip over resistance

    def totals(low: float) -> list[float]:
        """The totals that carry the rotor from rest, each cut at `low` back to the upper torque."""
        slip, found = 1.0, [pull / g.T_high]
        for _ in range(round(g.n)):
            slip = low * found[-1] / pull
            found.append(pull * slip / g.T_high)
        return found

    low = root(lambda t: totals(t)[-1] - g.R2, 0.01 * g.T_high, g.T_high)
    first = totals(low)
    sections = {"R_c1": first[0] - first[1], "R_c2": first[1] - first[2]}
    return {"R_t": first[0], "K": first[1] / first[0], "T_low": low, **sections}


@route
def heat_of_a_reversal(g: Given) -> Answers:
    stored, _ = quad(lambda w: g.J * w, 0, g.omega_s)
    plugged, _ = quad(lambda s: s * g.J * g.omega_s**2, 1, 2)  # s T omega_s dt = s J omega_s**2 ds
    direct, _ = quad(lambda w: g.J * w, 0, g.omega_s)  # a field at rest: all of the torque's work stays in the rotor
    return {"W": stored, "W_2": plugged, "W_dc": direct}


@route
def current_of_a_reversal(g: Given) -> Answers:
    phase, slip = g.U / np.sqrt(3), 1 + (1 - g.s)
    _, short = meshes(phase, g.R1, g.X1, OPEN, g.R2, g.X2, slip)
    _, whole = meshes(phase, g.R1, g.X1, g.Xm, g.R2, g.X2, slip)
    both = {"s_p": slip, "I_2": abs(short), "T": torque(g, slip, OPEN)}
    return both | {full("I_2"): abs(whole), full("T"): torque(g, slip)}


@route
def direct_current_for_a_brake(g: Given) -> Answers:
    axes = np.exp(2j * np.pi / 3 * np.arange(3))
    turning_field = abs(np.sqrt(2) * g.I_e * np.cos(2 * np.pi / 3 * np.arange(3)) @ axes)
    standing_field = abs(np.array([1.0, -1.0, 0.0]) @ axes)  # of one ampere through two phases
    direct = turning_field / standing_field
    time, _ = quad(lambda _: g.J / g.T_br, 0, g.omega)
    return {"I_dc": direct, "U_dc": direct * (g.R1 + g.R1), "t_b": time}


@route
def braking_torque_of_direct_current(g: Given) -> Answers:
    def braked(share: float) -> float:
        admittances = np.array([1 / (1j * g.X_m), 1 / (g.R2 / share + 1j * g.X2)])
        gap = g.I_e / admittances.sum()
        return 3 * abs(gap * admittances[1]) ** 2 * g.R2 / share / turning(g)

    at, height = greatest(braked, 1e-4, 0.3)
    return {"T_b": braked(g.S), "S_b": at, "T_m": height}


@route
def lowering_a_load(g: Given) -> Answers:
    at = breakdown_slip(g.T_n, g.T_b, g.s_n)
    line = np.interp(g.T, [0, g.T_n], [0, -g.s_n])
    curve = root(lambda s: by_breakdown(g.T_b, at, s) + g.T, -at, -1e-9)
    omega = (1 - line) * g.omega_s
    return {"s": line, full("s"): curve, "omega": omega, "P_b": omega * g.T}

"""Second roads of the problems on starting, dip, run-up and heat."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.integrate import quad, solve_ivp

from tests.independent.problem_routes import (
    Answers,
    Given,
    by_breakdown,
    full,
    greatest,
    root,
    route,
)

TURN = np.exp(2j * np.pi / 3 * np.arange(3))
HORSE = 745.699871582  # W, one mechanical horsepower: NIST SP 811
FINE = {"rtol": 1e-11, "atol": 1e-12, "method": "DOP853"}


@route
def code_letter_current(g: Given) -> Answers:
    apparent = g.P_n / HORSE * (g.c * HORSE)
    return {"S_l": apparent, "I_l": apparent / 3 / (g.U / np.sqrt(3))}


@route
def star_delta_thirds(g: Given) -> Answers:
    volts = 400.0  # any: the ratios do not depend on it
    winding = volts / (g.k_i * g.I_n / np.sqrt(3))
    star = volts / np.sqrt(3) / winding
    share = (star * winding / volts) ** 2  # torque by the square of the voltage across a winding
    torque = g.k_t * g.T_n * share
    return {"I_Y": star, "T_Y": torque, "m": torque / g.T_n - g.T_L / g.T_n}


@route
def star_delta_winding(g: Given) -> Answers:
    lines = g.U / np.sqrt(3) * TURN  # to neutral
    currents = lines - np.roll(lines, -1)  # per ohm, in the windings of a delta
    ratio = abs(currents[0] - np.roll(currents, 1)[0]) / abs(currents[0])  # line over winding
    impedance = abs(lines[0] - lines[1]) / (g.k_i * g.I_n / ratio)
    return {"I_w": g.I_n / ratio, "U_Y": abs(lines[0]), "Z_w": impedance, "I_Y": abs(lines[0]) / impedance}


@route
def tap_currents(g: Given) -> Answers:
    motor = np.interp(g.k, [0, 1], [0, g.I_l])
    return {"I_M": motor, "I_L": motor * g.k, "T_k": g.T_l * (motor / g.I_l) ** 2}


@route
def tap_for_a_conveyor(g: Given) -> Answers:
    tap = root(lambda k: g.T_l * k * k - g.T_L - g.q * g.T_L, 0.01, 2.0)
    return {"k": tap, "I_L": tap * tap * g.I_l, "I_M": tap * g.I_l}


def _in_series(g: Given, added: Callable[[float], complex]) -> tuple[float, complex]:
    """Ohms of what is added so that the limit flows, and the impedance of the motor."""
    motor = g.R_k + 1j * g.X_k
    return root(lambda x: abs(g.U / np.sqrt(3) / (motor + added(x))) - g.I_lim, 0.0, 50.0), motor


@route
def reactor_for_a_limit(g: Given) -> Answers:
    ohms, motor = _in_series(g, lambda x: 1j * x)
    left = abs(motor / (motor + 1j * ohms))
    return {"X_e": ohms, "L_e": ohms / (2 * np.pi * g.f), "q": left * left}


@route
def resistor_for_a_limit(g: Given) -> Answers:
    ohms, motor = _in_series(g, lambda x: x)
    phase = g.U / np.sqrt(3)
    current = phase / (motor + ohms)
    return {"R_e": ohms, "U_M": abs(current * motor), "P_e": 3 * ((phase - current * motor) * current.conjugate()).real}


@route
def soft_starter_limit(g: Given) -> Answers:
    share = root(lambda u: u * g.I_l - g.I_lim, 0, 1)
    moving = root(lambda i: g.T_l * (i / g.I_l) ** 2 - g.T_L, 0, g.I_l)
    return {"u": share, "T_u": g.T_l * share * share, "I_b": moving}


@route
def soft_starter_ramp(g: Given) -> Answers:
    def share(t: float) -> float:
        return float(np.interp(t, [0, g.t_r], [g.u_0, 1]))

    when = root(lambda t: g.T_l * share(t) ** 2 - g.T_L, 0, g.t_r)
    return {"u_b": share(when), "t_b": when, "I_b": share(when) * g.I_l}


def _apart(cosine: float) -> complex:
    """A unit phasor of an inductive impedance."""
    return complex(np.exp(1j * np.arccos(cosine)))


def _steep(x_over_r: float) -> complex:
    return complex(np.exp(1j * np.arctan(x_over_r)))


@route
def dip_at_a_busbar(g: Given) -> Answers:
    source, motor = g.U**2 / g.S_k, g.U / (np.sqrt(3) * g.I_l)
    whole = abs(motor * _apart(g.c) / (motor * _apart(g.c) + source * _steep(g.x)))
    return {"S_l": g.U**2 / motor, "d": source / (source + motor), full("d"): 1 - whole}


@route
def largest_motor_started_directly(g: Given) -> Answers:
    start = root(lambda s: 1 / (1 + g.S_k / s) - g.d, 1.0, g.S_k)
    rated = root(lambda p: p / (g.eta * g.cos_phi) * g.k_i - start, 1.0, start)
    return {"S_l": start, "P_n": rated}


@route
def dip_behind_a_transformer(g: Given) -> Answers:
    network, transformer = g.U**2 / g.S_Q, g.u_k * g.U**2 / g.S_r
    motor = g.U / (np.sqrt(3) * g.I_l)
    source = network * _steep(g.x_Q) + transformer * _steep(g.x_T)
    whole = abs(motor * _apart(g.c) / (motor * _apart(g.c) + source))
    level, plain = g.U**2 / (network + transformer), network + transformer
    return {"S_k": level, "S_l": g.U**2 / motor, "d": plain / (plain + motor), full("d"): 1 - whole}


@route
def start_at_the_end_of_a_cable(g: Given) -> Answers:
    rated = g.S_r / (np.sqrt(3) * g.U)
    resistance = g.P_k / (3 * rated**2)
    reactance = root(lambda x: abs(resistance + 1j * x) - g.u_k * g.U / np.sqrt(3) / rated, 0, 10)
    motor = g.U / (np.sqrt(3) * g.I_l) * _apart(g.cos_phi)
    transformer, cable = 1 / (resistance + 1j * reactance), 1 / ((g.r + 1j * g.x) * g.l)
    nodes = np.array([[transformer + cable, -cable], [-cable, cable + 1 / motor]])
    share = abs(np.linalg.solve(nodes, [transformer, 0])[1])
    return {"X_T": reactance, "u": share, "q_T": share * share}


@route
def mean_torque_run_up(g: Given) -> Answers:
    time, _ = quad(lambda _: g.J / (g.T - g.T_L), 0, g.omega)
    stored, _ = quad(lambda w: g.J * w, 0, g.omega)
    return {"t_a": time, "W": stored}


@route
def belt_seen_from_the_motor(g: Given) -> Answers:
    moving = 2 * (g.m * g.v**2 / 2) / g.omega**2  # equal energy
    load = root(lambda t: g.eta * t * g.omega - g.F * g.v, 0, 1e5)
    time, _ = quad(lambda _: (g.J_M + moving) / (g.T - load), 0, g.omega)
    return {"J_m": moving, "T_L": load, "t_a": time}


@route
def run_up_without_load(g: Given) -> Answers:
    def time(at: float) -> float:
        return quad(lambda s: g.J * g.omega_s / by_breakdown(g.T_b, at, s), g.s_2, g.s_1, epsabs=0, epsrel=1e-12)[0]

    fastest, _ = greatest(lambda at: -time(at), 0.05, 0.95)
    return {"t": time(g.s_b), "s_f": fastest}


@route
def star_then_delta_run_up(g: Given) -> Answers:
    star, _ = quad(lambda _: g.J / (g.T_Y - g.T_1), 0, g.omega_1)
    delta, _ = quad(lambda _: g.J / (g.T_D - g.T_2), g.omega_1, g.omega_2)
    return {"t_1": star, "t_2": delta, "t_a": star + delta}


@route
def winding_temperature_by_resistance(g: Given) -> Answers:
    hot = np.interp(g.R_h, [0, 2 * g.R_c], [-g.k, -g.k + 2 * (g.k + g.t_c)])  # zero ohms at -235 degrees
    return {"theta": hot - g.t_a, "t_h": hot}


def rotor_heat(J: float, omega_s: float, s_1: float, s_2: float, motor: float, load: float) -> tuple[float, float]:
    """Heat in the rotor and time, from the equation of motion with constant torques. [J, s]"""

    def after(_: float, state: np.ndarray) -> list[float]:
        return [-(motor - load) / (J * omega_s), state[0] * motor * omega_s]

    def arrived(_: float, state: np.ndarray) -> float:
        return float(state[0] - s_2)

    arrived.terminal = True
    far = 2 * J * omega_s / (motor - load)
    found = solve_ivp(after, (0, far), [s_1, 0.0], events=arrived, **FINE)
    return float(found.y[1][-1]), float(found.t[-1])


@route
def heat_of_a_start(g: Given) -> Answers:
    heat, _ = rotor_heat(g.J, g.omega_s, g.s_1, g.s_2, 100.0, 0.0)
    stator = heat / g.R2 * g.R1  # the same current in both
    return {"W_2": heat, "W_1": stator, "W_M": heat + stator}


@route
def heat_of_a_loaded_start(g: Given) -> Answers:
    free, _ = rotor_heat(g.J, g.omega_s, g.s_1, g.s_2, g.T, 0.0)
    loaded, time = rotor_heat(g.J, g.omega_s, g.s_1, g.s_2, g.T, g.T_L)
    return {"W_2": free, "W_2L": loaded, "t_a": time}


@route
def stall_time_on_a_low_line(g: Given) -> Answers:
    allowed = g.U_n**2 * g.t_n
    time = root(lambda t: g.U**2 * t - allowed, 0, 100 * g.t_n)
    return {"t_stall": time, "h": g.U**2 * g.t_e / allowed}


@route
def hottest_slip_of_a_fan(g: Given) -> Answers:
    at, loss = greatest(lambda s: s * g.T_0 * (1 - s) ** 2 * g.omega_s, 0.05, 0.9)
    rated = g.s_n * g.T_0 * (1 - g.s_n) ** 2 * g.omega_s
    return {"s_w": at, "P_w": loss, "i_m": np.sqrt(loss / rated)}  # loss by the square of the current

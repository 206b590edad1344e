"""Second roads of the problems on starting, dip, run-up, heat, frequency, poles, converters, duty and energy."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.integrate import quad, solve_ivp

from tests.independent.problem_routes import (
    OPEN,
    Answers,
    Given,
    by_breakdown,
    full,
    greatest,
    meshes,
    root,
    route,
    rpm,
    turning,
)
from tests.independent.problem_routes_machine import _added

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


def _rotor_heat(J: float, omega_s: float, s_1: float, s_2: float, motor: float, load: float) -> tuple[float, float]:
    """Heat in the rotor and time, from the equation of motion with constant torques. [J, s]"""

    def after(_: float, state: np.ndarray) -> list[float]:
        return [-(motor - load) / (J * omega_s), state[0] * motor * omega_s]

    arrived = lambda _t, state: state[0] - s_2  # noqa: E731
    arrived.terminal = True
    far = 2 * J * omega_s / (motor - load)
    found = solve_ivp(after, (0, far), [s_1, 0.0], events=arrived, **FINE)
    return float(found.y[1][-1]), float(found.t[-1])


@route
def heat_of_a_start(g: Given) -> Answers:
    heat, _ = _rotor_heat(g.J, g.omega_s, g.s_1, g.s_2, 100.0, 0.0)
    stator = heat / g.R2 * g.R1  # the same current in both
    return {"W_2": heat, "W_1": stator, "W_M": heat + stator}


@route
def heat_of_a_loaded_start(g: Given) -> Answers:
    free, _ = _rotor_heat(g.J, g.omega_s, g.s_1, g.s_2, g.T, 0.0)
    loaded, time = _rotor_heat(g.J, g.omega_s, g.s_1, g.s_2, g.T, g.T_L)
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


@route
def speed_on_an_inverter(g: Given) -> Answers:
    poles = 120 * g.f_n / rpm(g.omega_s)
    lag = rpm(g.omega_s) - rpm(g.omega_n)
    speed = 120 * g.f / poles - g.m * lag
    return {"U_f": g.U_n / g.f_n * g.f, "Delta_omega": lag * np.pi / 30, "omega": speed * np.pi / 30}


@route
def limit_of_field_weakening(g: Given) -> Answers:
    limit = root(lambda x: g.T_b / x**2 - g.q * g.T_n / x, 1.0, 10.0)

    def peak(x: float) -> float:
        """Of a circuit with unit leakage at rated frequency, by search over the slip."""
        return greatest(lambda s: abs(meshes(1, g.r, x, OPEN, 0.1, 0.0, s)[1]) ** 2 * 0.1 / s / x, 0.005, 0.9)[1]

    return {"f_h": limit * g.f_n, "T_f": g.T_b / limit**2, full("T_f"): g.T_b * peak(limit) / peak(1.0)}


@route
def start_at_low_frequency(g: Given) -> Answers:
    x = g.f / g.f_n
    _, rotor = meshes(x * g.U / np.sqrt(3), g.R1, x * g.X1, OPEN, g.R2, x * g.X2, 1.0)
    field = 2 * np.pi * g.f / (g.poles / 2)
    return {"I_f": abs(rotor), "T_f": 3 * abs(rotor) ** 2 * g.R2 / field}


@route
def voltage_that_holds_the_flux(g: Given) -> Answers:
    def gap(phase: float, x: float) -> float:
        stator, rotor = meshes(phase, g.R1, x * g.X1, x * g.Xm, g.R2, x * g.X2, g.s / x)
        return abs((stator - rotor) * 1j * x * g.Xm)

    x, rated = g.f / g.f_n, gap(g.U / np.sqrt(3), 1.0)
    needed = root(lambda u: gap(u / np.sqrt(3), x) - x * rated, 0, 2 * g.U)
    return {"E_g": rated, "U_x": needed, "b": needed / (x * g.U) - 1}


@route
def fan_on_two_speeds(g: Given) -> Answers:
    ratio = rpm(g.omega) / rpm(g.omega_n)
    return {"omega_2": 2 * np.pi * g.f / (g.p_2 / 2), "P_L": g.P_n * np.exp(3 * np.log(ratio))}


@route
def torque_of_both_speeds(g: Given) -> Answers:
    return {"T_1": g.P_n * 60 / (2 * np.pi * rpm(g.omega_1)), "T_2": g.P_n * 60 / (2 * np.pi * rpm(g.omega_2))}


@route
def heat_saved_by_two_steps(g: Given) -> Answers:
    whole, _ = _rotor_heat(g.J, g.omega_s, 1.0, 0.0, 50.0, 0.0)
    half = g.omega_s / 2
    low, _ = _rotor_heat(g.J, half, 1.0, 0.0, 50.0, 0.0)
    high, _ = _rotor_heat(g.J, g.omega_s, 0.5, 0.0, 50.0, 0.0)
    return {"W_D": whole, "W_2": low + high}


def _rectified(phase: float) -> float:
    """Mean of the highest of six line voltages, by quadrature over a sixth of a turn. [V]"""
    lines = np.sqrt(3) * np.sqrt(2) * phase
    return quad(lambda t: lines * np.cos(t), -np.pi / 6, np.pi / 6)[0] / (np.pi / 3)


def _rms_of_link(current: float) -> float:
    """Rms of the line current of a bridge: the link's for two thirds of the time, either way. [A]"""
    wave = np.repeat([1.0, 1.0, 0.0, -1.0, -1.0, 0.0], 100)
    return float(np.sqrt(np.mean((current * wave) ** 2)))


@route
def chopper_resistance_of_a_phase(g: Given) -> Answers:
    seen = _added(g.R2, g.s_0, g.s)
    own = seen / g.a**2
    heat = 3 * _rms_of_link(1.0) ** 2 * own  # of one ampere in the link
    return {"R_s": seen, "R_x": own, "d": root(lambda d: (1 - d) * g.R_d - heat, -1, 1)}


@route
def chopper_duty_for_a_speed(g: Given) -> Answers:
    open_rings = _rectified(g.E_2)
    link = root(lambda i: open_rings * i - g.T * turning(g), 0, 1e5)
    resistor = g.s_m * open_rings / link
    share = root(lambda d: (1 - d) * resistor * link - g.s * open_rings, -1, 1)
    return {"I_d": link, "R_d": resistor, "d": share}


@route
def firing_angle_for_a_speed(g: Given) -> Answers:
    angle = root(lambda a: g.s * g.n_m + g.n_c * np.cos(a), np.pi / 2, np.pi)
    return {"alpha": angle, "P_sl": g.P_g - (1 - g.s) * g.P_g}


@route
def transformer_of_a_recovery_set(g: Given) -> Answers:
    def inverting(line: float) -> float:
        window = (-np.pi / 6 + g.alpha_m, np.pi / 6 + g.alpha_m)
        return quad(lambda t: np.sqrt(2) * line * np.cos(t), *window)[0] / (np.pi / 3)

    standing = _rectified(g.U_20 / np.sqrt(3))
    line = root(lambda u: inverting(u) + g.s_m * standing, 0, 5e3)
    link = g.T * turning(g) / standing
    return {"U_T": line, "I_d": link, "S_T": np.sqrt(3) * line * _rms_of_link(link)}


@route
def torque_of_a_cycle(g: Given) -> Answers:
    spans = np.array([g.t_1, g.t_2, g.t_3]) / (g.t_1 + g.t_2 + g.t_3)
    mean = np.sqrt(np.average(np.square([g.T_1, g.T_2, g.T_3]), weights=spans))
    return {"T_eq": mean, "q": mean / g.T_n}


def _warmed(steady: float, start: float, tau: float, time: float) -> float:
    """One body's rise after a time, by its differential equation."""
    found = solve_ivp(lambda _t, rise: (steady - rise) / tau, (0, time), [start], **FINE)
    return float(found.y[0][-1])


@route
def warming_of_a_motor(g: Given) -> Answers:
    when = root(lambda t: _warmed(g.theta_s, g.theta_0, g.tau, t) - g.theta_l, 1.0, 12 * g.tau)
    return {"theta_t": _warmed(g.theta_s, g.theta_0, g.tau, g.t), "t_l": when}


def _loss(load: float, share: float) -> float:
    """Loss over that at rated load: constant and by the square of the load."""
    return (share + load**2) / (share + 1)


@route
def short_time_power(g: Given) -> Answers:
    load = root(lambda y: _warmed(_loss(y, g.a), 0.0, g.tau, g.t_on) - 1, 0.5, 10.0)
    return {"P_S2": load * g.P_S1, "q": load}


@route
def intermittent_power(g: Given) -> Answers:
    warm, cool = np.exp(-g.t_on / g.tau), np.exp(-g.t_off / g.tau_c)

    def hottest(load: float) -> float:
        """Rise at the end of the work, cycle after cycle until it repeats."""
        rise = 0.0
        for _ in range(400):
            rise = (rise * cool) * warm + _loss(load, g.a) * (1 - warm)
        return rise

    return {"e": g.t_on / (g.t_on + g.t_off), "P_S3": g.P_S1 * root(lambda y: hottest(y) - 1, 0.5, 10.0)}


@route
def better_motor(g: Given) -> Answers:
    old, new = (root(lambda p, e=eta: p * e - g.P_2, g.P_2, 3 * g.P_2) for eta in (g.eta_1, g.eta_2))
    return {"W_1": old * g.t, "W_s": old * g.t - new * g.t}


@route
def throttle_or_speed(g: Given) -> Answers:
    slow = g.P_n * np.prod(np.full(3, g.q)) / g.eta
    return {"P_t": g.P_n * g.y, "P_s": slow, "W": quad(lambda _: g.P_n * g.y - slow, 0, g.t)[0]}


@route
def year_of_slip_power(g: Given) -> Answers:
    slip_power = root(lambda p: g.s * (g.P_m + p) - p, 0, 10 * g.P_m)  # what crosses the gap is shaft and slip power
    return {"P_sl": slip_power, "W_r": slip_power * g.eta * g.t}

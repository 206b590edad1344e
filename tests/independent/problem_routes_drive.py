"""Second roads of the problems on frequency, poles, converters, duty and energy."""

from __future__ import annotations

import numpy as np
from scipy.integrate import quad, solve_ivp

from tests.independent.problem_routes import (
    OPEN,
    Answers,
    Given,
    full,
    greatest,
    meshes,
    root,
    route,
    rpm,
    turning,
)
from tests.independent.problem_routes_machine import added
from tests.independent.problem_routes_start import FINE, rotor_heat


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
    whole, _ = rotor_heat(g.J, g.omega_s, 1.0, 0.0, 50.0, 0.0)
    half = g.omega_s / 2
    low, _ = rotor_heat(g.J, half, 1.0, 0.0, 50.0, 0.0)
    high, _ = rotor_heat(g.J, g.omega_s, 0.5, 0.0, 50.0, 0.0)
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
    seen = added(g.R2, g.s_0, g.s)
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

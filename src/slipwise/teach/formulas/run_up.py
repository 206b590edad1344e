"""Getting up to speed: what the shaft feels, how long it takes, and the heat it leaves."""

from __future__ import annotations

from slipwise.limits.heat import SHARE
from slipwise.limits.torque_margin import MARGIN
from slipwise.study.thermal.explain import BALANCE, RISE
from slipwise.teach.formulas.build import CHAPMAN, DUBEY, HUBERT, NAGRATH, PRACTICE, formula

_RIGID = "rigid shaft"
_KLOSS = "torque by the breakdown point alone, no load torque, quasi-steady"
_HEAT = "no load torque, quasi-steady; whatever the voltage, the rotor resistance or the shape of the torque"

RUN_UP = (
    formula("run_up.inertia_of_gd2", "Inertia from weight times diameter squared", "J = GD2 / 4", "definition",
            "GD2 in kgf m2 read as kg m2"),
    formula("run_up.referred_inertia", "Inertia seen at the motor shaft", "J_r = J_L * (omega_L / omega)**2", DUBEY, _RIGID),
    formula("run_up.referred_torque", "Load torque seen at the motor shaft", "T_r = T_L * omega_L / (eta * omega)", DUBEY,
            f"{_RIGID}, power flowing to the load"),
    formula("run_up.mass_inertia", "Inertia of a mass moved along", "J_m = m * (v / omega)**2", DUBEY, _RIGID, m="kg", v="m/s"),
    formula("run_up.hoist_torque", "Torque of a hung mass", "T_L = m * g * r", "definition", "at the drum",
            m="kg", g="m/s2", r="m"),
    formula("run_up.acceleration", "Angular acceleration", "alpha = (T - T_L) / J", DUBEY, _RIGID, alpha="rad/s2"),
    MARGIN,
    formula("run_up.mean_time", "Run-up time with a mean accelerating torque", "t_a = J * omega / T_a", DUBEY, _RIGID),
    formula("run_up.mean_torque", "Mean accelerating torque, rough", "T_a = 0.45 * (T_l + T_b) - T_L",
            f"{PRACTICE} (from memory)", "single hump between standstill and breakdown; T_L: mean load torque"),
    formula("run_up.kloss_time", "Time between two slips without load",
            "t = J * omega_s / (2 * T_b) * ((s_1**2 - s_2**2) / (2 * s_b) + s_b * log(s_1 / s_2))", NAGRATH, _KLOSS),
    formula("run_up.fastest_slip", "Breakdown slip of the shortest time between two slips",
            "s_b = sqrt((s_1**2 - s_2**2) / (2 * log(s_1 / s_2)))", NAGRATH, _KLOSS),
    formula("run_up.stored_energy", "Energy stored at a speed", "W = J * omega**2 / 2", "definition", _RIGID),
)  # fmt: skip
HEAT = (
    formula("heat.rotor", "Heat in the rotor circuit between two slips", "W_2 = J * omega_s**2 / 2 * (s_1**2 - s_2**2)",
            DUBEY, _HEAT),
    formula("heat.rotor_loaded", "Heat in the rotor circuit with load", "W_2L = W_2 * T / (T - T_L)", DUBEY,
            "both torques constant over the run-up"),
    formula("heat.stator", "Heat in the stator that goes with it", "W_1 = W_2 * R1 / R2", DUBEY,
            "magnetising current neglected; rotor resistance seen from the stator, all of it"),
    formula("heat.both", "Heat in the motor", "W_M = W_1 + W_2", DUBEY, _HEAT),
    formula("heat.two_speed_start", "Heat in the rotor, started through half speed", "W_2 = J * omega_s**2 / 4", DUBEY,
            f"{_HEAT}; pole-changing 2:1, each step up to its synchronous speed"),
    formula("heat.resistance", "Resistance at another temperature", "R_h = R_c * (k + t_h) / (k + t_c)",
            "IEC 60034-1 (from memory)", "k: 235 degC copper, 225 degC aluminium", k="degC", t_h="degC", t_c="degC"),
    formula("heat.rise_by_resistance", "Temperature rise by resistance",
            "theta = (R_h - R_c) / R_c * (k + t_c) + t_c - t_a", "IEC 60034-1 (from memory)", "t_a: coolant",
            k="degC", t_c="degC", t_a="degC"),
    RISE,
    BALANCE,
    SHARE,
    formula("heat.warming", "Rise of one body after a time", "theta_t = theta_s * (1 - exp(-t / tau)) + theta_0 * exp(-t / tau)",
            DUBEY, "one body, constant loss and cooling"),
    formula("heat.life", "Life of insulation above its temperature", "L = L_n * 2**(-Delta_theta / H)", HUBERT,
            "rule of thumb; H: 10 K, 8 to 12 K are quoted", L="s", L_n="s", H="K"),
    formula("heat.unbalance", "Unbalance of three line voltages",
            "d_u = max(abs(U_a - U_m), abs(U_b - U_m), abs(U_c - U_m)) / U_m", "NEMA MG 1, 14.36 (from memory)",
            "greatest deviation from the mean"),
    formula("heat.mean_voltage", "Mean of three line voltages", "U_m = (U_a + U_b + U_c) / 3", "definition", "any"),
    formula("heat.rise_under_unbalance", "Rise under unbalance", "theta_u = theta * (1 + 200 * d_u**2)", HUBERT,
            "rule beside NEMA MG 1; unbalance up to 5 per cent"),
    formula("heat.of_speed", "Rotor loss at a torque and slip", "P_r = s * T * omega_s", CHAPMAN, "any slip"),
)  # fmt: skip

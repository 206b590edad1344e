"""Starting with less voltage, with something in series, and from code letters."""

from __future__ import annotations

from slipwise.teach.formulas.build import CHAPMAN, DUBEY, HUBERT, PRACTICE, formula

_REST = "standstill, constant impedance of the motor"
_IDEAL = f"{_REST}; ideal transformer"

STARTING = (
    formula("starting.star_voltage", "Voltage of a winding in star", "U_Y = U / sqrt(3)", DUBEY, "balanced"),
    formula("starting.star_current", "Line current in star", "I_Y = I_D / 3", DUBEY, _REST),
    formula("starting.star_torque", "Torque in star", "T_Y = T_D / 3", DUBEY, _REST),
    formula("starting.torque_at_voltage", "Torque at another voltage", "T_u = T_l * (U / U_n)**2", CHAPMAN, _REST),
    formula("starting.current_at_voltage", "Current at another voltage", "I_u = I_l * U / U_n", CHAPMAN, _REST),
    formula("starting.tap_motor_current", "Motor current on a tap", "I_M = k * I_l", HUBERT, _IDEAL),
    formula("starting.tap_line_current", "Line current on a tap", "I_L = k**2 * I_l", HUBERT, _IDEAL),
    formula("starting.tap_torque", "Torque on a tap", "T_k = k**2 * T_l", HUBERT, _IDEAL),
    formula("starting.tap_for_current", "Tap for a line-current limit", "k = sqrt(I_lim / I_l)", DUBEY, _IDEAL),
    formula("starting.tap_for_torque", "Tap for a wanted torque", "k = sqrt(T_w / T_l)", HUBERT, _IDEAL),
    formula("starting.series_reactor", "Series reactor for a current limit",
            "X_e = sqrt((U_p / I_lim)**2 - R_k**2) - X_k", DUBEY, f"{_REST}; ohms of the star equivalent"),
    formula("starting.series_resistor", "Series resistor for a current limit",
            "R_e = sqrt((U_p / I_lim)**2 - X_k**2) - R_k", HUBERT, f"{_REST}; ohms of the star equivalent"),
    formula("starting.motor_voltage", "Phase voltage left for the motor", "U_M = I_lim * sqrt(R_k**2 + X_k**2)", HUBERT, _REST),
    formula("starting.soft_voltage", "Voltage share at a current limit", "u = I_lim / I_l", PRACTICE,
            f"{_REST}; fundamental only"),
    formula("starting.soft_torque", "Torque at a current limit", "T_u = T_l * (I_lim / I_l)**2", PRACTICE,
            f"{_REST}; fundamental only"),
    formula("starting.code_letter", "Apparent power at standstill from the code letter", "S_l = c * P_n",
            "NEMA MG 1, code letters (from memory)", "rated voltage and frequency", c="VA/W"),
    formula("starting.locked_current", "Current at standstill from apparent power", "I_l = S_l / (sqrt(3) * U)", HUBERT,
            "rated voltage"),
)  # fmt: skip

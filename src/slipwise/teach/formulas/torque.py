"""Torque against slip: the source seen by the rotor, breakdown, and the shapes without the whole circuit."""

from __future__ import annotations

from slipwise.teach.formulas.build import CHAPMAN, DUBEY, NAGRATH, SEN, formula

_SINGLE = "single cage or wound rotor, constant reactances"
_CLOSE = "magnetising branch left out of the rotor's way (approximate circuit)"
_BARE = "stator resistance neglected, single cage, magnetising branch left out"

TORQUE = (
    formula("torque.source_impedance", "Impedance of the source seen by the rotor", "Z_th = Z_1 * Z_m / (Z_1 + Z_m)",
            CHAPMAN, _SINGLE),
    formula("torque.source_resistance", "Its resistance", "R_th = re(Z_th)", CHAPMAN, _SINGLE),
    formula("torque.source_reactance", "Its reactance", "X_th = im(Z_th)", CHAPMAN, _SINGLE),
    formula("torque.source_voltage", "Voltage of the source seen by the rotor", "U_th = U_p * abs(Z_m / (Z_1 + Z_m))",
            CHAPMAN, _SINGLE),
    formula("torque.source_voltage_no_core", "Voltage of the source seen by the rotor, no core loss",
            "U_th = U_p * Xm / sqrt(R1**2 + (X1 + Xm)**2)", CHAPMAN, f"{_SINGLE}; no core loss"),
    formula("torque.source_resistance_near", "Its resistance, shortened", "R_th = R1 * (Xm / (X1 + Xm))**2", CHAPMAN,
            "R1 much smaller than X1 + Xm; the reactance is then taken as X1"),
    formula("torque.at_slip", "Torque at a slip",
            "T = 3 * U_th**2 * (R2 / s) / (omega_s * ((R_th + R2 / s)**2 + (X_th + X2)**2))", CHAPMAN,
            f"{_SINGLE}; slip not 0"),
    formula("torque.breakdown_slip", "Breakdown slip", "s_b = R2 / sqrt(R_th**2 + (X_th + X2)**2)", CHAPMAN, _SINGLE),
    formula("torque.breakdown", "Breakdown torque",
            "T_b = 3 * U_th**2 / (2 * omega_s * (R_th + sqrt(R_th**2 + (X_th + X2)**2)))", CHAPMAN, _SINGLE),
    formula("torque.breakdown_generating", "Breakdown torque when generating",
            "T_bg = -3 * U_th**2 / (2 * omega_s * (sqrt(R_th**2 + (X_th + X2)**2) - R_th))", CHAPMAN, _SINGLE),
    formula("torque.resistance_for_peak_at_rest", "Rotor resistance to add for breakdown torque at rest",
            "R_x = sqrt(R_th**2 + (X_th + X2)**2) - R2", CHAPMAN, f"{_SINGLE}, seen from the stator"),
    formula("torque.near_current", "Rotor current, approximate circuit",
            "I_2 = U_p / sqrt((R1 + R2 / s)**2 + (X1 + X2)**2)", DUBEY, f"{_CLOSE}; slip not 0"),
    formula("torque.near", "Torque, approximate circuit", "T = 3 * I_2**2 * R2 / (s * omega_s)", DUBEY, f"{_CLOSE}; slip not 0"),
    formula("torque.near_breakdown_slip", "Breakdown slip, approximate circuit", "s_b = R2 / sqrt(R1**2 + (X1 + X2)**2)",
            DUBEY, _CLOSE),
    formula("torque.near_breakdown", "Breakdown torque, approximate circuit",
            "T_b = 3 * U_p**2 / (2 * omega_s * (R1 + sqrt(R1**2 + (X1 + X2)**2)))", DUBEY, _CLOSE),
    formula("torque.bare_breakdown_slip", "Breakdown slip, stator left out", "s_b = R2 / X2",
            "Guru and Hiziroglu, Electric Machinery and Transformers, 3rd ed., ch. 9", _BARE),
    formula("torque.bare_breakdown", "Breakdown torque, stator left out", "T_b = 3 * U_p**2 / (2 * omega_s * X2)",
            "Guru and Hiziroglu, Electric Machinery and Transformers, 3rd ed., ch. 9", _BARE),
    formula("torque.magnetising_current", "Magnetising current, approximate circuit", "I_m = U_p / Xm", DUBEY, _CLOSE),
    formula("torque.kloss", "Torque from the breakdown point", "T = 2 * T_b / (s / s_b + s_b / s)", NAGRATH, _BARE),
    formula("torque.kloss_factor", "Factor of the stator resistance", "q = 2 * s_b * R1 / R2", CHAPMAN, _SINGLE),
    formula("torque.kloss_stator", "Torque from the breakdown point, stator resistance kept",
            "T = T_b * (2 + q) / (s / s_b + s_b / s + q)", CHAPMAN, _SINGLE),
    formula("torque.kloss_slip", "Slip at a torque, from the breakdown point",
            "s = s_b * (T_b / T - sqrt((T_b / T)**2 - 1))", NAGRATH, f"{_BARE}; stable side, T below T_b"),
    formula("torque.breakdown_slip_from_plate", "Breakdown slip from plate values",
            "s_b = s_n * (T_b / T_n + sqrt((T_b / T_n)**2 - 1))", NAGRATH, _BARE),
    formula("torque.small_slip", "Torque at small slip", "T = T_n * s / s_n", CHAPMAN, "slip well below breakdown slip"),
    formula("torque.slip_of_torque", "Slip at small torque", "s = s_n * T / T_n", CHAPMAN, "slip well below breakdown slip"),
    formula("torque.start_over_breakdown", "Standstill torque over breakdown torque", "m = 2 / (1 / s_b + s_b)", NAGRATH, _BARE),
    formula("torque.breakdown_slip_for_start", "Breakdown slip for a wanted standstill torque",
            "s_b = (1 - sqrt(1 - m**2)) / m", NAGRATH, f"{_BARE}; m: standstill over breakdown torque, below 1"),
    formula("torque.start_from_current", "Standstill torque over rated, from the current ratio", "m_l = i_l**2 * s_n",
            SEN, "rotor resistance the same at rest as running, magnetising current neglected"),
    formula("torque.breakdown_slip_from_current", "Breakdown slip from the current ratio",
            "s_b = s_n * sqrt((i_l**2 - 1) / (1 - (i_l * s_n)**2))", SEN, _BARE),
    formula("torque.breakdown_from_slips", "Breakdown torque over rated, from the slips", "m_b = (s_n / s_b + s_b / s_n) / 2",
            SEN, _BARE),
)  # fmt: skip

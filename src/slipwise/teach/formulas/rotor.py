"""The wound rotor: referring, starter steps, resistance for a speed, chopper, and slip power sent back."""

from __future__ import annotations

from slipwise.teach.formulas.build import CHAPMAN, DUBEY, NAGRATH, formula

_LINEAR = "torque proportional to slip over rotor resistance: slips well below breakdown slip"
_GRADED = f"{_LINEAR}; every step between the same two torques"
_THERAJA = "Theraja and Theraja, A Textbook of Electrical Technology, vol. II, ch. 35"
_BRIDGE = "ideal diode bridge, smooth link current, no overlap"
_RASHID = "Rashid, Power Electronics, 3rd ed., ch. 15"

ROTOR_STEPS = (
    formula("rotor_steps.referred", "Rotor resistance seen from the stator", "R2 = a**2 * R_r", CHAPMAN,
            "a: stator over rotor voltage at open rings"),
    formula("rotor_steps.in_rotor", "Ohms to build in the rotor", "R_r = R_x / a**2", CHAPMAN,
            "a: stator over rotor voltage at open rings"),
    formula("rotor_steps.of_a_phase", "Rotor resistance of a phase from two rings", "R_r = R_ring / 2", NAGRATH, "star rotor"),
    formula("rotor_steps.first_total", "Rotor circuit resistance on the first step", "R_t = R2 / s_1", _THERAJA,
            f"{_LINEAR}; s_1: slip at the upper torque with rings shorted"),
    formula("rotor_steps.ratio", "Ratio of one total to the one before", "K = s_1**(1 / n)", _THERAJA, _GRADED),
    formula("rotor_steps.number", "Number of steps", "n = log(s_1) / log(T_low / T_high)", _THERAJA, _GRADED),
    formula("rotor_steps.section", "Section cut out at a step", "R_i = R_t * (1 - K)", _THERAJA, _GRADED),
    formula("rotor_steps.next_total", "What stays after the step", "R_t2 = R_t * K", _THERAJA, _GRADED),
    formula("rotor_steps.added_for_slip", "Resistance to add for a slip at the same torque", "R_x = R2 * (s / s_0 - 1)",
            CHAPMAN, "the same torque at slip s_0 without it; exact for constant reactances"),
    formula("rotor_steps.total_for_torque", "Rotor circuit resistance for a torque at a slip",
            "R_t = s * (3 * U_p**2 / (2 * omega_s * T) + sqrt((3 * U_p**2 / (2 * omega_s * T))**2 - X2**2))", DUBEY,
            "stator impedance left out; the stable one of the two"),
    formula("rotor_steps.to_add", "Resistance to add", "R_x = R_t - R2", DUBEY, "seen from the stator"),
    formula("rotor_steps.slip_with_added", "Slip with added resistance at the same torque", "s = s_0 * (R2 + R_x) / R2",
            CHAPMAN, "the same torque at slip s_0 without it; exact for constant reactances"),
)  # fmt: skip
ROTOR_CHOPPER = (
    formula("rotor_chopper.rotor_voltage", "Rotor phase voltage at rest, open rings", "E_2 = n_m * U_p", _RASHID,
            "voltage over the stator impedance neglected; n_m: rotor over stator turns"),
    formula("rotor_chopper.open_voltage", "Rectified voltage at standstill, open rings", "U_d0 = 3 * sqrt(6) / pi * E_2",
            _RASHID, f"{_BRIDGE}; E_2: rotor phase voltage at rest"),
    formula("rotor_chopper.link_voltage", "Link voltage at a slip", "U_d = s * U_d0", _RASHID, _BRIDGE),
    formula("rotor_chopper.link_current", "Link current for a torque", "I_d = T * omega_s / U_d0", _RASHID,
            f"{_BRIDGE}; losses of the rotor winding neglected"),
    formula("rotor_chopper.resistor", "Resistor for the lowest speed", "R_d = s * U_d0 / I_d", _RASHID,
            f"{_BRIDGE}; chopper always open there"),
    formula("rotor_chopper.duty", "Duty ratio for a slip", "d = 1 - s * U_d0 / (I_d * R_d)", _RASHID, _BRIDGE),
    formula("rotor_chopper.phase_resistance", "Resistance seen by a rotor phase", "R_x = R_d * (1 - d) / 2", DUBEY,
            f"{_BRIDGE}; by equal heat"),
    formula("rotor_chopper.duty_for_phase", "Duty ratio for a phase resistance", "d = 1 - 2 * R_x / R_d", DUBEY,
            f"{_BRIDGE}; by equal heat"),
)  # fmt: skip
RECOVERY = (
    formula("recovery.slip_power", "Power taken from the rotor", "P_sl = s * P_g", DUBEY, "winding loss included"),
    formula("recovery.no_load_slip", "Slip at no load", "s_0 = -n_c / n_m * cos(alpha)", _RASHID,
            "ideal bridges, no overlap; n_m: rotor over stator turns, n_c: converter over line voltage"),
    formula("recovery.cos_alpha", "Cosine of the firing angle for a slip", "cos_alpha = -s * n_m / n_c", _RASHID,
            "ideal bridges, no overlap, rotor loss neglected"),
    formula("recovery.firing_angle", "Firing angle from its cosine", "alpha = atan2(sqrt(1 - cos_alpha**2), cos_alpha)",
            "identity", "between 0 and 180 degrees"),
    formula("recovery.returned", "Power sent back", "P_b = U_d * I_d", _RASHID, "ideal inverter"),
    formula("recovery.transformer_ratio", "Turns ratio of the transformer for a speed range", "n_t = -a * cos(alpha_m) / s_m",
            DUBEY, "alpha_m: largest firing angle, s_m: largest slip, a: stator over rotor turns"),
    formula("recovery.input", "Power drawn, losses of the two resistances kept", "P_1 = P_m + P_s + P_r", _RASHID,
            "returned power goes round; converter losses neglected"),
    formula("recovery.rotor_current", "Rotor current of a link current", "I_r = sqrt(2 / 3) * I_d", _RASHID, _BRIDGE),
    formula("recovery.efficiency", "Efficiency with the slip power returned", "eta = P_m / P_1", _RASHID,
            "converter losses neglected"),
)  # fmt: skip

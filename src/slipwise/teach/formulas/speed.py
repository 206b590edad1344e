"""Speed control at the stator: frequency, voltage, poles; and braking."""

from __future__ import annotations

from slipwise.model.machine.direct_current import TORQUE as DC_TORQUE
from slipwise.model.machine.sequence import NEGATIVE_SLIP
from slipwise.teach.formulas.build import DUBEY, HUBERT, PRACTICE, formula

_NEAR = "approximate circuit, constant reactances; x = f / f_n"
_BRIDGE = "ideal diode bridge, smooth link"
_SMALL = "slip well below breakdown slip, constant torque; x = f / f_n, u = U / U_n"
_AFFINE = "no static head"

FREQUENCY = (
    formula("frequency.share", "Frequency over rated", "x = f / f_n", "definition", "any"),
    formula("frequency.voltage_share", "Voltage over rated", "u = U / U_n", "definition", "any"),
    formula("frequency.law", "Voltage at constant volts per hertz", "U_f = U_n * f / f_n", DUBEY, "up to rated frequency"),
    formula("frequency.boosted_law", "Voltage with boost", "U_f = U_0 + (U_n - U_0) * f / f_n", PRACTICE,
            "up to rated frequency; U_0: voltage at zero frequency"),
    formula("frequency.breakdown", "Breakdown torque at constant volts per hertz",
            "T_f = 3 * (x * U_p)**2 / (2 * x * omega_s * (R1 + sqrt(R1**2 + (x * (X1 + X2))**2)))", DUBEY, _NEAR),
    formula("frequency.breakdown_weakened", "Breakdown torque at rated voltage and another frequency",
            "T_f = 3 * U_p**2 / (2 * x * omega_s * (R1 + sqrt(R1**2 + (x * (X1 + X2))**2)))", DUBEY, _NEAR),
    formula("frequency.breakdown_square", "Breakdown torque above rated frequency, rough", "T_f = T_b / x**2", DUBEY,
            "rated voltage, stator resistance neglected; x = f / f_n"),
    formula("frequency.start_current", "Current at standstill at constant volts per hertz",
            "I_f = x * U_p / sqrt((R1 + R2)**2 + (x * (X1 + X2))**2)", DUBEY, _NEAR),
    formula("frequency.start_torque", "Torque at standstill at constant volts per hertz",
            "T_f = 3 * I_f**2 * R2 / (x * omega_s)", DUBEY, _NEAR),
    formula("frequency.drop_speed", "Speed below synchronous at rated torque", "Delta_omega = omega_s - omega_n", DUBEY, "any"),
    formula("frequency.speed", "Speed at a frequency and torque", "omega = x * omega_s - m * Delta_omega", DUBEY,
            "constant flux, small slip; m: torque over rated"),
    formula("frequency.for_speed", "Frequency for a speed", "f = poles * (omega + m * Delta_omega) / (4 * pi)", DUBEY,
            "constant flux, small slip; m: torque over rated"),
    formula("frequency.slip_moved", "Slip at another voltage and frequency", "s_x = s_n * x / u**2", HUBERT, _SMALL),
    formula("frequency.current_moved", "Standstill current at another voltage and frequency", "I_x = I_l * u / x", HUBERT,
            "standstill, reactance only; x = f / f_n, u = U / U_n"),
    formula("frequency.torque_moved", "Standstill torque at another voltage and frequency", "T_x = T_l * (u / x)**2", HUBERT,
            "standstill, reactance only; x = f / f_n, u = U / U_n"),
    formula("frequency.link", "Link voltage of a diode bridge", "U_d = 3 * sqrt(2) / pi * U", DUBEY, _BRIDGE),
    formula("frequency.six_step", "Line voltage of an inverter in six-step, fundamental", "U_1 = sqrt(6) / pi * U_d", DUBEY,
            "ideal switches"),
)  # fmt: skip
STATOR_VOLTAGE = (
    formula("stator_voltage.fan_torque", "Torque of a fan at another speed", "T_L = T_n * (omega / omega_n)**2", DUBEY, _AFFINE),
    formula("stator_voltage.fan_power", "Power of a fan at another speed", "P_L = P_n * (omega / omega_n)**3", DUBEY, _AFFINE),
    formula("stator_voltage.for_torque", "Phase voltage for a torque at a slip",
            "U_p = sqrt(T * omega_s * s * ((R1 + R2 / s)**2 + (X1 + X2)**2) / (3 * R2))", DUBEY,
            "approximate circuit; voltage across one phase of the circuit in use"),
    formula("stator_voltage.highest_current", "Highest rotor current over rated, fan load",
            "i_m = 2 / (3 * sqrt(3) * (1 - s_n) * sqrt(s_n))", DUBEY, "at slip 1/3; magnetising current neglected"),
)  # fmt: skip
POLES = (
    formula("poles.speed", "Synchronous speed after changing poles", "omega_2 = omega_1 * p_1 / p_2", DUBEY,
            "p_1, p_2: numbers of poles"),
    formula("poles.constant_power", "Torque after changing poles at constant power", "T_2 = T_1 * omega_1 / omega_2", DUBEY,
            "series and parallel connection chosen for constant power"),
    formula("poles.constant_torque", "Power after changing poles at constant torque", "P_2 = P_1 * omega_2 / omega_1", DUBEY,
            "series and parallel connection chosen for constant torque"),
    formula("poles.flux_density", "Air-gap flux density after reconnection over before",
            "b = U_2 / U_1 * k_1 * N_1 / (k_2 * N_2) * p_2 / p_1", "induced voltage 4.44 f N k flux",
            "sine field, same frequency; U: voltage of a coil path with N turns in series and winding factor k"),
    formula("poles.cascade_sum", "Speed of two motors in cascade, fields adding", "omega = 4 * pi * f / (p_1 + p_2)",
            "Srivastava, Electrical Machines, ch. 5", "no load; p_1, p_2: numbers of poles"),
    formula("poles.cascade_difference", "Speed of two motors in cascade, fields opposing", "omega = 4 * pi * f / abs(p_1 - p_2)",
            "Srivastava, Electrical Machines, ch. 5", "no load, unequal numbers of poles"),
)  # fmt: skip
BRAKING = (
    formula("braking.plugging_slip", "Slip after two lines are exchanged", "s_p = 2 - s", DUBEY, "at the moment of exchange"),
    formula("braking.resistance_for_current", "Rotor circuit resistance for a current at a slip",
            "R_t = s * (sqrt((U_p / I_2)**2 - (X1 + X2)**2) - R1)", DUBEY, "approximate circuit; seen from the stator"),
    formula("braking.dc_equivalent", "Equivalent alternating current of direct current", "I_e = sqrt(2 / 3) * I_dc", DUBEY,
            "star, two phases in series"),
    DC_TORQUE,
    NEGATIVE_SLIP,
    formula("braking.mean_stop", "Time to stop with a mean braking torque", "t_b = J * omega / T_br", DUBEY, "rigid shaft"),
)  # fmt: skip

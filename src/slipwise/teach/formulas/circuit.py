"""The equivalent circuit, its currents, and the way of the power from the line to the shaft."""

from __future__ import annotations

from slipwise.model.machine.formulas import SYNCHRONOUS_SPEED
from slipwise.teach.formulas.build import CHAPMAN, HUBERT, formula

_ANY = "by definition"
_PHASORS = "steady state, balanced sinusoidal supply; phasors per phase of the star equivalent"
_FRICTION = "core loss counted before the air gap; where it is lumped with friction it stands in P_fw and not here"

CIRCUIT = (
    SYNCHRONOUS_SPEED,
    formula("circuit.slip", "Slip", "s = (omega_s - omega) / omega_s", CHAPMAN, _ANY),
    formula("circuit.speed", "Speed at a slip", "omega = (1 - s) * omega_s", CHAPMAN, _ANY),
    formula("circuit.rotor_frequency", "Frequency in the rotor", "f_2 = s * f", CHAPMAN, _ANY),
    formula("circuit.rotor_voltage", "Voltage induced in the rotor at a slip", "E_2s = s * E_2", CHAPMAN, "constant flux"),
    formula("circuit.phase_voltage", "Phase voltage of the star equivalent", "U_p = U / sqrt(3)", CHAPMAN, _ANY),
    formula("circuit.star_of_delta", "Star equivalent of a delta", "Z_Y = Z_D / 3", "star-delta transformation", _ANY),
    formula("circuit.delta_line_current", "Line current of a delta", "I = sqrt(3) * abs(I_w)", CHAPMAN,
            "balanced; I_w: current of a winding"),
    formula("circuit.base_impedance", "Base impedance", "Z_b = U**2 / P_b", HUBERT, "P_b: three-phase base power", P_b="W"),
    formula("circuit.ohms", "Ohms from per unit", "Z = z * Z_b", HUBERT, _ANY),
    formula("circuit.stator_impedance", "Stator impedance", "Z_1 = R1 + j * X1", CHAPMAN, _PHASORS),
    formula("circuit.rotor_impedance", "Rotor impedance seen from the air gap", "Z_2 = R2 / s + j * X2", CHAPMAN,
            f"{_PHASORS}; slip not 0"),
    formula("circuit.magnetising_reactance", "Magnetising branch without core loss", "Z_m = j * Xm", CHAPMAN, _PHASORS),
    formula("circuit.magnetising_branch", "Magnetising branch with core loss", "Z_m = 1 / (1 / Rfe + 1 / (j * Xm))", HUBERT,
            _PHASORS),
    formula("circuit.gap_impedance", "Magnetising branch and rotor in parallel", "Z_f = 1 / (1 / Z_m + 1 / Z_2)", CHAPMAN,
            _PHASORS),
    formula("circuit.input_impedance", "Impedance at the terminals", "Z = Z_1 + Z_f", CHAPMAN, _PHASORS),
    formula("circuit.stator_current", "Stator current", "I_1 = U_p / Z", CHAPMAN, _PHASORS),
    formula("circuit.gap_voltage", "Voltage behind the stator impedance", "E = I_1 * Z_f", CHAPMAN, _PHASORS),
    formula("circuit.rotor_current", "Rotor current", "I_2 = E / Z_2", CHAPMAN, _PHASORS),
    formula("circuit.power_factor", "Power factor", "cos_phi = re(Z) / abs(Z)", CHAPMAN, _PHASORS),
)  # fmt: skip
POWER = (
    formula("power.input", "Input power", "P_1 = 3 * re(U_p * conj(I_1))", CHAPMAN, _PHASORS),
    formula("power.reactive", "Reactive power", "Q_1 = 3 * im(U_p * conj(I_1))", CHAPMAN, _PHASORS),
    formula("power.line", "Power from line readings", "P_1 = sqrt(3) * U * I * cos_phi", CHAPMAN, "balanced, sinusoidal"),
    formula("power.stator_loss", "Loss in the stator winding", "P_s = 3 * abs(I_1)**2 * R1", CHAPMAN),
    formula("power.core_loss", "Core loss", "P_fe = 3 * abs(E)**2 / Rfe", HUBERT),
    formula("power.gap_without_core", "Air-gap power", "P_g = P_1 - P_s", CHAPMAN,
            "core loss lumped with friction and windage"),
    formula("power.gap", "Air-gap power", "P_g = P_1 - P_s - P_fe", CHAPMAN, _FRICTION),
    formula("power.gap_from_rotor", "Air-gap power from the rotor current", "P_g = 3 * abs(I_2)**2 * R2 / s", CHAPMAN,
            "slip not 0"),
    formula("power.rotor_loss", "Loss in the rotor circuit", "P_r = s * P_g", CHAPMAN, "any slip"),
    formula("power.slip_of_loss", "Slip from rotor loss", "s = P_r / P_g", HUBERT, "any slip"),
    formula("power.converted", "Converted power", "P_m = (1 - s) * P_g", CHAPMAN, "any slip"),
    formula("power.output", "Shaft power", "P_2 = P_m - P_fw", CHAPMAN,
            "P_fw: friction, windage, stray, and core loss where it is lumped with them"),
    formula("power.air_gap_torque", "Air-gap torque", "T = P_g / omega_s", CHAPMAN, "any slip"),
    formula("power.shaft_torque", "Shaft torque", "T_2 = P_2 / omega", "definition of shaft power", "shaft turning"),
    formula("power.shaft_power", "Shaft power from torque and speed", "P_2 = T_2 * omega", "definition of shaft power", "any"),
    formula("power.losses", "All losses", "P_v = P_1 - P_2", CHAPMAN, "motoring"),
    formula("power.efficiency", "Efficiency", "eta = P_2 / P_1", CHAPMAN, "motoring"),
    formula("power.efficiency_bound", "Highest efficiency at a slip", "eta_b = 1 - s", CHAPMAN,
            "no loss but the rotor's: an upper bound, never reached"),
)  # fmt: skip

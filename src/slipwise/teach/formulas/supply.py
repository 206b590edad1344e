"""What the supply sees: impedances from ratings, and the dip in short and in full."""

from __future__ import annotations

from slipwise.limits.voltage import DIP as MEASURED
from slipwise.teach.formulas.build import HUBERT, PRACTICE, formula

_IEC = "IEC 60909 practice (from memory)"
_SHORT = "voltage source behind an impedance, fault level at the busbar"

DIP = (
    formula("dip.network", "Impedance of a network", "Z_Q = U**2 / S_k", _IEC, "at the voltage where S_k holds"),
    formula("dip.transformer", "Impedance of a transformer", "Z_T = u_k * U**2 / S_r", _IEC, "rated tap"),
    formula("dip.transformer_resistance", "Resistance of a transformer", "R_T = P_k * U**2 / S_r**2", _IEC, "rated tap"),
    formula("dip.transformer_reactance", "Reactance of a transformer", "X_T = sqrt(Z_T**2 - R_T**2)", _IEC, "rated tap"),
    formula("dip.cable", "Resistance or reactance of a cable", "R_L = r * l", "definition", "one conductor a phase",
            r="ohm/m", l="m"),
    formula("dip.transformer_fault_level", "Fault level behind a transformer", "S_k = S_r / u_k", PRACTICE,
            "stiff network before it"),
    formula("dip.fault_level_in_series", "Fault level behind two elements", "S_k = 1 / (1 / S_1 + 1 / S_2)", PRACTICE,
            "equal angles of the impedances"),
    formula("dip.start_power", "Apparent power of the start", "S_l = sqrt(3) * U * I_l", HUBERT, "rated voltage"),
    formula("dip.linear", "Dip, straight-line rule", "d = S_l / S_k", PRACTICE, f"{_SHORT}; dips of a few per cent"),
    formula("dip.divider", "Dip, motor as constant impedance", "d = S_l / (S_l + S_k)", PRACTICE,
            f"{_SHORT}; equal angles of the impedances"),
    formula("dip.phasors", "Voltage left, both impedances with their angles", "u = abs(Z_M / (Z_S + Z_M))",
            "voltage divider", "motor as constant impedance, no other load"),
    formula("dip.from_share", "Dip from the voltage left", "d = 1 - u", "definition", "from the open-circuit voltage"),
    formula("dip.drop", "Drop along a line", "Delta_U = sqrt(3) * I * (R_L * cos_phi + X_L * sin_phi)", PRACTICE,
            "small angle between both ends"),
    MEASURED,
)  # fmt: skip

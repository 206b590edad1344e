"""The formulas of the bench, one definition for number, printed step and propagation of meter errors.

Everything is per phase of the star equivalent of the running connection, whatever the connection: three times the square
of its current times R1 is the copper loss of a delta as well.
"""

from __future__ import annotations

from slipwise.quantity.formula import Formula

IEEE = "IEEE 112 and IEC 60034-2-1 practice (from memory)"
FITZGERALD = "Fitzgerald, Kingsley, Umans, Electric Machinery, 6th ed., sect. 6.6"
CHAPMAN = "Chapman, Electric Machinery Fundamentals, 4th ed., sect. 7.11"
CIRCUIT = "Kirchhoff's laws on the equivalent circuit"
_OHMS = {"U_0": "V", "I_0": "A", "P_0": "W", "U_k": "V", "I_k": "A", "P_k": "W", "Q_0": "var", "E_0": "V", "P_c": "W"}
_SCALES = {"a": "", "f_k": "Hz", "f_n": "Hz", "k": "degC", "t_dc": "degC", "t_0": "degC", "t_k": "degC", "s_0": "pu"}
_PLAIN = {"lambda_x": "", "q_m": "", "u_k": "", "P_fw": "W", "Q_r": "var", "U_dc": "V", "I_dc": "A"}


def _unit(symbol: str) -> str:
    for known in (_OHMS, _SCALES, _PLAIN):
        if symbol in known:
            return known[symbol]
    return "ohm"


def formula(
    symbol: str, title: str, expression: str, unit: str, source: str, validity: str = "steady state"
) -> Formula:
    """A formula of the bench; the units of its symbols are those of this module."""
    from slipwise.quantity.formula import names_in

    return Formula(
        key=f"bench.{symbol}",
        title=title,
        symbol=symbol,
        expression=expression,
        units={name: _unit(name) for name in names_in(expression)},
        source=source,
        validity=validity,
        result_unit=unit,
    )


TERMINALS = formula("R_t", "Resistance between terminals", "U_dc / I_dc", "ohm", "Ohm's law")
# R1 of the star equivalent of the running connection from what was measured: by (between, tested, running).
STATOR = {
    ("two terminals", "star", "star"): "R_t / 2",
    ("two terminals", "delta", "delta"): "R_t / 2",
    ("two terminals", "star", "delta"): "R_t / 2 / 3",
    ("two terminals", "delta", "star"): "3 * R_t / 2",
    ("one winding", "star", "star"): "R_t",
    ("one winding", "delta", "star"): "R_t",
    ("one winding", "star", "delta"): "R_t / 3",
    ("one winding", "delta", "delta"): "R_t / 3",
}
STATOR_SOURCE = "two phases in series, or one against two in a delta: half of it is the star equivalent either way"
NO_LOAD_R1 = formula(
    "R1_0", "Stator resistance at the no-load test", "R1 * (k + t_0) / (k + t_dc)", "ohm", "IEC 60034-2-1 (from memory)"
)
LOCKED_R1 = formula(
    "R1_k", "Stator resistance at the locked-rotor test", "R1 * (k + t_k) / (k + t_dc)", "ohm",
    "IEC 60034-2-1 (from memory)",
)  # fmt: skip

# No load
STATOR_LOSS = formula("P_s0", "Stator copper loss at no load", "3 * I_0**2 * R1_0", "W", CHAPMAN)
CONSTANT_LOSS = formula(
    "P_c", "Core, friction and windage together", "P_0 - 3 * I_0**2 * R1_0", "W", f"{CHAPMAN}; {IEEE}"
)
REACTIVE = formula("Q_0", "Reactive power at no load", "sqrt(3 * U_0**2 * I_0**2 - P_0**2)", "var", "power triangle")
GAP_VOLTAGE = formula(
    "E_0", "Voltage behind the stator impedance", "abs(U_0 / sqrt(3) - (R1_0 + j * X1) * (P_0 - j * Q_0) / (sqrt(3) * U_0))",
    "V", CIRCUIT,
)  # fmt: skip
NO_LOAD_SLIP = formula(
    "s_0", "Slip at no load, by which the rotor fetches friction and windage", "P_fw * R2 / (3 * E_0**2)", "pu", CIRCUIT,
    "small slip",
)  # fmt: skip
MECHANICAL_SHARE = formula("P_fw", "Friction and windage", "q_m * P_c", "W", "one no-load voltage cannot tell: a share")
CORE = formula(
    "Rfe", "Core-loss resistance", "3 * E_0**2 / (P_c - P_fw * (1 - s_0))", "ohm", f"{CIRCUIT}; {IEEE}",
    "friction proportional to speed squared",
)  # fmt: skip
ROTOR_REACTIVE = formula(
    "Q_r",
    "Reactive power of the rotor at no load",
    "3 * E_0**2 * s_0**2 * X2 / (R2**2 + s_0**2 * X2**2)",
    "var",
    CIRCUIT,
)
MAGNETISING = formula("Xm", "Magnetising reactance", "3 * E_0**2 / (Q_0 - 3 * I_0**2 * X1 - Q_r)", "ohm", CIRCUIT)

# Locked rotor
SHARE_OF_FREQUENCY = formula("a", "Test frequency over rated", "f_k / f_n", "", "definition")
LOCKED_R = formula("R_k", "Resistance of the locked machine", "P_k / (3 * I_k**2)", "ohm", f"{CHAPMAN}; {FITZGERALD}")
LOCKED_Z = formula("Z_k", "Impedance of the locked machine", "U_k / (sqrt(3) * I_k)", "ohm", f"{CHAPMAN}; {FITZGERALD}")
LOCKED_X = formula(
    "X_k",
    "Reactance of the locked machine at test frequency",
    "sqrt(Z_k**2 - R_k**2)",
    "ohm",
    f"{CHAPMAN}; {FITZGERALD}",
)
LOCKED_X_RATED = formula(
    "X_kn", "The same at rated frequency", "X_k / a", "ohm", f"{CHAPMAN}; {FITZGERALD}", "leakage inductance constant"
)
_BEHIND = "1 / (R_k + j * X_k - R1_k - j * a * X1)"
_ALL = f"1 / ({_BEHIND} - 1 / Rfe - 1 / (j * a * Xm_k))"
_NO_CORE = f"1 / ({_BEHIND} - 1 / (j * a * Xm_k))"
LOCKED_XM = formula(
    "Xm_k",
    "Magnetising reactance at the flux of the locked test",
    "u_k * Xm",
    "ohm",
    "the magnetising curve at no load",
)


def rotor(core: bool) -> tuple[Formula, Formula]:
    """R2 and X2 behind the magnetising branch, with the core-loss resistance in it or without."""
    behind = _ALL if core else _NO_CORE
    return (
        formula("R2", "Rotor resistance", f"re({behind})", "ohm", CIRCUIT),
        formula("X2", "Rotor leakage reactance at rated frequency", f"im({behind}) / a", "ohm", CIRCUIT),
    )


STATOR_X = formula("X1", "Stator leakage reactance", "lambda_x * X2", "ohm", "the assigned split, X1 / X2")

# Textbook reductions: all symbols primed, so that they stand beside the exact ones
SHORT_XSUM = formula("X1_prime", "Stator leakage, shortest", "X_kn * lambda_x / (1 + lambda_x)", "ohm", CHAPMAN)
SHORT_X2 = formula("X2_prime", "Rotor leakage, shortest", "X_kn / (1 + lambda_x)", "ohm", CHAPMAN)
SHORT_R2 = formula("R2_prime", "Rotor resistance, shortest", "R_k - R1_k", "ohm", CHAPMAN)
SHORT_XM = formula(
    "Xm_prime", "Magnetising reactance, shortest", "U_0 / (sqrt(3) * I_0) - X1_prime", "ohm", CHAPMAN,
    "no-load impedance taken as a reactance",
)  # fmt: skip
NO_LOAD_Z = formula("Z_0", "Impedance at no load", "U_0 / (sqrt(3) * I_0)", "ohm", FITZGERALD)
NO_LOAD_R = formula("R_0", "Resistance at no load", "P_0 / (3 * I_0**2)", "ohm", FITZGERALD)
NO_LOAD_X = formula("X_0", "Reactance at no load, X1 + Xm", "sqrt(Z_0**2 - R_0**2)", "ohm", FITZGERALD)
_B = "(X_0 * (1 + lambda_x) - X_kn * (1 - lambda_x))"
SERIES_X2 = formula(
    "X2_ser", "Rotor leakage, reactances in series", f"({_B} - sqrt({_B}**2 - 4 * lambda_x**2 * X_kn * X_0)) / (2 * lambda_x**2)",
    "ohm", f"{FITZGERALD}: X_kn = X1 + X2 Xm / (X2 + Xm) with X1 = lambda X2 and Xm = X_0 - X1",
)  # fmt: skip
SERIES_X2_SUM = formula(
    "X2_ser", "Rotor leakage, reactances in series", "X_kn / (1 + lambda_x)", "ohm", "Sen, 2nd ed., sect. 5.7 (IEEE)"
)
SERIES_X1 = formula("X1_ser", "Stator leakage, reactances in series", "lambda_x * X2_ser", "ohm", FITZGERALD)
SERIES_XM = formula("Xm_ser", "Magnetising reactance, reactances in series", "X_0 - X1_ser", "ohm", FITZGERALD)
SERIES_R2 = formula(
    "R2_ser",
    "Rotor resistance, reactances in series",
    "(R_k - R1_k) * ((X2_ser + Xm_ser) / Xm_ser)**2",
    "ohm",
    FITZGERALD,
)

"""The formulas behind a motor's headline numbers, as strings that give number and typeset step from one definition.

The same relations are computed for arrays in `point.py` and as properties of `motor.Rating`; tests compare the two.
"""

from __future__ import annotations

from math import isfinite

from slipwise.model.machine.circuit import Circuit
from slipwise.quantity.formula import Formula

_CHAPMAN = "Chapman, Electric Machinery Fundamentals, 4th ed., ch. 7"
_ROTOR_NAMES = (("R2", "X2"), ("R3", "X3"), ("R4", "X4"), ("R5", "X5"), ("R6", "X6"))

SYNCHRONOUS_SPEED = Formula(
    key="machine.synchronous_speed",
    title="Synchronous speed",
    symbol="omega_s",
    expression="4 * pi * f / poles",
    units={"f": "Hz", "poles": ""},
    source=_CHAPMAN,
    validity="any frequency above zero",
    result_unit="rad/s",
)
RATED_TORQUE = Formula(
    key="machine.rated_torque",
    title="Rated torque",
    symbol="T_n",
    expression="P_n / omega_n",
    units={"P_n": "W", "omega_n": "rad/s"},
    source="definition of shaft power",
    validity="rated shaft power at rated speed",
    result_unit="N m",
)
RATED_SLIP = Formula(
    key="machine.rated_slip",
    title="Rated slip",
    symbol="s_n",
    expression="(omega_s - omega_n) / omega_s",
    units={"omega_s": "rad/s", "omega_n": "rad/s"},
    source=_CHAPMAN,
    validity="by definition",
    result_unit="pu",
)


def rotor_symbols(circuit: Circuit) -> dict[str, float]:
    """R2, X2, then R3, X3 and so on, with their values. [ohm]"""
    found = {}
    for (r, x), branch in zip(_ROTOR_NAMES, circuit.rotor, strict=False):
        found[r], found[x] = branch.R, branch.X
    return found


def locked_rotor_current(circuit: Circuit) -> Formula:
    """Line current at standstill of the circuit at hand, written out with its own branches."""
    gap = _gap_admittance(circuit)
    return Formula(
        key="machine.locked_rotor_current",
        title="Locked-rotor current",
        symbol="I_l",
        expression=f"U / sqrt(3) / abs(R1 + j * X1 + 1 / ({gap}))",
        units={"U": "V", **dict.fromkeys(_circuit_symbols(circuit), "ohm")},
        source=_CHAPMAN,
        validity="standstill, steady state, unsaturated leakage",
        result_unit="A",
    )


def locked_rotor_torque(circuit: Circuit) -> Formula:
    """Torque at standstill of the circuit at hand: what crosses the air gap, divided by synchronous speed."""
    gap, rotor = _gap_admittance(circuit), _rotor_admittance(circuit)
    return Formula(
        key="machine.locked_rotor_torque",
        title="Locked-rotor torque",
        symbol="T_l",
        expression=f"U**2 * re({rotor}) / abs(1 + (R1 + j * X1) * ({gap}))**2 / omega_s",
        units={"U": "V", "omega_s": "rad/s", **dict.fromkeys(_circuit_symbols(circuit), "ohm")},
        source=f"{_CHAPMAN}: torque = air-gap power / synchronous speed",
        validity="standstill, steady state, unsaturated leakage",
        result_unit="N m",
    )


def circuit_values(circuit: Circuit) -> dict[str, float]:
    """Symbol and value of everything the standstill formulas need of the circuit. [ohm]"""
    values = {"R1": circuit.R1, "X1": circuit.X1, "Xm": circuit.Xm, **rotor_symbols(circuit)}
    return {**values, "Rfe": circuit.Rfe} if isfinite(circuit.Rfe) else values


def _circuit_symbols(circuit: Circuit) -> tuple[str, ...]:
    return tuple(circuit_values(circuit))


def _rotor_admittance(circuit: Circuit) -> str:
    return " + ".join(f"1 / ({r} + j * {x})" for (r, x), _ in zip(_ROTOR_NAMES, circuit.rotor, strict=False))


def _gap_admittance(circuit: Circuit) -> str:
    loss = "1 / Rfe + " if isfinite(circuit.Rfe) else ""
    return f"{loss}1 / (j * Xm) + {_rotor_admittance(circuit)}"

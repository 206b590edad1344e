"""How a formula of the classroom is written down: one line `T = P_g / omega_s`, units by the first letter of a symbol."""

from __future__ import annotations

from slipwise.quantity.formula import Formula, names_in

CHAPMAN = "Chapman, Electric Machinery Fundamentals, 4th ed., ch. 7"
DUBEY = "Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 6"
DUBEY_RATING = "Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 4"
HUBERT = "Hubert, Electric Machines, ch. 5"
NAGRATH = "Nagrath and Kothari, Electric Machines, ch. 9"
SEN = "Sen, Principles of Electric Machines and Power Electronics, 2nd ed., ch. 5"
PRACTICE = "common practice, no source"

_BY_LETTER = {
    **{"U": "V", "E": "V", "I": "A", "R": "ohm", "X": "ohm", "Z": "ohm", "P": "W", "S": "VA", "Q": "var", "T": "N m"},
    **{"J": "kg m2", "W": "J", "f": "Hz", "t": "s", "s": ""},
}
_BY_NAME = {
    **{"omega": "rad/s", "theta": "K", "tau": "s", "eta": "", "alpha": "rad", "cos": "", "sin": "", "tan": ""},
    **{"poles": "", "GD2": "kg m2"},
}


def unit_of(symbol: str) -> str:
    """The unit a symbol has unless the formula says otherwise: U_n in V, omega_s in rad/s, k without. SI."""
    head = symbol.split("_", maxsplit=1)[0]
    if head == "Delta":
        return unit_of(symbol.removeprefix("Delta_"))
    return _BY_NAME[head] if head in _BY_NAME else _BY_LETTER.get(head[0], "")


def formula(
    key: str,
    title: str,
    equation: str,
    source: str = CHAPMAN,
    validity: str = "steady state, balanced supply",
    **units: str,
) -> Formula:
    """A formula from `symbol = expression`; `units` names those that `unit_of` would guess wrong.

    Raises:
        InputError: as `quantity.formula.Formula`.
    """
    symbol, _, expression = (part.strip() for part in equation.partition("="))
    return Formula(
        key=key,
        title=title,
        symbol=symbol,
        expression=expression,
        units={name: units.get(name, unit_of(name)) for name in names_in(expression)},
        source=source,
        validity=validity,
        result_unit=units.get(symbol, unit_of(symbol)),
    )

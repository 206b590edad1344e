"""Every unit a study file may use: which kind of quantity it is, and its size in SI.

Factors: NIST Special Publication 811 (2008), Appendix B.8, and BIPM, The International System of Units, 9th ed.; those of
foot, pound and kilogram-force are exact by definition, the others follow from them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

STANDARD_GRAVITY = 9.80665  # m/s2, exact (3rd CGPM, 1901)
FOOT = 0.3048  # m, exact
POUND = 0.45359237  # kg, exact
POUND_FORCE = POUND * STANDARD_GRAVITY  # N


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: in words with its article, and how a value of it may be written."""

    words: str
    example: str


@dataclass(frozen=True, slots=True)
class Unit:
    """value in SI = (number + offset) x factor. `si` names the kind; `rule` says in words what else was converted."""

    si: str
    factor: float
    offset: float = 0.0
    rule: str = ""


KINDS = {
    "": Kind("a plain number", "1.5"),
    "pu": Kind("a ratio or per cent", "95 %"),
    "W": Kind("a power", "90 kW"),
    "VA": Kind("an apparent power", "630 kVA"),
    "var": Kind("a reactive power", "50 kvar"),
    "V": Kind("a voltage", "400 V"),
    "A": Kind("a current", "160 A"),
    "Hz": Kind("a frequency", "50 Hz"),
    "ohm": Kind("an impedance", "0.435 ohm"),
    "ohm/m": Kind("an impedance per length", "0.193 ohm/km"),
    "H": Kind("an inductance", "1.4 mH"),
    "N m": Kind("a torque", "580 N m"),
    "N": Kind("a force", "8 kN"),
    "kg m2": Kind("a moment of inertia", "1.6 kg m2"),
    "kg": Kind("a mass", "12 t"),
    "s": Kind("a time", "8 s"),
    "rad/s": Kind("a rotational speed", "1480 r/min"),
    "rad/s2": Kind("an angular acceleration", "20 rad/s2"),
    "m": Kind("a length", "85 m"),
    "m2": Kind("a cross-section", "95 mm2"),
    "m/s": Kind("a speed along a line", "1.6 m/s"),
    "m/s2": Kind("an acceleration along a line", "0.2 m/s2"),
    "m3/s": Kind("a flow", "320 m3/h"),
    "J": Kind("an energy", "180 kJ"),
    "J/K": Kind("a heat capacity", "45 kJ/K"),
    "degC": Kind("a temperature", "75 degC"),
    "K": Kind("a temperature difference", "80 K"),
    "rad": Kind("an angle", "30 deg"),
    "VA/W": Kind("a code-letter figure (locked-rotor kVA for each hp)", "5.9 kVA/hp"),
}

_HP = 550 * FOOT * POUND_FORCE  # W: 550 foot pound-force each second
_GD2 = "GD2 is weight times diameter squared: J = GD2 / 4"
_WK2 = "WK2 is weight times radius of gyration squared: in mass terms WK2 is J itself"

_NAMED: dict[str, Unit] = {
    # dimensionless
    "%": Unit("pu", 0.01),
    "pu": Unit("pu", 1.0),
    "p.u.": Unit("pu", 1.0),
    # power; plain "hp" is refused in units.py because three of them are in use
    "W": Unit("W", 1.0),
    "kW": Unit("W", 1e3),
    "MW": Unit("W", 1e6),
    "hp (mechanical)": Unit("W", _HP, rule="1 hp (mechanical) is 745.7 W"),
    "hp (electric)": Unit("W", 746.0, rule="1 hp (electric) is 746 W"),
    "hp (metric)": Unit("W", 75 * STANDARD_GRAVITY, rule="1 hp (metric) is 735.5 W"),
    "VA": Unit("VA", 1.0),
    "kVA": Unit("VA", 1e3),
    "MVA": Unit("VA", 1e6),
    "GVA": Unit("VA", 1e9),
    "var": Unit("var", 1.0),
    "kvar": Unit("var", 1e3),
    "Mvar": Unit("var", 1e6),
    "kVA/hp": Unit("VA/W", 1e3 / _HP),
    # electrical
    "mV": Unit("V", 1e-3),
    "V": Unit("V", 1.0),
    "kV": Unit("V", 1e3),
    "mA": Unit("A", 1e-3),
    "A": Unit("A", 1.0),
    "kA": Unit("A", 1e3),
    "Hz": Unit("Hz", 1.0),
    "1/s": Unit("Hz", 1.0),
    "kHz": Unit("Hz", 1e3),
    "mohm": Unit("ohm", 1e-3),
    "ohm": Unit("ohm", 1.0),
    "kohm": Unit("ohm", 1e3),
    "ohm/km": Unit("ohm/m", 1e-3),
    "mohm/km": Unit("ohm/m", 1e-6),
    "mohm/m": Unit("ohm/m", 1e-3),
    "ohm/m": Unit("ohm/m", 1.0),
    "H": Unit("H", 1.0),
    "mH": Unit("H", 1e-3),
    # mechanical
    "N": Unit("N", 1.0),
    "kN": Unit("N", 1e3),
    "lbf": Unit("N", POUND_FORCE),
    "N m": Unit("N m", 1.0),
    "kN m": Unit("N m", 1e3),
    "kgf m": Unit("N m", STANDARD_GRAVITY),
    "lbf ft": Unit("N m", POUND_FORCE * FOOT),
    "lbf in": Unit("N m", POUND_FORCE * FOOT / 12),
    "kg m2": Unit("kg m2", 1.0),
    "kg cm2": Unit("kg m2", 1e-4),
    "t m2": Unit("kg m2", 1e3),
    "kgf m2 GD2": Unit("kg m2", 0.25, rule=f"{_GD2}, with 1 kgf taken as the weight of 1 kg"),
    "kg m2 GD2": Unit("kg m2", 0.25, rule=f"{_GD2}, read as mass times diameter squared"),
    "N m2 GD2": Unit(
        "kg m2", 0.25 / STANDARD_GRAVITY, rule=f"{_GD2}, and the weight in newton divided by 9.80665 m/s2"
    ),
    "lb ft2 GD2": Unit("kg m2", POUND * FOOT**2 / 4, rule=f"{_GD2}, 1 lb ft2 being 0.04214 kg m2"),
    "lb ft2 WK2": Unit("kg m2", POUND * FOOT**2, rule=f"{_WK2}, 1 lb ft2 being 0.04214 kg m2"),
    "lb in2 WK2": Unit("kg m2", POUND * (FOOT / 12) ** 2, rule=f"{_WK2}, 1 lb in2 being 0.0002926 kg m2"),
    "kg m2 WK2": Unit("kg m2", 1.0, rule=_WK2),
    "kg": Unit("kg", 1.0),
    "t": Unit("kg", 1e3),
    "lb": Unit("kg", POUND),
    "m": Unit("m", 1.0),
    "mm": Unit("m", 1e-3),
    "cm": Unit("m", 1e-2),
    "km": Unit("m", 1e3),
    "ft": Unit("m", FOOT),
    "in": Unit("m", FOOT / 12),
    "mm2": Unit("m2", 1e-6),
    "m2": Unit("m2", 1.0),
    "kcmil": Unit("m2", pi / 4 * (FOOT / 12) ** 2 * 1e-3, rule="1 kcmil is 1000 circles of 0.001 in diameter"),
    "m/s": Unit("m/s", 1.0),
    "m/min": Unit("m/s", 1 / 60),
    "km/h": Unit("m/s", 1 / 3.6),
    "ft/min": Unit("m/s", FOOT / 60),
    "m/s2": Unit("m/s2", 1.0),
    "m3/s": Unit("m3/s", 1.0),
    "m3/h": Unit("m3/s", 1 / 3600),
    "l/s": Unit("m3/s", 1e-3),
    "l/min": Unit("m3/s", 1e-3 / 60),
    "ft3/min": Unit("m3/s", FOOT**3 / 60),
    "rad/s": Unit("rad/s", 1.0),
    "r/s": Unit("rad/s", 2 * pi),
    "r/min": Unit("rad/s", 2 * pi / 60),
    "rad/s2": Unit("rad/s2", 1.0),
    "rad": Unit("rad", 1.0),
    "deg": Unit("rad", pi / 180),
    "J": Unit("J", 1.0),
    "kJ": Unit("J", 1e3),
    "MJ": Unit("J", 1e6),
    "kWh": Unit("J", 3.6e6),
    "J/K": Unit("J/K", 1.0),
    "kJ/K": Unit("J/K", 1e3),
    # time and temperature
    "ms": Unit("s", 1e-3),
    "s": Unit("s", 1.0),
    "min": Unit("s", 60.0),
    "h": Unit("s", 3600.0),
    "degC": Unit("degC", 1.0),
    "degF": Unit("degC", 5 / 9, offset=-32.0),
    "K": Unit("K", 1.0),
}

_ALIASES = {
    "percent": "%",
    "per cent": "%",
    "hp(mech)": "hp (mechanical)",
    "hp(imperial)": "hp (mechanical)",
    "PS": "hp (metric)",
    "CV": "hp (metric)",
    "ohms": "ohm",
    "Ohm": "ohm",
    "rpm": "r/min",
    "1/min": "r/min",
    "min-1": "r/min",
    "rev/min": "r/min",
    "rps": "r/s",
    "ft lbf": "lbf ft",
    "ft lb": "lbf ft",
    "lb ft": "lbf ft",
    "in lbf": "lbf in",
    "kg m": "kgf m",
    "MCM": "kcmil",
    "lbf ft2 WK2": "lb ft2 WK2",
    "lbm ft2 WK2": "lb ft2 WK2",
    "°C": "degC",
    "°F": "degF",
    "°": "deg",
    "C": "degC",
}


def _key(text: str) -> str:
    """A unit without its spaces, which is how it is looked up."""
    return "".join(text.split())


UNITS: dict[str, Unit] = {_key(name): unit for name, unit in _NAMED.items()}
UNITS |= {_key(alias): _NAMED[name] for alias, name in _ALIASES.items()}
SPELLINGS: dict[str, str] = {_key(name): name for name in _NAMED}


def lookup(text: str) -> Unit | None:
    """The unit written so, or None; spaces do not count, capitals do."""
    return UNITS.get(_key(text))

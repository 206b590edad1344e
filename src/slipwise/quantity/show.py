"""Numbers as people read them: three or four significant figures, a unit that suits the size, never an exponent of e.

Everything that shows a number (terminal, report, figure, table) asks here, so that one value looks the same everywhere.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite, isnan, pi

THIN = "\u202f"  # narrow no-break space: between digit groups, and between number and unit
MINUS = "\u2212"
MISSING = "\u2013"
_RAISED = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")


@dataclass(frozen=True, slots=True)
class _Scale:
    """shown = (SI value) / size, with the symbol; used when |SI value| is at least `least`. digits: more than usual."""

    symbol: str
    size: float
    least: float = 0.0
    digits: int = 0


_SCALES: dict[str, tuple[_Scale, ...]] = {  # largest first
    "": (_Scale("", 1.0),),
    "pu": (_Scale("%", 0.01),),
    "W": (_Scale("MW", 1e6, 1e6), _Scale("kW", 1e3, 1e3), _Scale("W", 1.0)),
    "VA": (_Scale("MVA", 1e6, 1e6), _Scale("kVA", 1e3, 1e3), _Scale("VA", 1.0)),
    "var": (_Scale("Mvar", 1e6, 1e6), _Scale("kvar", 1e3, 1e3), _Scale("var", 1.0)),
    "V": (_Scale("kV", 1e3, 1e3), _Scale("V", 1.0)),
    "A": (_Scale("kA", 1e3, 1e4), _Scale("A", 1.0)),
    "A2 s": (_Scale("kA² s", 1e6, 1e6), _Scale("A² s", 1.0)),
    "Hz": (_Scale("Hz", 1.0),),
    "ohm": (_Scale("Ω", 1.0, 0.1), _Scale("mΩ", 1e-3)),
    "ohm/m": (_Scale("Ω/km", 1e-3),),
    "H": (_Scale("H", 1.0, 1.0), _Scale("mH", 1e-3)),
    "N m": (_Scale("kN m", 1e3, 1e4), _Scale("N m", 1.0)),
    "N": (_Scale("kN", 1e3, 1e3), _Scale("N", 1.0)),
    "kg m2": (_Scale("kg m²", 1.0),),
    "kg": (_Scale("t", 1e3, 1e4), _Scale("kg", 1.0)),
    "s": (_Scale("h", 3600.0, 7200.0), _Scale("min", 60.0, 300.0), _Scale("s", 1.0, 0.1), _Scale("ms", 1e-3)),
    "rad/s": (_Scale("r/min", 2 * pi / 60, digits=1),),  # slip is the difference of two speeds: one digit more
    "rad/s2": (_Scale("rad/s²", 1.0),),
    "rad": (_Scale("°", pi / 180),),
    "m": (_Scale("km", 1e3, 1e3), _Scale("m", 1.0, 1.0), _Scale("mm", 1e-3)),
    "m2": (_Scale("m²", 1.0, 0.1), _Scale("mm²", 1e-6)),
    "m/s": (_Scale("m/s", 1.0),),
    "m/s2": (_Scale("m/s²", 1.0),),
    "m3/s": (_Scale("m³/h", 1 / 3600),),
    "J": (_Scale("MJ", 1e6, 1e6), _Scale("kJ", 1e3, 1e3), _Scale("J", 1.0)),
    "J/K": (_Scale("MJ/K", 1e6, 1e6), _Scale("kJ/K", 1e3, 1e3), _Scale("J/K", 1.0)),
    "degC": (_Scale("°C", 1.0),),
    "K": (_Scale("K", 1.0),),
    "1/h": (_Scale("per hour", 1.0),),
}


@lru_cache(maxsize=4096)  # the same numbers stand in many places of one answer
def show(value: float | None, unit: str, digits: int = 3) -> str:
    """A value with its unit, as in "90.4 kW" or "1478 r/min".

    Args:
        value: in SI; None is shown as a dash.
        unit: SI unit as in `unit_table.KINDS`; an unknown one is shown as it is, unscaled.
        digits: significant figures (speeds get one more).
    """
    if value is None:
        return MISSING
    scale = _scale_for((value,), unit, digits)
    return _joined(_number(value / scale.size, digits + scale.digits), scale.symbol)


def show_range(value: float | None, low: float | None, high: float | None, unit: str, digits: int = 3) -> str:
    """A value and its range in one unit, as in "12 (10 to 14) kg m²"; without a range the value alone."""
    if value is None or low is None or high is None:
        return show(value, unit, digits)
    scale = _scale_for((value,), unit, digits)
    here, least, most = (_number(v / scale.size, digits + scale.digits) for v in (value, low, high))
    return _joined(f"{here} ({least} to {most})", scale.symbol)


def display_unit(values: Iterable[float | None], unit: str, digits: int = 3) -> str:
    """The unit that suits a whole column: that of its largest value."""
    return _scale_for(values, unit, digits).symbol


def show_number(value: float | None, unit: str, display: str, digits: int = 3) -> str:
    """A value without its unit, in the unit `display` (from `display_unit`), for a table column.

    Raises:
        ValueError: `display` is not a unit in which `unit` is shown.
    """
    if value is None:
        return MISSING
    for scale in _SCALES.get(unit, (_Scale(unit, 1.0),)):
        if scale.symbol == display:
            return _number(value / scale.size, digits + scale.digits)
    raise ValueError(f"{unit!r} is not shown in {display!r}")


def in_display(value: float, unit: str, display: str) -> float:
    """A value in the unit `display`, as a number: for the axis of a figure.

    Raises:
        ValueError: as `show_number`.
    """
    for scale in _SCALES.get(unit, (_Scale(unit, 1.0),)):
        if scale.symbol == display:
            return value / scale.size
    raise ValueError(f"{unit!r} is not shown in {display!r}")


def _scale_for(values: Iterable[float | None], unit: str, digits: int) -> _Scale:
    """The scale of the largest finite magnitude, judged after rounding (999.9 W is 1 kW)."""
    scales = _SCALES.get(unit, (_Scale(unit, 1.0),))
    largest = max((abs(v) for v in values if v is not None and isfinite(v)), default=0.0)
    if largest == 0:
        return next((scale for scale in scales if scale.size == 1), scales[-1])
    rounded = float(f"{largest:.{digits - 1}e}")
    return next((scale for scale in scales if rounded >= scale.least), scales[-1])


def _joined(number: str, symbol: str) -> str:
    """Number and unit; the degree of an angle stands close."""
    return f"{number}{'' if symbol in {'', '°'} else THIN}{symbol.replace(' ', THIN)}"


def _number(value: float, digits: int) -> str:
    """`digits` significant figures; zeros after the point only where rounding put them there."""
    if isnan(value):
        return "not a number"
    if not isfinite(value):
        return "∞" if value > 0 else f"{MINUS}∞"
    if value == 0:
        return "0"
    mantissa, _, power = f"{abs(value):.{digits - 1}e}".partition("e")
    rounded, exponent = float(f"{value:.{digits - 1}e}"), int(power)
    if exponent < -4 or exponent >= 9:
        return _powered(mantissa, exponent, MINUS if value < 0 else "")
    text = f"{abs(rounded):.{max(0, digits - 1 - exponent)}f}"
    if "." in text and abs(value - rounded) <= 1e-9 * abs(value):
        text = text.rstrip("0").rstrip(".")
    return (MINUS if rounded < 0 else "") + _grouped(text)


def _powered(mantissa: str, exponent: int, sign: str) -> str:
    """Far outside the usual sizes: 3.2 × 10⁻⁷."""
    short = mantissa.rstrip("0").rstrip(".") if "." in mantissa else mantissa
    return f"{sign}{short}{THIN}×{THIN}10{str(exponent).translate(_RAISED)}"


def _grouped(text: str) -> str:
    """Thin spaces between thousands from five digits on."""
    whole, point, part = text.partition(".")
    return (f"{int(whole):,}".replace(",", THIN) if len(whole) > 4 else whole) + point + part

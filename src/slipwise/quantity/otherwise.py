"""Values as plates and catalogues write them, which are not one number with one unit: what is meant, and how to write it."""

from __future__ import annotations

import re
from math import pi, sqrt

_TWO_VOLTAGES = re.compile(r"([0-9.]+)\s*(?:V|kV)?\s*[/-]\s*([0-9.]+)\s*(V|kV)", re.IGNORECASE)
_GAUGE = re.compile(r"(?:AWG\s*)?#?([0-9]{1,2})(/0)?(?:\s*AWG)?", re.IGNORECASE)
_PRESSURE = re.compile(r"[0-9.]+\s*(?:k|M|h)?(?:Pa|bar|mbar|psi|mmWG|mmWC|inWG)", re.IGNORECASE)
_NEARLY = 0.05  # how near two voltages are to the ratio of two connections: 6.6 and 11 kV are 4 % off
_LETTERS_FIRST = re.compile(r"(GD2|WK2)\s*[=:]?\s*([0-9].*)", re.IGNORECASE)


def written_otherwise(text: str, units: tuple[str, ...]) -> tuple[str, str] | None:
    """Reason and remedy for a value in a form of the trade that no unit can mend; None for every other text.

    Args:
        text: as in the file, with superscripts made plain.
        units: SI units of which one is wanted.
    """
    if "V" in units and (found := _TWO_VOLTAGES.fullmatch(text)) and (said := _two_voltages(found)):
        return said
    if "m2" in units and "awg" in text.lower() and (found := _GAUGE.fullmatch(text)):
        return "a gauge number is no area", f'write the area of the core: "{gauge_area(found[1], found[2]):.3g} mm2"'
    if "kg m2" in units and (found := _LETTERS_FIRST.fullmatch(text)):
        letters = found[1].upper()
        return f'"{letters}" stands before its value', f'write it behind the unit, as in "{found[2]} {letters}"'
    if "m" in units and _PRESSURE.fullmatch(text):
        return (
            "it is a pressure, and a length is needed",
            "for the head of a pump write pressure / (density x 9.81 m/s2); for a fan leave the rated head out and give "
            'the other pressures as shares of the rated one, as in "60 %"',
        )
    return None


def _two_voltages(found: re.Match[str]) -> tuple[str, str] | None:
    """Two voltages of one winding, which its terminals connect in two ways; None for two that are no such pair."""
    low, high, unit = found[1], found[2], found[3]
    try:
        ratio = float(high) / float(low)
    except (ValueError, ZeroDivisionError):
        return None
    if abs(ratio / sqrt(3) - 1) < _NEARLY:
        return (
            "two voltages: the winding is in delta at the lower and in star at the higher",
            f'write the one of your supply: "{low} {unit}" with connection = "delta", or "{high} {unit}" with "star"',
        )
    if abs(ratio / 2 - 1) < _NEARLY:
        return (
            "two voltages: the halves of the winding are in parallel at the lower and in series at the higher",
            f'write the one of your supply, "{low} {unit}" or "{high} {unit}", and the current that goes with it',
        )
    return None


def gauge_area(number: str, noughts: str | None) -> float:
    """Area of a wire of the American gauge, "2" or "2" with "/0". [mm2]

    Source: ASTM B258 (from memory): diameter 0.127 mm x 92^((36 - n)/39), n = 1 - k for k/0.
    """
    n = 1 - int(number) if noughts else int(number)
    return pi / 4 * float(0.127 * 92 ** ((36 - n) / 39)) ** 2

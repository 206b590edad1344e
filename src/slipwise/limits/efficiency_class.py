"""Efficiency class of a motor by its rated efficiency and the published tables, with the tables' status."""

from __future__ import annotations

from math import log10

from slipwise.data import Row, table
from slipwise.model.machine.motor import Rating
from slipwise.quantity.show import show

CLASSES = ("IE4", "IE3", "IE2")
_SINGLE_SPEED = 50.0  # Hz of the tables carried


def limit_row(name: str, power: float, poles: int) -> Row | None:
    """The row that gives the least efficiency of class `name` for a rated power (W) and pole number; None outside it."""
    kilowatts = power / 1e3
    for row in table("efficiency_50_hz").rows:
        if row["IE"] == name and row["poles"] == poles and row["from_kW"] <= kilowatts <= row["to_kW"]:
            return row
    return None


def least_efficiency(name: str, power: float, poles: int) -> tuple[float, str] | None:
    """Least nominal efficiency of a class at 50 Hz, per unit, and its source; between table powers by the formula.

    Source: Commission Regulation (EU) 2019/1781, Annex I; IEC 60034-30-1:2014.
    """
    row = limit_row(name, power, poles)
    if row is not None:
        return float(row["percent"]) / 100, row.cited
    for line in table("efficiency_interpolation").rows:
        if line["IE"] == name and line["poles"] == poles and line["from_kW"] <= power / 1e3 <= line["to_kW"]:
            x = log10(power / 1e3)
            percent = line["A"] * x**3 + line["B"] * x**2 + line["C"] * x + line["D"]
            return round(float(percent), 1) / 100, line.cited
    return None


def efficiency_class(rating: Rating, efficiency: float) -> str:
    """The class in words with its source, or why there is none. efficiency: at rated load, per unit."""
    if abs(rating.frequency - _SINGLE_SPEED) > 0.5:
        return f"efficiency class not judged: the tables carried are those of 50 Hz, the motor is rated {rating.frequency:g} Hz"
    found = [(name, least_efficiency(name, rating.power, rating.poles)) for name in CLASSES]
    known = [(name, least) for name, least in found if least is not None]
    shown = show(efficiency, "pu")
    if not known:
        return f"efficiency class not judged: {show(rating.power, 'W')} with {rating.poles} poles is outside the tables"
    for name, (least, source) in known:
        if efficiency >= least - 1e-6:  # a plate rounds to a tenth of a per cent, as the tables do
            return f"efficiency {shown} at rated load is {name} (at least {show(least, 'pu')}; {source})"
    name, (least, source) = known[-1]
    return f"efficiency {shown} at rated load is below {name} (at least {show(least, 'pu')}; {source})"

"""The overload relay as one body that warms with the square of the current; trip classes of the standard."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import exp, inf, log

import numpy as np

from slipwise.data import table
from slipwise.quantity.formula import Formula
from slipwise.results.protection import TripCurve
from slipwise.results.series import Array

# A relay must not trip at 1.05 and must trip at 1.2 times its setting (IEC 60947-4-1, Table 3, from memory); the middle.
ULTIMATE = 1.125
TRIP_TIME = Formula(
    key="limits.trip_time",
    title="Tripping time of an overload relay from cold",
    symbol="t",
    expression="tau * log(m**2 / (m**2 - m_u**2))",
    units={"tau": "s", "m": "", "m_u": ""},
    source="first-order thermal replica, IEC 60255-149 (from memory)",
    validity="steady current above the ultimate trip current",
    result_unit="s",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TripClass:
    """Tripping time at 7.2 times the setting from cold: above `low`, up to `high`. [s]"""

    name: str
    low: float
    high: float
    status: str


@cache
def trip_classes() -> tuple[TripClass, ...]:
    """The classes of IEC 60947-4-1 by the seconds they may take, quickest first."""
    rows = table("trip_classes").where(band="standard")
    return tuple(TripClass(name=r["class"], low=r["above_s"], high=r["to_s"], status=r.status) for r in rows)


def class_named(name: str) -> TripClass:
    """The class of that name, one of `trip_classes`."""
    return next(kind for kind in trip_classes() if kind.name == name)


def cited(name: str) -> str:
    """Source of a class, as shown beside it."""
    row = table("trip_classes").find(**{"class": name, "band": "standard"})
    return "IEC 60947-4-1, Table 2" if row is None else row.cited


def time_constant(seconds: float, multiple: float = 7.2) -> float:
    """Time constant of the relay that trips after `seconds` at `multiple` times its setting, from cold. [s]

    One body warming with the square of the current towards the heat that ULTIMATE times the setting would give.
    Source: first-order thermal replica, IEC 60255-149 (from memory).
    """
    return seconds / log(multiple**2 / (multiple**2 - ULTIMATE**2))


def tripping_time(multiple: float, constant: float, warm: float = 0.0) -> float:
    """Seconds to trip at a steady `multiple` of the setting; `warm`: heat before, 1 after running at the setting.

    Infinite when the relay never trips at that current. Source: as `time_constant`.
    """
    if multiple <= ULTIMATE:
        return inf
    return constant * log((multiple**2 - warm) / (multiple**2 - ULTIMATE**2))


def relay_heat(time: Array, multiple: Array, constant: float, warm: float = 0.0) -> float:
    """Greatest heat of the relay along a current, per unit of the heat at which it trips.

    time, multiple: shape (n,), s and current per unit of the setting, straight lines between. Each piece is solved
    exactly for its mean square current.
    """
    heat = greatest = warm
    square = multiple**2
    for step, mean in zip(np.diff(time), 0.5 * (square[1:] + square[:-1]), strict=True):
        heat = mean + (heat - mean) * exp(-float(step) / constant)
        greatest = max(greatest, heat)
    return float(greatest) / ULTIMATE**2


def trip_curve(kind: TripClass, points: int = 61) -> TripCurve:
    """The band of a class between 1.06 and 20 times the setting, quickest and slowest relay, cold and warm."""
    multiple = np.geomspace(1.06, 20.0, points)
    quick, slow = time_constant(kind.low), time_constant(kind.high)

    def times(constant: float, warm: float) -> tuple[float, ...]:
        return tuple(tripping_time(float(m), constant, warm) for m in multiple)

    return TripCurve(
        multiple=tuple(float(m) for m in multiple),
        quick_cold=times(quick, 0.0),
        slow_cold=times(slow, 0.0),
        quick_hot=times(quick, 1.0),
        slow_hot=times(slow, 1.0),
    )

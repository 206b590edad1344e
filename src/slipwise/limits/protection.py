"""Does the overload relay let the motor start, and does it save the motor that stalls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import exp, inf, log, sqrt

import numpy as np

from slipwise.data import table
from slipwise.limits.heat import locked_rotor
from slipwise.model.machine.motor import Motor, StallLimit
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.protection import Protection, RelayCheck, StarterDuty
from slipwise.results.series import Array
from slipwise.results.start import RunUp

# A relay must not trip at 1.05 and must trip at 1.2 times its setting (IEC 60947-4-1, Table 3, from memory); the middle.
ULTIMATE = 1.125
# Relays of one class scatter, and so do starts: a start may use this share of the quickest relay's heat (common practice,
# no source).
IN_HAND = 0.9
SPECIAL = "5"  # for motors that bear little stalling; proposed only when no ordinary class serves
IN_WINDING = 1 / sqrt(3)  # 0.58: share of the line current that a delta winding carries


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


def _cited(name: str) -> str:
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


def protection(run_up: RunUp, motor: Motor) -> Protection:
    """Every trip class at every place a relay may stand, against this start and against a stalled motor.

    Proposed is the quickest class that lets the motor start from hot, else from cold, and saves it when it stalls; with
    unknown stall times the quickest that lets it start. In the winding the relay is set to 0.58 of rated current.
    """
    stalled = locked_rotor(motor).winding_current / (motor.rating.current * _winding_share(motor))
    checks = [_check(place, kind, stalled, motor.stall) for place in _places(run_up, motor) for kind in trip_classes()]
    proposed = _proposed(checks)
    return Protection(
        checks=tuple(checks),
        proposed=proposed,
        words=_words(proposed),
        source=_cited(proposed.trip_class if proposed else "10"),
    )


def _winding_share(motor: Motor) -> float:
    return IN_WINDING if motor.rating.connection == "delta" else 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Where a relay stands: its setting [A], and the current of the start per unit of it, shape (n,), over time [s]."""

    name: str
    setting: float
    time: Array
    multiple: Array


def _places(run_up: RunUp, motor: Motor) -> tuple[_Place, ...]:
    rated, share = motor.rating.current, _winding_share(motor)
    line = _Place(name="line", setting=rated, time=run_up.time, multiple=run_up.line_current / rated)
    if share == 1.0:
        return (line,)
    setting = rated * share
    return (line, _Place(name="winding", setting=setting, time=run_up.time, multiple=run_up.winding_current / setting))


def _check(place: _Place, kind: TripClass, at_rest: float, stall: StallLimit) -> RelayCheck:
    quick, slow = time_constant(kind.low), time_constant(kind.high)
    cold = relay_heat(place.time, place.multiple, quick)
    hot = relay_heat(place.time, place.multiple, quick, warm=1.0)
    from_cold, from_hot = tripping_time(at_rest, slow), tripping_time(at_rest, slow, warm=1.0)
    return RelayCheck(
        place=place.name,
        setting=place.setting,
        trip_class=kind.name,
        cold=cold,
        hot=hot,
        lets_start="hot" if hot <= IN_HAND else "cold" if cold <= IN_HAND else "",
        stalled_cold=from_cold,
        stalled_hot=from_hot,
        saves=_saves(from_cold, from_hot, stall),
    )


def _saves(cold: float, hot: float, stall: StallLimit) -> bool | None:
    """Whether both tripping times are within the stall times that are known; None when none is."""
    known = [trip <= limit for trip, limit in ((cold, stall.cold), (hot, stall.hot)) if limit is not None]
    return all(known) if known else None


def _proposed(checks: Sequence[RelayCheck]) -> RelayCheck | None:
    serving = [check for check in checks if check.lets_start and check.saves is not False]
    return min(serving, key=lambda check: (check.lets_start != "hot", check.trip_class == SPECIAL), default=None)


def _words(proposed: RelayCheck | None) -> str:
    if proposed is None:
        return (
            "no trip class both lets this start pass and saves the stalled motor: add a speed switch, a stall relay that "
            "watches impedance or speed, or take another way of starting"
        )
    stall = {True: "trips within the stall time", False: "", None: "the stall time is not known"}[proposed.saves]
    again = "also when warm from running" if proposed.lets_start == "hot" else "from cold only"
    return f"class {proposed.trip_class} in the {proposed.place} lets the motor start {again}; {stall}"


def starter_duty(run_up: RunUp, starts_per_hour: float | None) -> StarterDuty:
    """Line current squared over the start up to the run-up time, and what follows from it."""
    end = run_up.time[-1] if run_up.run_up_time is None else run_up.run_up_time
    time = np.append(run_up.time[run_up.time < end], end)
    current = np.interp(time, run_up.time, run_up.line_current)
    squared = float(np.trapezoid(current**2, time))
    seconds = float(end)
    return StarterDuty(
        rms=sqrt(squared / seconds) if seconds > 0 else 0.0,
        greatest=float(current.max()),
        seconds=seconds,
        current_squared_time=squared,
        starts_per_hour=starts_per_hour,
    )


def protection_row(found: Protection) -> Criterion:
    """The criterion that goes with a relay: a condition when none serves, or only from cold; information otherwise."""
    check = found.proposed
    row = Criterion(
        key="trip_class",
        title="Overload trip class",
        value=None,
        limit=None,
        unit="",
        sense=Sense.AT_MOST,
        status=Status.PASSES,
        margin=None,
        case="nominal",
        source=found.source,
        condition=found.words,
    )
    if check is None or check.lets_start != "hot":
        return replace(row, status=Status.CONDITION)
    return replace(row, status=Status.UNKNOWN) if check.saves is None else row

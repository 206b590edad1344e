"""Heat of a start against what the motor bears at standstill, scaled with voltage."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from slipwise.limits.judge import conditional, judge, unjudged
from slipwise.limits.thresholds import Threshold
from slipwise.model.load.load import Load
from slipwise.model.machine.motor import Motor, StallLimit
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.quantity.formula import Formula
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.start import Outcome, RunUp
from slipwise.solve import steady
from slipwise.solve.plan import Drive, Stage, settled

# Common practice, no source: safe stall times from hot of cage motors up to a few hundred kW lie in this range. Used
# for an estimate only, never for a judgement.
TYPICAL_HOT_STALL = 12.0  # s
TYPICAL_HOT_STALL_RANGE = (6.0, 20.0)  # s
_CONSERVATIVE = "conservative: the standstill limit is used while accelerating, no accelerating limit is given"

SHARE = Formula(
    key="limits.heat",
    title="Share of the stall limit used by one start",
    symbol="h",
    expression="t_e / t_stall",
    units={"t_e": "s", "t_stall": "s"},
    source="adiabatic heating; stall time scales with 1/V^2 as the current follows the voltage (common practice, no source)",
    validity="no cooling during the start",
    result_unit="pu",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LockedRotor:
    """Standstill at rated voltage and frequency: rms current in one winding [A], losses of stator and rotor [W]."""

    winding_current: float
    stator_loss: float
    rotor_loss: float


def locked_rotor(motor: Motor) -> LockedRotor:
    """What the stall time of `motor` is counted at: standstill, rated voltage, stiff supply, running connection."""
    rating = motor.rating
    terminals = Busbar(name="terminals", nominal=rating.voltage)
    stiff = SupplyPath(
        voltage=rating.voltage,
        frequency=rating.frequency,
        links=(Link(name="stiff", kind="network", impedance=0.0, busbar=terminals),),
    )
    drive = Drive(motor=motor, load=Load(terms=(), base_speed=rating.speed, inertia=0.0), supply=stiff)
    point = steady.solve(drive, Stage(name="standstill", until=settled()), 0.0)
    return LockedRotor(
        winding_current=float(point.winding), stator_loss=float(point.stator_loss), rotor_loss=float(point.rotor_loss)
    )


def equivalent_stall(run_up: RunUp, winding_current: float) -> float:
    """Seconds at standstill and rated voltage that heat the winding as much as this start: integral of (i / i_l)^2. [s]

    Up to the run-up time, or to the end of a start that has none.
    winding_current: rms in one winding at standstill and rated voltage. Without cooling; current follows voltage, so
    a start at reduced voltage is measured at its own heat (stall time scales with 1/V^2).
    Source: adiabatic heating, IEEE 620 on thermal limit curves.
    """
    end = run_up.time[-1] if run_up.run_up_time is None else run_up.run_up_time
    until = np.append(run_up.time[run_up.time < end], end)
    squared = np.interp(until, run_up.time, (run_up.winding_current / winding_current) ** 2)
    return float(np.trapezoid(squared, until))


def cage_share(run_up: RunUp, standstill: LockedRotor, stall: float) -> float:
    """Rotor heat of the start per unit of what the rotor takes at standstill and rated voltage in `stall` seconds.

    Told apart from the winding because a deep or double cage loses its high standstill resistance while it speeds up.
    """
    return run_up.rotor_heat / (standstill.rotor_loss * stall)


def heat(run_ups: Mapping[str, RunUp], motors: Mapping[str, Motor], limit: Threshold) -> tuple[Criterion, ...]:
    """Rows for a start from hot and from cold: share of the stall limit used, worst over the cases that arrive. [pu]

    run_ups, motors: by case, nominal first. Over the limit from hot but within it from cold is a condition. Without
    any stall time the row is an estimate and not judged; so is a nominal start that does not arrive, which has no heat
    of its own.
    """
    at_rest = {case: locked_rotor(motor) for case, motor in motors.items()}
    seconds = {case: equivalent_stall(r, at_rest[case].winding_current) for case, r in run_ups.items()}
    nominal = next(iter(run_ups))
    arrived = {case: value for case, value in seconds.items() if run_ups[case].outcome is Outcome.ARRIVED}
    stall = motors[nominal].stall
    known = {state: time for state, time in (("hot", stall.hot), ("cold", stall.cold)) if time is not None}
    if nominal not in arrived:
        return (_unarrived(seconds[nominal], next(iter(known.values()), None), limit),)
    if not known:
        return (_estimate(arrived, limit),)
    rows = {
        state: _row(state, arrived, time, limit, _cage(run_ups[nominal], at_rest[nominal], time))
        for state, time in known.items()
    }
    return tuple(_hot_and_cold(rows).values())


def _hot_and_cold(rows: dict[str, Criterion]) -> dict[str, Criterion]:
    """A limit kept from cold only is a condition."""
    if "cold" not in rows or not _holds(rows["cold"]):
        return rows
    if "hot" not in rows:
        return {"cold": conditional(rows["cold"], "judged from cold only: no hot stall time is given")}
    if rows["hot"].status is Status.FAILS:
        return {**rows, "hot": conditional(rows["hot"], "start from cold only")}
    return rows


def assumed_stall(stall: StallLimit) -> Sourced | None:
    """The typical stall time an estimate rests on, to be listed among what was not given; None when one is known."""
    if stall.hot is not None or stall.cold is not None:
        return None
    low, high = TYPICAL_HOT_STALL_RANGE
    return Sourced(
        name="motor.stall_time_hot",
        value=TYPICAL_HOT_STALL,
        unit="s",
        origin=Origin.ASSUMED,
        low=low,
        high=high,
        why="typical of cage motors; for an estimate of the heat only, no judgement (common practice, no source)",
    )


def _row(state: str, seconds: Mapping[str, float], stall: float, limit: Threshold, note: str) -> Criterion:
    return judge(
        f"heat:{state}",
        f"Heat, start from {state}",
        {case: value / stall for case, value in seconds.items()},
        limit.value,
        unit="pu",
        sense=Sense.AT_MOST,
        source=limit.source,
        note=note,
    )


def _cage(run_up: RunUp, standstill: LockedRotor, stall: float) -> str:
    if standstill.rotor_loss <= 0:
        return _CONSERVATIVE
    return f"{_CONSERVATIVE}; cage by its own loss {show(cage_share(run_up, standstill, stall), 'pu')}"


def _estimate(seconds: Mapping[str, float], limit: Threshold) -> Criterion:
    low, high = TYPICAL_HOT_STALL_RANGE
    row = _row("hot", seconds, TYPICAL_HOT_STALL, limit, "")
    words = (
        f"no stall time is given, ask the maker for it (estimated with {TYPICAL_HOT_STALL:.0f} s from hot, "
        f"{low:.0f} to {high:.0f} s; common practice, no source)"
    )
    return unjudged(replace(row, condition=""), words)


def _unarrived(seconds: float, stall: float | None, limit: Threshold) -> Criterion:
    words = f"the start does not arrive; the stall limit counts, {show(stall, 's')} at standstill and rated voltage"
    row = _row("hot", {"nominal": seconds}, stall or TYPICAL_HOT_STALL, limit, "")
    return unjudged(replace(row, value=None, condition=""), words if stall else "the start does not arrive")


def _holds(row: Criterion) -> bool:
    return row.status in (Status.PASSES, Status.CONDITION)

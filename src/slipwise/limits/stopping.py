"""Criteria of a stop, one function each: at rest, in time, in few turns, not too hot, often enough, held."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import isinf

from slipwise.limits.heat import cage_share, equivalent_stall, locked_rotor
from slipwise.limits.judge import conditional, failing, judge, unjudged
from slipwise.limits.thresholds import Threshold
from slipwise.model.machine.motor import Motor
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.start import Outcome
from slipwise.results.stopping import Stop, StopRate

_WORDS = {
    Outcome.HANGS: "leaves the shaft turning",
    Outcome.RUNS_AWAY: "does not hold the load, which drives the motor past twice its synchronous speed",
    Outcome.UNFINISHED: "has not brought it to rest when the time followed is over",
}
Stops = Mapping[str, Stop]


def at_rest(stops: Stops) -> Criterion:
    """Whether the stop brings the shaft all but to rest in every case. value: speed at its end. [rad/s]

    The margin of a stop that does not is the speed left, as a negative share of the speed before.

    Source: definition.
    """
    moving = [case for case, stop in stops.items() if stop.outcome is not Outcome.STOPPED]
    case = max(moving or list(stops), key=lambda name: abs(stops[name].run.final_speed))
    row = Criterion(
        key="at_rest",
        title="Comes to rest",
        value=stops[case].run.final_speed,
        limit=None,
        unit="rad/s",
        sense=Sense.AT_MOST,
        status=Status.PASSES,
        margin=None,
        case=case,
        source="definition",
    )
    if not moving:
        return row
    left = abs(stops[case].run.final_speed) / stops[case].begin_speed
    return failing(replace(row, margin=-left), f"in the {case} case the stop {_WORDS[stops[case].outcome]}")


def stop_time(stops: Stops, limit: Threshold) -> Criterion:
    """Time until all but at rest, worst over the cases. [s]"""
    known = {case: stop.stop_time for case, stop in stops.items() if stop.stop_time is not None}
    return _known("stop_time", "Stop time", known, stops, limit, "s")


def turns(stops: Stops, limit: Threshold) -> Criterion:
    """Revolutions of the shaft until all but at rest, worst over the cases. [1]"""
    known = {case: stop.turns for case, stop in stops.items() if stop.stop_time is not None}
    return _known("turns", "Revolutions to rest", known, stops, limit, "")


def _known(
    key: str, title: str, known: Mapping[str, float], stops: Stops, limit: Threshold, unit: str
) -> Criterion:  # fmt: skip
    nominal = next(iter(stops))
    if nominal in known:
        return judge(key, title, known, limit.value, unit=unit, sense=Sense.AT_MOST, source=limit.source)
    row = judge(key, title, {nominal: 0.0}, None, unit=unit, sense=Sense.AT_MOST, source=limit.source)
    return replace(row, value=None, limit=limit.value, condition=f"the stop {_WORDS[stops[nominal].outcome]}")


def heat(stops: Stops, motors: Mapping[str, Motor], hottest: float, limit: Threshold) -> Criterion:
    """Share of the stall limit that one stop uses: of the hottest winding or of the cage, whichever is more. [pu]

    hottest: heat of the hottest phase per mean of the three, 1 where they are alike. From hot where that stall time is
    known. Without one the row is not judged.

    Source: adiabatic heating, as for a start (`limits.heat`).
    """
    nominal = next(iter(stops))
    stall = motors[nominal].stall.hot or motors[nominal].stall.cold
    row = Criterion(
        key="heat",
        title="Heat of one stop",
        value=None,
        limit=limit.value,
        unit="pu",
        sense=Sense.AT_MOST,
        status=Status.UNKNOWN,
        margin=None,
        case=nominal,
        source=limit.source,
    )
    if stall is None:
        return unjudged(row, "no stall time is given, ask the maker for it")
    values, worst = {}, ""
    for case, stop in stops.items():
        standstill = locked_rotor(motors[case])
        winding = hottest * equivalent_stall(stop.run, standstill.winding_current) / stall
        cage = cage_share(stop.run, standstill, stall)
        values[case] = max(winding, cage)
        worst = worst or f"cage {show(cage, 'pu')}, hottest winding {show(winding, 'pu')} of the stall limit"
    return judge(
        "heat",
        "Heat of one stop",
        values,
        limit.value,
        unit="pu",
        sense=Sense.AT_MOST,
        source=limit.source,
        note=f"nominal case: {worst}",
    )


def rate(found: StopRate, asked: float | None) -> tuple[Criterion, ...]:
    """Stops an hour that the motor bears against those asked for; no row where stopping heats nothing. [1/h]"""
    permitted = found.balance if found.network is None else found.network
    if isinf(permitted):
        return ()
    row = judge(
        "stops_per_hour",
        "Stops an hour",
        {"nominal": permitted},
        asked,
        unit="1/h",
        sense=Sense.AT_LEAST,
        source="given by user" if asked is not None else "not given",
    )
    words = "heat balance without running heat" if found.network is None else "thermal network, rated load between"
    if found.start:
        words += f", a start by {found.start.lower()} each time"
    return (replace(row, condition="; ".join(part for part in (row.condition, words) if part)),)


def resistor(stops: Stops, capacity: float) -> Criterion:
    """Greatest power returned against what the braking resistor takes. [W]"""
    return judge(
        "resistor",
        "Resistor power",
        {case: stop.returned_power for case, stop in stops.items()},
        capacity,
        unit="W",
        sense=Sense.AT_MOST,
        source="link voltage squared over the resistance",
        note="more would raise the dc link until the inverter lets go",
    )


def held(pull: float) -> tuple[Criterion, ...]:
    """A load that pulls at rest asks for a brake whatever the way of stopping; no row for one that does not."""
    if not pull:
        return ()
    row = Criterion(
        key="held",
        title="Held at rest",
        value=abs(pull),
        limit=None,
        unit="N m",
        sense=Sense.AT_MOST,
        status=Status.PASSES,
        margin=None,
        case="nominal",
        source="definition",
    )
    return (conditional(row, "the load pulls at rest: a mechanical brake must hold it, no motor does"),)


def belt_deceleration(stops: Stops, travel: float, limit: Threshold) -> tuple[Criterion, ...]:
    """Greatest deceleration of a mass that moves in a line; nothing for a load that only turns. [m/s2]"""
    if not travel:
        return ()
    values = {case: stop.deceleration * travel for case, stop in stops.items()}
    return (
        judge(
            "belt_deceleration",
            "Deceleration in a line",
            values,
            limit.value,
            unit="m/s2",
            sense=Sense.AT_MOST,
            source=limit.source,
        ),
    )

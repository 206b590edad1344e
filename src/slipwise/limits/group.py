"""What a group of motors on one path is judged by: every busbar's dip, the voltage at each starter, arrival."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import inf

from slipwise.limits.judge import failing, judge
from slipwise.limits.thresholds import Threshold
from slipwise.model.supply.path import Busbar
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.group import GroupRun
from slipwise.results.start import Outcome

_WORDS = {
    Outcome.HANGS: "hangs below its running speed",
    Outcome.STALLED: "comes to rest",
    Outcome.NEVER_MOVED: "does not break away",
    Outcome.UNFINISHED: "has not settled when the time computed is over",
    Outcome.RUNS_AWAY: "runs away",
    Outcome.STOPPED: "is dropped by its contactor",
}

Runs = Mapping[str, GroupRun]


def group_criteria(runs: Runs, busbars: Sequence[Busbar], limits: Sequence[Threshold]) -> tuple[Criterion, ...]:
    """Every row for one sequence. runs: one a case, nominal first. limits: least voltage at each motor's starter."""
    return (arrivals(runs), *_dips(runs, busbars), *_voltages(runs, limits))


def arrivals(runs: Runs) -> Criterion:
    """Whether every motor comes to its running speed and stays there; value: how many do, in the worst case."""
    found = {case: _arrived(run) for case, run in runs.items()}
    case = min(found, key=lambda name: found[name])
    count = len(runs[case].tracks)
    base = Criterion(
        key="arrives",
        title="Motors at their running speed",
        value=float(found[case]),
        limit=float(count),
        unit="",
        sense=Sense.AT_LEAST,
        status=Status.PASSES,
        margin=None,
        case=case,
        source="definition",
    )
    if found[case] == count:
        return base
    lost = [t for t in runs[case].tracks if t.outcome is not Outcome.ARRIVED]
    words = "; ".join(f"{t.name} {_WORDS[t.outcome]}" for t in lost)
    return failing(replace(base, margin=found[case] / count - 1), f"in the {case} case {words}")


def _arrived(run: GroupRun) -> int:
    return sum(track.outcome is Outcome.ARRIVED for track in run.tracks)


def _dips(runs: Runs, busbars: Sequence[Busbar]) -> tuple[Criterion, ...]:
    """Greatest dip of each busbar, from its voltage before the switching that caused it."""
    return tuple(
        judge(
            f"dip:{bar.name}",
            f"Dip at {bar.name}",
            {case: float(run.dips[place]) for case, run in runs.items()},
            bar.dip_limit,
            unit="pu",
            sense=Sense.AT_MOST,
            source=bar.dip_source,
        )
        for place, bar in enumerate(busbars)
    )


def _voltages(runs: Runs, limits: Sequence[Threshold]) -> tuple[Criterion, ...]:
    """Lowest voltage at each motor's starter while it is on, those that run already included."""
    first = next(iter(runs.values()))
    return tuple(
        judge(
            f"voltage:{track.name}",
            f"Voltage at {track.name}",
            {case: run.tracks[k].lowest_voltage for case, run in runs.items()},
            limit.value,
            unit="pu",
            sense=Sense.AT_LEAST,
            source=limit.source,
            span=None if limit.value is None or limit.value >= 1 else 1 - limit.value,
        )
        for k, (track, limit) in enumerate(zip(first.tracks, limits, strict=True))
    )


def ride_through(run: GroupRun, duration: float, longest: float) -> tuple[Criterion, ...]:
    """Whether every motor is back after the dip, and how near its duration (s) is to the longest (s) they bear."""
    back = arrivals({run.case: run})
    title, limit = "Longest dip that all ride through", duration
    if longest == inf:
        note = "a dip of this depth is borne for any time"
        row = judge("longest", title, {run.case: limit}, None, unit="s", sense=Sense.AT_LEAST, source="given by user")
        return back, replace(row, value=None, condition=note)
    held = judge(
        "longest", title, {run.case: longest}, limit, unit="s", sense=Sense.AT_LEAST, source="duration given by user"
    )
    return back, replace(held, condition=held.condition or f"to the limit {show(longest - duration, 's')}")

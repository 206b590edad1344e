"""Does the load reach its speed, and how long does it take."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from slipwise.limits.judge import conditional, failing, judge, unjudged
from slipwise.limits.thresholds import Threshold
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.start import Outcome, RunUp

_WORDS = {
    Outcome.HANGS: "hangs below the running speed",
    Outcome.STALLED: "comes back to rest",
    Outcome.NEVER_MOVED: "does not break away",
    Outcome.UNFINISHED: "is still gaining speed when the time computed is over",
    Outcome.RUNS_AWAY: "runs away, driven by its load",
    Outcome.STOPPED: "ends at rest",
}


def arrival(run_ups: Mapping[str, RunUp], synchronous_speed: float) -> Criterion:
    """Whether the start reaches its running speed, in the nominal case and in every worse one.

    value: speed reached in the worst case [rad/s]; the margin of a start that does not arrive is the speed it lacks, as
    a negative share of `synchronous_speed` (rad/s), none when its load drives it beyond. A start that would hang, in
    whichever case, fails: a motor that is left standing under voltage burns. The words tell of the nominal case where
    that one is lost already. Source: definition.
    """
    reached = {case: run_up.final_speed for case, run_up in run_ups.items()}
    lost = [case for case, run_up in run_ups.items() if run_up.outcome is not Outcome.ARRIVED]
    case = min(lost or list(reached), key=lambda name: reached[name])
    base = Criterion(
        key="arrives",
        title="Reaches running speed",
        value=reached[case],
        limit=None,
        unit="rad/s",
        sense=Sense.AT_LEAST,
        status=Status.PASSES,
        margin=None,
        case=case,
        source="definition",
    )
    if not lost:
        return base
    outcome, nominal = run_ups[case].outcome, next(iter(run_ups))
    ended = nominal in lost and Outcome.UNFINISHED not in (outcome, run_ups[nominal].outcome)
    told = nominal if ended else case
    place = f", at {show(reached[told], 'rad/s')}" if reached[told] > 0 else ""
    words = f"in the {told} case the start {_WORDS[run_ups[told].outcome]}{place}"
    if outcome is Outcome.UNFINISHED:
        return conditional(base, words) if case != nominal else unjudged(base, words)
    lacking = reached[case] / synchronous_speed - 1
    return failing(replace(base, margin=lacking if lacking < 0 else None), words)


def run_up_time(run_ups: Mapping[str, RunUp], limit: Threshold) -> Criterion:
    """Time to 99 % of the final speed, worst over the cases that arrive. [s]

    A start that does not arrive has no run-up time: the row then says so and leaves the judgement to `arrival`; one
    that is still gaining speed after the limit has passed breaks the limit.
    """
    times = {case: _elapsed(run_up) for case, run_up in run_ups.items()}
    known = {case: time for case, time in times.items() if time is not None}
    nominal = next(iter(run_ups))
    if nominal not in known:
        row = judge(
            "run_up_time", "Run-up time", {nominal: 0.0}, None, unit="s", sense=Sense.AT_MOST, source=limit.source
        )
        return _unarrived(row, limit, run_ups[nominal])
    cut = [case for case in known if run_ups[case].outcome is Outcome.UNFINISHED]
    note = f"not at speed when the computation ended, in the {' and '.join(cut)} case: it takes longer" if cut else ""
    return judge(
        "run_up_time", "Run-up time", known, limit.value, unit="s", sense=Sense.AT_MOST, source=limit.source, note=note
    )


def _elapsed(run_up: RunUp) -> float | None:
    if run_up.outcome is Outcome.UNFINISHED:
        return float(run_up.time[-1])
    return run_up.run_up_time


def _unarrived(row: Criterion, limit: Threshold, run_up: RunUp) -> Criterion:
    words = f"no run-up time: the start {_WORDS[run_up.outcome]}"
    return replace(row, value=None, limit=limit.value, condition=words)

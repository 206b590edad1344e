"""How strong a reduced start must be: the weakest step that lifts the load, against what the supply allows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from slipwise.methods import survey
from slipwise.methods.survey import percent
from slipwise.methods.way import Task
from slipwise.solve.plan import Drive, Stage

# Shares of the run-up and heat limits a reduced stage may use up, as the rest follows on full voltage: common practice.
TIME_SHARE = 0.95
HEAT_SHARE = 0.9
# Speed to which the reduced stage has to lift the load when no changeover speed is given: common practice, no source.
LIFT_TO = 0.85


@dataclass(frozen=True, slots=True, kw_only=True)
class Ladder:
    """The strengths a reduced stage may have: higher means more voltage on the motor.

    stage: builds it for a strength and a drive. steps: those that exist, ascending; None for any between low and high.
    up_to: speed to which it must lift the load, rad/s; None: LIFT_TO of synchronous. show: a strength in words.
    """

    stage: Callable[[float, Drive], Stage]
    steps: tuple[float, ...] | None
    low: float
    high: float
    up_to: float | None = None
    show: Callable[[float], str] = field(default=percent)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The strength chosen and what bound it, in words."""

    strength: float
    bound: str


def weakest(ladder: Ladder, task: Task) -> Found:
    """The weakest strength that lifts the load; says so when the supply allows less, or nothing lifts it.

    Optimised: current and dip, which fall with the strength. Bound by: accelerating reserve in the worst case, run-up
    time, and, from above, the dip limits and the agreed line current.
    """
    steps = ladder.steps or _steps(ladder)
    enough = next((s for s in steps if lifts(ladder, s, task)), None)
    least = percent(survey.reserve(task.limits))
    if enough is None:
        strongest = steps[-1]
        return Found(
            strength=strongest,
            bound=f"the strongest there is, and even it falls short: {shortfall(ladder, strongest, task)}",
        )
    if ladder.steps is None:
        bad = max((s for s in steps if s < enough), default=None)
        if bad is not None:
            enough = survey.bisect(lambda s: lifts(ladder, s, task), bad, enough, 20)
    asked = survey.strain(ladder.stage(enough, task.nominal), task)
    why = f"the weakest with a reserve of {least} of rated torque in the worst case"
    lower = max((s for s in steps if s < enough), default=None)
    if lower is not None:
        why += f" ({shortfall(ladder, lower, task)} below it)" if ladder.steps else ""
    if asked.share > 1:
        most = strongest_allowed(ladder, task)
        allowed = "none of them" if most is None else ladder.show(most)
        why += f"; the supply allows only {allowed} ({asked.words}), but nothing weaker lifts the load"
    elif asked.share > 0:
        why += f"; the supply bears it ({asked.words})"
    return Found(strength=enough, bound=why)


def within_limits(ladder: Ladder, task: Task) -> Found:
    """The strongest that the supply's limits allow, so that most torque is left; the weakest that lifts if none is set.

    Optimised: torque. Bound by: the dip limits and the agreed line current.
    """
    most = strongest_allowed(ladder, task)
    asked = survey.strain(ladder.stage(most or ladder.low, task.nominal), task)
    if most is None or most >= ladder.high or asked.share == 0 or not lifts(ladder, most, task):
        found = weakest(ladder, task)
        eased = (
            ""
            if most is None or most < ladder.high or asked.share == 0
            else "; a direct start would keep the limits too"
        )
        return replace(found, bound=found.bound + eased)
    return Found(
        strength=most, bound=f"the strongest the supply allows ({asked.words}); it keeps the reserve in the worst case"
    )


def strongest_allowed(ladder: Ladder, task: Task) -> float | None:
    """The strongest that keeps every dip limit and the agreed line current; None when even the weakest does not."""

    def allowed(strength: float) -> bool:
        return survey.strain(ladder.stage(strength, task.nominal), task).kept

    steps = ladder.steps or _steps(ladder)
    kept = [s for s in steps if allowed(s)]
    if not kept or ladder.steps or kept[-1] == steps[-1]:
        return kept[-1] if kept else None
    return survey.bisect(allowed, next(s for s in steps if s > kept[-1]), kept[-1])


def lifts(ladder: Ladder, strength: float, task: Task) -> bool:
    """Whether the stage keeps the reserve in the worst case up to the speed asked for, in time and within the heat limit."""
    return not shortfall(ladder, strength, task)


def shortfall(ladder: Ladder, strength: float, task: Task) -> str:
    """Why a strength does not do, in words; empty when it does."""
    top = LIFT_TO * task.nominal.motor.rating.synchronous_speed if ladder.up_to is None else ladder.up_to
    least = survey.reserve(task.limits)
    found = survey.curves(ladder.stage(strength, task.worst), task.worst)
    ends = survey.margin_ends(found, task.worst, least)
    if ends is not None and ends < top:
        where = "at standstill" if ends == 0 else f"from {survey.rpm(ends)}"
        return f"less than {percent(least)} reserve {where}"
    seconds = survey.seconds_to(found, task.worst, min(top, float(found.speed[-1])))
    limit, taken = task.limits.run_up_time.value, float(seconds.sum())
    if limit is not None and taken > TIME_SHARE * limit:
        return f"{survey.amount(taken)} s of a run-up limit of {survey.amount(limit)} s"
    bearable, heat = task.limits.heat.value, survey.heat_share(found, seconds, task.worst.motor)
    if bearable is not None and heat is not None and heat > HEAT_SHARE * bearable:
        return f"{percent(heat)} of the stall limit used of {percent(bearable)} allowed"
    return ""


def _steps(ladder: Ladder, count: int = 17) -> tuple[float, ...]:
    return tuple(ladder.low + (ladder.high - ladder.low) * i / (count - 1) for i in range(count))

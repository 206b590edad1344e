"""Motors that all agree with one plate: what the plate leaves open is drawn over its range and the fit repeated."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log

import numpy as np

from slipwise.identify.cage_fit import Goal, NoCircuitError
from slipwise.identify.cage_search import solve
from slipwise.identify.plate import motor_of
from slipwise.identify.reading import goal_of, read
from slipwise.identify.records import Plate
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin

_OPEN = {  # proportions no plate tells, with the range they are drawn from
    "stator_share": (0.4, 0.78),
    "stator_leakage": (0.35, 0.65),
    "mechanical_share": (0.06, 0.24),
    "stray_share": (0.08, 0.25),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One motor of an ensemble and the values drawn for it, by the name of the missing datum (as `motor.inertia`)."""

    motor: Motor
    drawn: dict[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ensemble:
    """Motors consistent with a plate.

    missing: names of the plate data that were not given and were drawn, the candidates for a ranking.
    tried: how many draws it took; those refused had no circuit or missed a given value.
    """

    members: tuple[Member, ...]
    missing: tuple[str, ...]
    tried: int


def ensemble(plate: Plate, count: int = 24, seed: int = 1) -> tuple[Motor, ...]:
    """`count` motors that all show the plate; see `draw`."""
    return tuple(member.motor for member in draw(plate, count, seed).members)


def draw(plate: Plate, count: int = 24, seed: int = 1, *, vary: tuple[str, ...] | None = None) -> Ensemble:
    """Motors consistent with a plate, missing data drawn evenly over their ranges (in the logarithm).

    Args:
        plate: as for `fit_plate`.
        count: how many motors; fewer come back only if 20 times as many draws do not yield them.
        seed: the same seed gives the same motors.
        vary: names of missing data to draw; None draws all and the open proportions of the circuit with them. The
            others stay at the middle of their ranges, which is how the datum that matters most is found.

    Raises:
        InputError: as `fit_plate`, when the plate itself cannot be read.
    """
    middle = read(plate)
    ranges = {
        row.name.removeprefix("motor."): (row.low, row.high, row.value)
        for row in middle.estimated
        if row.origin is Origin.ESTIMATED and row.low and row.high and row.value
    }
    names = tuple(ranges)
    generator = np.random.default_rng(seed)
    members: list[Member] = []
    tried = 0
    while len(members) < count and tried < 20 * count:
        tried += 1
        drawn = {n: _even(generator, low, high) for n, (low, high, _) in ranges.items()}
        open_shares = {n: float(generator.uniform(*span)) for n, span in _OPEN.items()}
        if vary is not None:
            drawn = {n: v for n, v in drawn.items() if f"motor.{n}" in vary}
            open_shares = {} if "motor.circuit" not in vary else open_shares
        motor = _member(plate, drawn, open_shares, middle.speed / (1 - middle.slip))
        if motor is not None:
            members.append(Member(motor=motor, drawn={f"motor.{n}": v for n, v in (drawn | open_shares).items()}))
    return Ensemble(members=tuple(members), missing=tuple(f"motor.{n}" for n in names), tried=tried)


def _even(generator: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(generator.uniform(log(low), log(high)))) if high > low else low


def _member(plate: Plate, drawn: dict[str, float], shares: dict[str, float], sync: float) -> Motor | None:
    """One fit; None when the draw contradicts the plate."""
    chosen = dict(drawn)
    if "rated_speed" in chosen:
        chosen["slip"] = 1 - chosen.pop("rated_speed") / sync
    try:
        reading = read(plate, chosen)
        goal = _with_shares(goal_of(reading), shares)
        solution = solve(goal)
    except (InputError, NoCircuitError):
        return None
    missed = solution.error > 0.01 or solution.excess(goal) > 1.0 or _strayed(goal, solution.moved)
    return None if missed else motor_of(reading, solution.cages)


def _with_shares(goal: Goal, shares: dict[str, float]) -> Goal:
    """The goal with drawn proportions; a given friction loss leaves stray loss as it was."""
    stray = goal.stray_share if goal.mechanical is not None else shares.get("stray_share", goal.stray_share)
    return replace(
        goal,
        stator_share=shares.get("stator_share", goal.stator_share),
        stator_leakage=shares.get("stator_leakage", goal.stator_leakage),
        mechanical_share=shares.get("mechanical_share", goal.mechanical_share),
        stray_share=stray,
    )


def _strayed(goal: Goal, moved: tuple[float, float, float, float]) -> bool:
    """Whether a drawn value had to move so far that the draw no longer stands for it."""
    wishes = (goal.current, goal.torque, goal.breakdown, goal.slip)
    return any(abs(m) > 0.5 * w.slack for m, w in zip(moved, wishes, strict=True) if not w.given)

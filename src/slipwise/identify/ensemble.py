"""Motors that all agree with one plate: what the plate leaves open is drawn over its distribution and the fit repeated."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import exp, log, pi
from statistics import NormalDist

import numpy as np

from slipwise.identify.cage_fit import Goal, NoCircuitError, Wish
from slipwise.identify.cage_search import Solution, kernel, solve
from slipwise.identify.plate import motor_of
from slipwise.identify.reading import Reading, goal_of, half_digit, read
from slipwise.identify.records import Plate
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin

# Standard deviations of the proportions no plate tells: of a share in its logit, of a loss in its logarithm.
# They give circuits as wide as the table of typical spreads says; common practice, no source.
_OPEN = {"stator_share": 0.45, "stator_leakage": 0.45, "mechanical_share": 0.35, "stray_share": 0.42}
_SHARE = ("stator_share", "stator_leakage")
_MOST = {"mechanical_share": 0.5, "stray_share": 0.4}
_ROUNDED = (
    "locked-rotor current",
    "locked-rotor torque",
    "breakdown torque",
    "slip",
    "current",
    "power_factor",
    "efficiency",
)
_DRAWN = 0.01  # how willingly a drawn value gives way where no circuit of usual proportions shows it (logarithm)
_FAR = 0.4  # and how far at most
_ODD = 1.5  # in the logit: from 0.6 to 0.25 or 0.87
_RATIOS = ("locked_rotor_current_ratio", "locked_rotor_torque_ratio", "breakdown_torque_ratio")
_NORMAL = NormalDist()
_TAIL = _NORMAL.cdf(-2.5)  # nothing is drawn beyond 2.5 standard deviations


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
    """Motors consistent with a plate, missing data drawn from their typical distributions, each given what came before.

    Given ratios and speed move evenly inside their rounding; proportions that no plate tells move as well.

    Args:
        plate: as for `fit_plate`.
        count: how many motors; fewer come back only if 20 times as many draws do not yield them.
        seed: the same seed gives the same motors.
        vary: names of missing data to draw; None draws all, and the open proportions of the circuit and the rounding
            with them (`motor.circuit` by name). The others stay at the middle of their distributions, which is how
            the datum that matters most is found.

    Raises:
        InputError: as `fit_plate`, when the plate itself cannot be read.
    """
    middle = read(plate)
    names = tuple(
        row.name.removeprefix("motor.")
        for row in middle.estimated
        if row.origin is Origin.ESTIMATED and row.name.removeprefix("motor.") in middle.taken
    )
    kernel(count)
    members: list[Member] = []
    tried = 0
    columns = (*names, *_OPEN, *_ROUNDED)
    for places in _spread_out(np.random.default_rng(seed), count, len(columns)):
        if len(members) == count or tried == 20 * count:
            break
        tried += 1
        member = _member(plate, *_chosen(dict(zip(columns, places, strict=True)), vary))
        if member is not None:
            members.append(member)
    return Ensemble(members=tuple(members), missing=tuple(f"motor.{n}" for n in names), tried=tried)


def _spread_out(generator: np.random.Generator, count: int, width: int) -> Iterator[list[float]]:
    """Endless points of the unit cube of `width` dimensions; of each `count` in a row every coordinate is evenly spread.

    Source: McKay, Beckman, Conover, Technometrics 21 (1979) 239 (from memory), latin hypercube sampling.
    """
    while True:
        order = np.argsort(generator.random((count, width)), axis=0)
        yield from ((order + generator.random((count, width))) / count).tolist()


def _chosen(places: Mapping[str, float], vary: tuple[str, ...] | None) -> tuple[dict[str, float], list[float]]:
    """Standard normal numbers for the missing data and open proportions, and shares of the rounding, from places in 0 to 1."""
    open_too = vary is None or "motor.circuit" in vary
    normals: dict[str, float] = {}
    for name, place in places.items():
        if name in _ROUNDED:
            continue
        if open_too if name in _OPEN else vary is None or f"motor.{name}" in vary:
            normals[name] = _NORMAL.inv_cdf(_TAIL + place * (1 - 2 * _TAIL))
    rounding = [2 * places[name] - 1 if open_too else 0.0 for name in _ROUNDED]
    rated = {f"rounding.{name}": share for name, share in zip(_ROUNDED[4:], rounding[4:], strict=True)}
    return normals | rated, rounding


def _member(plate: Plate, normals: Mapping[str, float], rounding: list[float]) -> Member | None:
    """One fit; None when the draw contradicts the plate."""
    try:
        reading = read(plate, normals)
        goal = _with_shares(goal_of(reading), normals)
        moved = _rounded(plate, reading, goal, rounding)
        solution = solve(moved)
    except (InputError, NoCircuitError):
        return None
    if solution.error > 0.01 or _strayed(goal, moved, solution):
        return None
    motor = motor_of(reading, solution.cages)
    shown = dict(zip(_RATIOS, solution.moved, strict=False))
    drawn = {name: value * exp(shown.get(name, 0.0)) for name, value in reading.taken.items()}
    if "rated_speed" in drawn:
        drawn["rated_speed"] = (1 - solution.cages.slip) * 4 * pi * plate.frequency / plate.poles
    drawn |= {name: getattr(goal, name) for name in _OPEN if name in normals}
    return Member(motor=motor, drawn={f"motor.{n}": v for n, v in drawn.items()})


def _with_shares(goal: Goal, normals: Mapping[str, float]) -> Goal:
    """The goal with drawn proportions; a given friction loss leaves stray loss as it was."""
    found: dict[str, float] = {}
    for name, width in _OPEN.items():
        usual, shift = getattr(goal, name), width * normals.get(name, 0.0)
        if name in _SHARE:
            odds = usual / (1 - usual) * exp(shift)
            found[name] = odds / (1 + odds)
        elif goal.mechanical is None:
            found[name] = min(usual * exp(shift), _MOST[name])
    return replace(
        goal,
        stator_share=found["stator_share"],
        stator_leakage=found["stator_leakage"],
        mechanical_share=found.get("mechanical_share", goal.mechanical_share),
        stray_share=found.get("stray_share", goal.stray_share),
    )


def _rounded(plate: Plate, reading: Reading, goal: Goal, rounding: list[float]) -> Goal:
    """Given ratios and slip moved inside their rounding by shares between -1 and 1, one for each."""

    def moved(wish: Wish, printed: float | None, share: float) -> Wish:
        if printed is None or not wish.given:
            return replace(wish, slack=_DRAWN)
        return replace(wish, value=wish.value * (1 + share * half_digit(printed, 0.05) / printed))

    slip = replace(goal.slip, slack=_DRAWN)
    if plate.speed is not None:
        slip = replace(goal.slip, value=goal.slip.value * (1 + rounding[3] * reading.slip_slack))
    return replace(
        goal,
        current=moved(goal.current, plate.locked_rotor_current_ratio, rounding[0]),
        torque=moved(goal.torque, plate.locked_rotor_torque_ratio, rounding[1]),
        breakdown=moved(goal.breakdown, plate.breakdown_torque_ratio, rounding[2]),
        slip=slip,
    )


def _strayed(goal: Goal, moved: Goal, solution: Solution) -> bool:
    """Whether a given value left its rounding (or 1 %), a drawn one moved so far that the draw no longer stands for it, or
    a share of the stator left its drawn value so far that no motor has it."""
    if max(abs(solution.x[2]), abs(solution.x[3])) > _ODD:
        return True
    names = ("current", "torque", "breakdown", "slip")
    for name, further in zip(names, solution.moved, strict=True):
        wish: Wish = getattr(goal, name)
        if wish.given and abs(further + log(getattr(moved, name).value / wish.value)) > 1.02 * wish.slack:
            return True
        if not wish.given and abs(further) > _FAR:
            return True
    return False

"""The group of a study: sequences of switching on, the one that holds the busbars, and a dip while all of them run."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from math import inf
from typing import Any

from slipwise.limits.group import ride_through
from slipwise.methods.way import StartingWay
from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.results.group import GroupDip, GroupMotor, GroupResult, GroupRun, RideThrough
from slipwise.results.group import SwitchingSequence as Order
from slipwise.results.start import Outcome
from slipwise.solve import steady
from slipwise.solve.group import Dip, run_group
from slipwise.solve.group_grid import Member
from slipwise.study.cases import NOMINAL, WORST, Case, cases_of
from slipwise.study.group.search import FULL, QUICK, Scene, searched, timed
from slipwise.study.model import GroupMember, GroupStudy, Study
from slipwise.study.one_way import task_of, way_of
from slipwise.study.verdict import rank, verdict

TOGETHER, LISTED, STATED, PROPOSED = "together", "listed", "stated", "proposed"
TITLES = {
    TOGETHER: "All together",
    LISTED: "One by one as listed",
    STATED: "As it is done today",
    PROPOSED: "Proposed",
}
_BEGIN, _FINEST, _ANY = 0.5, 0.01, 30.0  # s: of the dip; of the longest dip; what counts as any time


def run_group_study(study: Study, tell: Callable[[str], None]) -> GroupResult | None:
    """Everything about the group; None when the study has none.

    Raises:
        InputError: a motor cannot be started in the way named for it.
    """
    asked = study.group
    if asked is None:
        return None
    scene = _scene(study, asked, tell)
    running = [m.name for m in asked.members if m.running]
    waiting = [m.name for m in asked.members if not m.running]
    found, words = _sequences(scene, asked, running, waiting, tell)
    best = next((s.key for s in found if s.key == PROPOSED), None)
    return GroupResult(
        motors=tuple(_motor(m) for m in asked.members),
        sequences=tuple(found),
        proposed=best,
        words=words,
        dip=_dip(scene, asked, tell) if asked.dip is not None else None,
    )


def _scene(study: Study, asked: GroupStudy, tell: Callable[[str], None]) -> Scene:
    trunk = cases_of(study)
    members: dict[str, tuple[Member, ...]] = {}
    ways = [_designed(k, m) for k, m in enumerate(asked.members, start=1)]
    for name in (NOMINAL, WORST):
        members[name] = tuple(_drive(m, way, cases[name]) for m, (way, cases) in zip(asked.members, ways, strict=True))
    return Scene(
        paths={name: trunk[name].drive.supply for name in (NOMINAL, WORST)},
        members=members,
        busbars=study.supply.nominal.busbars,
        limits=[m.study.limits.terminal_voltage for m in asked.members],
        sizes={m.name: _locked_rotor(m) for m in asked.members},
        pause=asked.pause,
        tell=tell,
    )


def _designed(number: int, member: GroupMember) -> tuple[StartingWay, Mapping[str, Case]]:
    cases = cases_of(member.study)
    way = way_of(member.way.key)
    try:
        return way.designed_for(task_of(member.study, cases), member.way.given).way, cases
    except InputError as error:
        fault = error.faults[0]
        raise InputError.of(
            f"group.motor[{number}].way", f'"{member.way.key}"', fault.reason, f"name another way; {fault.remedy}"
        ) from None


def _drive(member: GroupMember, way: StartingWay, case: Case) -> Member:
    return Member(
        name=member.name,
        drive=case.drive,
        plan=way.stages(case.drive),
        place=member.place,
        branch=member.branch,
        switch_on=None if member.running else 0.0,
        drop_out=member.drop_out,
    )


def _locked_rotor(member: GroupMember) -> float:
    """Line current at standstill and rated voltage, direct. [A]"""
    motor = member.study.motor
    if motor.circuit is None:
        return float((motor.curves or ())[0].current)
    from slipwise.study.points import RUNNING

    drive = cases_of(member.study)[NOMINAL].drive
    point = steady.solve(drive, RUNNING, 0.0)
    return float(point.line * motor.rating.phase_voltage / point.motor_voltage)


def _motor(member: GroupMember) -> GroupMotor:
    return GroupMotor(
        name=member.name,
        busbar=member.study.supply.nominal.busbars[member.place].name,
        way=way_of(member.way.key).title,
        rated_power=member.study.motor.rating.power,
        locked_rotor_current=_locked_rotor(member),
        running=member.running,
    )


def _sequences(
    scene: Scene, asked: GroupStudy, running: Sequence[str], waiting: Sequence[str], tell: Callable[[str], None]
) -> tuple[list[Order], str]:
    if not waiting:
        return [], "Every motor of the group runs already; there is nothing to switch on."
    single: list[tuple[str, ...]] = [(name,) for name in waiting]
    plans: dict[str, tuple[list[tuple[str, ...]], list[float]]] = {TOGETHER: ([tuple(waiting)], [0.0])}
    if len(waiting) > 1:
        plans[LISTED] = (single, timed(scene, single, running) or [])
    times = {m.name: m.switch_on for m in asked.members if m.switch_on is not None}
    if times:
        stated = {name: times.get(name, 0.0) for name in waiting}
        order = sorted(set(stated.values()))
        plans[STATED] = ([tuple(n for n in waiting if stated[n] == t) for t in order], order)
    batches, bound = searched(scene, running, waiting)
    if batches:
        plans[PROPOSED] = (batches, timed(scene, batches, running) or [])
    found = []
    for key, (sets, clock) in plans.items():
        again = key != PROPOSED and (sets, clock) == plans.get(PROPOSED)
        if len(clock) == len(sets) and not again:
            tell(TITLES[key])
            found.append(_order(scene, key, sets, clock, running))
    return sorted(found, key=_worth), _words(batches, bound)


def _worth(order: Order) -> tuple[bool, int, float]:
    total = order.runs[0].total_time
    return order.key != PROPOSED, rank(order.verdict.status), total if total is not None else inf


def _order(
    scene: Scene, key: str, sets: Sequence[tuple[str, ...]], clock: Sequence[float], running: Sequence[str]
) -> Order:
    switch_on: dict[str, float | None] = dict.fromkeys(running)
    for batch, time in zip(sets, clock, strict=True):
        switch_on |= dict.fromkeys(batch, time)
    runs, rows = scene.judged(switch_on)
    return Order(
        key=key,
        title=TITLES[key],
        batches=tuple(sets),
        switch_on=tuple(clock),
        runs=tuple(runs.values()),
        verdict=verdict(rows),
    )


def _words(batches: Sequence[Sequence[str]], bound: str) -> str:
    goal = "Fewest switchings that keep every limit in every case; of equals, the greatest locked-rotor current first."
    if not batches:
        return f"{goal} None does: {bound}."
    return f"{goal} All at once does not: {bound}." if len(batches) > 1 else f"{goal} All may start together."


def _dip(scene: Scene, asked: GroupStudy, tell: Callable[[str], None]) -> GroupDip:
    assert asked.dip is not None
    remaining, duration = asked.dip
    tell("the dip")
    run = _dipped(scene, WORST, remaining, duration, relative=FULL[0], still=FULL[1])
    longest = _longest(scene, remaining, duration)
    rows = ride_through(run, duration, longest)
    return GroupDip(
        remaining=remaining,
        duration=duration,
        run=run,
        rides=tuple(_ride(run, place, _BEGIN + duration) for place in range(len(run.tracks))),
        longest=longest,
        verdict=verdict(rows),
        words=_told(run, longest),
    )


def _ride(run: GroupRun, place: int, end: float) -> RideThrough:
    """One motor of the run whose dip is over at `end`. [s]"""
    track, back = run.tracks[place], run.time >= end
    dropped = track.dropped is not None
    return RideThrough(
        name=track.name,
        outcome=track.outcome,
        dropped=dropped,
        lowest_speed=None if dropped else float(run.speed[place].min()),
        return_current=None if dropped else float(run.line_current[place][back].max()),
    )


def _dipped(scene: Scene, case: str, remaining: float, duration: float, **how: Any) -> GroupRun:
    scene.tell(f"a dip of {show(duration, 's')}")
    members = tuple(replace(m, switch_on=None) for m in scene.members[case])
    dip = Dip(begin=_BEGIN, duration=duration, remaining=remaining)
    return run_group(scene.paths[case], members, case=case, dip=dip, **how)


def _longest(scene: Scene, remaining: float, duration: float) -> float:
    """Longest dip after which every motor whose contactor held is back, by halving. [s]"""

    def back(seconds: float) -> bool:
        run = _dipped(scene, WORST, remaining, seconds, relative=QUICK[0], still=QUICK[1], parts=1)
        return all(t.outcome is Outcome.ARRIVED or t.dropped is not None for t in run.tracks)

    if back(_ANY):
        return inf
    low, high = 0.0, max(1.0, 2 * duration)
    while high < _ANY and back(high):
        low, high = high, 2 * high
    while high - low > max(_FINEST, 0.01 * high):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if back(middle) else (low, middle)
    return low


def _told(run: GroupRun, longest: float) -> str:
    dropped = [t.name for t in run.tracks if t.dropped is not None]
    lost = [t.name for t in run.tracks if t.dropped is None and t.outcome is not Outcome.ARRIVED]
    parts = []
    if dropped:
        parts.append(
            f"The contactors of {', '.join(dropped)} fall out; what was switched off waits for the restart plan."
        )
    if lost:
        parts.append(f"{', '.join(lost)} {'does' if len(lost) == 1 else 'do'} not come back to speed.")
    if not dropped and not lost:
        parts.append("Every motor comes back to speed; what a long dip heats is not judged here.")
    if longest != inf:
        parts.append(f"The longest dip of this depth that those still connected ride through is {show(longest, 's')}.")
    return " ".join(parts)

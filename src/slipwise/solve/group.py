"""Several motors on one supply path, each in its own stage and at its own speed, marched together."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

import numpy as np
from numpy.typing import NDArray

from slipwise.model.supply.path import SupplyPath
from slipwise.results.group import GroupRun, GroupTrack
from slipwise.results.series import Array
from slipwise.results.start import Outcome
from slipwise.solve import network, run_up, steady
from slipwise.solve.group_grid import Grid, Member
from slipwise.solve.march import march
from slipwise.solve.plan import Ends, Stage, settled
from slipwise.solve.step import MOST, Allowance, Step

_WIDTH = 11  # speed and energies of one motor, as the single run-up integrates them
_QUIET = 1e-3  # of rated torque: a motor that accelerates by less has no part in a dip to come
_OPEN = Stage(name="off", until=settled(), connected=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dip:
    """The source at `remaining` of its voltage from `begin` for `duration`. [pu], [s]"""

    begin: float
    duration: float
    remaining: float

    def factor(self, time: float) -> float:
        """Source voltage per unit of the undisturbed, from `time` on."""
        return self.remaining if self.begin <= time < self.begin + self.duration else 1.0


@dataclass(slots=True)
class _Motor:
    """One motor under way. index: of its stage; -1 before it is switched on."""

    member: Member
    index: int = -1
    began: float = 0.0  # s, of its stage
    dropped: float | None = None
    word: str = ""

    @property
    def on(self) -> bool:
        return self.index >= 0 and self.dropped is None

    @property
    def stage(self) -> Stage:
        return self.member.plan[self.index] if self.on else _OPEN

    @property
    def last(self) -> bool:
        return self.index == len(self.member.plan) - 1

    def ends_at(self) -> float:
        """When a clock ends the present stage. [s]"""
        until = self.stage.until
        seconds = until.value if until.ends is Ends.ELAPSED else until.timeout
        return inf if not self.on or seconds is None else self.began + seconds


@dataclass(slots=True)
class _Track:
    """The group under way, and what it has gone through."""

    grid: Grid
    motors: list[_Motor]
    dip: Dip | None
    still: float
    parts: int
    allowance: Allowance
    rows: list[tuple[float, list[float], list[steady.Point], Array]] = field(default_factory=list)
    reference: Array | None = None
    deepest: Array | None = None
    before: Array | None = None  # voltage from which each of the deepest dips is taken

    def points(self, time: float, state: Array) -> tuple[list[steady.Point], Array]:
        factor = 1.0 if self.dip is None else self.dip.factor(time)
        speeds = [float(v) for v in state[::_WIDTH]]
        return self.grid.solve([m.stage for m in self.motors], speeds, [time - m.began for m in self.motors], factor)


def run_group(
    path: SupplyPath,
    members: tuple[Member, ...],
    *,
    case: str = "nominal",
    dip: Dip | None = None,
    max_time: float = 600.0,
    relative: float = 1e-8,
    still: float = 2e-5,
    parts: int = 2,
) -> GroupRun:
    """Runs every motor through its plan on the common path until all are settled or `max_time` (s) is over.

    dip: of the source, with all that hangs on it. relative: error allowed in one step, as in `run_up`.
    still: accelerating torque, per unit of rated, below which a motor counts as settled; well above what `relative`
        makes of it near synchronous speed, or the run does not end.
    parts: recorded points per accepted step.

    The electrical transients, the back-feed of a motor that is cut off and the movement of regulators are left out:
    the voltages are steady fundamental ones at every instant. A motor without current before its switch-on stands still.

    Returns an answer in every case; one that does not arrive is an Outcome.

    Raises:
        InputError: the run takes more steps than can be computed.

    Source: equation of motion J dw/dt = T - T_load for each motor, the bus voltages common to all (Kundur, Power System
    Stability and Control, ch. 7, quasi-steady motor; from memory).
    """
    grid = Grid(path, members)
    track = _Track(
        grid=grid,
        motors=[_Motor(member=m) for m in members],
        dip=dip,
        still=still,
        parts=parts,
        allowance=Allowance(MOST // 2),
    )
    state = _initial(track)
    first = state[::_WIDTH].copy()
    time = 0.0
    while time < max_time:
        _switch(track, time)
        end = min(_next_cut(track, time), max_time)
        _drop(track, time, state)
        time, state = _piece(track, time, end, state, relative)
        if _over(track, time, state):
            break
    return _result(track, case, state, first)


def _initial(track: _Track) -> Array:
    """Motors that run from the beginning, at the speed where torque and load meet on the network common to them."""
    state = np.zeros(_WIDTH * len(track.motors))
    running = [k for k, m in enumerate(track.motors) if m.member.switch_on is None]
    for k in running:
        track.motors[k].index = len(track.motors[k].member.plan) - 1
        rating = track.motors[k].member.drive.motor.rating
        state[k * _WIDTH] = rating.synchronous_speed * (1 - rating.slip)
        track.motors[k].began = -1e3  # every law in time is long over
    for _ in range(200):
        points, _volts = track.points(-1.0, state)
        moved = 0.0
        for k in running:
            drive, speed = track.motors[k].member.drive, float(state[k * _WIDTH])
            sync = drive.motor.rating.synchronous_speed
            gap = points[k].torque - float(drive.load.torque(speed))
            slope = points[k].torque / max(sync - speed, 1e-6 * sync)  # torque follows slip near synchronous speed
            step = gap / max(slope, 1e-9)
            state[k * _WIDTH] += step
            moved = max(moved, abs(step) / sync)
        if moved < 1e-12:
            break
    return state


def _switch(track: _Track, time: float) -> None:
    """What a clock does at `time`: motors switched on, timed stages ended."""
    for motor in track.motors:
        if motor.index < 0 and motor.member.switch_on is not None and time >= motor.member.switch_on:
            motor.index, motor.began = 0, time
        elif motor.on and not motor.last and time >= motor.ends_at():
            motor.index, motor.began = motor.index + 1, time


def _next_cut(track: _Track, time: float) -> float:
    """The next instant at which something jumps or bends."""
    cuts = [inf]
    for motor in track.motors:
        if motor.index < 0 and motor.member.switch_on is not None:
            cuts.append(motor.member.switch_on)
        if motor.on:
            cuts.append(motor.ends_at())
            laws = (motor.stage.voltage, motor.stage.frequency)
            cuts += [motor.began + x for law in laws if law is not None for x in law.x]
    if track.dip is not None:
        cuts += [track.dip.begin, track.dip.begin + track.dip.duration]
    return min(cut for cut in cuts if cut > time + 1e-9)


def _drop(track: _Track, time: float, state: Array) -> None:
    """Contactors that do not hold at the voltage of their busbar fall out, one after another as the voltage rises."""
    while True:
        _, volts = track.points(time, state)
        levels = _levels(track, volts)
        low = [m for m in track.motors if m.on and levels[m.member.place] < m.member.drop_out]
        if not low:
            return
        for motor in low:
            motor.dropped = time


def _levels(track: _Track, volts: Array) -> Array:
    found = network.per_unit(track.grid.path, network.Voltages(busbars=tuple(volts)))
    return np.array(found, dtype=float)


def _piece(track: _Track, begin: float, end: float, state: Array, relative: float) -> tuple[float, Array]:
    """March towards `end` until something happens to one of the motors."""

    def rate(time: float, y: Array) -> Array:
        track.allowance.spend()
        points, _ = track.points(time, y)
        return np.concatenate(
            [
                run_up.rates(m.member.drive, p, float(y[k * _WIDTH])) if m.index >= 0 else np.zeros(_WIDTH)
                for k, (m, p) in enumerate(zip(track.motors, points, strict=True))
            ]
        )

    scale = np.concatenate([run_up.scale_of(m.member.drive) for m in track.motors])
    _mark(track, begin, state, switching=True)
    largest = max((end - begin) / 20, 1e-3)
    how = {"relative": relative, "largest": largest}
    for step in march(rate, begin, end, state, scale=scale, fed_back=slice(None, None, _WIDTH), **how):
        fraction, which, word = _first_event(track, step)
        for part in np.linspace(0.0, fraction, track.parts + 1)[1:]:
            _mark(track, step.time + part * step.size, step.at(float(part)))
        time, after = step.time + fraction * step.size, step.at(fraction)
        if which is not None:
            _happens(track.motors[which], word, time, after[which * _WIDTH : (which + 1) * _WIDTH])
            return time, after
        state = after
        if _all_but_still(track, step.state, state) or _over(track, time, state):
            return time, state
    return end, state


def _mark(track: _Track, time: float, state: Array, switching: bool = False) -> None:
    """Records an instant; at a switching while all else is quiet, the voltage just before it is the new reference."""
    if switching and (track.reference is None or _quiet(track)):
        track.reference = _before(track, time, state)
    points, volts = track.points(time, state)
    levels = _levels(track, volts)
    track.rows.append((time, [float(v) for v in state[::_WIDTH]], points, levels))
    if track.reference is not None:
        depth = (track.reference - levels) / track.reference
        if track.deepest is None or track.before is None:
            track.deepest, track.before = depth, track.reference.copy()
        deeper = depth > track.deepest
        track.deepest[deeper], track.before[deeper] = depth[deeper], track.reference[deeper]


def _quiet(track: _Track) -> bool:
    """Whether, at the last record, no motor was accelerating to speak of."""
    _, speeds, points, _ = track.rows[-1]
    return all(
        abs(p.torque - float(m.member.drive.load.torque(n))) < _QUIET * m.member.drive.motor.rating.torque
        for m, n, p in zip(track.motors, speeds, points, strict=True)
        if m.on
    )


def _before(track: _Track, time: float, state: Array) -> Array:
    """Busbar voltages just before what is switched at `time`: those last recorded, or without the motors to come."""
    if track.rows:
        return track.rows[-1][3]
    indices = [m.index for m in track.motors]
    for motor in track.motors:
        if motor.member.switch_on is not None:
            motor.index = -1
    undisturbed = track.dip
    track.dip = None
    _, volts = track.points(time, state)
    track.dip = undisturbed
    for motor, index in zip(track.motors, indices, strict=True):
        motor.index = index
    return _levels(track, volts)


def _first_event(track: _Track, step: Step) -> tuple[float, int | None, str]:
    """The earliest event inside the step, whose it is, and its word; (1, None, "") when there is none."""
    found: tuple[float, int | None, str] = (1.0, None, "")
    for k, motor in enumerate(track.motors):
        if motor.index < 0:
            continue
        own = _slice(step, k)
        fed = track.grid.fed(motor.member, abs(complex(track.grid.last[k])))
        first = run_up.first_event(motor.stage, fed, own, motor.began)
        if first is not None and first[0] <= found[0]:
            found = (first[0], k, first[1])
    return found


def _slice(step: Step, k: int) -> Step:
    part = slice(k * _WIDTH, (k + 1) * _WIDTH)
    return Step(time=step.time, size=step.size, state=step.state[part], course=step.course[:, part])


def _happens(motor: _Motor, word: str, time: float, own: Array) -> None:
    """Moves the motor on: to rest, to its next stage, or out of the run."""
    if word == run_up.TO_REST:
        own[0] = 0.0
    elif word == run_up.REACHED and not motor.last:
        motor.index, motor.began = motor.index + 1, time
    elif word == run_up.AWAY:
        motor.dropped, motor.word = time, word


def _all_but_still(track: _Track, before: Array, state: Array) -> bool:
    """Sets a shaft that is all but at rest to rest; whether there was one."""
    found = False
    for k, motor in enumerate(track.motors):
        at = k * _WIDTH
        if run_up.all_but_still(motor.member.drive, float(before[at]), float(state[at])):
            state[at], found = 0.0, True
    return found


def _over(track: _Track, time: float, state: Array) -> bool:
    """Whether nothing is to come and every shaft has found its speed."""
    if track.dip is not None and time <= track.dip.begin + track.dip.duration:
        return False
    for motor in track.motors:
        waits = motor.index < 0 and motor.member.switch_on is not None
        goes_on = motor.on and (not motor.last or time - motor.began < run_up.law_ends(motor.stage))
        if waits or goes_on:
            return False
    points, _ = track.points(time, state)
    return all(
        m.dropped is not None
        or run_up.at_rest_or_steady(m.member.drive, float(state[k * _WIDTH]), p.torque, track.still)
        for k, (m, p) in enumerate(zip(track.motors, points, strict=True))
    )


def _result(track: _Track, case: str, state: Array, first: Array) -> GroupRun:
    time = np.array([row[0] for row in track.rows])
    speed = np.array([row[1] for row in track.rows]).T
    levels = np.array([row[3] for row in track.rows]).T
    current = np.array([[float(p.line) for p in row[2]] for row in track.rows]).T
    rated = [m.member.drive.motor.rating.phase_voltage for m in track.motors]
    volts = np.array([[abs(complex(p.busbars[-1])) for p in row[2]] for row in track.rows]).T / np.array(rated)[:, None]
    tracks = []
    for k, motor in enumerate(track.motors):
        own = state[k * _WIDTH : (k + 1) * _WIDTH]
        outcome = _outcome(track, motor, own, float(track.rows[-1][2][k].torque), float(volts[k, -1]))
        since = _while_on(motor, time)
        on, arrived = motor.member.switch_on, outcome is Outcome.ARRIVED
        tracks.append(
            GroupTrack(
                name=motor.member.name,
                switch_on=on,
                dropped=motor.dropped,
                outcome=outcome,
                run_up_time=None
                if on is None or not arrived
                else run_up.nearly(time[since], speed[k][since], float(own[0])) - on,
                final_speed=float(own[0]),
                peak_current=float(current[k][since].max(initial=0.0)),
                lowest_voltage=float(volts[k][since].min(initial=inf)),
                energy=run_up.ledger_of(motor.member.drive, own, float(first[k])),
            )
        )
    ends = [t.switch_on + t.run_up_time for t in tracks if t.switch_on is not None and t.run_up_time is not None]
    return GroupRun(
        case=case,
        time=time,
        speed=speed,
        line_current=current,
        voltage=volts,
        busbars=tuple(b.name for b in track.grid.path.busbars),
        busbar_voltage=levels,
        dips=np.zeros(len(levels)) if track.deepest is None else track.deepest,
        before=levels[:, 0] if track.before is None else track.before,
        lowest=levels.min(axis=1),
        tracks=tuple(tracks),
        total_time=max(ends, default=0.0) if all(t.outcome is Outcome.ARRIVED for t in tracks) else None,
    )


def _while_on(motor: _Motor, time: Array) -> NDArray[np.bool_]:
    """Which records fall while the motor is switched on."""
    on = motor.member.switch_on
    since = np.ones(time.size, dtype=bool) if on is None else time >= on
    return since if motor.dropped is None else since & (time <= motor.dropped)


def _outcome(track: _Track, motor: _Motor, own: Array, torque: float, level: float) -> Outcome:
    """How it ended, by the rules of a single start."""
    speed, member = float(own[0]), motor.member
    if motor.word == run_up.AWAY:
        return Outcome.RUNS_AWAY
    if motor.dropped is not None:
        return Outcome.STOPPED
    if speed == 0.0:
        return Outcome.STALLED if own[run_up.LOAD_ENERGY] > 0 or member.switch_on is None else Outcome.NEVER_MOVED
    if not run_up.at_rest_or_steady(member.drive, speed, torque, track.still):
        return Outcome.UNFINISHED
    fed = track.grid.fed(member, level * member.drive.motor.rating.phase_voltage)
    return Outcome.ARRIVED if motor.last and speed >= run_up.running_from(motor.stage, fed) else Outcome.HANGS

"""A start by the equation of motion on the steady characteristics, the supply path solved at every speed."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import partial

import numpy as np

from slipwise.model.machine.circuit import Circuit
from slipwise.results.ledger import Ledger, LedgerRow, Side
from slipwise.results.series import Array
from slipwise.results.start import Outcome, RunUp, StageMark
from slipwise.solve import network, steady
from slipwise.solve.march import march
from slipwise.solve.plan import Drive, Ends, Plan, Stage
from slipwise.solve.step import Allowance, Event, Step

_RELATIVE = 1e-9
_SETTLED = 2e-5  # of rated torque: below this accelerating torque the speed is called settled
_PER_STEP = 4  # recorded points per accepted step

# State: speed, then the energies integrated with it.
_SPEED, _SUPPLIED, _STARTER, _STATOR, _CORE, _ROTOR, _EXTERNAL, _MECHANICAL, _STRAY, LOAD_ENERGY, _HEAT = range(11)
_FED_BACK = slice(_SPEED, _SPEED + 1)


@dataclass(slots=True)
class _Track:
    """One start under way: what it is made of, which stage it is in, and what it has gone through so far."""

    drive: Drive
    max_time: float
    relative: float
    index: int = 0
    began: float = 0.0  # s, of the present stage
    near: Circuit | None = None  # reactances of the last point, when the motor saturates
    allowance: Allowance = field(default_factory=Allowance)
    time: list[float] = field(default_factory=list)
    local: list[float] = field(default_factory=list)
    speed: list[float] = field(default_factory=list)
    stage: list[int] = field(default_factory=list)
    marks: list[StageMark] = field(default_factory=list)


def run_up(
    plan: Plan,
    drive: Drive,
    *,
    case: str = "nominal",
    max_time: float = 600.0,
    speed: float = 0.0,
    relative: float = _RELATIVE,
) -> RunUp:
    """Run the plan from `speed` (rad/s) until it settles, hangs, stalls, or `max_time` (s) is over.

    relative: error allowed in one step, per unit of synchronous speed and of the energies; 1e-7 is three times as quick
    and moves the run-up time by less than 1e-5 of itself.

    Returns an answer in every case: a start that does not arrive is an Outcome, not an error. Energies are integrated
    with the speed, so that the ledger closes to the integration tolerance.

    Raises:
        InputError: the run takes more steps than can be computed.

    Source: equation of motion J dw/dt = T - T_load on the steady torque (common textbook treatment; Dubey, Fundamentals
    of Electrical Drives, 2nd ed., ch. 2 and 6).
    """
    track = _Track(drive=drive, max_time=max_time, relative=relative)
    state = np.zeros(11)
    state[_SPEED] = speed
    ended = _SETTLED_WORD
    for track.index, stage in enumerate(plan):
        track.near = None
        time, state, ended = _stage(track, stage, state)
        track.marks.append(_mark(stage, track.began, time, state, ended))
        track.began = time
        if ended in _FINAL:
            break
    outcome = _outcome(plan, drive, ended, state, len(track.marks) == len(plan))
    return _result(plan, track, case, outcome, state)


REACHED, _ELAPSED, _SETTLED_WORD, _HELD = "reached", "time elapsed", "settled", "held at rest"
_OVER, AWAY = "time allowed is over", "ran away"
_FINAL = (_SETTLED_WORD, _HELD, _OVER, AWAY)


def _mark(stage: Stage, began: float, time: float, state: Array, reason: str) -> StageMark:
    speed = float(state[_SPEED])
    return StageMark(name=stage.name, begin=began, end=time, end_speed=speed, reason=reason, contacts=stage.contacts)


def _stage(track: _Track, stage: Stage, state: Array) -> tuple[float, Array, str]:
    """March one stage; gives the time, the state and the reason of its end."""
    limit, timed_word = _time_limit(stage, track.began, track.max_time)
    time = track.began
    for end in _ends_of_pieces(stage, track.began, limit):
        while time < end:
            time, state, word = _piece(track, stage, state, time, end)
            if word:
                return time, state, word
    return limit, state, timed_word


def _piece(track: _Track, stage: Stage, state: Array, begin: float, end: float) -> tuple[float, Array, str]:
    """March from `begin` towards `end` over smooth laws; a word says why the stage is over, "" that it is not."""
    drive, began = track.drive, track.began
    rate = partial(_rate, track, stage)
    largest = max((end - begin) / 20, 1e-3)
    how = {"relative": track.relative, "largest": largest}
    for step in march(rate, begin, end, state, scale=scale_of(drive), fed_back=_FED_BACK, **how):
        fraction, word = first_event(stage, drive, step, began) or (1.0, "")
        _record(track, step, fraction)
        before = float(state[_SPEED])
        time, state = step.time + fraction * step.size, step.at(fraction)
        if word == TO_REST or (not word and all_but_still(drive, before, float(state[_SPEED]))):
            state[_SPEED] = 0.0  # march again from rest: held, or turning back under an overhauling load
            return time, state, ""
        if word:
            return time, state, word
        if _ended_by_itself(stage, time - began) and _still(stage, drive, state, time - began):
            return time, state, _HELD if state[_SPEED] == 0.0 else _SETTLED_WORD
    return end, state, ""


TO_REST = "came to rest"
_REST = 1e-7  # of synchronous speed


def all_but_still(drive: Drive, before: float, after: float) -> bool:
    """Whether a braked shaft is at rest for all that matters: passive torque turns its sign there, and steps would shrink
    without end on its two sides."""
    return abs(after) < min(abs(before), _REST * drive.motor.rating.synchronous_speed)


def _time_limit(stage: Stage, began: float, max_time: float) -> tuple[float, str]:
    until = stage.until
    seconds = until.value if until.ends is Ends.ELAPSED else until.timeout
    if seconds is None or began + seconds > max_time:
        return max_time, _OVER
    return began + seconds, _ELAPSED


def _ends_of_pieces(stage: Stage, began: float, limit: float) -> list[float]:
    """The stage cut at the kinks of its laws in time, which a high-order step must not straddle."""
    kinks = {began + x for x in _kinks(stage)}
    return [*sorted(k for k in kinks if began < k < limit), limit]


def _kinks(stage: Stage) -> list[float]:
    return [x for law in (stage.voltage, stage.frequency) if law is not None for x in law.x]


def scale_of(drive: Drive) -> Array:
    rating = drive.motor.rating
    energy = 0.5 * drive.inertia * rating.synchronous_speed**2 + rating.power * 0.01
    scale = np.full(11, energy)
    scale[_SPEED], scale[_HEAT] = rating.synchronous_speed, 1.0
    return scale


def _rate(track: _Track, stage: Stage, time: float, state: Array) -> Array:
    """Derivatives of speed and energies."""
    track.allowance.spend()
    speed, drive = float(state[_SPEED]), track.drive
    p = steady.solve(drive, stage, speed, time - track.began, track.near)
    track.near = p.reactances
    return rates(drive, p, speed)


def rates(drive: Drive, p: steady.Point, speed: float) -> Array:
    """Derivatives of speed and energies at a steady point, shape (11,): rad/s2, W, and 1 for the current heat."""
    load = float(drive.load.torque(speed))
    net = p.torque - load
    if speed == 0.0:
        net, load = _from_rest(drive, p.torque)
    rate = np.empty(11)
    rate[_SPEED] = net / drive.inertia
    rate[_SUPPLIED], rate[_STARTER], rate[_STATOR], rate[_CORE] = p.power, p.starter_loss, p.stator_loss, p.core_loss
    rate[_ROTOR], rate[_EXTERNAL] = p.rotor_loss, p.external_loss
    rate[_MECHANICAL], rate[_STRAY], rate[LOAD_ENERGY] = p.mechanical_loss, p.stray_loss, load * speed
    rate[_HEAT] = (p.motor / drive.motor.rating.current) ** 2
    return rate


def _from_rest(drive: Drive, torque: float) -> tuple[float, float]:
    """Net torque and load torque at standstill: passive torque holds the shaft, it never drives it."""
    drive_torque = torque - drive.load.pull
    holding = drive.load.holding
    if abs(drive_torque) <= holding:
        return 0.0, torque
    net = drive_torque - (holding if drive_torque > 0 else -holding)
    return net, torque - net


def _still(stage: Stage, drive: Drive, state: Array, local: float) -> bool:
    speed = float(state[_SPEED])
    return at_rest_or_steady(drive, speed, steady.solve(drive, stage, speed, local).torque)


def at_rest_or_steady(drive: Drive, speed: float, torque: float, still: float = _SETTLED) -> bool:
    """Whether the motor's `torque` (N m) leaves the shaft where it is, at rest or at `speed` (rad/s).

    still: accelerating torque that counts as none, per unit of rated torque.
    """
    net = _from_rest(drive, torque)[0] if speed == 0.0 else torque - float(drive.load.torque(speed))
    return bool(abs(net) < still * drive.motor.rating.torque)


def _ended_by_itself(stage: Stage, local: float) -> bool:
    """Whether standing still ends the stage: not while a timer runs or a law still changes."""
    timed = stage.until.ends is Ends.ELAPSED or stage.until.timeout is not None
    return not timed and local >= law_ends(stage)


def law_ends(stage: Stage) -> float:
    """When the last law in time of a stage has come to its end. [s]"""
    return max(_kinks(stage), default=0.0)


def first_event(stage: Stage, drive: Drive, step: Step, began: float) -> tuple[float, str] | None:
    """The earliest event inside the step, as a fraction of it, with its reason."""
    found = []
    for event, word in _events(stage, drive, began):
        before, after = event(step.time, step.state), event(step.time + step.size, step.at(1.0))
        if before == 0.0 and word == TO_REST:
            continue
        if before >= 0 and word == REACHED:
            found.append((0.0, word))
        elif (before > 0) != (after > 0):
            found.append((step.find(event), word))
    return min(found) if found else None


def _events(stage: Stage, drive: Drive, began: float) -> list[tuple[Event, str]]:
    events: list[tuple[Event, str]] = [(lambda _t, y: float(y[_SPEED]), TO_REST)]
    away = 2.0 * drive.motor.rating.synchronous_speed
    events.append((lambda _t, y: away - abs(float(y[_SPEED])), AWAY))
    until = stage.until
    if until.ends is Ends.SPEED:
        events.append((lambda _t, y: float(y[_SPEED]) - until.value, REACHED))
    elif until.ends is Ends.SPEED_FALLS:
        events.append((lambda _t, y: until.value - float(y[_SPEED]), REACHED))
    elif until.ends is Ends.CURRENT:
        events.append(
            (lambda t, y: until.value - float(steady.solve(drive, stage, float(y[_SPEED]), t - began).line), REACHED)
        )
    return events


def _record(track: _Track, step: Step, fraction: float) -> None:
    for part in np.linspace(0.0, fraction, _PER_STEP + 1)[(0 if not track.time else 1) :]:
        time = step.time + part * step.size
        track.time.append(time)
        track.local.append(time - track.began)
        track.speed.append(float(step.at(float(part))[_SPEED]))
        track.stage.append(track.index)


def _outcome(plan: Plan, drive: Drive, ended: str, state: Array, last: bool) -> Outcome:
    speed = float(state[_SPEED])
    if ended == _OVER:
        return Outcome.UNFINISHED
    if ended == AWAY:
        return Outcome.RUNS_AWAY
    if speed == 0.0:
        return Outcome.STALLED if state[LOAD_ENERGY] > 0 else Outcome.NEVER_MOVED
    if last and ended in (_SETTLED_WORD, _ELAPSED) and speed >= running_from(plan[-1], drive):
        return Outcome.ARRIVED
    return Outcome.HANGS


def running_from(stage: Stage, drive: Drive) -> float:
    """Lowest speed that counts as running in `stage`: that of the last torque peak below synchronous. [rad/s]"""
    last = law_ends(stage)
    frequency = 1.0 if stage.frequency is None else float(stage.frequency.at(last))
    motor = stage.motor or drive.motor
    speed = np.linspace(0.0, frequency * motor.rating.synchronous_speed, 401)
    rising = np.flatnonzero(np.diff(steady.characteristic(stage, drive, speed, last).torque) >= 0)
    return float(speed[rising[-1] + 1]) if rising.size else 0.0


def _result(plan: Plan, track: _Track, case: str, outcome: Outcome, state: Array) -> RunUp:
    drive = track.drive
    time, speed = np.array(track.time), np.array(track.speed)
    columns = _columns(plan, track)
    final = float(speed[-1])
    path = drive.supply
    arrived = outcome is Outcome.ARRIVED
    return RunUp(
        case=case,
        outcome=outcome,
        run_up_time=nearly(time, speed, final) if arrived else None,
        hang_speed=final if outcome in (Outcome.HANGS, Outcome.STALLED, Outcome.NEVER_MOVED) else None,
        final_speed=final,
        time=time,
        speed=speed,
        load=drive.load.torque(speed),
        busbars=tuple(b.name for b in path.busbars),
        prestart_voltage=np.array(network.per_unit(path, network.prestart(path))),
        stages=tuple(track.marks),
        energy=ledger_of(drive, state, float(speed[0])),
        stator_heat=float(state[_STATOR]),
        rotor_heat=float(state[_ROTOR]),
        current_heat=float(state[_HEAT]),
        **columns,
    )


def _columns(plan: Plan, track: _Track) -> dict[str, Array]:
    """Every quantity along the track, recomputed stage by stage in one sweep each."""
    index = np.array(track.stage)
    names = ("torque", "line_current", "motor_current", "winding_current", "power_factor")
    out = {name: np.zeros(index.size) for name in names}
    out["busbar_voltage"] = np.zeros((len(track.drive.supply.links), index.size))
    for i in np.unique(index):
        where = index == i
        local = np.array(track.local)[where]
        c = steady.characteristic(plan[i], track.drive, np.array(track.speed)[where], local)
        for name in names:
            out[name][where] = getattr(c, name)
        out["busbar_voltage"][:, where] = c.busbar_voltage
    return out


def nearly(time: Array, speed: Array, final: float) -> float:
    """Time at which `speed` first comes within 1 % of `final`, from below or, on a change-down, from above."""
    if speed[0] > 1.01 * final > 0:
        return _crossing(time, -speed, -1.01 * final)
    return _crossing(time, speed, 0.99 * final)


def _crossing(time: Array, speed: Array, level: float) -> float:
    """Time at which `speed` first reaches `level`, straight between records."""
    first = int(np.argmax(speed >= level))
    if first == 0:
        return float(time[0])
    return float(np.interp(level, speed[first - 1 : first + 1], time[first - 1 : first + 1]))


def ledger_of(drive: Drive, state: Array, first_speed: float) -> Ledger:
    kinetic = 0.5 * drive.inertia * (float(state[_SPEED]) ** 2 - first_speed**2)
    rows = (
        ("supplied to the starter", state[_SUPPLIED], Side.SUPPLIED),
        ("starter and series impedances", state[_STARTER], Side.LOST),
        ("stator winding", state[_STATOR], Side.LOST),
        ("core", state[_CORE], Side.LOST),
        ("rotor", state[_ROTOR], Side.LOST),
        ("rotor resistors", state[_EXTERNAL], Side.LOST),
        ("friction and windage", state[_MECHANICAL], Side.LOST),
        ("stray load loss", state[_STRAY], Side.LOST),
        ("kinetic energy", kinetic, Side.STORED),
        ("driven machine", state[LOAD_ENERGY], Side.SHAFT),
    )
    return Ledger(rows=tuple(LedgerRow(name=n, energy=float(e), side=s) for n, e, s in rows))

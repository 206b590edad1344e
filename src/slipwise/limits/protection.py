"""Does the overload relay let the motor start, and does it save the motor that stalls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, inf, isfinite, sqrt

import numpy as np

from slipwise.limits.heat import locked_rotor
from slipwise.limits.overload_relay import (
    TripClass,
    cited,
    relay_heat,
    time_constant,
    trip_classes,
    trip_curve,
    tripping_time,
)
from slipwise.model.machine.motor import Motor, StallLimit
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.protection import Protection, RelayCheck, SpeedSwitch, StarterDuty
from slipwise.results.series import Array
from slipwise.results.start import Outcome, RunUp

# Relays of one class scatter, and so do starts: a start may use this share of the quickest relay's heat (common practice,
# no source).
IN_HAND = 0.9
# The stalled motor is tripped this much before its limit, the greater of the two (common practice, no source).
GAP_SHARE, GAP_SECONDS = 0.1, 1.0
SPECIAL = "5"  # for motors that bear little stalling; proposed only when no ordinary class serves
IN_WINDING = 1 / sqrt(3)  # 0.58: share of the line current that a delta winding carries
OVERSET, TRIPS_RUNNING = 1.05, 1.05  # of rated current; of the setting, at which a relay does not trip yet
SWITCH_SPEED, SWITCH_SLACK, SHORTEST_DELAY = 0.10, 1.5, 1.0  # of synchronous speed; of the time to it; s (practice)
LINE, WINDING = "line", "winding"


@dataclass(frozen=True, slots=True, kw_only=True)
class RelayRequest:
    """The relay as the user has it, None where it is left open. setting: rms A at its place; place: "line" or "winding".

    switch_speed: of a speed switch [rad/s], with switch_delay [s].
    """

    trip_class: str | None = None
    setting: float | None = None
    place: str | None = None
    switch_speed: float | None = None
    switch_delay: float | None = None

    @property
    def stated(self) -> bool:
        """Whether there is anything to judge."""
        return self.trip_class is not None or self.setting is not None


OPEN = RelayRequest()


def time_in_hand(limit: float) -> float:
    """The longest tripping time for a stall time `limit`: a tenth or a second before it, whichever is more. [s]"""
    return limit - max(GAP_SHARE * limit, GAP_SECONDS)


def protection(
    run_up: RunUp,
    motor: Motor,
    others: Sequence[RunUp] = (),
    asked: RelayRequest = OPEN,
    *,
    first: Array | None = None,
    six_leads: bool = True,
) -> Protection:
    """Every trip class at every place a relay may stand, against this start and against a stalled motor.

    Proposed is the quickest class that lets the motor start from hot, else from cold, and saves it when it stalls; with
    unknown stall times the quickest that lets it start. In the winding the relay is set to 0.58 of rated current.
    A relay that the user states is judged in its place. Where no class serves, a speed switch is proposed.

    others: the same start in other cases. first: line and winding current of the stalled first stage, rms A, shape (2,);
    of two places that serve, the one is proposed whose relay saves the motor there too. six_leads: whether both ends of
    the winding come out to the starter, so that a relay may stand in the winding of a delta.
    """
    slowest = max(
        (r for r in others if r.outcome is Outcome.ARRIVED), key=lambda r: float(r.run_up_time or 0.0), default=None
    )
    spots = [
        (spot, _place(spot.name, slowest, spot.setting) if slowest else None)
        for spot in _places(run_up, motor, asked, six_leads)
    ]
    at_rest = locked_rotor(motor).winding_current
    checks = [
        _check(spot, kind, _stalled(spot, motor, at_rest), motor.stall, worse)
        for spot, worse in spots
        for kind in trip_classes()
    ]
    judged = next((c for c in checks if c.trip_class == asked.trip_class), None) if asked.trip_class else None
    proposed = None if judged else _proposed(checks, motor, at_rest, first)
    if asked.stated and judged is None:
        judged = proposed
    alone = judged is None or judged.saves is False
    with_switch = _starting(checks) if proposed is None and judged is None else None
    switch = _switch(asked, (run_up, *others), motor) if asked.switch_speed or (alone and proposed is None) else None
    relay = judged or proposed or with_switch
    return Protection(
        checks=tuple(checks),
        proposed=proposed,
        words=_words(judged, proposed, with_switch, switch, motor.stall),
        source=cited(relay.trip_class if relay else "10"),
        judged=judged,
        with_switch=with_switch,
        speed_switch=switch,
        curve=trip_curve(next(k for k in trip_classes() if k.name == relay.trip_class)) if relay else None,
    )


def winding_share(motor: Motor) -> float:
    """Share of the line current that one phase winding carries while running."""
    return IN_WINDING if motor.rating.connection == "delta" else 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Where a relay stands: its setting [A], and the current of the start per unit of it, shape (n,), over time [s]."""

    name: str
    setting: float
    time: Array
    multiple: Array


def _places(run_up: RunUp, motor: Motor, asked: RelayRequest, six_leads: bool) -> tuple[_Place, ...]:
    """Where a relay is looked at: in line and winding, or in the place that the user states."""
    share = winding_share(motor)
    names = (LINE, WINDING) if share < 1.0 and six_leads else (LINE,)
    found = []
    for name in names if asked.place is None else (asked.place,):
        usual = motor.rating.current * (share if name == WINDING else 1.0)
        found.append(_place(name, run_up, asked.setting or usual))
    return tuple(found)


def _place(name: str, run_up: RunUp, setting: float) -> _Place:
    current = run_up.winding_current if name == WINDING else run_up.line_current
    return _Place(name=name, setting=setting, time=run_up.time, multiple=current / setting)


def _stalled(place: _Place, motor: Motor, at_rest: float) -> float:
    """Multiple of the setting at standstill and rated voltage, running connection."""
    share = 1.0 if place.name == WINDING else winding_share(motor)
    return at_rest / (place.setting * share)


def _check(place: _Place, kind: TripClass, at_rest: float, stall: StallLimit, worse: _Place | None) -> RelayCheck:
    quick, slow = time_constant(kind.low), time_constant(kind.high)
    cold = relay_heat(place.time, place.multiple, quick)
    hot = relay_heat(place.time, place.multiple, quick, warm=1.0)
    from_cold, from_hot = tripping_time(at_rest, slow), tripping_time(at_rest, slow, warm=1.0)
    return RelayCheck(
        place=place.name,
        setting=place.setting,
        trip_class=kind.name,
        cold=cold,
        hot=hot,
        worst=None if worse is None else relay_heat(worse.time, worse.multiple, quick),
        lets_start="hot" if hot <= IN_HAND else "cold" if cold <= IN_HAND else "",
        stalled_cold=from_cold,
        stalled_hot=from_hot,
        saves=_saves(from_cold, from_hot, stall),
    )


def _saves(cold: float, hot: float, stall: StallLimit) -> bool | None:
    """Whether both tripping times are within the stall times that are known, with some in hand; None when none is."""
    known = [trip <= time_in_hand(limit) for trip, limit in ((cold, stall.cold), (hot, stall.hot)) if limit is not None]
    return all(known) if known else None


def _proposed(checks: Sequence[RelayCheck], motor: Motor, at_rest: float, first: Array | None) -> RelayCheck | None:
    serving = [check for check in checks if check.lets_start and check.saves is not False]

    def preference(check: RelayCheck) -> tuple[bool, bool, bool, bool]:
        unsaved = first is not None and saves_there(check, motor, at_rest, first) is False
        return check.lets_start != "hot", trips_in_worst(check), check.trip_class == SPECIAL, unsaved

    return min(serving, key=preference, default=None)


def _starting(checks: Sequence[RelayCheck]) -> RelayCheck | None:
    """The quickest that lets the motor start, whatever becomes of a stalled one."""
    letting = [check for check in checks if check.lets_start]
    return min(letting, key=lambda c: (c.lets_start != "hot", trips_in_worst(c), c.trip_class == SPECIAL), default=None)


def trips_in_worst(check: RelayCheck) -> bool:
    """Whether the relay trips, or nearly, in the slowest other case."""
    return check.worst is not None and check.worst > IN_HAND


def saves_there(check: RelayCheck, motor: Motor, at_rest: float, currents: Array) -> bool | None:
    """Whether a relay saves the motor that stands still at these line and winding currents (rms A, shape (2,))."""
    multiple = float(currents[1 if check.place == WINDING else 0]) / check.setting
    slow = time_constant(next(k.high for k in trip_classes() if k.name == check.trip_class))
    longer = (at_rest / float(currents[1])) ** 2 if currents[1] > 0 else inf
    stall = StallLimit(
        cold=None if motor.stall.cold is None else motor.stall.cold * longer,
        hot=None if motor.stall.hot is None else motor.stall.hot * longer,
    )
    return _saves(tripping_time(multiple, slow), tripping_time(multiple, slow, warm=1.0), stall)


def _switch(asked: RelayRequest, run_ups: Sequence[RunUp], motor: Motor) -> SpeedSwitch:
    """The speed switch as stated, or one at a tenth of synchronous speed with half as much time again as it takes."""
    speed = asked.switch_speed or SWITCH_SPEED * motor.rating.synchronous_speed
    reached = max(_reached(run, speed) for run in run_ups)
    stall = motor.stall.hot if motor.stall.hot is not None else motor.stall.cold
    delay = asked.switch_delay or _settable(max(SWITCH_SLACK * reached, SHORTEST_DELAY))
    return SpeedSwitch(
        speed=speed,
        delay=delay,
        reached=reached,
        longest=None if stall is None else time_in_hand(stall),
        given=asked.switch_speed is not None,
    )


def _settable(seconds: float) -> float:
    """Up to the next half second, as dials have it."""
    return ceil(2 * seconds) / 2 if isfinite(seconds) else seconds


def _reached(run_up: RunUp, speed: float) -> float:
    past = np.flatnonzero(run_up.speed >= speed)
    return float(run_up.time[past[0]]) if past.size else inf


def _words(
    judged: RelayCheck | None,
    proposed: RelayCheck | None,
    with_switch: RelayCheck | None,
    switch: SpeedSwitch | None,
    stall: StallLimit,
) -> str:
    check = judged or proposed
    if check is None:
        return f"no trip class both lets this start pass and saves the stalled motor: {_remedy(with_switch, switch)}"
    return f"class {check.trip_class} in the {check.place} {_lets(check)}; {_saved(check, switch, stall)}"


def _lets(check: RelayCheck) -> str:
    if not check.lets_start:
        return f"trips, or nearly trips, during this start ({show(check.cold, 'pu')} of its heat from cold)"
    worse = "" if not trips_in_worst(check) else ", but nearly trips or trips in the worst case"
    return f"lets the motor start {'also when warm from running' if check.lets_start == 'hot' else 'from cold only'}{worse}"


def _saved(check: RelayCheck, switch: SpeedSwitch | None, stall: StallLimit) -> str:
    if check.saves is None:
        return "the stall time is not known"
    if check.saves:
        return "trips within the stall time"
    pairs = (("hot", check.stalled_hot, stall.hot), ("cold", check.stalled_cold, stall.cold))
    late = next(
        f"trips {show(trip, 's')} after a stall from {state} that the motor bears for {show(limit, 's')}"
        for state, trip, limit in pairs
        if limit is not None and trip > time_in_hand(limit)
    )
    if switch is None or not (switch.saves and switch.lets_start):
        return late
    return f"{late}; {'' if switch.given else 'add '}{_switched(switch)}"


def _remedy(check: RelayCheck | None, switch: SpeedSwitch | None) -> str:
    if check is None or switch is None or not (switch.saves and switch.lets_start):
        return "add a stall relay that watches impedance or speed, or take another way of starting"
    return f"take class {check.trip_class} in the {check.place}, and {_switched(switch)}"


def _switched(switch: SpeedSwitch) -> str:
    return (
        f"a speed switch that trips unless {show(switch.speed, 'rad/s')} is passed {show(switch.delay, 's')} after "
        "switching on"
    )


def starter_duty(run_up: RunUp, starts_per_hour: float | None) -> StarterDuty:
    """Line current squared over the start up to the run-up time, and what follows from it."""
    end = run_up.time[-1] if run_up.run_up_time is None else run_up.run_up_time
    time = np.append(run_up.time[run_up.time < end], end)
    current = np.interp(time, run_up.time, run_up.line_current)
    squared = float(np.trapezoid(current**2, time))
    seconds = float(end)
    return StarterDuty(
        rms=sqrt(squared / seconds) if seconds > 0 else 0.0,
        greatest=float(current.max()),
        seconds=seconds,
        current_squared_time=squared,
        starts_per_hour=starts_per_hour,
    )


def protection_row(found: Protection, running: float | None = None, rated: float | None = None) -> Criterion:
    """The criterion that goes with a relay.

    Proposed: a condition when none serves, or only from cold; information when the stall time is not known. Stated: fails
    when it trips in the start, or lets the stalled motor burn.

    running, rated: line or winding current at the place of the relay, at this load and at rated load. [A]
    """
    check = found.relay
    row = Criterion(
        key="trip_class",
        title="Overload trip class",
        value=None,
        limit=None,
        unit="",
        sense=Sense.AT_MOST,
        status=Status.PASSES,
        margin=None,
        case="nominal",
        source=found.source,
        condition=found.words,
    )
    switch = found.speed_switch
    switched = switch is not None and switch.given and switch.saves is True and switch.lets_start
    if found.judged is not None:
        return _judged(row, found.judged, switched, running, rated)
    if check is None or check is found.with_switch or check.lets_start != "hot" or trips_in_worst(check):
        return replace(row, status=Status.CONDITION)
    return replace(row, status=Status.UNKNOWN) if check.saves is None else row


def _judged(row: Criterion, check: RelayCheck, switched: bool, running: float | None, rated: float | None) -> Criterion:
    if running is not None and running > TRIPS_RUNNING * check.setting:
        words = f"set to {show(check.setting, 'A')} it trips while the motor runs at {show(running, 'A')}"
        return replace(row, status=Status.FAILS, condition=words)
    if not check.lets_start or (check.saves is False and not switched):
        return replace(row, status=Status.FAILS)
    if rated is not None and check.setting > OVERSET * rated:
        words = f"set above rated current ({show(check.setting, 'A')} against {show(rated, 'A')}); {row.condition}"
        return replace(row, status=Status.CONDITION, condition=words)
    if check.lets_start != "hot" or trips_in_worst(check) or check.saves is False:
        return replace(row, status=Status.CONDITION)
    return replace(row, status=Status.UNKNOWN) if check.saves is None else row

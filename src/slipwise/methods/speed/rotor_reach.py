"""Where a motor with a given rotor circuit settles on the load drawn through a demand, and how steeply it holds there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from slipwise.methods.speed import duty_load
from slipwise.methods.speed.cooling import cooling_share, rated_copper_loss
from slipwise.methods.speed.rotor_side import (
    NEXT_TO_NOTHING,
    REACH,
    Answer,
    Inside,
    Outside,
    Rings,
    first_crossing,
    inside,
    put_together,
    rpm,
    shaft_torque,
)
from slipwise.methods.speed.way import SpeedTask
from slipwise.results.series import Array
from slipwise.results.speed import DutyPoint, Envelope, OperatingPoint
from slipwise.results.study import Setting

Torque = Callable[[Any], Any]  # shaft torque at an array of slips, N m
BREAKDOWN_RESERVE = 1.3  # pull-out over what is asked for a short time: common practice, no source


def settles(seen: Rings, task: SpeedTask, duty: DutyPoint, torque: Torque, highest: float = 1.0) -> float | None:
    """Smallest slip at which `torque` carries the load through the demand; None when it never does up to `highest`."""
    law = duty_load.through(task.drive.load, duty)

    def gap(slip: Any) -> Any:
        return torque(slip) - law((1 - slip) * seen.sync)

    return first_crossing(gap, NEXT_TO_NOTHING, highest)


def stability(seen: Rings, task: SpeedTask, duty: DutyPoint, slip: float, torque: Torque) -> float:
    """d(load)/d(speed) - d(motor)/d(speed) at constant setting, by central differences. [N m s]"""
    law = duty_load.through(task.drive.load, duty)
    step = 2e-3 * max(abs(slip), 0.01)
    low, high = torque(np.array([slip + step, slip - step]))
    motor = float(high - low) / (2 * step * seen.sync)
    return duty_load.slope(law, (1 - slip) * seen.sync) - motor


def natural(seen: Rings) -> Torque:
    """Shaft torque with the rings short-circuited."""
    return lambda slip: shaft_torque(seen, inside(seen, slip, seen.current(slip)))


def shorted(task: SpeedTask, duty: DutyPoint, seen: Rings, settings: tuple[Setting, ...] = ()) -> OperatingPoint:
    """The demand with the rings short-circuited: met when that is near enough, else an answer with what is reached."""
    torque = natural(seen)
    slip = settles(seen, task, duty, torque, breakdown_slip(seen))
    if slip is None:
        return beyond(task, duty, seen, _peak(seen, torque), settings, Outside())
    reached = (1 - slip) * seen.sync
    met = abs(reached - duty.speed) <= REACH * seen.sync
    near = f"rings short-circuited: runs at {rpm(reached)} where {rpm(duty.speed)} is asked"
    reason = near if met else f"{near}; no way below synchronous speed gives more at this load"
    answer = Answer(feasible=met, reason=reason, settings=settings, stability=stability(seen, task, duty, slip, torque))
    return put_together(task, duty, seen, inside(seen, slip, seen.current(slip)), Outside(), answer)


def breakdown_slip(seen: Rings) -> float:
    """Slip at pull-out with the rings short-circuited, before friction. [1]"""
    return seen.own_resistance / float(np.hypot(seen.source.real, seen.reactance))


def too_fast(seen: Rings, duty: DutyPoint) -> bool:
    """Whether even short-circuited rings leave the motor short of the demand's torque at its speed, below pull-out slip."""
    slip = float(seen.slip(duty.speed))
    return slip <= NEXT_TO_NOTHING or (slip < breakdown_slip(seen) and float(natural(seen)(slip)) < duty.torque)


def beyond(
    task: SpeedTask, duty: DutyPoint, seen: Rings, state: Inside, settings: tuple[Setting, ...], outside: Outside
) -> OperatingPoint:
    """An answer for a torque that cannot be carried: the most there is, and the way's state there."""
    most = float(shaft_torque(seen, state))
    reason = (
        f"the motor gives at most {most:.4g} N m at {rpm(float((1 - state.slip) * seen.sync))}; "
        f"{duty.torque:.4g} N m are asked"
    )
    answer = Answer(feasible=False, reason=reason, settings=settings, stability=0.0)
    return put_together(task, duty, seen, state, outside, answer)


def _peak(seen: Rings, torque: Torque) -> Inside:
    slips = np.linspace(NEXT_TO_NOTHING, 1.0, 400)
    best = float(slips[int(np.argmax(torque(slips)))])
    return inside(seen, best, seen.current(best))


def envelope(task: SpeedTask, speeds: Array, torque: Any, copper: Any, short: Any, motor_rated: Any) -> Envelope:
    """Continuous and short-time torque over speed from sweeps of the setting at each speed.

    speeds: (n,). torque: shaft torque over the sweep, (n, k), rising from its first place to pull-out. copper: loss in the
    windings there, W. short: current per unit of the short-time limit there; `motor_rated` carries the rating.
    """
    cool = cooling_share(task.site, speeds, motor_rated.rating.speed)
    heat = copper / rated_copper_loss(motor_rated) / cool[:, None]
    peak = np.argmax(torque, axis=1)
    most = torque.max(axis=1)
    fastest = torque[:, -1] >= most * (1 - 1e-9)  # the rings are shorted before pull-out is met
    reserve = np.where(fastest, most, most / BREAKDOWN_RESERVE)
    thermal, current = _where_one(torque, heat, peak), _where_one(torque, short, peak)
    hot = np.minimum(thermal, current)
    words = np.where(thermal <= current, "cooling", "current")
    words = np.where(hot < reserve, words, np.where(fastest, "speed", "breakdown reserve"))
    return Envelope(
        speed=speeds,
        continuous=np.maximum(np.minimum(hot, reserve), 0.0),
        short_time=np.maximum(np.minimum(current, reserve), 0.0),
        continuous_limit=tuple(str(word) for word in words),
    )


def _where_one(torque: Any, share: Any, peak: Any) -> Any:
    """Torque at which a share first reaches 1 on the way to the peak; the peak where it does not. Shape (n,)."""
    found = []
    for t, s, p in zip(torque, share, peak, strict=True):
        over = np.flatnonzero(s[: p + 1] >= 1)
        if not over.size:
            found.append(t[p])
            continue
        i = int(over[0])
        found.append(np.interp(1.0, s[i - 1 : i + 1], t[i - 1 : i + 1]) if i else 0.0)
    return np.array(found)

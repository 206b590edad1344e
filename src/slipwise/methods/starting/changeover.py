"""When to change over from a reduced to the full voltage: shared by every way that has such a moment."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slipwise.methods import survey
from slipwise.methods.settings import Choice, Given, computed
from slipwise.methods.survey import amount, percent, rpm
from slipwise.methods.way import Task
from slipwise.quantity.errors import InputError
from slipwise.solve.plan import Drive, Stage

# Earliest changeover worth having when the reduced torque does not bind: 80 % of synchronous speed (common practice).
EARLY = 0.80


@dataclass(frozen=True, slots=True, kw_only=True)
class Changeover:
    """A changeover speed, chosen or given, and what it means.

    speed: rad/s. target: line current at standstill on the reduced voltage, A. current: line current after the changeover,
    at the speed left after the pause, A. of_direct: the same per unit of the direct standstill current.
    bound: what set the speed, in words.
    """

    speed: float
    target: float
    current: float
    of_direct: float
    bound: str
    choice: Choice


def require_below_synchronous(key: str, given: Given, drive: Drive) -> None:
    """Raises InputError for a given changeover speed that no motor of this kind reaches."""
    speed = given.get("changeover_speed")
    sync = drive.motor.rating.synchronous_speed
    if isinstance(speed, float | int) and speed >= sync:
        raise InputError.of(
            f"starting.{key}.changeover_speed",
            rpm(speed),
            f"not below the synchronous speed of {rpm(sync)}: it would never be reached",
            f"choose one below the rated speed of {rpm(drive.motor.rating.speed)}, or leave it out",
        )


def changeover_after(reduced: Stage, task: Task, given: Given, name: str, pause: float = 0.0) -> Changeover:
    """The changeover speed after a reduced stage.

    Optimised: the line current after the changeover, which need not be less than what the reduced stage took at
    standstill. Bound: the accelerating reserve of the reduced stage in the worst case; failing that, in the nominal case.
    pause: time without supply between the two, in which the speed falls. [s]
    """
    full = survey.curves(survey.RUNNING, task.nominal)
    low = survey.curves(reduced, task.nominal)
    target = float(low.line_current[0])
    sync = task.nominal.motor.rating.synchronous_speed
    wanted = survey.current_falls_below(full, target)
    wanted = sync * 0.99 if wanted is None else max(wanted, EARLY * sync)
    speed, bound = _bounded(wanted + speed_lost(task.nominal, wanted, pause), reduced, task, name)
    speed = float(given.get("changeover_speed", speed))
    after = speed - speed_lost(task.nominal, speed, pause)
    current = float(np.interp(after, full.speed, full.line_current))
    of_direct = current / float(full.line_current[0])
    why = f"current after the changeover {amount(current)} A, {percent(of_direct)} of direct at standstill; {bound}"
    return Changeover(
        speed=speed, target=target, current=current, of_direct=of_direct, bound=bound, choice=computed(speed, why)
    )


def speed_lost(drive: Drive, speed: float, pause: float) -> float:
    """Speed lost without supply for `pause` seconds at `speed` (rad/s): load and friction over inertia. [rad/s]"""
    drag = float(drive.load.torque(speed)) + float(drive.motor.mechanical_torque(speed))
    return float(np.clip(drag / drive.inertia * pause, 0.0, speed))


def _bounded(wanted: float, reduced: Stage, task: Task, name: str) -> tuple[float, str]:
    """The wanted speed, or where the torque of the reduced stage ends before it, and the words for it."""
    worst, nominal = survey.curves(reduced, task.worst), survey.curves(reduced, task.nominal)
    least = survey.reserve(task.limits)
    sync = task.nominal.motor.rating.synchronous_speed
    end = survey.margin_ends(worst, task.worst, least)
    if end is None or end >= wanted:
        return wanted, "the current bound it"
    if end >= EARLY * sync:
        return (
            end,
            f"bound by the torque in {name}: above it less than {percent(least)} of rated torque is left, worst case",
        )
    for found, drive, case in ((worst, task.worst, "worst"), (nominal, task.nominal, "nominal")):
        hangs = survey.margin_ends(found, drive, 0.0)
        if hangs is None or hangs >= wanted:
            return (
                wanted,
                f"the current bound it; the reserve in {name} falls short of {percent(least)} on the way, worst case",
            )
        if hangs > 0:
            return (
                0.98 * hangs,
                f"bound by the torque in {name}: the motor hangs at {rpm(hangs)} ({case} case), so it changes over just before",
            )
    return wanted, f"the torque in {name} does not move the load from standstill; no changeover speed cures that"

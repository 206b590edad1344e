"""The change between two pole numbers: the pause, and the torque that follows, braking on the way down."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from slipwise.methods.speed import duty_load, line_fed
from slipwise.methods.speed.pole_changing import Pair
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount, rpm
from slipwise.model.load.load import Load
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import InputError
from slipwise.results.changeover import Changeover
from slipwise.results.series import Array
from slipwise.results.start import RunUp
from slipwise.solve.plan import Drive, Stage, elapsed, settled
from slipwise.solve.run_up import run_up
from slipwise.solve.steady import solve

LONGEST = 60.0  # s, followed after a change


def changeovers(task: SpeedTask, pair: Pair, pause: float) -> tuple[Changeover, ...]:
    """Down and up, each from the running speed with the load of the fastest demand (or the load as given).

    Steady torque at each speed; the first electrical peak is that of `solve.transient`. The field left in the rotor by the
    other pole number induces no voltage in the winding as it then stands, so nothing waits for it to die away.
    """
    return (change(task, pair.high, pair.low, pause), change(task, pair.low, pair.high, pause))


def change(task: SpeedTask, before: Motor, after: Motor, pause: float) -> Changeover:
    """One change at the running speed of `before`.

    Raises:
        InputError: the winding before does not carry the load.
    """
    load = task.drive.load
    law: Callable[[Any], Any] = load.running
    if task.duty:
        law = duty_load.through(load, max(task.duty, key=lambda d: d.speed))
        load = _scaled(load, float(np.asarray(law(before.rating.speed))), before.rating.speed)
    start = line_fed.against(replace(task.drive, motor=before), law)
    if start is None:
        poles = before.rating.poles
        raise InputError.of(
            "load", "its torque", f"the winding of {poles} poles does not carry it", "take a larger motor"
        )
    fastest = max(before, after, key=lambda m: m.rating.synchronous_speed)
    drive: Drive = replace(task.drive, motor=fastest, load=load)
    plan = (
        Stage(name="pause", until=elapsed(pause), connected=False, motor=after),
        Stage(name=f"{after.rating.poles} poles", until=settled(), motor=after, contacts=_contacts(before, after)),
    )
    run = run_up(plan, drive, speed=start.speed, max_time=LONGEST)
    return _read(run, before, after, np.asarray(solve(drive, plan[1], run.speed).power, dtype=float))


def _contacts(before: Motor, after: Motor) -> tuple[str, ...]:
    return ("K1 low",) if after.rating.poles > before.rating.poles else ("K2 high",)


def _scaled(load: Load, torque: float, speed: float) -> Load:
    """The load with every torque multiplied so that it asks `torque` at `speed`; as it is when it asks nothing there."""
    own = float(np.asarray(load.running(speed)))
    if not own:
        return load
    k = torque / own
    return replace(
        load,
        terms=tuple(replace(t, coefficient=t.coefficient * k) for t in load.terms),
        curve_torque=tuple(t * k for t in load.curve_torque),
        breakaway=load.breakaway * k,
    )


def _read(run: RunUp, before: Motor, after: Motor, power: Array) -> Changeover:
    """What to show of the run; `power` is what the winding takes from the line at each of its speeds. [W]"""
    on = run.time >= run.stages[0].end
    torque, speed, time = run.torque[on], run.speed[on], run.time[on]
    at = int(np.argmax(np.abs(torque)))
    given = np.maximum(-power[on], 0.0)
    return Changeover(
        title="down" if after.rating.poles > before.rating.poles else "up",
        from_poles=before.rating.poles,
        to_poles=after.rating.poles,
        pause=run.stages[0].end,
        run=run,
        switched_at=run.stages[0].end_speed,
        extreme_torque=float(torque[at]),
        extreme_speed=float(speed[at]),
        returned=float(np.sum(0.5 * (given[1:] + given[:-1]) * np.diff(time))),
    )


def note(task: SpeedTask, pair: Pair, pause: float) -> str:
    """What the change down does, in words; what prevents it, when it cannot be followed."""
    try:
        down = change(task, pair.high, pair.low, pause)
    except InputError as error:
        return f"The change down is not followed: {error.faults[0].reason}."
    low = pair.low.rating
    if down.extreme_torque >= 0:
        return f"During the pause of {amount(pause)} s the load slows below {rpm(low.synchronous_speed)}: no braking follows."
    return (
        f"Changing down after a pause of {amount(pause)} s at {rpm(down.switched_at)}, the winding of {down.to_poles} poles "
        f"generates: {amount(-down.extreme_torque)} N m of braking ({amount(-down.extreme_torque / low.torque)} times its "
        f"rated torque) at {rpm(down.extreme_speed)}, until {rpm(low.synchronous_speed)} is passed; "
        f"{amount(down.returned)} J go back to the line, and the low speed is reached after {_seconds(down)}."
    )


def _seconds(found: Changeover) -> str:
    return "a long time" if found.run.run_up_time is None else f"{amount(found.run.run_up_time)} s"

"""A stop by the equation of motion: from the running point through the stages of a plan until the shaft is all but at rest."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from slipwise.model.load.load import Load
from slipwise.quantity.errors import InputError
from slipwise.results.series import Array
from slipwise.results.start import Outcome, RunUp
from slipwise.solve import steady
from slipwise.solve.plan import Drive, Plan, Stage, Until, settled, speed_falls_to
from slipwise.solve.run_up import run_up

REST = 0.02  # of synchronous speed: a shaft that turns no faster counts as stopped (common practice, no source)
LONGEST = 3600.0  # s, followed
RUNNING = Stage(name="running", until=settled())


def all_but_at_rest(drive: Drive) -> Until:
    """What ends the last stage of a stop."""
    return speed_falls_to(REST * drive.motor.rating.synchronous_speed)


def off(drive: Drive, contacts: tuple[str, ...] = ()) -> Stage:
    """Cut from the supply until all but at rest."""
    return Stage(name="off", until=all_but_at_rest(drive), connected=False, contacts=contacts)


def turned_about(load: Load) -> Load:
    """The load of a drive that runs the other way, seen with that way as positive: what overhauls changes its sign."""
    terms = tuple(replace(t, coefficient=-t.coefficient) if t.overhauling else t for t in load.terms)
    return replace(load, terms=terms)


def running_speed(drive: Drive, stage: Stage = RUNNING) -> float:
    """Where the drive runs steadily before the stop, motoring or driven by its load: the last stable crossing. [rad/s]

    Raises:
        InputError: the motor's torque and the load's cross nowhere near synchronous speed.
    """

    def spare(speeds: Array) -> Array:
        torque = steady.solve(drive, stage, speeds).torque
        return np.asarray(torque - drive.load.torque(speeds), dtype=float)

    grid = np.linspace(0.5, 1.5, 801) * (stage.motor or drive.motor).rating.synchronous_speed
    for _ in range(3):
        found = spare(grid)
        falling = np.flatnonzero((found[:-1] >= 0) & (found[1:] < 0))
        if not falling.size:
            raise InputError.of(
                "stopping",
                "the running speed",
                "the motor carries this load at no speed near its own, so there is nothing to stop",
                "check load torque and motor",
            )
        at = int(falling[-1])
        left, right = grid[at], grid[at + 1]
        share = found[at] / (found[at] - found[at + 1])
        grid = np.linspace(left, right, 801)
    return float(left + share * (right - left))


@dataclass(frozen=True, slots=True, kw_only=True)
class Returned:
    """What the motor's terminals give back while it generates: greatest power [W], energy [J]. Both zero or above."""

    power: float
    energy: float


def stop(
    plan: Plan,
    drive: Drive,
    *,
    case: str = "nominal",
    speed: float,
    relative: float = 1e-9,
    max_time: float = LONGEST,
) -> RunUp:
    """Run a plan that stops the drive from `speed` (rad/s); the outcome is STOPPED when it ends all but at rest.

    Other outcomes: HANGS when a plan ends with the shaft still turning, RUNS_AWAY when the load drives it on, UNFINISHED
    when `max_time` (s) is over. relative: as in `run_up`.

    Source: as `run_up`.
    """
    found = run_up(plan, drive, case=case, speed=speed, max_time=max_time, relative=relative)
    synchronous = drive.motor.rating.synchronous_speed
    ended = len(found.stages) == len(plan)
    outcome = found.outcome
    if outcome is not Outcome.RUNS_AWAY and outcome is not Outcome.UNFINISHED:
        at_rest = ended and abs(found.final_speed) <= 1.001 * REST * synchronous
        outcome = Outcome.STOPPED if at_rest else Outcome.HANGS
    return replace(found, outcome=outcome, run_up_time=None, hang_speed=None)


def stop_time(run: RunUp, synchronous_speed: float) -> float | None:
    """First moment at which the shaft is all but at rest, straight between records; None when it never is. [s]"""
    level = REST * synchronous_speed
    below = np.flatnonzero(run.speed <= level * 1.000001)
    if not below.size:
        return None
    i = int(below[0])
    if i == 0:
        return float(run.time[0])
    before, after = float(run.speed[i - 1]), float(run.speed[i])
    part = (before - level) / (before - after) if before > after else 1.0
    return float(run.time[i - 1] + min(max(part, 0.0), 1.0) * (run.time[i] - run.time[i - 1]))


def revolutions(run: RunUp, until: float | None = None) -> float:
    """Turns of the shaft up to `until` (s), or to the end; turns backward are subtracted. [1]"""
    end = float(run.time[-1]) if until is None else until
    time = np.append(run.time[run.time < end], end)
    return float(np.trapezoid(np.interp(time, run.time, run.speed), time) / (2 * np.pi))


def motor_power(plan: Plan, drive: Drive, run: RunUp) -> Array:
    """Power into the motor's terminals along a run, negative while it generates; shape of its time. [W]"""
    power = np.zeros_like(run.time)
    for stage, mark in zip(plan, run.stages, strict=False):
        inside = (run.time >= mark.begin) & (run.time <= mark.end)
        if not stage.connected or not inside.any():
            continue
        p = steady.solve(drive, stage, run.speed[inside], run.time[inside] - mark.begin)
        power[inside] = p.power - p.starter_loss
    return power


def returned(plan: Plan, drive: Drive, run: RunUp) -> Returned:
    """What comes back through the motor's terminals during a run."""
    back = np.maximum(-motor_power(plan, drive, run), 0.0)
    return Returned(power=float(back.max()), energy=float(np.trapezoid(back, run.time)))

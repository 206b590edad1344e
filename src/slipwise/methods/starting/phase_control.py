"""Voltage a phase control needs at each speed to hold a current, or at each moment to follow a torque."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import sqrt

import numpy as np

from slipwise.methods import survey
from slipwise.model.machine.saturated import is_saturable
from slipwise.results.series import Array
from slipwise.solve import steady
from slipwise.solve.plan import Drive, Law

_PASSES = 8
_LAW_POINTS = 60
_TOLERANCE = 0.003  # of full voltage, for a law in time
_CAP_TOLERANCE = 0.001  # of full voltage, for a law in speed: each corner costs the solvers steps
_SETTLED = 2e-4  # of full voltage, between passes; each is some twenty times as near as the one before
_LONGEST = 300.0  # s, of a torque ramp followed ahead


def current_cap(drive: Drive, limit: float) -> Law:
    """Largest voltage factor against speed at which the motor current stays at `limit` times rated.

    The torque left is then that of full voltage times (limit / current)^2 at each speed. Found by repeated correction,
    because the terminals recover when the current is held, and a saturated motor's current does not follow the voltage.
    """
    rating = drive.motor.rating
    speeds = _cap_grid(rating.synchronous_speed)
    factor = np.ones_like(speeds)
    current = _current_at(drive, speeds)
    for _ in range(_PASSES):
        before = factor
        factor = np.clip(factor * limit * rating.current / np.maximum(current(factor), 1e-9), 0.02, 1.0)
        if np.max(np.abs(factor - before)) < _SETTLED:
            break
    return _law(list(zip(speeds.tolist(), factor.tolist(), strict=True)), _CAP_TOLERANCE)


def _current_at(drive: Drive, speeds: Array) -> Callable[[Array], Array]:
    """The motor current [A] at each speed against the voltage factor at each speed."""
    circuit = drive.motor.circuit
    if circuit is not None and not is_saturable(circuit):
        return steady.behind_phase_control(drive, speeds)

    def current(factor: Array) -> Array:
        capped = replace(survey.RUNNING, voltage_cap=Law(x=tuple(speeds), y=tuple(factor)))
        found: Array = steady.solve(drive, capped, speeds).motor
        return found

    return current


def _cap_grid(synchronous_speed: float) -> Array:
    """Speeds, closer where the current changes quickly: evenly in the square root of the slip."""
    return synchronous_speed * (1 - np.linspace(1.0, 0.05, 81) ** 2)


def torque_law(drive: Drive, start: float, end: float, ramp_time: float, up_to: float) -> Law:
    """Voltage factor against time that makes the shaft torque follow a ramp from `start` to `end` (pu of rated).

    The speed is followed by the equation of motion under that torque; where full voltage does not give it, full voltage
    stands. The law ends at full voltage once `up_to` (rad/s) is reached, or holds where the motor no longer gains speed.
    """
    rated = drive.motor.rating.torque
    time, speed, factor = 0.0, 0.0, 0.5
    points: list[tuple[float, float]] = []
    while time < _LONGEST and speed < up_to:
        asked = (start + (end - start) * min(time / ramp_time, 1.0)) * rated
        factor = _factor_for(drive, speed, asked, factor)
        points.append((time, factor))
        given = min(asked, float(steady.solve(drive, survey.RUNNING, speed).torque))
        gain = max(given - float(survey.needed(drive, np.array([speed]))[0]), 0.0) / drive.inertia  # rad/s2
        if time >= ramp_time and gain * _LONGEST < 0.01 * up_to:
            return _law(points)
        step = min(up_to / _LAW_POINTS / max(gain, 1e-9), ramp_time / _LAW_POINTS if time < ramp_time else 1.0)
        time, speed = time + step, speed + gain * step
    return _law([*points, (time + max(0.2, 0.05 * time), 1.0)])


def _law(points: list[tuple[float, float]], tolerance: float = _TOLERANCE) -> Law:
    """Straight lines through as few of the points as keep the factor within `tolerance`."""
    kept = _simplified(points, tolerance)
    return Law(x=tuple(x for x, _ in kept), y=tuple(y for _, y in kept))


def _simplified(points: list[tuple[float, float]], tolerance: float) -> list[tuple[float, float]]:
    """Ends kept, split at the point furthest from the straight line until none is further than `tolerance`."""
    (x0, y0), (x1, y1) = points[0], points[-1]
    gaps = [abs(y - y0 - (y1 - y0) * (x - x0) / (x1 - x0)) for x, y in points[1:-1]]
    if not gaps or max(gaps) <= tolerance:
        return [points[0], points[-1]] if len(points) > 1 else points
    middle = gaps.index(max(gaps)) + 1
    return [*_simplified(points[: middle + 1], tolerance)[:-1], *_simplified(points[middle:], tolerance)]


def _factor_for(drive: Drive, speed: float, torque: float, guess: float) -> float:
    """Voltage factor that gives a shaft torque at a speed; 1 when full voltage does not."""
    factor = guess
    for _ in range(_PASSES):
        stage = replace(survey.RUNNING, voltage=Law(x=(0.0,), y=(factor,)))
        point = steady.solve(drive, stage, speed)
        made, wanted = float(point.electromagnetic), torque + float(point.electromagnetic) - float(point.torque)
        if made <= 0 or wanted <= 0:
            return 1.0
        factor = min(1.0, max(0.02, factor * sqrt(wanted / made)))
    return factor

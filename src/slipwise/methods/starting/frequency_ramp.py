"""The frequency an inverter really puts out: a ramp held back by a current limit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from math import sqrt
from typing import Any

import numpy as np

from slipwise.methods import survey
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.saturated import is_saturable
from slipwise.model.supply.path import Busbar
from slipwise.results.series import Array
from slipwise.solve import network
from slipwise.solve.plan import Drive, Law, Stage, settled
from slipwise.solve.steady import behind_inverter, solve

_POINTS = 60
_SLIPS = 160
_SAGGED = 0.97  # of the voltage before the start, at which a design counts the line current
_HELD = 1 / 600  # per second: a frequency that the limit lets rise no faster counts as held


@dataclass(frozen=True, slots=True, kw_only=True)
class RampAsked:
    """What was set. ramp_time: standstill to rated frequency, s; current_limit: per rated; boost, start_frequency: pu.

    line_limit: greatest line current a design aims at, A; None when the line does not count.
    """

    ramp_time: float
    current_limit: float
    boost: float
    start_frequency: float
    line_limit: float | None = None


def voltage_at(frequency: Any, boost: float) -> Any:
    """Fundamental voltage per unit of rated at a frequency per unit of rated: boost + (1 - boost) f; shape of it."""
    return boost + (1 - boost) * frequency


def ramp_laws(drive: Drive, asked: RampAsked) -> tuple[Law, Law]:
    """Frequency and voltage factor against time in the stage.

    The motor is taken to follow the frequency in its steady state; the acceleration it can have at each frequency is
    that of the current limit, and the frequency rises no faster.
    """
    sync, ramp_rate = drive.motor.rating.synchronous_speed, 1 / asked.ramp_time
    frequencies = np.linspace(asked.start_frequency, 1.0, _POINTS)
    time, x, f = 0.0, [0.0], [float(frequencies[0])]
    spares = spare_torques(drive, asked, frequencies[1:])
    for (before, after), spare in zip(pairwise(frequencies), spares, strict=True):
        rate = ramp_rate if spare is None else min(ramp_rate, spare / drive.inertia / sync)
        if rate <= min(_HELD, 0.5 * ramp_rate):
            break
        time += float(after - before) / rate
        x.append(time)
        f.append(float(after))
    return _laws(x, f, asked.boost)


def _laws(x: list[float], f: list[float], boost: float) -> tuple[Law, Law]:
    """Both laws through the corner points only."""
    kept = [0]
    for i in range(1, len(x) - 1):
        slope, ahead = (f[i] - f[kept[-1]]) / (x[i] - x[kept[-1]]), (f[i + 1] - f[i]) / (x[i + 1] - x[i])
        if abs(ahead - slope) > 0.02 * slope:
            kept.append(i)
    if len(x) > 1:
        kept.append(len(x) - 1)
    times, values = tuple(x[i] for i in kept), tuple(f[i] for i in kept)
    return Law(x=times, y=values), Law(x=times, y=tuple(voltage_at(v, boost) for v in values))


def spare_torques(drive: Drive, ramp: RampAsked, frequencies: Array) -> list[float | None]:
    """Accelerating torque left at the current limit at each frequency (pu, shape (m,)). [N m]

    None when even standstill at this frequency keeps the limit and the motor need not turn yet: the frequency may rise.
    """
    rating = drive.motor.rating
    speeds = _speeds(rating.synchronous_speed, frequencies)
    torque, current, line = _fed(drive, ramp, frequencies[:, np.newaxis], speeds)
    kept = current <= ramp.current_limit * rating.current
    if ramp.line_limit is not None:
        kept &= line <= ramp.line_limit
    needed = survey.needed(drive, speeds)
    peak = np.argmax(torque, axis=1)
    kept &= np.arange(_SLIPS) <= peak[:, np.newaxis]  # from synchronous speed down to the greatest torque
    spare = np.where(kept, torque - needed, -np.inf).max(axis=1)
    held_up, free = ~kept.any(axis=1), kept[:, -1]
    spare = np.where(held_up, -needed[:, 0] - 1e-9, spare)
    return [None if at_rest else value for at_rest, value in zip(free.tolist(), spare.tolist(), strict=True)]


def _speeds(synchronous: float, frequencies: Array) -> Array:
    """Shaft speeds looked at for each frequency, closer near its own synchronous one; shape (m, _SLIPS). [rad/s]"""
    found: Array = frequencies[:, np.newaxis] * synchronous * (1 - np.linspace(0.0, 1.0, _SLIPS) ** 2)
    return found


@lru_cache(maxsize=8)
def _alone(motor: Motor, boost: float, frequencies: tuple[float, ...]) -> tuple[Array, Array]:
    """Shaft torque [N m] and motor current [A] over `_speeds`: the same whatever load and supply."""
    column = np.array(frequencies)[:, np.newaxis]
    speeds = _speeds(motor.rating.synchronous_speed, column[:, 0])
    torque, current = behind_inverter(motor, speeds, column, voltage_at(column, boost))
    for found in (torque, current):
        found.setflags(write=False)
    return torque, current


def _fed(drive: Drive, ramp: RampAsked, frequency: Array, speeds: Array) -> tuple[Array, Array, Array]:
    """Shaft torque [N m], motor current and line current [A] at each frequency (a column, pu) and speed.

    The line current is looked at only under a limit.
    """
    motor = drive.motor
    if ramp.line_limit is None and motor.circuit is not None and not is_saturable(motor.circuit):
        torque, current = _alone(motor, ramp.boost, tuple(frequency[:, 0].tolist()))
        return torque, current, np.zeros(1)
    places = np.arange(len(frequency), dtype=float)  # all frequencies in one call, told apart by their time
    held = Law(x=tuple(places), y=tuple(frequency[:, 0]))
    factor = Law(x=tuple(places), y=tuple(voltage_at(frequency[:, 0], ramp.boost)))
    stage = Stage(name="f", until=settled(), frequency=held, voltage=factor)
    found = solve(_on_its_own(drive), stage, speeds, places[:, np.newaxis])
    return found.torque, found.motor, found.line


def _on_its_own(drive: Drive) -> Drive:
    """The drive on terminals that keep a little less than their voltage before the start.

    The motor behind an inverter does not feel the supply; only the line current does, and so it comes out slightly high.
    """
    path = drive.supply
    end = path.links[-1]
    volts = abs(complex(network.prestart(path).terminals)) * sqrt(3) * _SAGGED
    return replace(
        drive, supply=replace(path, voltage=volts, links=(replace(end, impedance=0j, busbar=_bare(end.busbar)),))
    )


def _bare(busbar: Busbar) -> Busbar:
    return replace(busbar, load=None)


def fastest_ramp(drive: Drive, asked: RampAsked) -> float | None:
    """Shortest ramp along which the current limit never holds the frequency back; None when it does at any ramp. [s]"""
    spares = spare_torques(drive, asked, np.linspace(asked.start_frequency, 1.0, _POINTS))
    least = min((s for s in spares if s is not None), default=None)
    if least is None:
        return 0.0
    if least <= 0:
        return None
    return drive.inertia * drive.motor.rating.synchronous_speed / least

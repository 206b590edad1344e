"""The frequency an inverter really puts out: a ramp held back by a current limit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from math import sqrt

import numpy as np

from slipwise.methods import survey
from slipwise.model.supply.path import Busbar
from slipwise.solve import network
from slipwise.solve.plan import Drive, Law, Stage, settled
from slipwise.solve.steady import characteristic

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


def voltage_at(frequency: float, boost: float) -> float:
    """Fundamental voltage per unit of rated at a frequency per unit of rated: boost + (1 - boost) f."""
    return boost + (1 - boost) * frequency


def ramp_laws(drive: Drive, asked: RampAsked) -> tuple[Law, Law]:
    """Frequency and voltage factor against time in the stage.

    The motor is taken to follow the frequency in its steady state; the acceleration it can have at each frequency is
    that of the current limit, and the frequency rises no faster.
    """
    sync, ramp_rate = drive.motor.rating.synchronous_speed, 1 / asked.ramp_time
    frequencies = np.linspace(asked.start_frequency, 1.0, _POINTS)
    time, x, f = 0.0, [0.0], [float(frequencies[0])]
    for before, after in pairwise(frequencies):
        spare = spare_torque(drive, asked, float(after))
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


def spare_torque(drive: Drive, asked: RampAsked, frequency: float) -> float | None:
    """Accelerating torque left at the current limit at a frequency (pu). [N m]

    None when even standstill at this frequency keeps the limit and the motor need not turn yet: the frequency may rise.
    """
    rating = drive.motor.rating
    drive = _on_its_own(drive)
    slip = np.linspace(0.0, 1.0, _SLIPS) ** 2  # closer near synchronous, where the motor works
    speeds = frequency * rating.synchronous_speed * (1 - slip)
    held = Law(x=(0.0,), y=(frequency,))
    volts = Law(x=(0.0,), y=(voltage_at(frequency, asked.boost),))
    found = characteristic(Stage(name="f", until=settled(), frequency=held, voltage=volts), drive, speeds)
    peak = int(np.argmax(found.torque))
    kept = found.motor_current[: peak + 1] <= asked.current_limit * rating.current
    if asked.line_limit is not None:
        kept &= found.line_current[: peak + 1] <= asked.line_limit
    if not kept.any():
        return -float(survey.needed(drive, speeds[:1])[0]) - 1e-9
    last = int(np.flatnonzero(kept)[-1])
    if last == slip.size - 1:
        return None
    spare = found.torque[: last + 1] - survey.needed(drive, speeds[: last + 1])
    return float(np.max(spare[kept[: last + 1]]))


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
    spares = [spare_torque(drive, asked, float(f)) for f in np.linspace(asked.start_frequency, 1.0, _POINTS)]
    least = min((s for s in spares if s is not None), default=None)
    if least is None:
        return 0.0
    if least <= 0:
        return None
    return drive.inertia * drive.motor.rating.synchronous_speed / least

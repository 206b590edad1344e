"""Torque and current when the supply returns onto a motor that still has a voltage of its own, over the dead time."""

from __future__ import annotations

from cmath import rect
from dataclasses import dataclass

import numpy as np

from slipwise.results.series import Array
from slipwise.solve.plan import Drive, Stage, elapsed
from slipwise.solve.transient.answer import marched, peaks_of
from slipwise.solve.transient.engine import Engine, Note, kernel
from slipwise.solve.transient.pack import pack
from slipwise.solve.transient.starts import TOLERANCE, at_angle, bare

_SETTLING = 1.0  # s on the supply before it goes: the switching-on of the march has died away by then
_AFTER = 0.4  # s looked at after the return: the greatest swings come within some cycles


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reclosings:
    """Peaks after the return, one a dead time. All shape (n,).

    dead_time: s. torque: greatest magnitude in the air gap, N m. current: greatest instantaneous line current, A.
    """

    dead_time: Array
    torque: Array
    current: Array


def reclosings(
    drive: Drive,
    dead_times: Array,
    *,
    speed: float,
    lead: float = 0.0,
    engine: Engine = "auto",
    note: Note | None = None,
) -> Reclosings:
    """The electrical transient of each return.

    Args:
        drive: motor, load and supply; the motor needs a circuit.
        dead_times: shape (n,). [s]
        speed: at which the motor runs before. [rad/s]
        lead: angle by which the returning source leads the lost one. [rad]
        engine, note: as `transient`.

    Raises:
        InputError: as `transient`.

    Poles open at their own current zeros, as in a pause between two stages of a start. Source: see `kernel.py`.
    """
    module = kernel(engine, starts=len(dead_times), note=note)
    found = []
    for dead in dead_times:
        packed = pack(_plan(float(dead), lead), drive, max_time=1e3, tolerance=TOLERANCE, speed=speed)
        back = peaks_of(marched(module, bare(at_angle(packed, 0.0))).marks[-1])
        found.append((max(back.torque_max, -back.torque_min), back.line_current))
    torque, current = np.array(found).T
    return Reclosings(dead_time=np.asarray(dead_times, dtype=np.float64), torque=torque, current=current)


def _plan(dead: float, lead: float) -> tuple[Stage, Stage, Stage]:
    return (
        Stage(name="running", until=elapsed(_SETTLING)),
        Stage(name="interruption", until=elapsed(dead), connected=False),
        Stage(name="return", until=elapsed(_AFTER), ratio=rect(1.0, lead) if lead else 1.0),
    )

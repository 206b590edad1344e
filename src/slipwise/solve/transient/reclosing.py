"""Torque and current when the supply returns onto a motor that still has a voltage of its own, over the dead time."""

from __future__ import annotations

from cmath import rect
from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np

from slipwise.results.series import Array
from slipwise.solve.plan import Drive, Stage, elapsed
from slipwise.solve.transient.answer import peaks_of
from slipwise.solve.transient.engine import Engine, Note, kernel
from slipwise.solve.transient.pack import pack
from slipwise.solve.transient.starts import TOLERANCE, all_of, at_angle, bare

_SETTLING = 1.0  # s on the supply before it goes: the switching-on of the march has died away by then
ANGLES = (0.0, pi / 9, 2 * pi / 9)  # rad, of the source when it goes: every sixth of a turn another pole parts first
_AFTER = 0.4  # s looked at after the return: the greatest swings come within some cycles


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reclosings:
    """Peaks after the return, the greatest over the switching angle, one a dead time. All shape (n,).

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
    swapped: bool = False,
    angles: Sequence[float] = ANGLES,
    engine: Engine = "auto",
    note: Note | None = None,
) -> Reclosings:
    """The electrical transient of each return.

    Args:
        drive: motor, load and supply; the motor needs a circuit.
        dead_times: shape (n,). [s]
        speed: at which the motor runs before. [rad/s]
        lead: angle by which the returning source leads the lost one. [rad]
        swapped: the returning source has two lines swapped.
        angles: of the source at the beginning of the march, to be looked at. [rad]
        engine, note: as `transient`.

    Raises:
        InputError: as `transient`.

    Poles open at their own current zeros, as in a pause between two stages of a start. Source: see `kernel.py`.
    """
    module = kernel(engine, starts=len(dead_times) * len(angles), note=note)
    found = np.zeros((len(angles), 2, len(dead_times)))
    for place, dead in enumerate(dead_times):
        packed = pack(_plan(float(dead), lead, swapped), drive, max_time=1e3, tolerance=TOLERANCE, speed=speed)
        marches = all_of(module, [bare(at_angle(packed, angle)) for angle in angles])
        for row, march in zip(found, marches, strict=True):
            back = peaks_of(march.marks[-1])
            row[:, place] = max(back.torque_max, -back.torque_min), back.line_current
    torque, current = found.max(axis=0)
    return Reclosings(dead_time=np.asarray(dead_times, dtype=np.float64), torque=torque, current=current)


def _plan(dead: float, lead: float, swapped: bool) -> tuple[Stage, Stage, Stage]:
    return (
        Stage(name="running", until=elapsed(_SETTLING)),
        Stage(name="interruption", until=elapsed(dead), connected=False),
        Stage(name="return", until=elapsed(_AFTER), ratio=rect(1.0, lead) if lead else 1.0, reversed=swapped),
    )

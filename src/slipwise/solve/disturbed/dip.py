"""A voltage dip: how far the motor slows down, whether it comes back, and the longest dip it bears."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, isfinite

import numpy as np

from slipwise.results.series import Array
from slipwise.results.start import Outcome, RunUp
from slipwise.solve import steady
from slipwise.solve.disturbed.fed import running_speed, steady_net
from slipwise.solve.plan import Drive, Stage, elapsed, settled
from slipwise.solve.run_up import run_up
from slipwise.solve.stop import RUNNING

_SCAN = 600  # speeds looked at between the running speed and standstill
_RELATIVE = 1e-7
_TINY = 1e-6  # pu: a source that has gone, but can still be solved


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dip:
    """One dip. before: running speed [rad/s]; during, after: the slowing down and the coming back.

    least: speed from which the motor still comes back at full voltage, 0 when it does from rest [rad/s].
    longest: time this dip may last [s], infinite when the motor runs on through it.
    deepest: voltage that must remain for this duration, of the source's [pu], 0 when none need remain.
    """

    before: float
    during: RunUp
    after: RunUp
    least: float
    longest: float
    deepest: float

    @property
    def recovers(self) -> bool:
        """Whether the motor is back at its running speed in the end."""
        return self.after.outcome is Outcome.ARRIVED


def dipped(drive: Drive, remaining: float) -> Drive:
    """The drive with the voltage of its source at `remaining` (pu) of what it is."""
    return replace(drive, supply=replace(drive.supply, voltage=drive.supply.voltage * remaining))


def voltage_dip(drive: Drive, remaining: float, duration: float) -> Dip:
    """A dip of the source to `remaining` (pu) for `duration` (s), on the steady characteristics.

    Currents are those of the steady state at each speed: the swings of some cycles at either edge are left out.

    Raises:
        DomainError: the load is too much for the motor before the dip.

    Source: equation of motion on the steady torque, which goes with the square of the voltage (Dubey, Fundamentals of
    Electrical Drives, 2nd ed., ch. 2 and 6).
    """
    before = running_speed(drive)
    low = dipped(drive, remaining)
    during = _pass(low, Stage(name="dip", until=elapsed(duration)), before, 2 * duration)
    after = _pass(drive, Stage(name="return", until=settled()), during.final_speed, 300.0)
    least = least_speed(drive, before)
    return Dip(
        before=before,
        during=during,
        after=after,
        least=least,
        longest=longest_dip(drive, remaining, before, least),
        deepest=_deepest(drive, duration, before, least),
    )


def _pass(drive: Drive, stage: Stage, speed: float, most: float) -> RunUp:
    return run_up((stage,), drive, max_time=most, speed=speed, relative=_RELATIVE)


def least_speed(drive: Drive, before: float) -> float:
    """The speed below `before` (rad/s) at which load and motor balance unstably: from any lower one the motor stalls. [rad/s]"""
    from scipy.optimize import brentq

    speeds = np.linspace(before * (1 - 1e-4), 0.0, _SCAN)
    net = steady.solve(drive, RUNNING, speeds).torque - drive.load.torque(speeds)
    below = np.flatnonzero(net <= 0)
    if not below.size:
        return 0.0
    first = int(below[0])
    if first == 0:
        return float(speeds[0])
    return float(brentq(lambda w: steady_net(drive, w), float(speeds[first]), float(speeds[first - 1]), xtol=1e-9))


def longest_dip(drive: Drive, remaining: float, before: float, least: float) -> float:
    """Time in which a dip to `remaining` (pu) brings the motor from `before` to `least` (rad/s); infinite when never. [s]"""
    speeds = np.linspace(before, least, _SCAN)
    low = dipped(drive, remaining)
    slowing = drive.load.torque(speeds) - steady.solve(low, RUNNING, speeds).torque
    if np.any(slowing <= 0):
        return inf
    slowness = drive.inertia / slowing
    return float(np.trapezoid(slowness, -speeds))


def _deepest(drive: Drive, duration: float, before: float, least: float) -> float:
    low, high = 0.0, 1.0
    if longest_dip(drive, _TINY, before, least) >= duration:
        return 0.0
    while high - low > 1e-5:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if longest_dip(drive, middle, before, least) >= duration else (middle, high)
    return high


def ride_through(drive: Drive, before: float, least: float, points: int = 41) -> tuple[Array, Array]:
    """Longest time (s) over remaining voltage (pu of the source), both shape (n,), as far as it is finite.

    before, least: rad/s, as in `Dip`.
    """
    low, high = 0.0, 1.0
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        finite = isfinite(longest_dip(drive, max(middle, _TINY), before, least))
        low, high = (middle, high) if finite else (low, middle)
    if low == 0.0:
        return np.zeros(0), np.zeros(0)
    remaining = np.linspace(0.0, 0.999 * low, points)
    return remaining, np.array([longest_dip(drive, max(float(v), _TINY), before, least) for v in remaining])

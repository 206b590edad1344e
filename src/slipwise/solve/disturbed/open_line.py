"""One line of the motor's supply open: running, stalled, and on the way from the one to the other."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from slipwise.model.machine.point import operating_point
from slipwise.model.machine.sequence import UnbalancedPoint, open_line
from slipwise.results.series import Array
from slipwise.solve.disturbed.fed import Fed, fed, nearly, running_speed, settles, travel
from slipwise.solve.plan import Drive


@dataclass(frozen=True, slots=True, kw_only=True)
class OneLineOpen:
    """A motor that loses a line while it runs, and one that is switched on without it.

    before: speed on three lines [rad/s]; line_before: its current [A].
    speed: where it then runs, None when it falls below half of synchronous speed [rad/s].
    ends: speed in the end: `speed`, or that at which it crawls, or 0 [rad/s]; seconds: to 99 % of the way there, or to rest [s].
    running: steady state at that speed, or at `before` when it does not keep running; standstill: on two lines.
    standstill_three: line current at rest on three lines, through the same supply [A].
    torque_ratio: largest torque on two lines between half and full speed over the load's torque there [1].
    """

    before: float
    line_before: float
    speed: float | None
    ends: float
    seconds: float
    running: UnbalancedPoint
    standstill: UnbalancedPoint
    standstill_three: float
    torque_ratio: float

    @property
    def line(self) -> float:
        """Current in the two live lines while running (or as it begins to slow down), rms. [A]"""
        return abs(self.running.lines[1])

    @property
    def standstill_line(self) -> float:
        """Current in the two live lines at rest, rms. [A]"""
        return abs(self.standstill.lines[1])


def one_line_open(drive: Drive) -> OneLineOpen:
    """Steady states of the drive with its first line open, the supply's impedance in each of the other two.

    Reactances that saturate are those of rated slip while running and of standstill at rest.

    Raises:
        DomainError: the motor is known by its curves only, or does not run on its load to begin with.

    Source: sequence circuits in series between the two live lines (Fitzgerald, Kingsley, Umans, Electric Machinery).
    """
    source, rest = fed(drive, drive.motor.rating.slip), fed(drive, 1.0)
    start = running_speed(drive)

    def net(speed: float) -> float:
        return open_net(source, speed)

    speed = settles(net, start, 0.5 * source.sync, 1.5 * source.sync)
    ends = settles(net, 0.5 * source.sync, 0.0, 0.5 * source.sync) or 0.0 if speed is None else speed
    last = nearly(start, ends) if ends > 0 else 0.0
    seconds = 0.0 if ends == start else float(travel(net, drive.inertia, start, last)[0][-1])
    return OneLineOpen(
        before=start,
        line_before=_balanced(source, start)[1],
        speed=speed,
        ends=ends,
        seconds=seconds,
        running=at_slip(source, source.slip(start if speed is None else speed)),
        standstill=at_slip(rest, 1.0),
        standstill_three=_balanced(rest, 0.0)[1],
        torque_ratio=_ratio(source),
    )


def at_slip(source: Fed, slip: float) -> UnbalancedPoint:
    """The motor at `slip` (1) with its first line open; supply losses are counted among the stator's. See `open_line`."""
    connection = source.drive.motor.rating.connection
    return open_line(source.whole, slip, sqrt(3) * source.emf, source.sync, connection=connection)


def open_net(source: Fed, speed: float) -> float:
    """Accelerating torque with the first line open at `speed` (rad/s). [N m]"""
    point = at_slip(source, source.slip(speed))
    return source.net(speed, point.torque, abs(point.lines[1]))


def _balanced(source: Fed, speed: float) -> tuple[float, float]:
    """Accelerating torque [N m] and line current [A] on three lines."""
    frequency = source.drive.motor.rating.frequency
    at = operating_point(source.whole, source.slip(speed), source.emf, frequency, source.sync)
    current = float(abs(at.stator_current))
    return source.net(speed, float(at.torque), current), current


def _ratio(source: Fed) -> float:
    speeds = np.linspace(0.5, 1.0, 120, endpoint=False) * source.sync
    load = source.drive.load
    ratios = [at_slip(source, source.slip(float(w))).torque / max(float(load.torque(w)), 1e-9) for w in speeds]
    return min(max(ratios), 1e3)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OpenCurves:
    """Over speed (rad/s), shape (n,): torque on three lines, on two, of the load [N m]; current of the live lines and of
    each winding on two lines [A], windings shape (3, n)."""

    speed: Array
    three: Array
    two: Array
    load: Array
    line: Array
    windings: Array


def open_curves(drive: Drive, points: int = 121) -> OpenCurves:
    """Characteristics with one line open beside those on three; reactances of rated slip. Source: as `one_line_open`."""
    source = fed(drive, drive.motor.rating.slip)
    speeds = np.linspace(0.0, source.sync * (1 - 1e-6), points)
    found = [at_slip(source, source.slip(float(w))) for w in speeds]
    frequency = drive.motor.rating.frequency
    three = operating_point(source.whole, 1 - speeds / source.sync, source.emf, frequency, source.sync).torque
    return OpenCurves(
        speed=speeds,
        three=np.asarray(three, dtype=np.float64),
        two=np.array([p.torque for p in found]),
        load=np.asarray(drive.load.torque(speeds), dtype=np.float64),
        line=np.array([abs(p.lines[1]) for p in found]),
        windings=np.array([[abs(i) for i in p.windings] for p in found]).T,
    )

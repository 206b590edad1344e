"""A motor straight on the line at one fixed speed: what the ways of setting a flow without setting the speed share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipwise.methods.speed.cooling import cooling_share, winding_heat
from slipwise.methods.speed.way import SpeedTask
from slipwise.model.machine.point import operating_point
from slipwise.results.series import Array
from slipwise.results.speed import DutyPoint, FamilyCurve, Loss, OperatingPoint, Part
from slipwise.results.study import Setting
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.steady import Point, solve

RUNNING = Stage(name="running", until=settled(), contacts=("K1 line",))
Law = Callable[[Any], Any]
_GRID, _ROUNDS = 33, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """The motor on the line against one load law. point: steady state; stability: N m s, positive is stable."""

    point: Point
    stability: float

    @property
    def speed(self) -> float:
        return float(self.point.speed)

    @property
    def shaft_power(self) -> float:
        return float(self.point.torque) * self.speed


def against(drive: Drive, law: Law) -> Run | None:
    """Where the motor settles on full voltage against a load torque law (N m over rad/s); None when it cannot hold it.

    The crossing nearest synchronous speed, found by narrowing a grid and a last secant.
    """
    sync = drive.motor.rating.synchronous_speed
    low, high = 0.4 * sync, sync * (1 - 1e-9)
    for _ in range(_ROUNDS):
        grid = np.linspace(low, high, _GRID)
        spare = solve(drive, RUNNING, grid).torque - law(grid)
        above = np.flatnonzero(spare >= 0)
        if not above.size:
            return None
        i = min(int(above[-1]), _GRID - 2)
        low, high, at_low, at_high = float(grid[i]), float(grid[i + 1]), float(spare[i]), float(spare[i + 1])
    speed = low if at_low == at_high else low + (high - low) * at_low / (at_low - at_high)
    return Run(point=solve(drive, RUNNING, float(speed)), stability=_stability(drive, law, speed))


def _stability(drive: Drive, law: Law, speed: float) -> float:
    step = 1e-5 * drive.motor.rating.synchronous_speed
    pair = np.array([speed - step, speed + step])
    spare = law(pair) - solve(drive, RUNNING, pair).torque
    return float(spare[1] - spare[0]) / (2 * step)


def motor_losses(point: Point) -> tuple[Loss, ...]:
    """The losses of a motor on the line, chain order; those of the supply path are not its own."""
    parts = {
        Part.STATOR: point.stator_loss,
        Part.CORE: point.core_loss,
        Part.ROTOR: point.rotor_loss,
        Part.STRAY: point.stray_loss,
        Part.FRICTION: point.mechanical_loss,
    }
    return tuple(Loss(part=part, power=float(power)) for part, power in parts.items())


def flux(drive: Drive, point: Point) -> float:
    """Air-gap flux per unit of that at rated load and voltage; 1 for a motor known by its curves."""
    motor = drive.motor
    circuit, rating = motor.circuit, motor.rating
    if circuit is None:
        return 1.0
    sync, hertz = rating.synchronous_speed, rating.frequency
    here = operating_point(circuit, 1 - float(point.speed) / sync, float(point.motor_voltage), hertz, sync)
    rated = operating_point(circuit, rating.slip, rating.phase_voltage, hertz, sync)
    return float(abs(here.gap_voltage) / abs(rated.gap_voltage))


def heat(task: SpeedTask, point: Point) -> float:
    """Winding heating against what the cooling carries away; by current squared for a motor known by its curves."""
    motor = task.drive.motor
    if motor.circuit is None:
        share = cooling_share(task.site, float(point.speed), motor.rating.speed)
        return float((point.motor / motor.rating.current) ** 2 / share)
    return float(winding_heat(motor, task.site, float(point.speed), float(point.stator_loss + point.rotor_loss)))


def answer(
    task: SpeedTask, duty: DutyPoint, run: Run, *, reason: str, feasible: bool, settings: tuple[Setting, ...] = ()
) -> OperatingPoint:
    """The operating point of a motor on the line; shaft power beyond what the process needs is listed as throttled.

    line power = shaft power + losses without the throttled power, which is part of the shaft power.
    """
    at = run.point
    line, shaft = float(at.power), run.shaft_power
    wasted = max(shaft - duty.useful, 0.0) if feasible and duty.useful is not None else 0.0
    apparent = 3 * float(abs(at.busbars[-1])) * float(at.line)
    factor = line / apparent if apparent else 0.0
    throttled = (Loss(part=Part.THROTTLE, power=wasted),) if wasted else ()
    efficiency = shaft / line if line else 0.0
    return OperatingPoint(
        duty=duty,
        feasible=feasible,
        reason=reason,
        settings=settings,
        speed=run.speed,
        torque=float(at.torque),
        slip=1 - run.speed / task.drive.motor.rating.synchronous_speed,
        stability=run.stability,
        frequency=task.drive.motor.rating.frequency,
        flux=flux(task.drive, at),
        losses=(*motor_losses(at), *throttled),
        line_power=line,
        shaft_power=shaft,
        motor_efficiency=efficiency,
        efficiency=efficiency,
        line_current=float(at.line),
        motor_current=float(at.motor),
        displacement_factor=factor,
        power_factor=factor,
        harmonics=(),
        distortion=0.0,
        winding_heat=heat(task, at),
    )


def stalled(task: SpeedTask, duty: DutyPoint, reason: str) -> OperatingPoint:
    """The answer where the motor cannot hold the load at all: it stands, and what it draws is that of standstill."""
    at = solve(task.drive, RUNNING, 0.0)
    return answer(task, duty, Run(point=at, stability=0.0), reason=reason, feasible=False)


def on_the_line(drive: Drive, grid: Array) -> FamilyCurve:
    """Torque and line current of the motor on full voltage over `grid` (rad/s)."""
    found = solve(drive, RUNNING, grid)
    volts = drive.motor.rating.voltage
    torque, line = np.asarray(found.torque), np.asarray(found.line)
    return FamilyCurve(label="motor on the line", value=volts, unit="V", speed=grid, torque=torque, current=line)


def wiring(note: str) -> Wiring:
    """Breaker, contactor, overload relay, motor: the speed is not controlled at all."""
    return Wiring(
        devices=(
            Device(kind="breaker", label="Q1", after=""),
            Device(kind="contactor", label="K1 line", after="Q1"),
            Device(kind="overload", label="F1", after="K1 line"),
            Device(kind="motor", label="M1", after="F1"),
        ),
        stages=("running",),
        closed=(("K1 line",),),
        notes=(note,),
    )

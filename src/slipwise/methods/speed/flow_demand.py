"""Demands met by flow at full speed: the process a baseline needs, and the words of what it cannot do."""

from __future__ import annotations

from typing import Any

import numpy as np

from slipwise.methods.speed import line_fed
from slipwise.methods.speed.line_fed import Law, Run
from slipwise.methods.speed.way import SpeedTask
from slipwise.model.load.system import Process, flow_at, torque_at
from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.results.speed import DutyPoint, Family, FamilyCurve, OperatingPoint
from slipwise.results.study import Setting
from slipwise.results.wiring import Wiring

STARTERS = ("direct", "star_delta", "autotransformer", "soft_starter")
NEARLY = 0.01  # a flow this close to the greatest counts as reached: curves are not better known (common practice)


class FixedSpeed:
    """What the ways share that leave the motor on the line at its own speed."""

    __slots__ = ()

    def envelope(self, task: SpeedTask) -> None:
        """There is one speed only."""
        del task

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """Nothing electrical is bought."""
        del task
        return ()

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """Any way of starting that suits a motor on the line; easiest with valve or damper shut."""
        del task
        return STARTERS

    def wiring(self) -> Wiring:
        """A motor on the line."""
        return line_fed.wiring("The flow is set in the process; the motor keeps its speed and its starter.")


def process_of(task: SpeedTask, key: str, *kinds: str) -> Process:
    """The pump or fan the way works on.

    Raises:
        InputError: the study describes none, or of another kind; or no demand is given by flow.
    """
    process = task.process
    if process is None:
        raise InputError.of(
            f"speed.{key}",
            "",
            "it sets a flow, and the study describes no pump or fan",
            "add [speed.process] and give the duty by flow, or leave this way out",
        )
    if process.kind not in kinds:
        raise InputError.of(
            f"speed.{key}", f"a {process.kind}", f"it belongs to a {' or '.join(kinds)}", "leave this way out of `ways`"
        )
    if all(duty.flow is None for duty in task.duty):
        raise InputError.of(
            f"speed.{key}", "", "it sets a flow, and every demand is a speed", "give flow in [[speed.duty]]"
        )
    return process


def open_valve(process: Process) -> Law:
    """Load torque over shaft speed (rad/s) with nothing in the way of the flow."""
    rated = process.machine.speed

    def law(speed: Any) -> Any:
        n = np.abs(speed) / rated
        return torque_at(process, n, flow_at(process, n))

    return law


def held_flow(process: Process, flow: float) -> Law:
    """Load torque over shaft speed with the valve set for `flow` (pu) at about rated speed: it passes flow with speed."""
    rated = process.machine.speed

    def law(speed: Any) -> Any:
        return torque_at(process, np.abs(speed) / rated, flow)

    return law


def full_flow(process: Process, run: Run) -> float:
    """Flow per unit that the open system carries at the speed of a run."""
    return float(flow_at(process, run.speed / process.machine.speed))


def not_a_flow(task: SpeedTask, duty: DutyPoint, run: Run) -> OperatingPoint:
    """The answer to a demand given by speed: the motor keeps its own."""
    reason = (
        f"the demand is a speed of {show(duty.speed, 'rad/s')}; the motor keeps {show(run.speed, 'rad/s')} and only the "
        f"flow can be set"
    )
    return line_fed.answer(task, duty, run, reason=reason, feasible=False)


def too_much(task: SpeedTask, duty: DutyPoint, run: Run, greatest: float) -> OperatingPoint:
    """The answer to a flow beyond that of the open system at full speed."""
    reason = (
        f"with nothing in the way {show(greatest, 'pu')} of rated flow passes at {show(run.speed, 'rad/s')}; "
        f"{show(duty.flow, 'pu')} is asked"
    )
    return line_fed.answer(task, duty, run, reason=reason, feasible=False)


def no_speed(task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
    """The answer when the motor on the line cannot carry the machine at all."""
    reason = f"the motor cannot carry {show(duty.torque, 'N m')} on the line and stalls"
    return line_fed.stalled(task, duty, reason)


def speeds_at_one_setting(task: SpeedTask, process: Process, flows: tuple[float, ...], note: str, key: str) -> Family:
    """The motor's one curve against the machine's torque for several settings of valve or damper.

    Every curve but the first is a load torque: its `current` is that of the motor at the same torque on its stable side.
    """
    drive = task.drive
    grid = np.linspace(0.0, drive.motor.rating.synchronous_speed * (1 - 1e-9), 241)
    motor = line_fed.on_the_line(drive, grid)
    n = grid / process.machine.speed
    curves = [motor]
    for share in flows:
        torque = np.asarray(torque_at(process, n, share * flow_at(process, n)))
        current = np.interp(torque, *_stable(motor))
        label = f"flow {share:.0%} of open"
        curves.append(FamilyCurve(label=label, value=share, unit="pu", speed=grid, torque=torque, current=current))
    return Family(
        key=key,
        title="One motor curve, many settings of the process",
        parameter="flow at the same speed, of that with nothing in the way",
        curves=tuple(curves),
        load_speed=grid,
        load_torque=np.asarray(torque_at(process, n, flow_at(process, n))),
        bound="",
        note=note,
    )


def _stable(motor: FamilyCurve) -> tuple[Any, Any]:
    """Torque and current between breakdown and synchronous speed, torque ascending."""
    peak = int(np.argmax(motor.torque))
    return motor.torque[peak:][::-1], motor.current[peak:][::-1]

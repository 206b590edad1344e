"""Throttle valve: the pump keeps its speed and a valve destroys the head that the process does not need."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Self

from slipwise.methods.settings import assemble, checked
from slipwise.methods.speed import flow_demand, line_fed
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.way import Designed
from slipwise.model.load.system import Process, destroyed_head
from slipwise.results.speed import DutyPoint, Family, OperatingPoint
from slipwise.results.study import Setting


@dataclass(frozen=True, slots=True, kw_only=True)
class ThrottleValve(flow_demand.FixedSpeed):
    """Flow set by a valve behind the pump, the motor straight on the line.

    The pump works where its own head curve has the flow asked; the head above the system's is lost in the valve.
    Source: pump and system curves under the affinity laws (Karassik et al., Pump Handbook, from memory).
    """

    key: ClassVar[str] = "throttle"
    title: ClassVar[str] = "Throttle valve"
    also: ClassVar[tuple[str, ...]] = ("valve", "throttling", "control valve")
    summary: ClassVar[str] = (
        "The pump runs at full speed and a valve takes what the process does not need as head. It costs least to buy and "
        "loses most at part flow; with a high static head or a flow near the rated one the loss is small."
    )

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Mapping[str, float | str]) -> Designed[Self]:
        """There is nothing to set but the valve at each demand.

        Raises:
            InputError: the study describes no pump, or gives no demand by flow.
        """
        checked(cls, given, "speed")
        flow_demand.process_of(task, cls.key, "pump")
        return assemble(cls, given, {}, "The valve is set at each demand so that the flow asked passes at full speed.")

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """Full speed, the flow asked, the rest of the head in the valve."""
        process = flow_demand.process_of(task, self.key, "pump")
        return throttled(task, duty, process, "valve")

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """The motor's curve and the pump's torque for several settings of the valve."""
        process = flow_demand.process_of(task, self.key, "pump")
        note = "Torque of the pump with the valve set so that the stated share of the open flow passes at each speed."
        return (flow_demand.speeds_at_one_setting(task, process, (0.0, 0.25, 0.5, 0.75), note, "valve"),)


def throttled(task: SpeedTask, duty: DutyPoint, process: Process, name: str) -> OperatingPoint:
    """The motor on the line, the flow asked passing through a valve or damper called `name`."""
    wide = line_fed.against(task.drive, flow_demand.open_valve(process))
    if wide is None:
        return flow_demand.no_speed(task, duty)
    if duty.flow is None:
        return flow_demand.not_a_flow(task, duty, wide)
    greatest = flow_demand.full_flow(process, wide)
    if duty.flow > greatest * (1 + flow_demand.NEARLY):
        return flow_demand.too_much(task, duty, wide, greatest)
    flow = min(duty.flow, greatest)
    run = line_fed.against(task.drive, flow_demand.held_flow(process, flow))
    if run is None:
        return flow_demand.no_speed(task, duty)
    head = float(destroyed_head(process, run.speed / process.machine.speed, flow))
    taken = Setting(
        key="head_taken",
        title=f"head taken by the {name}, of rated head",
        value=max(head, 0.0),
        unit="pu",
        origin="derived",
        why="head of the machine less head of the system at this flow",
    )
    return line_fed.answer(task, duty, run, reason="", feasible=True, settings=(taken,))

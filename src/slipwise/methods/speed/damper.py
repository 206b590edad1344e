"""Fan damper: the fan keeps its speed and a damper, or vanes at its inlet, hold the flow back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Choice, assemble, assumed, checked
from slipwise.methods.speed import flow_demand, line_fed
from slipwise.methods.speed.throttle import throttled
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.way import Designed, Dial
from slipwise.model.load.system import Process
from slipwise.results.speed import DutyPoint, Family, OperatingPoint

OUTLET, VANES = "outlet damper", "inlet vanes"
# Torque of a fan at full speed under inlet vanes: 30 % at no flow, then with the square of the flow (common practice, no
# source; makers' curves lie within 0.25 to 0.4 at no flow).
VANES_AT_NO_FLOW = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class FanDamper(flow_demand.FixedSpeed):
    """Flow set by a damper behind the fan or by vanes before it, the motor straight on the line.

    Behind the fan: fan and system curves as for a valve. Before it: vanes give the air a twist, so that the fan makes less
    pressure; torque by the usual curve (common practice, no source).
    """

    key: ClassVar[str] = "damper"
    title: ClassVar[str] = "Fan damper"
    also: ClassVar[tuple[str, ...]] = ("outlet damper", "inlet vane", "guide vane", "IGV")
    summary: ClassVar[str] = (
        "The fan runs at full speed and a damper, or vanes at the inlet, hold the flow back. Cheap; an outlet damper "
        "destroys pressure, inlet vanes lose less but still far more than a lower speed."
    )

    place: Annotated[
        str, Dial(title="place", unit="", doc="Damper behind the fan or vanes before it.", choices=(OUTLET, VANES))
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Mapping[str, float | str]) -> Designed[Self]:
        """An outlet damper unless vanes are asked for.

        Raises:
            InputError: the study describes no fan, or gives no demand by flow.
        """
        checked(cls, given, "speed")
        flow_demand.process_of(task, cls.key, "fan")
        chosen: dict[str, Choice] = {"place": assumed(OUTLET, "the commonest damper (common practice)")}
        return assemble(
            cls, given, chosen, "The damper is set at each demand so that the flow asked passes at full speed."
        )

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """Full speed, the flow asked, the rest of the pressure destroyed or never made."""
        process = flow_demand.process_of(task, self.key, "fan")
        if self.place == OUTLET:
            return throttled(task, duty, process, "damper")
        return _twisted(task, duty, process)

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """The motor's curve and the fan's torque for several settings of an outlet damper."""
        process = flow_demand.process_of(task, self.key, "fan")
        note = "Torque of the fan with an outlet damper that passes the stated share of the open flow at each speed."
        return (flow_demand.speeds_at_one_setting(task, process, (0.0, 0.25, 0.5, 0.75), note, "damper"),)


def _twisted(task: SpeedTask, duty: DutyPoint, process: Process) -> OperatingPoint:
    """The motor on the line, the flow held back by inlet vanes."""
    wide = line_fed.against(task.drive, flow_demand.open_valve(process))
    if wide is None:
        return flow_demand.no_speed(task, duty)
    if duty.flow is None:
        return flow_demand.not_a_flow(task, duty, wide)
    greatest = flow_demand.full_flow(process, wide)
    if duty.flow > greatest * (1 + flow_demand.NEARLY):
        return flow_demand.too_much(task, duty, wide, greatest)
    share = min(duty.flow / greatest, 1.0)
    torque = process.machine.torque * (VANES_AT_NO_FLOW + (1 - VANES_AT_NO_FLOW) * share**2)

    def law(speed: Any) -> Any:
        return torque * (np.abs(speed) / process.machine.speed) ** 2

    run = line_fed.against(task.drive, law)
    if run is None:
        return flow_demand.no_speed(task, duty)
    return line_fed.answer(task, duty, run, reason="", feasible=True)

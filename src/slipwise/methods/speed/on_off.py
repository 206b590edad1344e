"""On and off: full flow for a part of the time, nothing in between."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Self

from slipwise.methods.settings import Choice, assemble, assumed, checked
from slipwise.methods.speed import flow_demand, line_fed
from slipwise.methods.speed.cooling import rated_copper_loss
from slipwise.methods.speed.line_fed import Run
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.way import Designed, Dial
from slipwise.quantity.show import show
from slipwise.results.speed import DutyPoint, Family, Loss, OperatingPoint, Part
from slipwise.results.study import Setting

USUAL_CYCLES, FEW_CYCLES, MANY_CYCLES = 2.0, 0.5, 6.0  # an hour; common practice, no source
CONTINUOUS = 0.995  # above this share of the time it simply runs


@dataclass(frozen=True, slots=True, kw_only=True)
class OnOff(flow_demand.FixedSpeed):
    """The flow asked as a mean: full flow for its share of the time, standstill for the rest.

    Powers and losses are means over the cycle, the loss of the starts among them; speed, torque, currents and power
    factor are those while it runs.
    Source: a start without load costs as much rotor loss as the kinetic energy it leaves behind (Dubey, Fundamentals of
    Electrical Drives, 2nd ed., ch. 2, from memory), and stator loss in the ratio of the resistances.
    """

    key: ClassVar[str] = "on_off"
    title: ClassVar[str] = "On and off"
    also: ClassVar[tuple[str, ...]] = ("on/off", "cycling", "start and stop")
    summary: ClassVar[str] = (
        "The machine runs at full flow for a part of the time and stands for the rest. It needs a tank, or a process that "
        "does not mind; it pumps against the friction of full flow, and every start heats the motor."
    )

    cycles_per_hour: Annotated[
        float,
        Dial(title="cycles an hour", unit="", example="4", doc="Starts in an hour at part flow.", low=0.01, high=60.0),
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Mapping[str, float | str]) -> Designed[Self]:
        """Few cycles unless told otherwise: the size of the tank decides.

        Raises:
            InputError: the study describes no pump or fan, or gives no demand by flow.
        """
        checked(cls, given, "speed")
        flow_demand.process_of(task, cls.key, "pump", "fan")
        why = "the size of the tank decides (common practice, no source)"
        chosen: dict[str, Choice] = {"cycles_per_hour": assumed(USUAL_CYCLES, why, FEW_CYCLES, MANY_CYCLES)}
        return assemble(
            cls, given, chosen, "Each demand is a mean flow, carried at full flow for its share of the time."
        )

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """Full flow while it runs; means over the cycle."""
        process = flow_demand.process_of(task, self.key, "pump", "fan")
        run = line_fed.against(task.drive, flow_demand.open_valve(process))
        if run is None:
            return flow_demand.no_speed(task, duty)
        if duty.flow is None:
            return flow_demand.not_a_flow(task, duty, run)
        greatest = flow_demand.full_flow(process, run)
        if duty.flow > greatest * (1 + flow_demand.NEARLY):
            return flow_demand.too_much(task, duty, run, greatest)
        return self._mean(task, duty, run, min(duty.flow / greatest, 1.0))

    def _mean(self, task: SpeedTask, duty: DutyPoint, run: Run, share: float) -> OperatingPoint:
        """The running point weighted by its share of the time, with the starts."""
        plain = line_fed.answer(task, replace(duty, useful=None), run, reason="", feasible=True)
        starts = 0.0 if share >= CONTINUOUS else self.cycles_per_hour / 3600
        kinetic = 0.5 * task.drive.inertia * run.speed**2 * starts
        lost = {Part.ROTOR: kinetic, Part.STATOR: kinetic * _stator_share(task)}
        losses = tuple(Loss(part=x.part, power=share * x.power + lost.get(x.part, 0.0)) for x in plain.losses)
        shaft = share * plain.shaft_power + kinetic
        line = shaft + sum(loss.power for loss in losses)
        added = max(shaft - duty.useful, 0.0) if duty.useful is not None else 0.0
        more = f"; {show(added, 'W')} of shaft power more than a steady flow needs" if added else ""
        reason = "" if share >= CONTINUOUS else "needs a tank or a process that stands being switched"
        return replace(
            plain,
            duty=duty,
            reason=reason,
            settings=(_running_share(share),),
            losses=losses,
            shaft_power=shaft,
            line_power=line,
            efficiency=shaft / line if line else 0.0,
            winding_heat=plain.winding_heat * share + _start_heat(task, sum(lost.values())),
            notes=(f"runs {show(share, 'pu')} of the time; powers and losses are means over the cycle{more}",),
        )

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """The motor's curve and the machine's torque with nothing in the way."""
        process = flow_demand.process_of(task, self.key, "pump", "fan")
        note = "One speed, one setting: the machine runs here or stands."
        return (flow_demand.speeds_at_one_setting(task, process, (), note, "open"),)


def _stator_share(task: SpeedTask) -> float:
    """Stator loss of a start per unit of its rotor loss: R1 / R2 of the branches in parallel; 1 without a circuit."""
    circuit = task.drive.motor.circuit
    if circuit is None:
        return 1.0
    return circuit.R1 * sum(1 / branch.R for branch in circuit.rotor)


def _start_heat(task: SpeedTask, lost: float) -> float:
    """Mean copper loss of the starts (W) per unit of the rated copper loss."""
    return lost / rated_copper_loss(task.drive.motor) if task.drive.motor.circuit is not None else 0.0


def _running_share(share: float) -> Setting:
    return Setting(
        key="running_share",
        title="share of the time running",
        value=share,
        unit="pu",
        origin="derived",
        why="mean flow asked / flow at full speed",
    )

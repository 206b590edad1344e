"""Rotor-resistor start of a slip-ring motor: graded resistors in the rotor, taken out step by step."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Self

from slipwise.methods import survey
from slipwise.methods.settings import Given, assemble, assumed, checked, computed, number
from slipwise.methods.starting.grading import (
    Grading,
    fewest_steps,
    least_time,
    require_slip_rings,
    stator_ohms,
)
from slipwise.methods.survey import amount
from slipwise.methods.way import Designed, Dial, Task
from slipwise.quantity.errors import InputError
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Plan, Stage, settled, speed_reaches
from slipwise.solve.run_up import run_up

FEWEST, FASTEST = "fewest steps", "least time"


@dataclass(frozen=True, slots=True, kw_only=True)
class RotorResistor:
    """A star-connected bank on the slip rings, shorted section by section, then the rings short-circuited.

    The totals of rotor and bank resistance fall by one factor (the grading) from step to step, so that torque and current
    swing between the same two values on every step; the torque depends on resistance over slip alone, so each step is
    left at the slip grading^k, whatever the supply. Ohms are per rotor phase, as built; the ratio between stator and rotor
    is that of the star-equivalent phase voltages, the same as line voltage over line voltage at the open rings.
    Source: Theraja and Theraja, Electrical Technology vol. II, ch. 35 (geometric sections).
    """

    key: ClassVar[str] = "rotor_resistor"
    title: ClassVar[str] = "Rotor resistor"
    also: ClassVar[tuple[str, ...]] = (
        "rotor resistance",
        "secondary resistance",
        "rotor starter",
        "slip-ring starter",
        "liquid resistor",
        "liquid rheostat",
    )
    summary: ClassVar[str] = (
        "Resistors in the rotor circuit of a slip-ring motor are taken out step by step: high torque at low current, with "
        "most of the heat outside the motor. It suits heavy starts on weak supplies and costs slip rings, brushes and a bank."
    )

    steps: Annotated[
        float,
        Dial(
            title="steps", unit="", example="4", doc="Number of resistor sections, a whole number.", low=1.0, high=12.0
        ),
    ]
    resistance: Annotated[
        float,
        Dial(
            title="bank resistance",
            unit="ohm",
            example="0.6 ohm",
            doc="Whole bank per rotor phase, star, as built.",
            low=0.0,
        ),
    ]
    grading: Annotated[
        float,
        Dial(
            title="grading",
            unit="pu",
            example="55 %",
            doc="Total rotor-circuit resistance after a step per before it.",
            low=0.01,
            high=0.99,
        ),
    ]
    aim: Annotated[
        str,
        Dial(
            title="aim",
            unit="",
            doc="Of the design: fewest steps between the switching torques, or least run-up time.",
            choices=(FEWEST, FASTEST),
        ),
    ]

    @classmethod
    def designed_for(cls, task: Task, given: Given) -> Designed[Self]:
        """Designs what is not given.

        Upper switching torque: the most that supply limits, twice rated current and nine tenths of the breakdown torque
        allow. Steps: the fewest whose lower switching torque keeps the reserve in the worst case at every closing; or,
        for least time, the resistance with the shortest run-up under the same upper torque.

        Raises:
            InputError: no wound rotor, or its ratio is not known; steps not whole; a setting outside its dial.
        """
        checked(cls, given)
        require_slip_rings(task.nominal)
        _require_whole(given)
        aim = str(given.get("aim", FEWEST))
        steps, resistance = number(given, "steps"), number(given, "resistance")
        find = least_time if aim == FASTEST else fewest_steps
        found, bound = find(task, None if steps is None else round(steps), resistance)
        grading = number(given, "grading") or found.grading
        chosen = {
            "steps": computed(float(found.steps), bound),
            "resistance": computed(found.resistance, bound),
            "grading": computed(
                grading, "total resistance falls from bank and rotor to the rotor alone in equal ratios"
            ),
            "aim": assumed(FEWEST, "the usual aim; least time may be asked for"),
        }
        designed = assemble(cls, given, chosen, "")
        return replace(designed, words=designed.way.described(task, bound))

    def described(self, task: Task, bound: str) -> str:
        """The bank in words: sections, closing speeds, energy per step."""
        drive, plan = task.nominal, self.stages(task.nominal)
        sections = ", ".join(f"{amount(r)}" for r in self.sections())
        closings = ", ".join(survey.rpm(s.until.value) for s in plan[:-1])
        energy = ", ".join(f"{amount(e / 1e3)}" for e in self.energy_per_step(drive))
        return (
            f"Steps and ohms: {bound}. Sections of {sections} ohm per rotor phase, star; closed at {closings}. "
            f"Heat in the bank by step: {energy} kJ a start."
        )

    def sections(self) -> tuple[float, ...]:
        """Sections in the order they are shorted, per rotor phase. [ohm]"""
        return self._graded().sections()

    def energy_per_step(self, drive: Drive) -> tuple[float, ...]:
        """Heat in the whole bank during each step of a start on `drive`, as far as it gets. [J]"""
        speed, found = 0.0, []
        for stage in self.stages(drive)[:-1]:
            run = run_up((stage,), drive, speed=speed)
            found.append(run.energy.get("rotor resistors"))
            if run.final_speed < stage.until.value * (1 - 1e-6):
                break
            speed = run.final_speed
        return tuple(found)

    def stages(self, drive: Drive) -> Plan:
        """One stage a step, then the rings short-circuited; raises InputError without slip rings."""
        ratio = require_slip_rings(drive)
        sync = drive.motor.rating.synchronous_speed
        grading = self._graded()
        rows = self._sequence()
        steps = tuple(
            Stage(
                name=name,
                until=speed_reaches(sync * (1 - grading.closing_slip(k))),
                rotor_external=stator_ohms(grading.left(k), ratio),
                contacts=contacts,
            )
            for k, (name, contacts) in enumerate(rows[:-1])
        )
        return (*steps, Stage(name=rows[-1][0], until=settled(), contacts=rows[-1][1]))

    def wiring(self) -> Wiring:
        """Line contactor; on the rotor side the bank and one contactor a section."""
        rows, count = self._sequence(), round(self.steps)
        sections = self.sections()
        bank = [
            Device(
                kind="contactor",
                label=_closer(k),
                after="R1",
                branch="rotor",
                note=f"shorts {amount(sections[k])} ohm",
                carries="rotor",
            )
            for k in range(count)
        ]
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="overload", label="F1", after="K1 line"),
                Device(kind="motor", label="M1", after="F1", note="slip rings"),
                Device(
                    kind="resistor",
                    label="R1",
                    after="M1",
                    branch="rotor",
                    note=f"{amount(self.resistance)} ohm a phase, star",
                ),
                *bank,
            ),
            stages=tuple(name for name, _ in rows),
            closed=tuple(contacts for _, contacts in rows),
            motor_leads=3,
            notes=(
                "Three stator leads and three slip rings. The line contactor closes only with the whole bank in circuit.",
            ),
        )

    def _graded(self) -> Grading:
        return Grading(resistance=self.resistance, steps=round(self.steps), grading=self.grading)

    def _sequence(self) -> list[tuple[str, tuple[str, ...]]]:
        """Stages and their closed contacts, in order."""
        count = round(self.steps)
        closed = [("K1 line", *(_closer(i) for i in range(k))) for k in range(count + 1)]
        return [(f"step {k + 1}" if k < count else "short-circuited", closed[k]) for k in range(count + 1)]


def _closer(section: int) -> str:
    return f"K{11 + section} step {section + 1}"


def _require_whole(given: Given) -> None:
    steps = number(given, "steps")
    if steps is not None and steps != round(steps):
        raise InputError.of(
            "starting.rotor_resistor.steps", f"{steps:.4g}", "not a whole number", "write 4, for example"
        )

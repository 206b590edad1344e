"""Soft stop: a soft starter lowers the voltage slowly, so that a pump loses its flow gently before it is cut off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed
from slipwise.methods.stopping.tools import RUNNING, SECTION, seconds, unsaturated
from slipwise.methods.stopping.way import StopTask
from slipwise.methods.survey import amount
from slipwise.methods.way import Designed, Dial
from slipwise.results.setting import Setting
from slipwise.results.start import RunUp
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Law, Plan, Stage, elapsed
from slipwise.solve.stop import off

# Usual ramp of a pump and the voltage at which it is cut off: common practice, no source.
RAMP, SHORTEST, LONGEST = 10.0, 2.0, 30.0
END, LOW_END, HIGH_END = 0.35, 0.25, 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class SoftStop:
    """The fundamental voltage falls along a straight ramp, then the motor is cut off.

    The speed holds until the breakdown torque at the falling voltage no longer carries the load; from there it gives way.
    The pressure in the pipe is not computed.
    Source: torque proportional to voltage squared (Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.2).
    """

    key: ClassVar[str] = "soft_stop"
    title: ClassVar[str] = "Soft stop"
    also: ClassVar[tuple[str, ...]] = ("soft stopping", "pump stop", "voltage ramp")
    summary: ClassVar[str] = (
        "A soft starter lowers the voltage over some seconds, and the pump loses its flow more gently than when it is cut "
        "off. It lengthens a stop that would be abrupt; a machine with much inertia it does not stop any sooner. "
        "The surge in the pipe itself needs a hydraulic calculation."
    )

    ramp_time: Annotated[
        float,
        Dial(
            title="ramp time",
            unit="s",
            example="8 s",
            doc="From full voltage to the voltage of cutting off.",
            low=0.5,
            high=120.0,
        ),
    ]
    end_voltage: Annotated[
        float,
        Dial(
            title="end voltage",
            unit="pu",
            example="40 %",
            doc="At which the motor is cut off, of full.",
            low=0.1,
            high=0.9,
        ),
    ]

    @classmethod
    def designed_for(cls, task: StopTask, given: Given) -> Designed[Self]:
        """The usual ramp, shortened to the longest stop allowed in the worst case.

        Raises:
            InputError: a setting outside its dial.
        """
        checked(cls, given, SECTION)
        chosen = {
            "ramp_time": assumed(RAMP, "usual for a pump (common practice, no source)", 5.0, 20.0),
            "end_voltage": assumed(END, "the torque is then an eighth (common practice, no source)", LOW_END, HIGH_END),
        }
        if task.stop_time is not None and "ramp_time" not in given:
            chosen["ramp_time"] = _shortened(cls, given, chosen, task)
        ramp = chosen["ramp_time"]
        words = "" if "ramp_time" in given else f"Ramp: {amount(float(ramp.value))} s, {ramp.why}."
        return assemble(cls, given, chosen, f"{words} Fundamental voltage only.".strip())

    def running(self, drive: Drive) -> Stage | None:
        """On full voltage through the bypass."""
        del drive
        return RUNNING

    def stages(self, drive: Drive) -> Plan:
        """The ramp, then no supply."""
        law = Law(x=(0.0, self.ramp_time), y=(1.0, self.end_voltage))
        ramp = Stage(name="voltage ramp", until=elapsed(self.ramp_time), voltage=law, contacts=("K1 line",))
        return (ramp, off(drive))

    def wiring(self) -> Wiring:
        """Thyristors with a bypass contactor beside them."""
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="thyristors", label="A1", after="K1 line"),
                Device(kind="contactor", label="K2 bypass", after="K1 line", branch="bypass", note="bridges A1"),
                Device(kind="overload", label="F1", after="A1"),
                Device(kind="motor", label="M1", after="F1"),
            ),
            stages=("running", "voltage ramp", "off"),
            closed=(("K1 line", "K2 bypass"), ("K1 line",), ()),
            notes=("A1 carries the current of the whole ramp: its duty is that of starts and stops together.",),
        )

    def parts(self, drive: Drive, run: RunUp) -> tuple[Setting, ...]:
        """Nothing beside the soft starter of the start."""
        del drive, run
        return ()


def _shortened(way: type[SoftStop], given: Given, chosen: dict[str, Choice], task: StopTask) -> Choice:
    """The longest ramp, up to the usual one, whose stop keeps the time allowed; the shortest when none does."""
    limit = task.stop_time or np.inf
    drives = (unsaturated(task.nominal), unsaturated(task.worst))

    def kept(ramp: float) -> bool:
        made = assemble(way, given, {**chosen, "ramp_time": computed(ramp, "")}, "").way
        times = [seconds(made.stages(drive), drive) for drive in drives]
        return all(t is not None and t <= 0.94 * limit for t in times)

    if kept(RAMP):
        return chosen["ramp_time"]
    if not kept(SHORTEST):
        return computed(SHORTEST, f"no ramp brings it to rest in {amount(limit)} s: a soft stop does not brake")
    good, bad = SHORTEST, RAMP
    for _ in range(12):
        middle = 0.5 * (good + bad)
        good, bad = (middle, bad) if kept(middle) else (good, middle)
    return computed(good, f"shortened so that the stop keeps {amount(limit)} s, worst case")

"""Plugging: two phases are swapped while the motor turns, and it brakes against its own field until a switch opens."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed
from slipwise.methods.stopping.tools import RUNNING, SECTION, part, refuse_for_a_cage, ring_devices
from slipwise.methods.stopping.way import StopTask
from slipwise.methods.survey import amount, bisect, curves, residual_words
from slipwise.methods.way import Designed, Dial
from slipwise.quantity.errors import InputError
from slipwise.quantity.formula import Formula
from slipwise.results.setting import Setting
from slipwise.results.start import RunUp
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Plan, Stage, elapsed, settled, speed_falls_to
from slipwise.solve.stop import off, running_speed

# Between the two contactors, and where a zero-speed switch opens: common practice, no source.
PAUSE, SHORT_PAUSE, LONG_PAUSE = 0.08, 0.04, 0.2
SWITCH, LOW_SWITCH, HIGH_SWITCH = 0.02, 0.01, 0.05
WOUND_LIMIT = 1.5  # current of a wound rotor plugged through resistors, of rated (common practice, no source)
WITHIN = 0.97  # of a current limit, used up by a design

HEAT = Formula(
    key="stopping.plugging_heat",
    title="Rotor heat of plugging to rest, without load",
    symbol="W_2",
    expression="3 * J * omega_s**2 / 2",
    units={"J": "kg m2", "omega_s": "rad/s"},
    source="Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 5 (heat of the rotor: slip from 2 to 1)",
    validity="from synchronous speed, no load torque, steady characteristics",
    result_unit="J",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plugging:
    """Line contactor off, a short pause, reversing contactor on until the zero-speed switch opens it.

    Resistors in each line, or on the slip rings, hold the current down while the phases are swapped; seen by the start they
    are out. Rotor slip goes from nearly 2 to 1.
    """

    key: ClassVar[str] = "plugging"
    title: ClassVar[str] = "Plugging"
    also: ClassVar[tuple[str, ...]] = (
        "plug",
        "counter-current braking",
        "reverse-current braking",
        "reversal",
        "phase reversal",
    )
    summary: ClassVar[str] = (
        "Two phases are swapped and the motor brakes with the torque of a slip above 1. Quick and cheap, with the current of "
        "a start or more and three times the heat of a start in the rotor. A zero-speed switch must open in time, or the "
        "motor runs up the other way."
    )

    pause: Annotated[
        float,
        Dial(
            title="pause",
            unit="s",
            example="80 ms",
            doc="Between the two contactors, without supply.",
            low=0.02,
            high=5.0,
        ),
    ]
    switch_speed: Annotated[
        float,
        Dial(
            title="zero-speed switch",
            unit="rad/s",
            example="30 r/min",
            doc="Shaft speed at which the switch opens.",
            low=0.0,
        ),
    ]
    resistance: Annotated[
        float,
        Dial(
            title="line resistor",
            unit="ohm",
            example="0.5 ohm",
            doc="In each line while plugging; 0 for none.",
            low=0.0,
            high=1e3,
        ),
    ]
    rotor_resistance: Annotated[
        float,
        Dial(
            title="rotor resistor",
            unit="ohm",
            example="1.2 ohm",
            doc="In each phase at the slip rings while plugging; 0 for none or a cage.",
            low=0.0,
            high=1e3,
        ),
    ]

    @classmethod
    def designed_for(cls, task: StopTask, given: Given) -> Designed[Self]:
        """Resistors only where a current limit asks for them; a wound rotor is held to a usual current in any case.

        Raises:
            InputError: a setting outside its dial; a rotor resistor for a cage; a switch that opens above running speed.
        """
        checked(cls, given, SECTION)
        sync = task.nominal.motor.rating.synchronous_speed
        _check(task, given)
        chosen = {
            "pause": assumed(PAUSE, "contactors and interlock (common practice, no source)", SHORT_PAUSE, LONG_PAUSE),
            "switch_speed": assumed(
                SWITCH * sync,
                "the shaft is nearly at rest and the switch still sure (common practice, no source)",
                LOW_SWITCH * sync,
                HIGH_SWITCH * sync,
            ),
            "resistance": computed(0.0, "no line resistor is needed"),
            "rotor_resistance": computed(0.0, "a cage has no slip rings"),
        }
        bare = assemble(cls, given, chosen, "").way
        if task.nominal.motor.wound_ratio is not None and "rotor_resistance" not in given:
            chosen["rotor_resistance"] = _ohms(task, lambda ohms: replace(bare, rotor_resistance=ohms), rotor=True)
        elif "resistance" not in given:
            chosen["resistance"] = _ohms(task, lambda ohms: replace(bare, resistance=ohms), rotor=False)
        said = [f"{name}: {amount(float(chosen[key].value))} ohm, {chosen[key].why}." for key, name in _NAMES if
                key not in given and float(chosen[key].value) > 0]  # fmt: skip
        pause = float(given.get("pause", chosen["pause"].value))
        left = residual_words(task.nominal, running_speed(task.nominal), pause).removeprefix("; ")
        said += [f"{left[:1].upper()}{left[1:]}."] if left else []
        return assemble(cls, given, chosen, " ".join([*said, "The zero-speed switch opens the reversing contactor."]))

    def running(self, drive: Drive) -> Stage | None:
        """On the line, with the full field."""
        del drive
        return RUNNING

    def stages(self, drive: Drive) -> Plan:
        """Pause, swapped phases, off."""
        names = self._sequence()
        return (
            Stage(name="pause", until=elapsed(self.pause), connected=False),
            replace(self.swapped(drive), until=speed_falls_to(self.switch_speed), contacts=names[2][1]),
            off(drive),
        )

    def swapped(self, drive: Drive) -> Stage:
        """The stage with swapped phases and whatever resistors there are, left on."""
        ratio = drive.motor.wound_ratio or 0.0
        return Stage(
            name="countercurrent",
            until=settled(),
            reversed=True,
            line_series=complex(self.resistance),
            rotor_external=self.rotor_resistance * ratio**2,
        )

    def failed(self, drive: Drive) -> tuple[str, Plan]:
        """The switch does not open: the motor runs up the other way."""
        pause, swapped, _ = self.stages(drive)
        return "the zero-speed switch does not open", (pause, replace(swapped, until=settled()))

    def wiring(self) -> Wiring:
        """Line and reversing contactor, interlocked; resistors behind the latter."""
        names = self._sequence()
        resistor = (Device(kind="resistor", label="R1", after="K2 reverse", branch="reverse"),)
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="overload", label="F1", after="K1 line"),
                Device(kind="motor", label="M1", after="F1"),
                Device(
                    kind="contactor",
                    label="K2 reverse",
                    after="Q1",
                    branch="reverse",
                    note="swaps L1 and L3; interlocked with K1 line",
                ),
                *(resistor if self.resistance > 0 else ()),
                *(ring_devices() if self.rotor_resistance > 0 else ()),
            ),
            stages=tuple(name for name, _ in names),
            closed=tuple(contacts for _, contacts in names),
            notes=(
                "K1 line and K2 reverse are interlocked, electrically and mechanically.",
                "The zero-speed switch on the shaft holds K2 reverse only while the shaft turns forward.",
            ),
        )

    def parts(self, drive: Drive, run: RunUp) -> tuple[Setting, ...]:
        """The reversing contactor's current, and the heat of the resistors in one stop."""
        del drive
        current = float(run.line_current.max())
        rows = [
            part("contactor_current", "reversing contactor", current, "A", "rms it makes and breaks, steady curve"),
        ]
        heat = run.energy.get("starter and series impedances") + run.energy.get("rotor resistors")
        if heat > 1.0:
            rows.append(part("resistor_heat", "resistor heat", heat, "J", "all three phases, one stop"))
        return tuple(rows)

    def _sequence(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Stages and their closed contacts, running first."""
        rings = ("K3 rings",) if self.rotor_resistance > 0 else ()
        return (
            ("running", ("K1 line", *rings)),
            ("pause", ()),
            ("countercurrent", ("K2 reverse",)),
            ("off", ()),
        )


_NAMES = (("resistance", "Line resistor"), ("rotor_resistance", "Rotor resistor"))


def _check(task: StopTask, given: Given) -> None:
    """Raises InputError for settings that cannot stand with this motor."""
    refuse_for_a_cage("plugging", task.nominal, given)
    speed = float(given.get("switch_speed", 0.0))
    top = running_speed(task.nominal)
    if speed >= top:
        raise InputError.of(
            f"{SECTION}.plugging.switch_speed",
            f"{speed:.4g} rad/s",
            f"the motor runs no faster than {top:.4g} rad/s, so the switch is open from the first",
            "choose a speed near rest",
        )


def _ohms(task: StopTask, made: Callable[[float], Plugging], *, rotor: bool) -> Choice:
    """The least resistance that keeps the current limit over the whole stop, both cases."""
    rating = task.nominal.motor.rating
    agreed = task.limits.line_current.value
    limit = WOUND_LIMIT * rating.current if rotor and agreed is None else agreed
    if limit is None:
        return computed(0.0, "no current limit asks for a resistor")
    target: float = WITHIN * limit

    def kept(ohms: float) -> bool:
        return all(_greatest(made(ohms), drive) <= target for drive in (task.nominal, task.worst))

    if kept(0.0):
        return computed(0.0, f"{amount(limit)} A is kept without")
    # A resistor on the rings is seen from the stator times the square of the ratio.
    ratio = task.nominal.motor.wound_ratio or 1.0
    most = 50 * rating.phase_voltage / rating.current / (ratio**2 if rotor else 1.0)
    source = "the limit" if agreed is not None else f"{WOUND_LIMIT:g} times rated, common practice"
    if not kept(most):
        return computed(0.0, f"no resistor keeps {amount(limit)} A ({source}), so none is put in")
    ohms = bisect(kept, 0.0, most)
    return computed(ohms, f"the least that keeps {amount(limit)} A ({source}) over the whole stop, worst case")


def _greatest(way: Plugging, drive: Drive) -> float:
    """Greatest line current while plugging, on the steady curve. [A]"""
    speeds = np.linspace(0.0, running_speed(drive), 41)
    return float(curves(way.swapped(drive), drive, speeds).line_current.max())

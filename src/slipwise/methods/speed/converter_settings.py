"""Settings that every way behind an inverter shares, how they are chosen, and what must be bought."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Annotated

from slipwise.methods.settings import Choice, assumed, computed
from slipwise.methods.speed.converter_chain import Converter
from slipwise.methods.speed.drive_class import class_of_drive
from slipwise.methods.speed.inverter_point import Arrangement, breakaway_current, choke_millihenry, operate, outline
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Dial
from slipwise.model.converter.dc_link import Choke
from slipwise.model.converter.harmonics import HARMONIC_NOTE
from slipwise.model.converter.inverter import VALVE_NOTE, Modulation
from slipwise.model.machine.motor import Motor
from slipwise.quantity.provenance import Origin
from slipwise.results.speed import DutyPoint, Part
from slipwise.results.study import Setting
from slipwise.results.wiring import Device, Wiring

# Usual choices of the trade; common practice, no source.
CARRIER_SMALL, CARRIER_LARGE, LARGE = 4000.0, 2500.0, 90e3
CHOKE_SIZE, LOW_CHOKE, HIGH_CHOKE = 0.04, 0.02, 0.06
RESERVE, LOW_RESERVE, HIGH_RESERVE = 1.3, 1.2, 1.6
IN_HAND = 1.03  # for ripple current
_BEARABLE = 1.25  # winding heat beyond which a point counts as not to be served
CHOKES = tuple(c.value for c in Choke)
MODULATIONS = tuple(m.value for m in Modulation)


@dataclass(frozen=True, slots=True, kw_only=True)
class ConverterSettings:
    """The converter's own dials."""

    converter_current: Annotated[
        float,
        Dial(
            title="converter current",
            unit="A",
            example="180 A",
            doc="Rated output current, for good.",
            low=0.01,
            high=1e5,
        ),
    ]
    switching_frequency: Annotated[
        float,
        Dial(
            title="switching frequency",
            unit="Hz",
            example="4 kHz",
            doc="Of each leg of the inverter.",
            low=200.0,
            high=5e4,
        ),
    ]
    modulation: Annotated[str, Dial(title="modulation", unit="", doc="How the pulses are made.", choices=MODULATIONS)]
    choke: Annotated[str, Dial(title="choke", unit="", doc="None, in the line or in the link.", choices=CHOKES)]
    choke_size: Annotated[
        float,
        Dial(
            title="choke size",
            unit="pu",
            example="4 %",
            doc="Reactance at line frequency, of the converter's U2/S.",
            low=0.0,
            high=0.3,
        ),
    ]
    breakdown_reserve: Annotated[
        float,
        Dial(
            title="breakdown reserve",
            unit="pu",
            example="1.3",
            doc="Breakdown torque over load torque.",
            low=1.0,
            high=4.0,
        ),
    ]

    def converter(self, task: SpeedTask, voltage: float) -> Converter:
        """The converter at the drive's terminals, rated for `voltage` between its output lines. [V]"""
        return Converter.on(
            task.drive,
            voltage=voltage,
            current=self.converter_current,
            modulation=self.modulation,
            switching_frequency=self.switching_frequency,
            choke=self.choke,
            choke_size=self.choke_size,
        )


def usual(power: float) -> dict[str, Choice]:
    """The usual converter for a motor of a rated power (W)."""
    carrier = CARRIER_LARGE if power >= LARGE else CARRIER_SMALL
    return {
        "switching_frequency": assumed(
            carrier, "usual for the size, at full output current (common practice, no source)", 2000.0, 8000.0
        ),
        "modulation": assumed(Modulation.SPACE_VECTOR.value, "usual today (common practice, no source)"),
        "choke": assumed(Choke.LINK.value, "usual today (common practice, no source)"),
        "choke_size": assumed(CHOKE_SIZE, "usual (common practice, no source)", LOW_CHOKE, HIGH_CHOKE),
        "breakdown_reserve": assumed(
            RESERVE, "kept besides the tolerance of a tenth (common practice, no source)", LOW_RESERVE, HIGH_RESERVE
        ),
    }


def needed_current(arranged: Arrangement, task: SpeedTask, *, starts: bool = True) -> Choice:
    """Converter current: the greatest that the duty asks for without over-heating, the breakaway over the short-time
    factor when it `starts` the load too, or rated."""
    rated, top = arranged.feed.motor.rating.current, arranged.linked_top
    running = ((outline(arranged, task, duty, top), duty.name) for duty in task.duty)
    bearable = [(seen.current, name) for seen, name in running if seen.met.reached and seen.heat <= _BEARABLE]
    greatest, name = max(bearable, default=(0.0, ""))
    breaking = breakaway_current(arranged, task) / task.overload if starts else 0.0
    if breaking > max(greatest, rated):
        why = f"breakaway at standstill takes {amount(breaking * task.overload)} A, {task.overload:g} times for a short time"
        return computed(breaking, why)
    if greatest * IN_HAND > rated:
        return computed(
            greatest * IN_HAND, f"greatest current of the duty, at {name}, with {percent(IN_HAND - 1)} in hand"
        )
    return computed(rated, "rated current of the motor as connected; the duty and the breakaway take no more")


def demands(task: SpeedTask, motor: Motor) -> tuple[DutyPoint, ...]:
    """The duty, or rated load when there is none."""
    rating = motor.rating
    return task.duty or (DutyPoint(name="rated", speed=rating.speed, torque=rating.torque, hours=0.0),)


def bought(arranged: Arrangement, task: SpeedTask) -> tuple[Setting, ...]:
    """Converter, choke and brake that the duty asks for, and the loss class the converter would have."""
    converter = arranged.converter
    points = [operate(arranged, task, duty) for duty in demands(task, arranged.feed.motor)]
    line = max(p.line_current for p in points)
    out = max(sqrt(3) * _voltage(p.settings) * p.motor_current for p in points)
    brake = max(p.loss(Part.EXTERNAL) for p in points)
    loss = class_of_drive(arranged)
    rows = [
        ("converter_current", "converter output current", converter.current, "A", "for good"),
        ("converter_power", "converter rating", converter.line.rating, "VA", "rated voltage and current of the output"),
        (
            "converter_duty",
            "greatest output of the duty",
            out,
            "VA",
            "fundamental voltage and rms current, at one point",
        ),
        ("line_current", "line current", line, "A", "greatest of the duty, with harmonics"),
        (
            "line_power",
            "apparent power from the line",
            sqrt(3) * converter.line.emf * line,
            "VA",
            "greatest of the duty",
        ),
    ]
    if converter.line.choke is not Choke.NONE:
        rows.append(
            (
                "choke",
                f"choke in the {converter.line.choke.value}",
                1e-3 * choke_millihenry(converter),
                "H",
                "per phase or single",
            )
        )
    if brake > 1e-6:
        rows.append(("brake", "braking resistor", brake, "W", "while the load drives"))
    made = [
        Setting(key=key, title=title, value=value, unit=unit, origin=Origin.DERIVED.value, why=why)
        for key, title, value, unit, why in rows
    ]
    return (*made, *loss)


def _voltage(settings: tuple[Setting, ...]) -> float:
    return next((s.value for s in settings if s.key == "voltage" and s.value is not None), 0.0)


def converter_wiring(choke: str, delta: bool = False) -> Wiring:
    """Breaker, contactor, choke where it stands in the line, inverter, motor."""
    in_line = choke == Choke.LINE.value
    before = (Device(kind="reactor", label="L1", after="K1 line"),) if in_line else ()
    notes = ["No capacitors between U1 and the motor. The dc link stays charged after Q1 is opened."]
    notes += ["The choke of the link is inside U1."] if choke == Choke.LINK.value else []
    notes += ["Winding in delta at the motor's terminals."] if delta else []
    return Wiring(
        devices=(
            Device(kind="breaker", label="Q1", after=""),
            Device(kind="contactor", label="K1 line", after="Q1"),
            *before,
            Device(kind="inverter", label="U1", after="L1" if in_line else "K1 line"),
            Device(kind="motor", label="M1", after="U1"),
        ),
        stages=("running",),
        closed=(("K1 line",),),
        notes=tuple(notes),
    )


LOSS_NOTE = f"{VALVE_NOTE}; diodes, choke and control by typical figures as well; {HARMONIC_NOTE}"

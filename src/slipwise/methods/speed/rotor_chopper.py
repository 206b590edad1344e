"""Rotor chopper: a diode bridge on the slip rings, a choke, one resistor, and a switch that shorts it part of the time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Given, assemble, assumed, checked, computed, number
from slipwise.methods.speed import rotor_bridged as rb
from slipwise.methods.speed import rotor_reach as reach
from slipwise.methods.speed.rotor_bridged import Bridged, LinkLine
from slipwise.methods.speed.rotor_side import (
    NEXT_TO_NOTHING,
    REACH,
    Answer,
    Outside,
    Rings,
    put_together,
    rest_of_line,
    rings,
    rpm,
    setting,
)
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.way import Designed, Dial
from slipwise.model.converter.rotor_bridge import chopper_ripple, six_pulse_inductance
from slipwise.results.speed import DutyPoint, Envelope, Family, Loss, OperatingPoint, Part
from slipwise.results.study import Setting
from slipwise.results.wiring import Device, Wiring

_RIPPLE = 0.2  # peak to peak, of the greatest link current
_FREQUENCY, _DIODE, _SWITCH, _CHOKE = 500.0, 1.2, 2.0, 0.01
_HAIR = 1e-4  # of duty: what the search leaves of the very demand the resistor was designed for
_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class RotorChopper:
    """A resistor behind a diode bridge, shorted by a chopper for the share `duty` of each of its periods.

    Its setting at a demand is the duty: 0 is the whole resistor, 1 a shorted link. To the rotor the resistor is worth
    R (1 - duty) / 2 per phase when the link current is smooth; the bridge's commutation and its harmonics are on top.
    """

    key: ClassVar[str] = "rotor_chopper"
    title: ClassVar[str] = "Rotor chopper"
    also: ClassVar[tuple[str, ...]] = ("chopper", "chopped rotor resistance", "pulsed resistance")
    summary: ClassVar[str] = (
        "A diode bridge on the slip rings feeds one resistor, which a chopper shorts for part of the time: rotor resistance "
        "without steps, set quickly and from far away. The slip power is lost as with a plain bank, and the bridge adds "
        "harmonics to the rotor."
    )

    resistance: Annotated[
        float, Dial(title="resistor", unit="ohm", example="2.5 ohm", doc="In the link, behind the bridge.", low=1e-6)
    ]
    inductance: Annotated[float, Dial(title="choke", unit="H", example="5 mH", doc="In the link.", low=1e-9)]
    chopper_frequency: Annotated[
        float,
        Dial(
            title="chopper frequency",
            unit="Hz",
            example="500 Hz",
            doc="Periods of the chopper a second.",
            low=20.0,
            high=20e3,
        ),
    ]
    choke_resistance: Annotated[
        float, Dial(title="choke resistance", unit="ohm", example="5 mohm", doc="Of the choke.", low=0.0)
    ]
    diode_drop: Annotated[
        float,
        Dial(title="diode drop", unit="V", example="1 V", doc="Of each of two diodes in series.", low=0.0, high=3.0),
    ]
    switch_drop: Annotated[
        float, Dial(title="switch drop", unit="V", example="2 V", doc="Of the chopper when on.", low=0.0, high=5.0)
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Given) -> Designed[Self]:
        """Resistor for the slowest demand at duty 0, choke for the ripple.

        Raises:
            InputError: no slip rings; a setting outside its dial.
        """
        checked(cls, given)
        seen = rings(task.drive, cls.key)
        ohms, current, name = cls._resistor(task, seen, given)
        value = number(given, "resistance") or ohms
        frequency = number(given, "chopper_frequency") or _FREQUENCY
        ripple = _RIPPLE * current
        natural = six_pulse_inductance(rb.open_line_voltage(seen, 1.0), seen.frequency, ripple)
        chopped = value * current / (4 * frequency * ripple)
        binds = "the bridge's own ripple" if natural > chopped else "the chopper at duty 1/2"
        choke = _CHOKE * value
        chosen = {
            "resistance": computed(
                ohms, f'duty 0 at the demand "{name}"' if name else "rated torque at half speed, duty 0"
            ),
            "inductance": computed(
                max(natural, chopped), f"ripple of {_RIPPLE:.0%} of {current:.4g} A; {binds} decides"
            ),
            "chopper_frequency": assumed(_FREQUENCY, _PRACTICE, 200.0, 2000.0),
            "choke_resistance": assumed(choke, f"1 % of the resistor; {_PRACTICE}", choke / 2, choke * 2),
            "diode_drop": assumed(_DIODE, _PRACTICE, 0.8, 1.6),
            "switch_drop": assumed(_SWITCH, _PRACTICE, 1.2, 3.0),
        }
        words = f"Resistor for the slowest demand with the chopper open; the line 1 - s bounds the efficiency. Choke: {binds}."
        return assemble(cls, given, chosen, words)

    @classmethod
    def _resistor(cls, task: SpeedTask, seen: Rings, given: Given) -> tuple[float, float, str]:
        """Ohms for the slowest demand [ohm], greatest link current over the duty [A], and that demand's name."""
        drop, found, most = number(given, "diode_drop"), (0.0, ""), 0.0
        for duty in task.duty:
            slip = float(seen.slip(duty.speed))
            current = rb.link_current_for(seen, slip, duty.torque) if slip > NEXT_TO_NOTHING else None
            if not current:
                continue
            volts = float(rb.bridged(seen, slip, current).link.voltage) - 2 * (_DIODE if drop is None else drop)
            found, most = max(found, (volts / current / (1 + _CHOKE), duty.name)), max(most, current)
        if found[0] > 0:
            return found[0], most, found[1]
        current = rb.rated_link_current(seen)
        half = rb.bridged(seen, 0.5, current)
        return float(half.link.voltage) / current, current, ""

    def line(self, duty: float) -> LinkLine:
        """The link at a duty of the chopper."""
        return LinkLine(
            back=2 * self.diode_drop + self.switch_drop * duty,
            resistance=self.choke_resistance + self.resistance * (1 - duty),
        )

    def duty_for(self, voltage: float, current: float) -> float:
        """Share of time the resistor must be shorted for the link to hold `voltage` at `current`; outside 0 to 1: it cannot."""
        whole = 2 * self.diode_drop + (self.choke_resistance + self.resistance) * current
        return (whole - voltage) / (self.resistance * current - self.switch_drop)

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """The demand at the duty it needs; where duty 0 or 1 does not do, what is reached."""
        seen = rings(task.drive, self.key)
        slip = float(seen.slip(duty.speed))
        current = rb.link_current_for(seen, slip, duty.torque) if slip > NEXT_TO_NOTHING else None
        if current is None:
            if reach.too_fast(seen, duty):
                return reach.shorted(task, duty, seen, (_dial(1.0),))
            most = rb.at_most(seen, slip)
            share = self.duty_for(float(most.link.voltage), float(most.link.current))
            return reach.beyond(task, duty, seen, most.inside, (_dial(share),), self._outside(seen, slip, most, share))
        state = rb.bridged(seen, slip, current)
        share = self.duty_for(float(state.link.voltage), current) if current > 0 else 0.0
        if share > 1:
            return reach.shorted(task, duty, seen, (_dial(1.0),))
        if share < -_HAIR:
            return self._slowest(task, duty, seen)
        return self._at(task, duty, seen, slip, state, max(share, 0.0))

    def _slowest(self, task: SpeedTask, duty: DutyPoint, seen: Rings) -> OperatingPoint:
        slip = rb.settles_near(seen, task, duty, self.line(0.0))
        if slip is None:
            most = rb.at_most(seen, float(seen.slip(duty.speed)))
            outside = self._outside(seen, float(seen.slip(duty.speed)), most, 0.0)
            return reach.beyond(task, duty, seen, most.inside, (_dial(0.0),), outside)
        current = float(rb.along(seen, np.array([slip]), (self.line(0.0),))[2][0, 0])
        words = f"with the chopper always open the resistor brings the motor down to {rpm((1 - slip) * seen.sync)} only"
        return self._at(task, duty, seen, slip, rb.bridged(seen, slip, current), 0.0, words=words)

    def _at(
        self,
        task: SpeedTask,
        duty: DutyPoint,
        seen: Rings,
        slip: float,
        state: Bridged,
        share: float,
        *,
        words: str = "",
    ) -> OperatingPoint:
        met = abs((1 - slip) * seen.sync - duty.speed) <= REACH * seen.sync
        current = float(state.link.current)
        ripple = float(chopper_ripple(self.resistance, share, current, self.inductance, self.chopper_frequency))
        notes = (
            (
                "The ripple is more than twice the link current: the current has gaps, and the smooth-link answer is rough.",
            )
            if ripple > 2 * current
            else ()
        )
        answer = Answer(
            feasible=met,
            reason="" if met else words,
            settings=(
                _dial(share),
                setting("link_current", "link current", current, "A", "mean"),
                setting("link_ripple", "link ripple", ripple, "A", "peak to peak, from the chopper"),
            ),
            stability=reach.stability(seen, task, duty, slip, rb.torque_at(seen, self.line(share))),
            notes=notes,
        )
        return put_together(task, duty, seen, state.inside, self._outside(seen, slip, state, share), answer)

    def _outside(self, seen: Rings, slip: float, state: Bridged, share: float) -> Outside:
        """Rectifier, link and resistor: together the whole link power, whatever the duty came out of."""
        current = float(state.link.current)
        rectifier = 2 * self.diode_drop * current
        link = self.choke_resistance * current**2 + self.switch_drop * min(max(share, 0.0), 1.0) * current
        harmonic, excess, listed = rb.motor_part(seen, slip, state)
        resistor = float(state.link.voltage) * current - rectifier - link
        losses = (
            harmonic,
            Loss(part=Part.RECTIFIER, power=rectifier),
            Loss(part=Part.LINK, power=link),
            Loss(part=Part.EXTERNAL, power=resistor),
        )
        return Outside(losses=losses, excess=excess, harmonics=listed, remaining=rest_of_line(seen, excess, listed))

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """Torque over speed for several duties of the chopper."""
        seen = rings(task.drive, self.key)
        slips = np.linspace(1.0, NEXT_TO_NOTHING, 241)
        rows = tuple((f"duty {d:.3g}", d, "pu", self.line(d)) for d in (0.0, 0.25, 0.5, 0.75, 0.9, 1.0))
        speed = (1 - slips) * seen.sync
        return (
            Family(
                key=self.key,
                title="Rotor chopper",
                parameter="duty of the chopper",
                curves=rb.curves(seen, slips, rows),
                load_speed=speed,
                load_torque=task.drive.load.torque(speed),
                bound="limit",
                note="duty 1 still has the bridge's commutation and drops; full speed by short-circuited rings",
            ),
        )

    def envelope(self, task: SpeedTask) -> Envelope | None:
        """Cooling at this speed, the rotor's harmonic heat included; short-time by the converter."""
        seen = rings(task.drive, self.key)
        return rb.envelope(task, seen, np.linspace(0.1, 1 - seen.motor.rating.slip, 37) * seen.sync)

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """Bridge, choke and resistor over the whole duty."""
        seen = rings(task.drive, self.key)
        points = [self.point(task, duty) for duty in task.duty]
        current = max((_link_current(p) for p in points), default=0.0)
        deepest = max((p.slip for p in points), default=0.0)
        heat = max((p.loss(Part.EXTERNAL) for p in points), default=0.0)
        volts = 1.35 * rb.open_line_voltage(seen, deepest)
        return (
            setting("resistor_power", "resistor", heat, "W", "greatest over the duty"),
            setting("link_current", "bridge, choke and chopper", current, "A", "greatest mean link current"),
            setting("link_voltage", "bridge and chopper", volts, "V", "greatest slip of the duty, rings open"),
            setting(
                "standstill_voltage",
                "bridge if the motor starts through it",
                1.35 * rb.open_line_voltage(seen, 1.0),
                "V",
                "standstill, rings open; a separate starting resistor avoids it",
            ),
        )

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """A graded rotor resistor; the chopper's own resistor may serve when bridge and chopper bear standstill voltage."""
        rings(task.drive, self.key)
        return ("rotor_resistor",)

    def wiring(self) -> Wiring:
        """Line contactor, motor, bridge, choke, chopper with its resistor, ring short."""
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="overload", label="F1", after="K1 line"),
                Device(kind="motor", label="M1", after="F1", note="slip rings"),
                Device(kind="rectifier", label="V1", after="M1", branch="rotor", note="diode bridge"),
                Device(kind="choke", label="L1", after="V1", branch="rotor", note=f"{1e3 * self.inductance:.3g} mH"),
                Device(kind="chopper", label="V2", after="L1", branch="rotor", note="shorts R1 for the duty"),
                Device(
                    kind="resistor",
                    label="R1",
                    after="L1",
                    branch="rotor",
                    note=f"{self.resistance:.3g} ohm, direct current",
                ),
                Device(kind="contactor", label="K2 rings", after="M1", branch="rotor", note="short-circuits the rings"),
            ),
            stages=("speed set by the chopper", "full speed"),
            closed=(("K1 line",), ("K1 line", "K2 rings")),
            motor_leads=6,
            notes=("The choke's current must have a path when the chopper opens: the resistor is that path.",),
        )


def _dial(share: float) -> Setting:
    return setting("duty", "duty of the chopper", share, "pu", "set for this demand")


def _link_current(point: OperatingPoint) -> float:
    return next((s.value or 0.0 for s in point.settings if s.key == "link_current"), 0.0)

"""Slip-energy recovery: diode bridge on the rings, dc link, line-commutated inverter, transformer back to the line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, degrees, pi, radians, sqrt
from typing import Annotated, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Given, assemble, assumed, checked, computed, number
from slipwise.methods.speed import recovery_set as rs
from slipwise.methods.speed import rotor_bridged as rb
from slipwise.methods.speed import rotor_reach as reach
from slipwise.methods.speed.recovery_set import RecoverySet
from slipwise.methods.speed.rotor_side import (
    NEXT_TO_NOTHING,
    REACH,
    Answer,
    Rings,
    put_together,
    rings,
    rpm,
    setting,
)
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.way import Designed, Dial
from slipwise.model.converter.recovery import apparent_power, inverter, inverter_voltage_for, no_load_slip
from slipwise.results.speed import DutyPoint, Envelope, Family, OperatingPoint
from slipwise.results.study import Setting
from slipwise.results.wiring import Device, Wiring

_FIRING_MOST = 150.0  # degrees
_RECTIFIES = (
    "below 90 degrees the line converter feeds the drops of the link instead of taking power from it: at so little slip "
    "the rings are usually short-circuited"
)
_FIRING_LEAST = 60.0  # degrees: a little below 90 the inverter feeds the drops of the link
_MARGIN_LEAST = 15.0  # degrees for a valve to recover: common practice, no source
_SLIP_MARGIN = 1.1  # of the range, for dips of the line (common practice, no source)
_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class SlipRecovery:
    """The slip power goes back to the line; the firing angle sets the link voltage and with it the no-load slip.

    Its setting at a demand is the firing angle. Below the speed range nothing holds: a starting resistor brings the motor
    into it. Only sub-synchronous, only motoring.
    """

    key: ClassVar[str] = "slip_recovery"
    title: ClassVar[str] = "Slip-energy recovery"
    also: ClassVar[tuple[str, ...]] = (
        "Kramer",
        "static Kramer",
        "subsynchronous cascade",
        "converter cascade",
        "slip-energy recovery",
    )
    summary: ClassVar[str] = (
        "The slip power of a slip-ring motor is rectified and fed back to the line by a line-commutated inverter through a "
        "transformer. Efficient, and small when the speed range is small; it draws much reactive power, pulls out earlier "
        "than the bare motor, and still needs a starting resistor."
    )

    transformer_voltage: Annotated[
        float,
        Dial(
            title="transformer, inverter side",
            unit="V",
            example="300 V",
            doc="Line voltage at rated supply voltage.",
            low=1.0,
        ),
    ]
    transformer_power: Annotated[
        float,
        Dial(
            title="transformer", unit="VA", example="60 kVA", doc="Rating, the base of the two values below.", low=1.0
        ),
    ]
    short_circuit_voltage: Annotated[
        float,
        Dial(title="short-circuit voltage", unit="pu", example="5 %", doc="Of the transformer.", low=0.001, high=0.3),
    ]
    winding_loss: Annotated[
        float,
        Dial(
            title="winding loss", unit="pu", example="1.5 %", doc="Of the transformer at its rating.", low=0.0, high=0.1
        ),
    ]
    firing_most: Annotated[
        float,
        Dial(
            title="greatest firing angle",
            unit="rad",
            example="150 deg",
            doc="From natural commutation; 150 deg.",
            low=1.6,
            high=3.1,
        ),
    ]
    link_resistance: Annotated[
        float, Dial(title="choke resistance", unit="ohm", example="5 mohm", doc="Of the link's choke.", low=0.0)
    ]
    diode_drop: Annotated[
        float, Dial(title="diode drop", unit="V", example="1 V", doc="Of each of two in series.", low=0.0, high=3.0)
    ]
    valve_drop: Annotated[
        float,
        Dial(title="thyristor drop", unit="V", example="1.5 V", doc="Of each of two in series.", low=0.0, high=3.0),
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Given) -> Designed[Self]:
        """Transformer voltage from the speed range, its rating from greatest voltage times greatest current.

        Raises:
            InputError: no slip rings; a setting outside its dial.
        """
        checked(cls, given)
        seen = rings(task.drive, cls.key)
        deepest, current = _range(task, seen)
        firing = number(given, "firing_most") or radians(_FIRING_MOST)
        wanted = inverter_voltage_for(_SLIP_MARGIN * deepest, firing, rb.open_line_voltage(seen, 1.0))
        volts = number(given, "transformer_voltage") or wanted
        power = apparent_power(volts, current)
        choke = 0.01 * 1.35 * volts / current
        why = f"greatest firing angle reaches a no-load slip of {_SLIP_MARGIN * deepest:.3g}, one tenth beyond the duty"
        chosen = {
            "transformer_voltage": computed(wanted, why),
            "transformer_power": computed(
                power, f"{volts:.4g} V and {current:.4g} A in the link, each at its greatest"
            ),
            "short_circuit_voltage": assumed(0.05, _PRACTICE, 0.04, 0.08),
            "winding_loss": assumed(0.012, _PRACTICE, 0.008, 0.02),
            "firing_most": assumed(firing, f"room for overlap and recovery of the valves; {_PRACTICE}", 2.5, 2.9),
            "link_resistance": assumed(choke, f"1 % of the link's voltage; {_PRACTICE}", choke / 2, choke * 2),
            "diode_drop": assumed(1.2, _PRACTICE, 0.8, 1.6),
            "valve_drop": assumed(1.5, _PRACTICE, 1.0, 2.0),
        }
        ratio = task.drive.motor.rating.voltage / volts
        slip_power = max((float(seen.slip(d.speed)) * d.torque * seen.sync for d in task.duty), default=0.0)
        words = (
            f"Transformer {ratio:.3g} to 1: {why}. Rated for {power / 1e3:.4g} kVA against a greatest slip power of "
            f"{slip_power / 1e3:.4g} kW."
        )
        return assemble(cls, given, chosen, words)

    @property
    def equipment(self) -> RecoverySet:
        """The set as the physics sees it."""
        base = self.transformer_voltage**2 / self.transformer_power
        return RecoverySet(
            voltage=self.transformer_voltage,
            power=self.transformer_power,
            reactance=base * sqrt(max(self.short_circuit_voltage**2 - self.winding_loss**2, 0.0)),
            resistance=base * self.winding_loss,
            choke=self.link_resistance,
            diode_drop=self.diode_drop,
            valve_drop=self.valve_drop,
        )

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """The demand at the firing angle it needs; beyond the range, what is reached."""
        seen = rings(task.drive, self.key)
        slip = float(seen.slip(duty.speed))
        if slip <= NEXT_TO_NOTHING:
            return reach.shorted(task, duty, seen, (_dial(pi / 2),))
        run = rs.run_at(seen, self.equipment, slip, duty.torque)
        if run is None:
            if reach.too_fast(seen, duty):
                return reach.shorted(task, duty, seen, (_dial(pi / 2),))
            most = rb.at_most(seen, slip)
            found = rs.carried(seen, self.equipment, slip, most)
            return reach.beyond(
                task, duty, found.seen, found.state.inside, (_dial(found.firing),), rs.outside(self.equipment, found)
            )
        if run.firing < radians(_FIRING_LEAST):
            return reach.shorted(task, duty, seen, (_dial(pi / 2),))
        if run.firing > self.firing_most:
            return self._slowest(task, duty, seen)
        return self._at(task, duty, run, "")

    def _slowest(self, task: SpeedTask, duty: DutyPoint, seen: Rings) -> OperatingPoint:
        """What the greatest firing angle reaches on the load through the demand."""
        line = self.equipment.line(self.firing_most, seen)
        slip = rb.settles_near(seen, task, duty, line)
        if slip is None:
            most = rb.at_most(seen, float(seen.slip(duty.speed)))
            found = rs.carried(seen, self.equipment, float(seen.slip(duty.speed)), most)
            held = replace(found, firing=self.firing_most)
            outside = rs.outside(self.equipment, held)
            return reach.beyond(task, duty, held.seen, held.state.inside, (_dial(self.firing_most),), outside)
        current = float(rb.along(seen, np.array([slip]), (line,))[2][0, 0])
        run = rs.carried(seen, self.equipment, slip, rb.bridged(seen, slip, current))
        words = (
            f"the greatest firing angle of {degrees(self.firing_most):.4g} degrees brings the motor down to "
            f"{rpm((1 - slip) * seen.sync)} only; a higher transformer voltage would reach further"
        )
        return self._at(task, duty, run, words)

    def _at(self, task: SpeedTask, duty: DutyPoint, run: rs.Run, words: str) -> OperatingPoint:
        seen, slip, equipment = run.seen, run.slip, self.equipment
        met = abs((1 - slip) * seen.sync - duty.speed) <= REACH * seen.sync
        current = float(run.state.link.current)
        margin = float(inverter(current, run.inverter_voltage, run.firing, equipment.reactance).margin)
        commutates = margin >= radians(_MARGIN_LEAST)
        reason = "" if met else words
        if not commutates:
            reason = f"{degrees(margin):.3g} degrees remain for the valves to recover; {_MARGIN_LEAST:.0f} are needed"
        line = equipment.line(run.firing, seen, run.inverter_voltage)
        answer = Answer(
            feasible=met and commutates,
            reason=reason,
            settings=(
                _dial(run.firing),
                setting("link_current", "link current", current, "A", "mean"),
                setting(
                    "link_voltage", "link voltage", float(run.state.link.voltage), "V", "mean, at the diode bridge"
                ),
            ),
            stability=reach.stability(seen, task, duty, slip, rb.torque_at(seen, line)),
        )
        found = put_together(task, duty, seen, run.state.inside, rs.outside(equipment, run), answer)
        return replace(found, notes=(*found.notes, _RECTIFIES)) if run.firing < pi / 2 else found

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """Torque over speed for several firing angles; each starts from its no-load slip."""
        seen = rings(task.drive, self.key)
        slips = np.linspace(1.0, NEXT_TO_NOTHING, 241)
        angles = np.linspace(pi / 2, self.firing_most, 6)
        rows = tuple((_named(a), a, "rad", self.equipment.line(float(a), seen)) for a in angles)
        speed = (1 - slips) * seen.sync
        ring = rb.open_line_voltage(seen, 1.0)
        slowest = float(no_load_slip(self.firing_most, ring, self.transformer_voltage))
        return (
            Family(
                key=self.key,
                title="Slip-energy recovery",
                parameter="firing angle of the inverter",
                curves=rb.curves(seen, slips, rows),
                load_speed=speed,
                load_torque=task.drive.load.torque(speed),
                bound="reference",
                note=f"no-load slip 0 to {slowest:.3g}; below that range only the starting resistor carries the motor",
            ),
        )

    def envelope(self, task: SpeedTask) -> Envelope | None:
        """Over the speed range of the set only."""
        seen = rings(task.drive, self.key)
        deepest = float(no_load_slip(self.firing_most, rb.open_line_voltage(seen, 1.0), self.transformer_voltage))
        return rb.envelope(task, seen, np.linspace(max(1 - deepest, 0.05), 1 - seen.motor.rating.slip, 37) * seen.sync)

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """Converter and transformer by greatest voltage times greatest current; the starting resistor still needed."""
        seen = rings(task.drive, self.key)
        points = [self.point(task, duty) for duty in task.duty]
        current = max((s.value or 0.0 for p in points for s in p.settings if s.key == "link_current"), default=0.0)
        power = apparent_power(self.transformer_voltage, current)
        deepest = max((p.slip for p in points), default=0.0)
        start = seen.own_resistance / seen.ratio**2 * (1 / max(seen.motor.rating.slip, 1e-3) - 1)
        pull_out = rs.pull_out(seen)
        returned = max((p.returned for p in points), default=0.0)
        volts = 1.35 * rb.open_line_voltage(seen, deepest)
        greatest = "greatest voltage times greatest current"
        return (
            setting("inverter_power", "inverter", power, "VA", greatest),
            setting("transformer_power", "transformer", power, "VA", greatest),
            setting(
                "transformer_voltage", "transformer, inverter side", self.transformer_voltage, "V", "from the range"
            ),
            setting("rectifier_power", "diode bridge", volts * current, "W", greatest),
            setting("returned_power", "power returned", returned, "W", "greatest over the duty, for comparison"),
            setting("pull_out", "pull-out torque behind the bridge", pull_out, "N m", "at slip 1/4"),
            setting(
                "starting_resistor", "starting resistor", start, "ohm", "per phase at the rings, rated torque at rest"
            ),
        )

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """A rotor resistor up to the speed range, then over to the set."""
        rings(task.drive, self.key)
        return ("rotor_resistor",)

    def wiring(self) -> Wiring:
        """Motor with starting resistor; bridge, choke, thyristor bridge, transformer back to the line."""
        side = f"{self.transformer_voltage:.4g} V, {self.transformer_power / 1e3:.4g} kVA"
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="overload", label="F1", after="K1 line"),
                Device(kind="motor", label="M1", after="F1", note="slip rings"),
                Device(kind="contactor", label="K2 start", after="M1", branch="rotor", note="starting resistor"),
                Device(kind="resistor", label="R1", after="K2 start", branch="rotor", note="starting only"),
                Device(kind="contactor", label="K3 set", after="M1", branch="recovery"),
                Device(kind="rectifier", label="V1", after="K3 set", branch="recovery", note="diode bridge"),
                Device(kind="choke", label="L1", after="V1", branch="recovery"),
                Device(kind="thyristor bridge", label="V2", after="L1", branch="recovery", note="line-commutated"),
                Device(kind="transformer", label="T1", after="V2", branch="recovery", note=side),
                Device(kind="contactor", label="K4 rings", after="M1", branch="rotor", note="short-circuits the rings"),
            ),
            stages=("start", "speed set by the inverter", "full speed"),
            closed=(("K1 line", "K2 start"), ("K1 line", "K3 set"), ("K1 line", "K4 rings")),
            motor_leads=6,
            notes=(
                "The transformer's line side joins the motor's busbar.",
                "A dip of the line can make the inverter lose commutation: fast fuses or a fast switch in the link.",
            ),
        )


def _range(task: SpeedTask, seen: Rings) -> tuple[float, float]:
    """Deepest slip and greatest link current of the demands that lie below rated speed. [1], [A]"""
    slips = [s for d in task.duty if 0 < (s := float(seen.slip(d.speed))) < 1]
    currents = [
        i
        for d in task.duty
        if NEXT_TO_NOTHING < (s := float(seen.slip(d.speed)))
        and (i := rb.link_current_for(seen, s, d.torque)) is not None
    ]
    deepest = max(slips, default=0.3)
    return max(deepest, 0.02), max(currents, default=0.0) or rb.rated_link_current(seen)


def _dial(firing: float) -> Setting:
    return setting("firing", "firing angle", firing, "rad", f"{degrees(firing):.4g} degrees, cosine {cos(firing):.3f}")


def _named(firing: float) -> str:
    return f"{degrees(firing):.3g} deg"

"""Rotor resistance: a three-phase bank on the slip rings, stepless or in steps, equal or unequal in the three phases."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Annotated, Any, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Given, assemble, assumed, checked, computed, number
from slipwise.methods.speed import rotor_reach as reach
from slipwise.methods.speed.rotor_side import (
    NEXT_TO_NOTHING,
    REACH,
    Answer,
    Inside,
    Outside,
    Rings,
    first_crossing,
    inside,
    put_together,
    rings,
    rpm,
    setting,
    shaft_torque,
)
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.way import Designed, Dial
from slipwise.model.machine.unequal import UnequalRotor, current_unbalance, dip_slip, unequal_rotor
from slipwise.results.speed import DutyPoint, Envelope, Family, FamilyCurve, Harmonic, Loss, OperatingPoint, Part
from slipwise.results.study import Setting
from slipwise.results.wiring import Device, Wiring

_MARGIN = 1.05  # of the bank over the most that a demand needs: grading tolerance (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class RotorResistance:
    """Resistors between the slip rings and their star point; the speed falls until slip over resistance is as before.

    Ohms are per phase at the rings, as built; phase a carries `resistance`, phases b and c their factors of it.
    """

    key: ClassVar[str] = "rotor_resistance"
    title: ClassVar[str] = "Rotor resistance"
    also: ClassVar[tuple[str, ...]] = (
        "rotor resistor",
        "secondary resistance",
        "rotor rheostat",
        "slip-ring resistance",
    )
    summary: ClassVar[str] = (
        "Resistors on the slip rings lower the speed of a loaded slip-ring motor; torque at low speed is plentiful and the "
        "heat falls outside the motor. The share of the air-gap power equal to slip is lost, so that it suits short or small "
        "reductions; at light load the speed hardly falls."
    )

    resistance: Annotated[
        float,
        Dial(
            title="bank resistance",
            unit="ohm",
            example="1.2 ohm",
            doc="Largest ohms per phase at the rings, star.",
            low=0.0,
        ),
    ]
    steps: Annotated[
        float,
        Dial(
            title="steps",
            unit="",
            example="5",
            doc="Sections of the bank in equal ratios; 0 for a stepless one.",
            low=0.0,
            high=40.0,
        ),
    ]
    factor_b: Annotated[
        float,
        Dial(
            title="phase b",
            unit="pu",
            example="1",
            doc="Resistance of ring b over that of ring a.",
            low=0.0,
            high=100.0,
        ),
    ]
    factor_c: Annotated[
        float,
        Dial(
            title="phase c",
            unit="pu",
            example="1",
            doc="Resistance of ring c over that of ring a.",
            low=0.0,
            high=100.0,
        ),
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Given) -> Designed[Self]:
        """Bank for the slowest demand with a little in hand; stepless and equal unless told otherwise.

        Raises:
            InputError: no slip rings; a setting outside its dial.
        """
        checked(cls, given)
        seen = rings(task.drive, cls.key)
        factors = (number(given, "factor_b") or 1.0, number(given, "factor_c") or 1.0)
        free = cls(resistance=1e6 * seen.own_resistance, steps=0.0, factor_b=factors[0], factor_c=factors[1])
        needed = [(free.needed(seen, duty), duty) for duty in task.duty]
        most, slowest = max(((ohms or 0.0, duty.name) for ohms, duty in needed), default=(0.0, ""))
        half = seen.own_resistance / seen.ratio**2 * (0.5 / max(seen.motor.rating.slip, 1e-3) - 1)
        value = _MARGIN * most if most > 0 else half
        why = (
            f'the demand "{slowest}" needs {most:.4g} ohm; {_MARGIN - 1:.0%} in hand'
            if most > 0
            else "no demand needs resistance; enough for rated torque at half speed"
        )
        chosen = {
            "resistance": computed(value, why),
            "steps": assumed(0.0, "stepless, as with a liquid rheostat; a bank of grids has 5 to 20 steps", 0.0, 20.0),
            "factor_b": assumed(1.0, "equal phases", 0.97, 1.03),
            "factor_c": assumed(1.0, "equal phases", 0.97, 1.03),
        }
        return assemble(cls, given, chosen, f"Bank: {why}. The line 1 - s bounds the efficiency at every setting.")

    def needed(self, seen: Rings, duty: DutyPoint) -> float | None:
        """Ohms per phase at the rings (phase a) that bring the demand's torque at its speed; None when none do. [ohm]

        Among two answers the larger is taken, which is the stable one.
        """
        slip = float(seen.slip(duty.speed))
        if slip <= 0:
            return None
        mean = (1 + self.factor_b + self.factor_c) / 3
        own = seen.own_resistance

        def gap(conductance: Any) -> Any:
            ohms = np.maximum((1 / conductance - own) / mean, 0.0) / seen.ratio**2
            return self.torque(seen, slip, ohms) - duty.torque

        found = first_crossing(gap, 1e-7 / own, 1 / own)
        return None if found is None else (1 / found - own) / mean / seen.ratio**2

    def torque(self, seen: Rings, slip: Any, ohms: Any) -> Any:
        """Shaft torque with `ohms` per phase (a) at the rings; slip and ohms broadcast. [N m]"""
        return shaft_torque(seen, self._state(seen, slip, ohms)[0])

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """The demand with the resistance it needs, or the nearest that the bank gives."""
        seen = rings(task.drive, self.key)
        ohms = self.needed(seen, duty)
        if ohms is None and reach.too_fast(seen, duty):
            return reach.shorted(task, duty, seen, (_dial(0.0),))
        if ohms is None:
            return self._too_heavy(task, duty, seen)
        chosen = self._nearest(seen, task, duty, ohms)
        if chosen == ohms:
            return self._at(task, duty, seen, float(seen.slip(duty.speed)), ohms, "")
        slip = reach.settles(seen, task, duty, lambda s: self.torque(seen, s, chosen))
        if slip is None:
            return self._too_heavy(task, duty, seen)
        reached = (1 - slip) * seen.sync
        words = f"{chosen:.4g} ohm is the nearest the bank gives to {ohms:.4g} ohm: runs at {rpm(reached)}"
        return self._at(task, duty, seen, slip, chosen, words)

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """Torque over speed for several banks, and for three unequal ones."""
        seen = rings(task.drive, self.key)
        slips = np.linspace(1.0, NEXT_TO_NOTHING, 241)
        largest = max(self.resistance, seen.own_resistance / seen.ratio**2)
        values = [0.0, *(largest * share for share in (0.1, 0.25, 0.5, 1.0))]
        equal = replace(self, factor_b=1.0, factor_c=1.0)
        curves = tuple(equal.curve(seen, slips, v, f"{v:.3g} ohm") for v in values)
        speed = (1 - slips) * seen.sync
        shape = {"load_speed": speed, "load_torque": task.drive.load.torque(speed), "bound": "limit"}
        return (
            Family(
                key=self.key, title="Rotor resistance", parameter="ohm per phase at the rings", curves=curves, **shape
            ),
            Family(
                key=f"{self.key}_unequal",
                title="Unequal rotor resistors",
                parameter="resistance of ring c over that of rings a and b",
                curves=_unequal_curves(self, seen, slips, 0.25 * largest),
                note=_dip_note(self, seen, 0.25 * largest),
                **shape,
            ),
        )

    def curve(self, seen: Rings, slips: Any, ohms: float, label: str, value: float | None = None) -> FamilyCurve:
        """One characteristic: shaft torque and stator current over speed."""
        state, _ = self._state(seen, slips, ohms)
        unit, shown = ("ohm", ohms) if value is None else ("pu", value)
        return FamilyCurve(
            label=label,
            value=shown,
            unit=unit,
            speed=(1 - slips) * seen.sync,
            torque=shaft_torque(seen, state),
            current=abs(state.stator),
        )

    def envelope(self, task: SpeedTask) -> Envelope | None:
        """At any speed the bank can be set for any torque up to pull-out: the cooling decides."""
        seen = rings(task.drive, self.key)
        speeds = np.linspace(0.1, 1 - seen.motor.rating.slip, 37) * seen.sync
        slips = seen.slip(speeds)[:, None]
        totals = slips / np.linspace(1e-4, 1.0, 97) * (abs(seen.source) + seen.reactance)
        ohms = np.maximum(totals - seen.own_resistance, 0.0) / seen.ratio**2
        equal = replace(self, factor_b=1.0, factor_c=1.0)
        state, _ = equal._state(seen, slips, ohms)
        return reach.envelope(task, speeds, shaft_torque(seen, state), state.copper, 0.0 * state.copper, seen.motor)

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """Ohms, heat and current of the bank over the whole duty."""
        seen = rings(task.drive, self.key)
        points = [self.point(task, duty) for duty in task.duty]
        heat = max((p.loss(Part.EXTERNAL) for p in points), default=0.0)
        ring = max((_ring_current(p) for p in points), default=0.0)
        why = "greatest over the duty"
        return (
            setting("bank_resistance", "bank, per phase", self.resistance, "ohm", "whole bank, star"),
            setting("bank_power", "bank, all phases", heat, "W", why),
            setting("ring_current", "current in a ring", ring, "A", why),
            setting("ring_voltage", "between open rings", sqrt(3) * seen.ring_voltage, "V", "line value at standstill"),
        )

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """The same bank starts the motor."""
        rings(task.drive, self.key)
        return ("rotor_resistor",)

    def wiring(self) -> Wiring:
        """Line contactor, motor, bank on the rings."""
        ohms = f"{self.resistance:.3g} ohm a phase, star"
        count = f", {self.steps:.0f} steps" if self.steps else ", stepless"
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="overload", label="F1", after="K1 line"),
                Device(kind="motor", label="M1", after="F1", note="slip rings"),
                Device(kind="resistor", label="R1", after="M1", branch="rotor", note=ohms + count),
                Device(kind="contactor", label="K2 rings", after="R1", branch="rotor", note="short-circuits the rings"),
            ),
            stages=("speed set by the bank", "full speed"),
            closed=(("K1 line",), ("K1 line", "K2 rings")),
            motor_leads=6,
            notes=("The bank is rated for continuous duty, not only for starting. Hot: guard and ventilate it.",),
        )

    def _state(self, seen: Rings, slip: Any, ohms: Any) -> tuple[Inside, UnequalRotor | None]:
        """The machine with this bank; the second is None when the phases are equal."""
        referred = ohms * seen.ratio**2
        if self.factor_b == self.factor_c == 1.0:
            return inside(seen, slip, seen.current(slip, referred)), None
        found = unequal_rotor(
            seen.circuit,
            slip,
            seen.emf,
            seen.frequency,
            seen.sync,
            resistors=(referred, referred * self.factor_b, referred * self.factor_c),
            supply=seen.supply,
        )
        state = inside(seen, slip, found.forward)
        return replace(
            state,
            torque=state.torque + found.backward_torque,
            rotor_loss=state.rotor_loss + 3 * seen.own_resistance * found.backward**2,
        ), found

    def _nearest(self, seen: Rings, task: SpeedTask, duty: DutyPoint, ohms: float) -> float:
        """The resistance used: the one needed, at most the bank's; in a stepped bank the step nearest in speed."""
        if not self.steps:
            return min(ohms, self.resistance)

        def miss(value: float) -> float:
            slip = reach.settles(seen, task, duty, lambda s: self.torque(seen, s, value))
            return abs((1 - (1.0 if slip is None else slip)) * seen.sync - duty.speed)

        return min(self.taps(seen), key=miss)

    def taps(self, seen: Rings) -> tuple[float, ...]:
        """Ohms per phase left in circuit step by step, in equal ratios of the whole rotor circuit. [ohm]"""
        own, count = seen.own_resistance / seen.ratio**2, round(self.steps)
        ratio = (own / (own + self.resistance)) ** (1 / count)
        return (*((own + self.resistance) * ratio**k - own for k in range(count)), 0.0)

    def _at(
        self, task: SpeedTask, duty: DutyPoint, seen: Rings, slip: float, ohms: float, words: str
    ) -> OperatingPoint:
        met = abs((1 - slip) * seen.sync - duty.speed) <= REACH * seen.sync
        state, found = self._state(seen, slip, ohms)
        answer = Answer(
            feasible=met,
            reason=words,
            settings=(_dial(ohms),),
            stability=reach.stability(seen, task, duty, slip, lambda s: self.torque(seen, s, ohms)),
            notes=_unbalance_notes(found),
        )
        return put_together(task, duty, seen, state, _outside(seen, slip, state, ohms, found), answer)

    def _too_heavy(self, task: SpeedTask, duty: DutyPoint, seen: Rings) -> OperatingPoint:
        slip = float(seen.slip(duty.speed))
        best = max(slip * (abs(seen.source) + seen.reactance) - seen.own_resistance, 0.0) / seen.ratio**2
        state, found = self._state(seen, slip, best)
        outside = _outside(seen, slip, state, best, found)
        return reach.beyond(task, duty, seen, state, (_dial(best),), outside)


def _dial(ohms: float) -> Setting:
    return setting("rotor_ohms", "resistance per phase at the rings", ohms, "ohm", "set for this demand")


def _outside(seen: Rings, slip: float, state: Inside, ohms: float, found: UnequalRotor | None) -> Outside:
    """Heat in the bank; with unequal phases also what the backward field loses in the stator."""
    if found is None:
        heat = 3 * ohms * seen.ratio**2 * abs(state.rotor) ** 2
        return Outside(losses=(Loss(part=Part.EXTERNAL, power=float(heat)),))
    backward = 3 * (seen.circuit.R1 + seen.supply.real) * found.stator_backward**2
    return Outside(
        losses=(
            Loss(part=Part.EXTERNAL, power=float(found.external_loss)),
            Loss(part=Part.HARMONIC, power=float(backward)),
        ),
        harmonics=(Harmonic(order=abs(1 - 2 * slip), current=float(found.stator_backward)),),
    )


def _unbalance_notes(found: UnequalRotor | None) -> tuple[str, ...]:
    if found is None:
        return ()
    share = float(current_unbalance(found.phases))
    return (
        f"Unequal resistors: ring currents differ by {share:.1%} from their mean; the stator carries "
        f"{float(found.stator_backward):.3g} A at |1 - 2 s| times line frequency, with torque pulsations at 2 s f.",
    )


def _ring_current(point: OperatingPoint) -> float:
    """Current in a ring from the heat in the bank and its ohms. [A]"""
    ohms = point.settings[0].value or 0.0
    return sqrt(point.loss(Part.EXTERNAL) / 3 / ohms) if ohms else 0.0


_RING_C = (1.0, 2.0, 5.0, 20.0)


def _unequal_curves(way: RotorResistance, seen: Rings, slips: Any, ohms: float) -> tuple[FamilyCurve, ...]:
    return tuple(replace(way, factor_b=1.0, factor_c=c).curve(seen, slips, ohms, f"c = {c:.3g} a", c) for c in _RING_C)


def _dip_note(way: RotorResistance, seen: Rings, ohms: float) -> str:
    slips = np.linspace(NEXT_TO_NOTHING, 1.0, 801)
    dip = dip_slip(slips, replace(way, factor_b=1.0, factor_c=_RING_C[-1]).torque(seen, slips, ohms))
    if dip is None:
        return ""
    return (
        f"With ring c at {_RING_C[-1]:.0f} times the others the torque dips to {dip[1]:.4g} N m at "
        f"{rpm((1 - dip[0]) * seen.sync)}, near half of synchronous speed: the motor may hang there."
    )

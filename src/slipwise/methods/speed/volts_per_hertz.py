"""Volts per hertz: an inverter whose voltage follows its frequency by one of five laws."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Annotated, ClassVar, Self

from slipwise.methods.settings import Choice, Given, assemble, checked, computed
from slipwise.methods.speed.converter_settings import (
    LOSS_NOTE,
    ConverterSettings,
    bought,
    converter_wiring,
    needed_current,
    usual,
)
from slipwise.methods.speed.inverter_curves import envelope, family, frequency_curves, top_speed
from slipwise.methods.speed.inverter_point import Arrangement, operate
from slipwise.methods.speed.reconnected import in_delta
from slipwise.methods.speed.voltage_law import VoltageLaw
from slipwise.methods.speed.volts_per_hertz_laws import AS_PLATE, LAWS, WINDINGS, LawSettings, gentlest_law
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Designed, Dial
from slipwise.model.machine.motor import Motor
from slipwise.results.speed import DutyPoint, Envelope, Family, FamilyCurve, OperatingPoint
from slipwise.results.study import Setting
from slipwise.results.wiring import Wiring
from slipwise.solve.converter_feed import Feed

_FREQUENCIES = (0.02, 0.1, 0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.5)  # of base frequency, as drawn; 1 Hz at 50 Hz the lowest
_LOW = 0.1  # of rated frequency, where the laws are set side by side


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltsPerHertz(ConverterSettings):
    """Voltage in step with frequency up to base frequency, constant above it (field weakening).

    Laws: plain volts per hertz; with a fixed boost; with the stator's drop added as the current asks; constant air-gap
    flux; constant slip frequency. Ideal control: frequency and voltage are what the law says.
    Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.11 to 6.13.
    """

    key: ClassVar[str] = "volts_per_hertz"
    title: ClassVar[str] = "Volts per hertz"
    also: ClassVar[tuple[str, ...]] = (
        "V/f",
        "V/Hz",
        "U/f",
        "VFD",
        "VSD",
        "ASD",
        "drive",
        "inverter",
        "frequency converter",
        "variable-frequency drive",
        "variable-speed drive",
        "adjustable-speed drive",
        "scalar control",
    )
    summary: ClassVar[str] = (
        "An inverter changes voltage with frequency so that the flux stays, and the motor keeps its torque from low speed to "
        "base speed at small slip; above base speed the torque falls. It loses least over a wide range, costs a converter, "
        "distorts the line current, and the motor's own fan cools little at low speed."
    )

    law: Annotated[str, Dial(title="voltage law", unit="", doc="How voltage follows frequency.", choices=tuple(LAWS))]
    boost: Annotated[
        float,
        Dial(
            title="boost",
            unit="pu",
            example="3 %",
            doc="Voltage at frequency zero under the fixed boost.",
            low=0.0,
            high=0.3,
        ),
    ]
    slip_frequency: Annotated[
        float,
        Dial(title="slip frequency", unit="Hz", example="0.6 Hz", doc="Held by the slip law.", low=0.05, high=20.0),
    ]
    slip_compensation: Annotated[
        float,
        Dial(
            title="slip compensation", unit="pu", example="100 %", doc="Share of the slip made good.", low=0.0, high=1.0
        ),
    ]
    base_frequency: Annotated[
        float,
        Dial(
            title="base frequency",
            unit="Hz",
            example="50 Hz",
            doc="Up to which the voltage rises; above plate: past it.",
            low=5.0,
            high=400.0,
        ),
    ]
    winding: Annotated[
        str, Dial(title="winding", unit="", doc="Connection at the motor's terminals.", choices=WINDINGS)
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Given) -> Designed[Self]:
        """Designs what is not given.

        Law: the simplest that holds the whole duty with its breakdown reserve and cool windings. Boost: the stator drop at
        rated current. Slip: made good in full, as the duty gives speeds. Base frequency: that of the plate, or sqrt 3
        times it for a star winding taken in delta. Converter: for the greatest current.

        Raises:
            InputError: the motor is known by its curves only; a setting outside its dial; a delta that is one already.
        """
        checked(cls, given, "speed")
        winding = str(given.get("winding", AS_PLATE))
        motor = _connected(task, winding)
        chosen = {**usual(motor.rating.power), **_choices(motor, winding)}
        if "law" not in given:
            chosen["law"] = gentlest_law(
                task, lambda name: assemble(cls, {**given, "law": name}, chosen, "").way.arranged(task)
            )
        if "converter_current" not in given:
            draft = assemble(cls, given, chosen, "").way
            chosen["converter_current"] = needed_current(draft.arranged(task), task)
        designed = assemble(cls, given, chosen, "")
        return replace(designed, words=_words(designed.way, chosen, given))

    def arranged(self, task: SpeedTask) -> Arrangement:
        """Motor as connected, law and converter together."""
        motor = _connected(task, self.winding)
        feed = Feed.of(motor).with_typical_saturation()
        rating = motor.rating
        past = self.base_frequency / rating.frequency
        return Arrangement(
            feed=feed,
            law=self._law(self.law, feed),
            converter=self.converter(task, rating.voltage * past),
            top=rating.phase_voltage * past,
            reserve=self.breakdown_reserve,
            compensation=self.slip_compensation,
        )

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """Motor and converter at one demand."""
        return operate(self.arranged(task), task, duty)

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """Torque against speed at several frequencies under the law, and all laws side by side at a low frequency."""
        arranged = self.arranged(task)
        feed, reach = arranged.feed, top_speed(task, arranged.feed, self.base_frequency)
        linked = arranged.linked_top
        frequencies = [x * self.base_frequency for x in _FREQUENCIES]
        side = _LOW * feed.motor.rating.frequency
        by_frequency = family(
            task,
            key="frequency",
            title=f"Volts per hertz: {self.law.replace('_', ' ')}",
            parameter="frequency",
            curves=frequency_curves(feed, arranged.law, frequencies, linked),
            reach=reach,
            note=f"Voltage constant above {self.base_frequency:.3g} Hz, where the breakdown torque falls.",
        )
        by_law = family(
            task,
            key="law",
            title=f"Voltage laws at {side:.3g} Hz",
            parameter="voltage law",
            curves=tuple(self._at_low_frequency(feed, name, side, linked) for name in LAWS),
            reach=side * feed.per_hertz,
            note="Slip frequency: its curve is that of rated flux, on which it works at less flux and the slip set.",
        )
        return by_frequency, by_law

    def _at_low_frequency(self, feed: Feed, name: str, frequency: float, top: float) -> FamilyCurve:
        curve = frequency_curves(feed, self._law(name, feed), [frequency], top)[0]
        return replace(curve, label=name.replace("_", " "))

    def _law(self, name: str, feed: Feed) -> VoltageLaw:
        dials = LawSettings(boost=self.boost, slip_frequency=self.slip_frequency, base=self.base_frequency)
        return LAWS[name](feed, dials)

    def envelope(self, task: SpeedTask) -> Envelope | None:
        """Torque for good and for a short time over the whole range of speed."""
        arranged = self.arranged(task)
        return envelope(arranged, task, top_speed(task, arranged.feed, self.base_frequency))

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """Converter, choke, braking resistor where the load drives."""
        return bought(self.arranged(task), task)

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """By its own inverter. Raises InputError for a motor known by its curves only."""
        Feed.of(task.drive.motor)
        return ("inverter",)

    def wiring(self) -> Wiring:
        """Breaker, contactor, choke, inverter, motor."""
        return converter_wiring(self.choke, delta=self.winding != AS_PLATE)


def _connected(task: SpeedTask, winding: str) -> Motor:
    motor = task.drive.motor
    return motor if winding == AS_PLATE else in_delta(motor, "speed.volts_per_hertz.winding")


def _choices(motor: Motor, winding: str) -> dict[str, Choice]:
    """Everything but law and converter current."""
    feed, rating = Feed.of(motor), motor.rating
    drop = feed.motor.circuit.R1 * rating.current / rating.phase_voltage if feed.motor.circuit else 0.0
    past = rating.frequency if winding == AS_PLATE else sqrt(3) * rating.frequency
    why = "of the plate" if winding == AS_PLATE else "where the delta winding has the plate's star voltage"
    return {
        "boost": computed(min(drop, 0.3), f"stator drop at rated current, {percent(drop)} of rated voltage"),
        "slip_frequency": computed(feed.slip_frequency, "rated slip"),
        "slip_compensation": computed(1.0, "the duty gives shaft speeds"),
        "base_frequency": computed(past, why),
        "winding": computed(winding, "as on the plate"),
        "law": computed("plain", "the simplest"),
        "converter_current": computed(rating.current, "rated current of the motor"),
    }


def _words(way: VoltsPerHertz, chosen: dict[str, Choice], given: Given) -> str:
    said = [] if "law" in given else [f"Law: {way.law.replace('_', ' ')}, {chosen['law'].why}."]
    if "converter_current" not in given:
        said.append(f"Converter of {amount(way.converter_current)} A: {chosen['converter_current'].why}.")
    if way.winding != AS_PLATE:
        said.append(
            "The winding sees more than its plate's delta voltage: insulation and speed to be confirmed by the maker."
        )
    return " ".join([*said, f"{LOSS_NOTE}."])

"""Frequency alone: rated voltage at every frequency."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Given, assemble, checked, computed
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
from slipwise.methods.speed.voltage_law import StraightLaw
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Designed, Dial
from slipwise.results.speed import DutyPoint, Envelope, Family, OperatingPoint
from slipwise.results.study import Setting
from slipwise.results.wiring import Wiring
from slipwise.solve.converter_feed import SATURATION_NOTE, Feed, Hold

_FREQUENCIES = (0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.5)  # of rated, as drawn
_OVERFLUXED = 1.1


@dataclass(frozen=True, slots=True, kw_only=True)
class FrequencyOnly(ConverterSettings):
    """Fixed voltage, variable frequency, from an inverter whose voltage does not follow.

    Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.10: flux goes with voltage over frequency, breakdown
    torque above rated frequency nearly with its inverse square.
    """

    key: ClassVar[str] = "frequency_only"
    title: ClassVar[str] = "Frequency alone"
    also: ClassVar[tuple[str, ...]] = ("frequency control", "constant voltage")
    summary: ClassVar[str] = (
        "The frequency is changed and the voltage stays. Below rated frequency the flux would have to grow, the iron saturates "
        "and the motor draws magnetising current it cannot bear; above it the breakdown torque falls with the square. "
        "It serves a narrow range upwards and shows why voltage must follow frequency."
    )

    voltage: Annotated[
        float,
        Dial(
            title="voltage",
            unit="pu",
            example="100 %",
            doc="Motor voltage at every frequency, of rated.",
            low=0.3,
            high=1.2,
        ),
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Given) -> Designed[Self]:
        """Rated voltage; a converter for the greatest current of the duty.

        Raises:
            InputError: the motor is known by its curves only; a setting outside its dial.
        """
        checked(cls, given, "speed")
        motor = task.drive.motor
        Feed.of(motor)
        chosen = {
            **usual(motor.rating.power),
            "voltage": computed(1.0, "rated voltage"),
            "converter_current": computed(motor.rating.current, "rated current of the motor"),
        }
        if "converter_current" not in given:
            draft = assemble(cls, given, chosen, "").way
            chosen["converter_current"] = needed_current(draft.arranged(task), task, starts=False)
        designed = assemble(cls, given, chosen, "")
        return replace(designed, words=_words(designed.way, task))

    def arranged(self, task: SpeedTask) -> Arrangement:
        """Motor, law and converter together."""
        feed = Feed.of(task.drive.motor).with_typical_saturation()
        volts = self.voltage * feed.motor.rating.phase_voltage
        return Arrangement(
            feed=feed,
            law=StraightLaw(hold=Hold.TERMINALS, start=volts, slope=0.0),
            converter=self.converter(task, self.voltage * feed.motor.rating.voltage),
            top=volts,
            reserve=self.breakdown_reserve,
        )

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """The motor at one demand; the frequency is set to what the speed needs."""
        return operate(self.arranged(task), task, duty)

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """Torque against speed at several frequencies and one voltage."""
        arranged = self.arranged(task)
        rated = arranged.feed.motor.rating.frequency
        curves = frequency_curves(arranged.feed, arranged.law, [rated * x for x in _FREQUENCIES], arranged.top)
        return (
            family(
                task,
                key="frequency",
                title="Fixed voltage, frequency varied",
                parameter="frequency",
                curves=curves,
                reach=top_speed(task, arranged.feed, 1.2 * rated),
                note=_flux_words(arranged),
            ),
        )

    def envelope(self, task: SpeedTask) -> Envelope | None:
        """Torque for good and for a short time; at low speed magnetising alone over-heats the windings."""
        arranged = self.arranged(task)
        return envelope(arranged, task, top_speed(task, arranged.feed, arranged.feed.motor.rating.frequency))

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """Converter, choke."""
        return bought(self.arranged(task), task)

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """By a converter whose voltage does follow while it starts: at fixed voltage it would bear a direct start.

        Raises InputError for a motor known by its curves only.
        """
        Feed.of(task.drive.motor)
        return ("inverter",)

    def wiring(self) -> Wiring:
        """Breaker, contactor, inverter, motor."""
        return converter_wiring(self.choke)


def _flux_words(arranged: Arrangement) -> str:
    """Flux and current without load at the frequencies drawn below rated: when saturation comes and how much."""
    feed = arranged.feed
    rated = feed.motor.rating.frequency
    frequencies = rated * np.array([*(x for x in _FREQUENCIES if x < 1), 1.0])
    fed = arranged.law.fed(feed, frequencies, np.full(frequencies.shape, 1e-9), arranged.top)
    steps = [
        f"{f:.3g} Hz: flux {percent(float(x))} of rated, no-load current {percent(float(i) / feed.motor.rating.current)}"
        for f, x, i in zip(frequencies, fed.flux, fed.current, strict=True)
    ]
    fine = np.linspace(0.3, 1.0, 141) * rated
    flux = arranged.law.fed(feed, fine, np.full(fine.shape, 1e-9), arranged.top).flux
    from_here = fine[flux > _OVERFLUXED]
    begins = f"Saturation: flux passes 110 % below {from_here[-1]:.3g} Hz. " if from_here.size else ""
    own = "" if feed.motor.circuit is not None and feed.motor.circuit.main_saturation else f" {SATURATION_NOTE}."
    return f"{begins}Without load at {'; at '.join(steps)}.{own}"


def _words(way: FrequencyOnly, task: SpeedTask) -> str:
    current, flux = amount(way.converter_current), _flux_words(way.arranged(task))
    return f"Rated voltage at every frequency; converter of {current} A for the duty. {flux} {LOSS_NOTE}."

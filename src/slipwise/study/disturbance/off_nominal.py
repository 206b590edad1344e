"""Voltage and frequency off their rated values: speed, current, losses and torques on the study's load."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipwise.limits.disturbance import deviations, load_current, temperature
from slipwise.model.machine.point import Point, breakdown
from slipwise.model.machine.saturated import saturated_point
from slipwise.quantity.formula import Formula
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion
from slipwise.results.disturbance import Finding, Panel
from slipwise.results.series import Array
from slipwise.results.study import Explanation
from slipwise.solve.disturbed.fed import settles
from slipwise.study.disturbance.model import Answered, Effort, OffNominal
from slipwise.study.disturbance.parts import driven, finding, of_rated, trace, warmth
from slipwise.study.explain import Speaker
from slipwise.study.model import Study

FLUX = Formula(
    key="off_nominal.flux",
    title="Flux, of rated",
    symbol="phi",
    expression="u / f_r",
    units={"u": "pu", "f_r": "pu"},
    source="induced voltage is flux times frequency",
    validity="drop across the stator impedance left out",
    result_unit="pu",
)
_METHOD = "equivalent circuit at this voltage and frequency at the terminals, torque balanced against the load"
_SOURCE = "Chapman, Electric Machinery Fundamentals, 4th ed., ch. 7"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Feed:
    """Study at a voltage and a frequency, per unit of rated, held at the motor's terminals."""

    study: Study
    voltage: float
    frequency: float

    @property
    def sync(self) -> float:
        return self.study.motor.rating.synchronous_speed * self.frequency

    def at(self, speed: Any) -> Point:
        """Steady state at a speed or many. [rad/s]"""
        motor = self.study.motor
        assert motor.circuit is not None
        volts, hertz = self.voltage * motor.rating.phase_voltage, self.frequency * motor.rating.frequency
        return saturated_point(motor.circuit, 1 - speed / self.sync, volts, hertz, self.sync).point

    def shaft(self, speed: Any) -> Any:
        """Torque at the shaft. [N m]"""
        point, motor = self.at(speed), self.study.motor
        return point.torque - motor.mechanical_torque(speed) - motor.stray_torque(speed, abs(point.stator_current))

    def running(self) -> float | None:
        """Speed on the study's load; None when it does not carry it. [rad/s]"""
        load, start = self.study.load, self.study.motor.rating.speed * self.frequency
        return settles(
            lambda w: float(self.shaft(w)) - float(load.torque(w)), start, 0.5 * self.sync, 1.2 * self.sync
        )  # fmt: skip

    def losses(self, speed: float) -> tuple[float, float, float, float]:
        """Stator, rotor, core, and friction with stray loss. [W]"""
        point, motor = self.at(speed), self.study.motor
        drag = motor.mechanical_torque(speed) + motor.stray_torque(speed, abs(point.stator_current))
        core = float(point.core_loss)
        return float(point.stator_loss), float(point.rotor_loss), core, float(drag) * speed


def off_nominal(study: Study, key: str, asked: OffNominal, _effort: Effort) -> Answered:
    """The motor at these terminals, beside rated voltage and frequency, on the same load."""
    here = _Feed(study=study, voltage=asked.voltage, frequency=asked.frequency)
    rated = _Feed(study=study, voltage=1.0, frequency=1.0)
    speed, before = here.running(), rated.running()
    rows: list[Criterion] = [*deviations(asked.voltage, asked.frequency)]
    findings = list(_torques(here, rated))
    if speed is not None and before is not None:
        findings = [*_state(here, rated, speed, before), *findings]
        rows.append(load_current(of_rated(study, float(abs(here.at(speed).stator_current)))))
        warm, plain = (warmth(study, *feed.losses(w)[:3]) for feed, w in ((here, speed), (rated, before)))
        if warm is not None and plain is not None and study.thermal is not None:
            findings += [
                finding("temperature", "Settled winding temperature", warm, "degC"),
                finding("temperature_rated", "The same at rated voltage and frequency", plain, "degC"),
            ]
            rows.append(temperature(warm, study.thermal.permitted))
    return Answered(
        summary=_summary(study, asked, here, speed),
        findings=tuple(findings),
        rows=tuple(rows),
        actions=tuple(_actions(study, asked)),
        panels=tuple(_panels(here, rated)),
        method=_METHOD,
        source=_SOURCE,
        notes=tuple(_notes(study, asked)),
        explanations=_explained(study, key, asked),
    )


def _summary(study: Study, asked: OffNominal, here: _Feed, speed: float | None) -> str:
    where = f"At {show(asked.voltage, 'pu')} of rated voltage and {show(asked.frequency, 'pu')} of rated frequency"
    if speed is None:
        return f"{where} the motor does not carry its load."
    current = float(abs(here.at(speed).stator_current))
    return (
        f"{where} the motor runs at {show(speed, 'rad/s')} with {show(current, 'A')}, "
        f"{show(of_rated(study, current), 'pu')} of its rated current."
    )


def _state(here: _Feed, rated: _Feed, speed: float, before: float) -> Iterator[Finding]:
    now, then = here.at(speed), rated.at(before)
    yield finding("speed", "Speed on this load", speed, "rad/s")
    yield finding("speed_rated", "Speed at rated voltage and frequency", before, "rad/s")
    yield finding("current", "Line current", float(abs(now.stator_current)), "A")
    yield finding("current_rated", "Line current at rated voltage and frequency", float(abs(then.stator_current)), "A")
    yield finding("power_factor", "Power factor", _factor(now), "pu")
    yield finding("power_factor_rated", "Power factor at rated voltage and frequency", _factor(then), "pu")
    lost, lost_then = here.losses(speed), rated.losses(before)
    names = ("Stator loss", "Rotor loss", "Core loss", "Friction and stray loss")
    for key, name, value in zip(("stator", "rotor", "core", "other"), names, lost, strict=True):
        yield finding(f"{key}_loss", name, value, "W")
    yield finding(
        "losses_ratio", "All losses, of those at rated voltage and frequency", sum(lost) / sum(lost_then), "pu"
    )


def _factor(point: Point) -> float:
    return float(point.input_power.real / abs(point.input_power))


def _torques(here: _Feed, rated: _Feed) -> Iterator[Finding]:
    rest, rest_rated = here.at(0.0), rated.at(0.0)
    current, torque = float(abs(rest.stator_current)), float(rest.torque)
    yield finding("locked_current", "Locked-rotor current", current, "A")
    yield finding(
        "locked_current_ratio", "The same, of the rated one", current / float(abs(rest_rated.stator_current)), "pu"
    )
    yield finding(
        "locked_torque_ratio", "Locked-rotor torque, of that at rated", torque / float(rest_rated.torque), "pu"
    )
    yield finding("breakdown_ratio", "Breakdown torque, of that at rated", _breakdown(here) / _breakdown(rated), "pu")
    yield finding("flux", "Flux, of rated", here.voltage / here.frequency, "pu")


def _breakdown(feed: _Feed) -> float:
    """Peak of the curve, with the reactances that hold near it. [N m]"""
    motor = feed.study.motor
    assert motor.circuit is not None
    volts, hertz = feed.voltage * motor.rating.phase_voltage, feed.frequency * motor.rating.frequency
    near = breakdown(motor.circuit, volts, hertz, feed.sync, highest_slip=1.0)
    held = saturated_point(motor.circuit, near.slip, volts, hertz, feed.sync).circuit
    return breakdown(held, volts, hertz, feed.sync, highest_slip=1.0).torque


def _actions(study: Study, asked: OffNominal) -> Iterator[str]:
    if abs(asked.voltage - 1) > 0.02:
        yield "Measure at the motor's terminals on load; set the transformer's tap, or shorten or thicken the line."
    if asked.voltage / asked.frequency > 1.05:
        yield "More flux than rated: core loss and magnetising current rise; lower the voltage with the frequency."
    if asked.frequency != 1 and driven(study) in ("pump", "fan"):
        cube = show(asked.frequency**3, "pu")
        yield f"A {driven(study)} takes about {cube} of its power at this frequency (cube of the speed)."
    yield "The maker says whether the motor may run so for good."


def _notes(study: Study, asked: OffNominal) -> Iterator[str]:
    yield "Zones of voltage and frequency from memory: look them up in the edition that is agreed, cut corners included."
    circuit = study.motor.circuit
    if asked.voltage / asked.frequency > 1 and circuit is not None and circuit.main_saturation is None:
        yield "The main flux of this circuit does not saturate: at more than rated flux the true current is larger."


def _panels(here: _Feed, rated: _Feed) -> Iterator[Panel]:
    rating = here.study.motor.rating
    top = max(here.sync, rated.sync)
    speeds = np.linspace(0.0, top, 241)
    ours, theirs = (speeds[speeds <= feed.sync] for feed in (here, rated))
    load: Array = np.asarray(here.study.load.torque(speeds)) / rating.torque
    yield Panel(
        quantity="torque, of rated",
        x_quantity="speed",
        traces=(
            trace("as rated", theirs, "rad/s", rated.shaft(theirs) / rating.torque, "pu"),
            trace("off nominal", ours, "rad/s", here.shaft(ours) / rating.torque, "pu"),
            trace("load", speeds, "rad/s", load, "pu"),
        ),
    )
    yield Panel(
        quantity="line current, of rated",
        x_quantity="speed",
        traces=(
            trace("as rated", theirs, "rad/s", abs(rated.at(theirs).stator_current) / rating.current, "pu"),
            trace("off nominal", ours, "rad/s", abs(here.at(ours).stator_current) / rating.current, "pu"),
        ),
    )


def _explained(study: Study, key: str, asked: OffNominal) -> tuple[Explanation, ...]:
    inputs = {"u": ("voltage of rated", asked.voltage), "f_r": ("frequency of rated", asked.frequency)}
    return (Speaker(study.inputs).by(FLUX, f"{key}.flux", inputs),)

"""Soft start: thyristors set the motor voltage, by a ramp in voltage or torque or by a current limit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Annotated, ClassVar, Self

import numpy as np

from slipwise.methods import survey
from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed, number
from slipwise.methods.starting.phase_control import current_cap, torque_law
from slipwise.methods.starting.strength import Ladder, weakest
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Designed, Dial, Task
from slipwise.quantity.errors import InputError
from slipwise.results.start import Outcome
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Law, Plan, Stage, elapsed, settled, speed_reaches
from slipwise.solve.run_up import run_up

VOLTAGE, CURRENT, TORQUE = "voltage ramp", "current limit", "torque ramp"
# Usual range of the initial voltage and of ramps: common practice, no source.
LEAST_VOLTAGE, MOST_VOLTAGE = 0.3, 0.7
SHORTEST_RAMP, LONGEST_RAMP = 1.0, 15.0
SLOWER = 5.0
DESIGN = 1e-7  # tolerance of a step of the run-ups tried for a design: good to 1e-5 of the time, three times as quick
PULSE_VOLTAGE = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class SoftStarter:
    """Phase control up to nearly full speed, then a bypass. Only the fundamental voltage is computed, not harmonics.

    Under a current limit the torque at each speed is that of full voltage times (limit / current at that speed)^2, along
    the whole curve. A voltage ramp that ends below speed leaves the motor on full voltage there, with the direct current
    of that speed; a current limit goes on holding, and the motor may hang. A torque ramp sets the voltage that gives the
    torque asked for at the speed expected, up to full voltage.
    Source: torque proportional to voltage squared (Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.2).
    """

    key: ClassVar[str] = "soft_starter"
    title: ClassVar[str] = "Soft starter"
    also: ClassVar[tuple[str, ...]] = (
        "soft start",
        "electronic starter",
        "solid-state starter",
        "thyristor starter",
        "SCR starter",
    )
    summary: ClassVar[str] = (
        "Thyristors raise the motor voltage gradually or hold the current at a limit, without a switching step, and a "
        "bypass takes over at speed. Smooth for pumps, fans and belts; torque still falls with the square of the current. "
        "The calculation follows the fundamental voltage; harmonics and their heating are left out."
    )

    mode: Annotated[
        str, Dial(title="mode", unit="", doc="What the starter controls.", choices=(CURRENT, VOLTAGE, TORQUE))
    ]
    start_voltage: Annotated[
        float,
        Dial(
            title="initial voltage",
            unit="pu",
            example="40 %",
            doc="Of full, at the start of the ramp.",
            low=0.1,
            high=1.0,
        ),
    ]
    ramp_time: Annotated[
        float,
        Dial(
            title="ramp time",
            unit="s",
            example="10 s",
            doc="From initial to full voltage, or of the torque.",
            low=0.05,
            high=300.0,
        ),
    ]
    current_limit: Annotated[
        float,
        Dial(
            title="current limit",
            unit="pu",
            example="3.5",
            doc="Motor current per rated current; current-limit mode.",
            low=1.0,
            high=12.0,
        ),
    ]
    start_torque: Annotated[
        float,
        Dial(
            title="initial torque",
            unit="pu",
            example="20 %",
            doc="Per rated torque; torque-ramp mode.",
            low=0.02,
            high=3.0,
        ),
    ]
    end_torque: Annotated[
        float,
        Dial(
            title="final torque",
            unit="pu",
            example="120 %",
            doc="Per rated torque; torque-ramp mode.",
            low=0.05,
            high=3.0,
        ),
    ]
    pulse_voltage: Annotated[
        float,
        Dial(
            title="breakaway pulse",
            unit="pu",
            example="80 %",
            doc="Voltage of a pulse before the ramp.",
            low=0.1,
            high=1.0,
        ),
    ]
    pulse_time: Annotated[
        float,
        Dial(
            title="pulse time",
            unit="s",
            example="0.3 s",
            doc="Length of the breakaway pulse; 0 for none.",
            low=0.0,
            high=5.0,
        ),
    ]
    bypass_speed: Annotated[
        float,
        Dial(
            title="bypass speed",
            unit="rad/s",
            example="1470 r/min",
            doc="Shaft speed at which the bypass closes.",
            low=0.0,
        ),
    ]

    @classmethod
    def designed_for(cls, task: Task, given: Given) -> Designed[Self]:
        """Designs what is not given.

        Current limit: the lowest that keeps the reserve in the worst case within the run-up and heat limits. Initial
        voltage: breakaway with the reserve. Ramp: as long as the start on the limit, shortened to the run-up limit.
        Torque ramp: from breakaway to what the load needs on its way, with the reserve. Bypass: where only nearly full
        voltage can have brought the motor.

        Raises:
            InputError: a setting outside its dial; a bypass speed that full voltage does not reach.
        """
        checked(cls, given)
        mode = str(given.get("mode", CURRENT))
        bypass = _bypass(task, given)
        limit, bound = _limit(task, given)
        voltage, torques = _initial_voltage(task), _torques(task)
        chosen = {
            "mode": assumed(CURRENT, "holds what the supply sees; the other modes may be asked for"),
            "start_voltage": voltage,
            "current_limit": limit,
            "start_torque": torques[0],
            "end_torque": torques[1],
            "pulse_voltage": assumed(
                PULSE_VOLTAGE, "of a breakaway pulse if one is asked for (common practice)", 0.6, 1.0
            ),
            "pulse_time": assumed(0.0, "no pulse: the initial torque is designed for the breakaway", 0.0, 0.5),
            "bypass_speed": bypass,
            "ramp_time": computed(SHORTEST_RAMP, ""),
        }
        trial = assemble(cls, given, chosen, "").way
        chosen["ramp_time"] = trial.ramp_for(task)
        ramp = float(given.get("ramp_time", chosen["ramp_time"].value))
        words = _words(mode, bound, chosen, ramp, given)
        return assemble(cls, given, chosen, words)

    def stages(self, drive: Drive) -> Plan:
        """A pulse if any, the ramp or limit to the bypass speed, the bypass."""
        rows = self._sequence()
        ramp = replace(self._ramp(drive), until=speed_reaches(self.bypass_speed), contacts=rows[-2][1])
        last = Stage(name=rows[-1][0], until=settled(), contacts=rows[-1][1])
        if self.pulse_time <= 0:
            return (ramp, last)
        level = Law(x=(0.0,), y=(self.pulse_voltage,))
        return (Stage(name="pulse", until=elapsed(self.pulse_time), voltage=level, contacts=rows[0][1]), ramp, last)

    def wiring(self) -> Wiring:
        """Thyristors with a bypass contactor beside them."""
        rows = self._sequence()
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="thyristors", label="A1", after="K1 line"),
                Device(kind="contactor", label="K2 bypass", after="K1 line", branch="bypass", note="bridges A1"),
                Device(kind="overload", label="F1", after="A1"),
                Device(kind="motor", label="M1", after="F1"),
            ),
            stages=tuple(name for name, _ in rows),
            closed=tuple(contacts for _, contacts in rows),
            notes=(
                "No capacitors between A1 and the motor. A1 is not an isolator: Q1 must be open for work on the motor.",
            ),
        )

    def ramp_for(self, task: Task) -> Choice:
        """The ramp time from that of the start without a ramp, within the usual range and the run-up limit.

        A voltage ramp is made several times as long, so that most speed is gained before the full voltage comes.
        """
        bare = replace(self, ramp_time=0.05, pulse_time=0.0)
        run = run_up(bare.stages(task.nominal)[:1], task.nominal, max_time=LONGEST_RAMP, relative=DESIGN)
        free = float(run.time[-1]) if run.outcome is not Outcome.NEVER_MOVED else LONGEST_RAMP
        times, often = (SLOWER, f"{SLOWER:.0f} times as long as") if self.mode == VOLTAGE else (1.0, "as long as")
        ramp, bound = (
            float(np.clip(times * free, SHORTEST_RAMP, LONGEST_RAMP)),
            f"{often} the start takes without a ramp",
        )
        limit = task.limits.run_up_time.value
        while limit is not None and ramp > SHORTEST_RAMP:
            run = run_up(replace(self, ramp_time=ramp).stages(task.worst), task.worst, max_time=limit, relative=DESIGN)
            if run.outcome is Outcome.ARRIVED:
                break
            ramp, bound = (
                max(ramp / 2, SHORTEST_RAMP),
                f"shortened to the run-up limit of {amount(limit)} s, worst case",
            )
        return computed(ramp, f"{bound}; usual range {amount(SHORTEST_RAMP)} to {amount(LONGEST_RAMP)} s")

    def _ramp(self, drive: Drive) -> Stage:
        """The controlled stage on this drive."""
        stage = Stage(name=self._sequence()[-2][0], until=settled())
        if self.mode == TORQUE:
            law = torque_law(drive, self.start_torque, self.end_torque, self.ramp_time, self.bypass_speed)
            return replace(stage, voltage=law)
        if self.start_voltage < 1:
            stage = replace(stage, voltage=Law(x=(0.0, self.ramp_time), y=(self.start_voltage, 1.0)))
        if self.mode == CURRENT:
            return replace(stage, voltage_cap=current_cap(drive, self.current_limit))
        return stage

    def _sequence(self) -> list[tuple[str, tuple[str, ...]]]:
        """Stages and their closed contacts, in order."""
        pulse = [("pulse", ("K1 line",))] if self.pulse_time > 0 else []
        return [*pulse, (self.mode, ("K1 line",)), ("bypass", ("K1 line", "K2 bypass"))]


def _bypass(task: Task, given: Given) -> Choice:
    """A speed that only nearly full voltage can hold: 1.1 times the running slip of the worse case."""
    sync = task.nominal.motor.rating.synchronous_speed
    running = min(survey.running_speed(task.worst), survey.running_speed(task.nominal))
    fixed = number(given, "bypass_speed")
    if fixed is not None and fixed >= survey.running_speed(task.nominal):
        raise InputError.of(
            "starting.soft_starter.bypass_speed",
            survey.rpm(fixed),
            f"full voltage itself brings this load no higher than {survey.rpm(survey.running_speed(task.nominal))}",
            "choose a lower one, or leave it out",
        )
    speed = sync * (1 - 1.1 * (1 - running / sync))
    return computed(
        speed, "1.1 times the running slip in the worst case: only nearly full voltage holds the load there"
    )


def _limit(task: Task, given: Given) -> tuple[Choice, str]:
    """The lowest current limit that does, per rated current, and the words for it."""
    fixed = number(given, "current_limit")
    if fixed is not None:
        return computed(fixed, "given by user"), ""
    rated = task.nominal.motor.rating.current
    full = survey.curves(survey.RUNNING, task.worst)
    most = max(
        float(np.max(survey.curves(survey.RUNNING, drive).motor_current)) for drive in (task.nominal, task.worst)
    )
    spare = np.flatnonzero(survey.margins(full, task.worst) >= 1.2 * survey.reserve(task.limits))
    top = float(full.speed[spare[-1]]) if spare.size else None
    ladder = Ladder(
        stage=lambda limit, drive: replace(survey.RUNNING, name=CURRENT, voltage_cap=current_cap(drive, limit)),
        steps=None,
        low=1.5,
        high=max(most / rated, 1.6),
        up_to=top,
        show=lambda limit: f"{amount(limit)} times rated current",
    )
    found = weakest(ladder, task)
    return computed(min(max(found.strength, 1.0), 12.0), found.bound), found.bound


def _initial_voltage(task: Task) -> Choice:
    """Voltage whose torque at standstill breaks the load away with the reserve, worst case; within the usual range."""
    rating = task.worst.motor.rating
    at_rest = np.array([0.0])
    full = float(survey.curves(survey.RUNNING, task.worst, at_rest).torque[0])
    wanted = float(survey.needed(task.worst, at_rest)[0]) + survey.reserve(task.limits) * rating.torque
    factor = sqrt(max(wanted, 0.0) / full) if full > 0 else 1.0
    if factor > MOST_VOLTAGE:
        return computed(min(factor, 1.0), "the load's breakaway with the reserve, worst case, asks for it")
    voltage = max(factor, LEAST_VOLTAGE)
    bound = "the load's breakaway with the reserve, worst case" if factor > LEAST_VOLTAGE else "lowest usual"
    return computed(
        voltage, f"{bound}; usual range {percent(LEAST_VOLTAGE)} to {percent(MOST_VOLTAGE)} (common practice)"
    )


def _torques(task: Task) -> tuple[Choice, Choice]:
    """Initial and final torque of a torque ramp, per rated torque."""
    drive, reserve = task.worst, survey.reserve(task.limits)
    speeds = survey.grid(drive)
    needed = survey.needed(drive, speeds) / drive.motor.rating.torque
    upper = speeds <= 0.95 * drive.motor.rating.synchronous_speed
    start, end = float(needed[0]) + reserve, float(np.max(needed[upper])) + reserve
    return (
        computed(float(np.clip(start, 0.02, 3.0)), "the load's breakaway with the reserve, worst case"),
        computed(float(np.clip(max(end, start), 0.05, 3.0)), "the most the load needs on its way, with the reserve"),
    )


def _words(mode: str, bound: str, chosen: dict[str, Choice], ramp: float, given: Given) -> str:
    said = []
    if mode == CURRENT and "current_limit" not in given:
        said.append(f"Current limit: {amount(float(chosen['current_limit'].value))} times rated current, {bound}.")
    if mode == TORQUE and "end_torque" not in given:
        said.append(f"Torque: up to {percent(float(chosen['end_torque'].value))} of rated, {chosen['end_torque'].why}.")
    if mode != TORQUE and "start_voltage" not in given:
        said.append(f"Initial voltage: {percent(float(chosen['start_voltage'].value))}, {chosen['start_voltage'].why}.")
    if "ramp_time" not in given:
        said.append(f"Ramp: {amount(ramp)} s, {chosen['ramp_time'].why}.")
    said.append("Fundamental voltage only.")
    return " ".join(said)

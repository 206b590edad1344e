"""The motor a lecture is about, its companions, and its curves at constant terminal voltage."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import Motor
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.results.lecture import Dot, Line, Measure, Panel, Role
from slipwise.results.series import Array
from slipwise.results.speed import DutyPoint
from slipwise.results.start import Curves
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.steady import characteristic
from slipwise.study.model import Study

SPEED = Measure(words="speed", unit="rad/s")
TORQUE = Measure(words="torque", unit="N m")
CURRENT = Measure(words="line current", unit="A")
TERMINALS = "Rated voltage held at the terminals, steady state."
PLAIN = Stage(name="running", until=settled())
POINTS = 401


@dataclass(frozen=True)
class Subject:
    """A study seen as the subject of a lecture; its motor has a circuit."""

    study: Study

    @property
    def motor(self) -> Motor:
        return self.study.motor

    @property
    def circuit(self) -> Circuit:
        """The motor's own circuit."""
        circuit = self.motor.circuit
        assert circuit is not None
        return circuit

    @property
    def sync(self) -> float:
        """Synchronous speed. [rad/s]"""
        return self.motor.rating.synchronous_speed

    @property
    def wound(self) -> bool:
        """Whether the motor itself has slip rings."""
        return self.motor.wound_ratio is not None

    @cached_property
    def terminals(self) -> SupplyPath:
        """A source that holds rated voltage whatever the motor draws."""
        rating = self.motor.rating
        busbar = Busbar(name="terminals", nominal=rating.voltage)
        link = Link(name="terminals", kind="network", impedance=0j, busbar=busbar)
        return SupplyPath(voltage=rating.voltage, frequency=rating.frequency, links=(link,))

    @cached_property
    def drive(self) -> Drive:
        """The motor with its own load at held terminals."""
        return Drive(motor=self.motor, load=self.study.load, supply=self.terminals)

    @cached_property
    def branch(self) -> RotorBranch:
        """One rotor branch that stands for the running rotor (slip towards 0)."""
        return running_branch(self.circuit)

    @cached_property
    def rings(self) -> Motor:
        """The motor if it has slip rings; else a companion with the same stator and the running rotor as a winding."""
        if self.wound:
            return self.motor
        circuit = replace(self.circuit, rotor=(self.branch,), leakage_saturation=None)
        return replace(self.motor, circuit=circuit, wound_ratio=1.0)

    @property
    def rings_words(self) -> str:
        """Whose slip rings a picture shows."""
        if self.wound:
            return "The study's own slip-ring motor."
        return "Companion with slip rings, typical: same stator, the running rotor as a winding; ohms seen from the stator."

    def with_circuit(self, circuit: Circuit) -> Motor:
        """The motor with another circuit."""
        return replace(self.motor, circuit=circuit)

    def at_terminals(self, motor: Motor, stage: Stage = PLAIN, speeds: Array | None = None) -> Curves:
        """Characteristics with rated voltage held at the terminals."""
        return characteristic(stage, replace(self.drive, motor=motor), self.grid() if speeds is None else speeds)

    def grid(self, low: float = 0.0) -> Array:
        """Speeds from `low` to just under synchronous, denser near it. [rad/s]"""
        slip = np.concatenate(
            [np.linspace(1 - low / self.sync, 0.12, POINTS // 2), np.linspace(0.12, 1e-6, POINTS // 2)]
        )
        return np.asarray(self.sync * (1 - np.unique(slip)[::-1]))

    def load_line(self, speeds: Array, label: str = "load") -> Line:
        """The study's load over its speeds."""
        torque = np.asarray(self.study.load.torque(speeds), dtype=float)
        return Line(label=label, x=speeds, y=torque, role=Role.LOAD, prefer=0.5)

    @cached_property
    def speed_task(self) -> SpeedTask:
        """What the ways of speed control are shown for: the study's duty, or three speeds of its own load."""
        speed = self.study.speed
        site = Site() if speed is None else speed.site
        return SpeedTask(drive=self.drive, duty=self._duty, site=site, process=None)

    @cached_property
    def _duty(self) -> tuple[DutyPoint, ...]:
        rating, law = self.motor.rating, self.carried(0.8)
        places = (("full speed", 0.98), ("three quarters", 0.75), ("half speed", 0.5))
        return tuple(
            DutyPoint(name=name, speed=x * rating.speed, torque=float(law.running(x * rating.speed)), hours=1000.0)
            for name, x in places
        )

    def carried(self, share: float, exponent: float = 2.0) -> Load:
        """A load of the stated law that asks `share` of rated torque at rated speed."""
        rating = self.motor.rating
        term = PowerTerm(coefficient=share * rating.torque, exponent=exponent)
        return Load(terms=(term,), base_speed=rating.speed, inertia=self.study.load.inertia)


def subject_of(study: Study) -> Subject:
    """The study as the subject of a lecture.

    Raises:
        InputError: its motor is known by typed curves only.
    """
    if study.motor.circuit is None:
        raise InputError.of(
            "motor",
            "curves",
            "a lecture computes reduced voltage, other rotors and other frequencies, which typed curves do not tell",
            "give the plate or a circuit in [motor]",
        )
    return Subject(study=study)


def running_branch(circuit: Circuit) -> RotorBranch:
    """The one branch whose admittance agrees with the whole rotor's for slip towards 0.

    Returns:
        R = 1 / sum(1/R_i) and X = R^2 sum(X_i / R_i^2). [ohm]

    Source: series of slip / (R + j slip X) about slip 0, first two terms.
    """
    r = 1 / sum(1 / b.R for b in circuit.rotor)
    return RotorBranch(R=r, X=r * r * sum(b.X / b.R**2 for b in circuit.rotor))


def torque_panel(lines: tuple[Line, ...], sync: float, *, dots: tuple[Dot, ...] = (), title: str = "") -> Panel:
    """Torque against speed up to synchronous."""
    return Panel(x=SPEED, y=TORQUE, lines=lines, dots=dots, title=title, synchronous=sync)


def current_panel(lines: tuple[Line, ...], sync: float, *, dots: tuple[Dot, ...] = (), title: str = "") -> Panel:
    """Line current against speed up to synchronous."""
    return Panel(x=SPEED, y=CURRENT, lines=lines, dots=dots, title=title, synchronous=sync)


def crossings(speeds: Array, driving: Array, load: Array) -> list[tuple[float, float, bool]]:
    """Where a driving torque meets a load torque: speed, torque, and whether the speed holds itself there."""
    spare = driving - load
    found = []
    for i in np.flatnonzero(np.sign(spare[:-1]) * np.sign(spare[1:]) < 0):
        share = float(spare[i] / (spare[i] - spare[i + 1]))
        speed = float(speeds[i] + share * (speeds[i + 1] - speeds[i]))
        found.append((speed, float(np.interp(speed, speeds, load)), bool(spare[i] > 0)))
    return found


def peak(curve: Curves) -> tuple[float, float]:
    """Speed and greatest torque of a curve. [rad/s], [N m]"""
    top = int(np.argmax(curve.torque))
    return float(curve.speed[top]), float(curve.torque[top])


def rated_words(motor: Motor) -> str:
    """Power, voltage, frequency, speed and connection of a plate in one line."""
    r = motor.rating
    parts = (show(r.power, "W"), show(r.voltage, "V"), show(r.frequency, "Hz"), show(r.speed, "rad/s"), r.connection)
    return ", ".join(parts)


Law = Callable[[Any], Any]

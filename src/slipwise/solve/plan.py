"""A plan is a list of stages; a stage says how the motor is fed and what ends it. Solvers know nothing else of a method."""

from __future__ import annotations

from cmath import phase
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import Any

import numpy as np

from slipwise.model.load.load import Load
from slipwise.model.machine.motor import Motor
from slipwise.model.supply.path import SupplyPath


class Ends(StrEnum):
    """What ends a stage."""

    SPEED = "speed"  # shaft speed reaches `value` [rad/s]
    SPEED_FALLS = "speed falls"  # shaft speed has fallen to `value` [rad/s]
    ELAPSED = "elapsed"  # `value` seconds in the stage have passed
    CURRENT = "current"  # rms line current has fallen to `value` [A]
    SETTLED = "settled"  # nothing changes any more


@dataclass(frozen=True, slots=True, kw_only=True)
class Until:
    """The end of a stage. `timeout` ends it anyway (None: the stage may hang, and that is then the result). [s]"""

    ends: Ends
    value: float = 0.0
    timeout: float | None = None


def speed_reaches(speed: float, timeout: float | None = None) -> Until:
    """The stage ends when the shaft reaches `speed`. [rad/s]"""
    return Until(ends=Ends.SPEED, value=speed, timeout=timeout)


def speed_falls_to(speed: float, timeout: float | None = None) -> Until:
    """The stage ends when the shaft has slowed down to `speed`. [rad/s]"""
    return Until(ends=Ends.SPEED_FALLS, value=speed, timeout=timeout)


def elapsed(seconds: float) -> Until:
    """The stage ends after `seconds`."""
    return Until(ends=Ends.ELAPSED, value=seconds)


def current_falls_to(current: float, timeout: float | None = None) -> Until:
    """The stage ends when the rms line current has fallen to `current`. [A]"""
    return Until(ends=Ends.CURRENT, value=current, timeout=timeout)


def settled() -> Until:
    """The stage ends when speed and currents no longer change: the last stage of a start."""
    return Until(ends=Ends.SETTLED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """A number against time in the stage or against speed: straight lines between points, held outside them.

    x: ascending, s or rad/s as the place of use says. y: same length.
    """

    x: tuple[float, ...]
    y: tuple[float, ...]

    def at(self, x: Any) -> Any:
        """The number at `x`; shape of `x`."""
        return np.interp(x, self.x, self.y)


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectCurrent:
    """Direct current fed into the stator.

    current: into the terminals [A]. share: amperes of equivalent rms star current that one ampere of it makes, by how
    the winding is connected to it (`model.machine.direct_current`). resistance: between the two terminals [ohm].
    """

    current: float
    share: float
    resistance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One piece of a start.

    name: as shown, e.g. "star", "pause", "delta".
    connected: False when the motor is cut from the supply (poles open at their own current zeros).
    ratio: v_motor = ratio x v_terminal and i_line = conj(ratio) x i_motor, star equivalents of the RUNNING connection.
        1 is the running connection; star of a delta motor is (1/sqrt 3) e^(-+j30 deg) by wiring; an autotransformer tap
        k is k. Both together multiply.
    series: impedance in each motor-side phase, after the ratio (star equivalent, at rated frequency). [ohm]
    line_series: impedance in each line, before the ratio (at rated frequency). [ohm]
    shunt: impedance from each line to neutral at the line side (transition resistors), or None. [ohm]
    voltage: factor on the fundamental voltage delivered to the motor, against time in the stage. None: 1.
        Without a frequency law it is phase control: the line carries the motor's current, active power is conserved and
        the factor applies to the terminal voltage. With a frequency law it is an inverter behind a dc link: the factor
        applies to the motor's rated voltage and the line sees the active power at displacement factor 1.
    voltage_cap: largest factor against speed (current or torque limit by fundamental voltage). None: no cap.
    frequency: factor on rated frequency against time in the stage. None: 1.
    rotor_external: resistance added per rotor phase, referred to the stator. [ohm]
    reversed: the phase sequence is swapped: the field turns against positive speed.
    dc: direct current takes the place of the supply in this stage, or None; ratio, series and the laws do not apply.
    motor: a motor that replaces the drive's own in this stage (part-winding, other poles), or None.
    contacts: names of the contacts closed in this stage, for diagrams and the sequence table.
    """

    name: str
    until: Until
    connected: bool = True
    ratio: complex = 1.0
    series: complex = 0.0
    line_series: complex = 0.0
    shunt: complex | None = None
    voltage: Law | None = None
    voltage_cap: Law | None = None
    frequency: Law | None = None
    rotor_external: float = 0.0
    reversed: bool = False
    dc: DirectCurrent | None = None
    motor: Motor | None = None
    contacts: tuple[str, ...] = ()

    @property
    def lead_factor(self) -> float:
        """Current in the motor's leads per star-equivalent motor current: 1/sqrt 3 while a delta winding stands in star."""
        return 1 / sqrt(3) if abs(phase(self.ratio)) > 0.3 else 1.0

    @property
    def controlled(self) -> bool:
        """Whether a converter sets the voltage in this stage."""
        return self.voltage is not None or self.voltage_cap is not None or self.frequency is not None


Plan = tuple[Stage, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """A motor, its load and the path that feeds it: all a solver needs besides the plan."""

    motor: Motor
    load: Load
    supply: SupplyPath

    @property
    def inertia(self) -> float:
        """Rotor and load together. [kg m2]"""
        return self.motor.inertia + self.load.inertia

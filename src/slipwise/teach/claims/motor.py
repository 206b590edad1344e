"""A study's motor as the shorthands look at it: its circuit at rated voltage, saturation solved along."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import Point, breakdown
from slipwise.model.machine.saturated import SaturatedPoint, is_saturable, saturated_point
from slipwise.quantity.errors import InputError
from slipwise.results.claims import Answer, ClaimRow
from slipwise.study.model import Study

NEAR = 0.05
"""Up to this error a shorthand is called nearly true (choice of this page; common practice, no source)."""
CLOSE = 0.01
"""Up to this one, true."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """The motor with its circuit, which every shorthand needs."""

    motor: Motor
    circuit: Circuit

    @property
    def saturable(self) -> bool:
        return is_saturable(self.circuit)

    @property
    def synchronous(self) -> float:
        """At rated frequency. [rad/s]"""
        return self.motor.rating.synchronous_speed

    def solved(self, slip: Any, voltage: Any = 1.0, frequency: float = 1.0, resistance: float = 1.0) -> SaturatedPoint:
        """Steady state at a slip. voltage, frequency: of rated; resistance: factor on every rotor resistance."""
        rating = self.motor.rating
        circuit = self.circuit if resistance == 1.0 else self.circuit.with_rotor_resistance(resistance)
        hertz, field = rating.frequency * frequency, self.synchronous * frequency
        return saturated_point(circuit, slip, rating.phase_voltage * voltage, hertz, field)

    def point(self, slip: Any, voltage: Any = 1.0, frequency: float = 1.0, resistance: float = 1.0) -> Point:
        """As `solved`, the point alone."""
        return self.solved(slip, voltage, frequency, resistance).point

    def breakdown_torque(self, voltage: float = 1.0, frequency: float = 1.0) -> tuple[float, float]:
        """Slip and torque of the highest point between synchronous speed and standstill. [1], [N m]"""
        rating = self.motor.rating
        if not self.saturable:
            peak = breakdown(
                self.circuit,
                rating.phase_voltage * voltage,
                rating.frequency * frequency,
                self.synchronous * frequency,
                highest_slip=1.0,
            )
            return peak.slip, peak.torque
        slips = np.geomspace(1e-3, 1.0, 400)
        torque = np.asarray(self.point(slips, voltage, frequency).torque)
        top = int(torque.argmax())
        return float(slips[top]), float(torque[top])


def machine_of(study: Study) -> Machine:
    """The study's motor.

    Raises:
        InputError: it is known by typed curves only.
    """
    circuit = study.motor.circuit
    if circuit is None:
        raise InputError.of(
            "motor.curves",
            "",
            "an equivalent circuit is needed here, and this motor has curves only",
            "give [motor.circuit], the plate with its catalogue line, or bench readings",
        )
    return Machine(motor=study.motor, circuit=circuit)


def judged(rows: tuple[ClaimRow, ...], partly: bool = False) -> Answer:
    """By the greatest error of the rows: 1 % true, 5 % nearly true; beyond, true in part where `partly`."""
    worst = max((abs(row.error) for row in rows if row.error is not None), default=0.0)
    if worst <= CLOSE:
        return Answer.TRUE
    if worst <= NEAR:
        return Answer.NEARLY
    return Answer.PARTLY if partly else Answer.FALSE


def reach(x: np.ndarray[Any, Any], error: np.ndarray[Any, Any], start: int) -> tuple[float, float]:
    """The stretch of `x` around index `start` on which |error| stays within NEAR; both ends of it.

    x: ascending; error: same shape. The ends equal x[start] when the error is too great there already.
    """
    good = np.abs(error) <= NEAR
    low = high = start
    while low > 0 and good[low] and good[low - 1]:
        low -= 1
    while high < len(x) - 1 and good[high] and good[high + 1]:
        high += 1
    return float(x[low]), float(x[high])

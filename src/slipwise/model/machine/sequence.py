"""A motor on an unbalanced supply, and with one line open: sequence components and the two circuits.

Two measures of unbalance are in use and are never mixed here: `greatest_deviation` (NEMA MG 1: greatest deviation of a
line voltage from the mean, over the mean) and `negative_share` (IEC: negative over positive sequence).
"""

from __future__ import annotations

from cmath import exp as cexp
from dataclasses import dataclass
from math import pi, sqrt
from typing import Any

import numpy as np

from slipwise.data import table
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.point import Point, operating_point
from slipwise.quantity.errors import DomainError
from slipwise.quantity.formula import Formula

TURN = cexp(2j * pi / 3)

NEGATIVE_SLIP = Formula(
    key="sequence.negative_slip",
    title="Slip of the negative-sequence field",
    symbol="s_2",
    expression="2 - s",
    units={"s": ""},
    source="definition; Fitzgerald, Kingsley, Umans, Electric Machinery, on unbalanced operation",
    validity="any slip",
    result_unit="",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sequences:
    """Symmetrical components of three phasors, all in the unit of the phasors."""

    zero: complex
    positive: complex
    negative: complex

    def phases(self) -> tuple[complex, complex, complex]:
        """The three phasors again. Source: definition."""
        a = TURN
        return (
            self.zero + self.positive + self.negative,
            self.zero + a**2 * self.positive + a * self.negative,
            self.zero + a * self.positive + a**2 * self.negative,
        )


def sequences(first: complex, second: complex, third: complex) -> Sequences:
    """Symmetrical components of three phasors. Source: definition (any power-system text)."""
    a = TURN
    return Sequences(
        zero=(first + second + third) / 3,
        positive=(first + a * second + a**2 * third) / 3,
        negative=(first + a**2 * second + a * third) / 3,
    )


def greatest_deviation(first: float, second: float, third: float) -> float:
    """Unbalance of three line-voltage magnitudes by NEMA MG 1: greatest deviation from the mean over the mean. [pu]"""
    mean = (first + second + third) / 3
    if not mean > 0:
        raise DomainError.of(
            "line voltages", f"{first}, {second}, {third}", "their mean is not positive", "give rms volts"
        )
    return max(abs(v - mean) for v in (first, second, third)) / mean


def negative_share(first: float, second: float, third: float) -> float:
    """Unbalance of three line-voltage magnitudes by IEC: negative over positive sequence. [pu]

    The three magnitudes close a triangle, which fixes their angles.

    Raises:
        DomainError: no triangle has these sides.

    Source: closed form by the fourth and second powers of the line voltages (IEC 61000-4-30, from memory).
    """
    squares = [v**2 for v in (first, second, third)]
    beta = sum(s**2 for s in squares) / sum(squares) ** 2
    inside = 3 - 6 * beta
    if inside < 0 or not min(first, second, third) > 0:
        raise DomainError.of(
            "line voltages", f"{first}, {second}, {third}", "no triangle has these sides", "check the volts"
        )
    return sqrt(max((1 - sqrt(inside)) / (1 + sqrt(inside)), 0.0))


def line_phasors(first: float, second: float, third: float) -> tuple[complex, complex, complex]:
    """Line voltages 12, 23, 31 as phasors from their magnitudes, the first at angle 0; they sum to zero. [V]"""
    cosine = (first**2 + second**2 - third**2) / (2 * first * second)
    if abs(cosine) > 1:
        raise DomainError.of(
            "line voltages", f"{first}, {second}, {third}", "no triangle has these sides", "check the volts"
        )
    v12 = complex(first)
    v23 = second * -complex(cosine, sqrt(1 - cosine**2))
    return v12, v23, -(v12 + v23)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnbalancedPoint:
    """A motor on unbalanced voltages at one slip.

    positive, negative: the two circuits' steady states (the negative one's torque brakes).
    lines: rms current phasors of the three lines [A]; windings: of the three phase windings, as connected [A].
    torque: air-gap torque of both fields [N m]; stator_loss, rotor_loss, core_loss: both together, three-phase [W].
    power: taken from the supply [W].
    """

    positive: Point
    negative: Point
    lines: tuple[complex, complex, complex]
    windings: tuple[complex, complex, complex]
    torque: float
    stator_loss: float
    rotor_loss: float
    core_loss: float
    power: float

    @property
    def current_unbalance(self) -> float:
        """Negative over positive sequence of the line currents. [pu]"""
        return float(abs(self.negative.stator_current) / max(abs(self.positive.stator_current), 1e-12))


def unbalanced_point(
    circuit: Circuit, slip: float, phase: Sequences, sync_speed: float, *, connection: str = "star"
) -> UnbalancedPoint:
    """The motor on positive- and negative-sequence phase voltages of its star equivalent; no zero sequence flows.

    Args:
        circuit: star equivalent, at its own frequency. [ohm]
        phase: sequence voltages, phase values. [V]
        sync_speed: synchronous speed of the shaft. [rad/s]
        connection: "star" or "delta": what the windings carry.

    Source: superposition of the circuit at slip s and at slip 2 - s (Fitzgerald, Kingsley, Umans, Electric Machinery).
    """
    forward = operating_point(circuit, slip, phase.positive, circuit.frequency, sync_speed)
    backward = operating_point(circuit, 2 - slip, phase.negative, circuit.frequency, sync_speed)
    current = Sequences(zero=0j, positive=complex(forward.stator_current), negative=complex(backward.stator_current))
    return UnbalancedPoint(
        positive=forward,
        negative=backward,
        lines=current.phases(),
        windings=_windings(current, connection),
        torque=float(forward.torque - backward.torque),
        stator_loss=float(forward.stator_loss + backward.stator_loss),
        rotor_loss=float(forward.rotor_loss + backward.rotor_loss),
        core_loss=float(forward.core_loss + backward.core_loss),
        power=float(forward.input_power.real + backward.input_power.real),
    )


def _windings(line: Sequences, connection: str) -> tuple[complex, complex, complex]:
    """Winding currents from line currents; nothing circulates in a delta without zero-sequence voltage."""
    if connection == "star":
        return line.phases()
    forward, backward = cexp(1j * pi / 6) / sqrt(3), cexp(-1j * pi / 6) / sqrt(3)
    return Sequences(zero=0j, positive=line.positive * forward, negative=line.negative * backward).phases()


def open_line(
    circuit: Circuit, slip: float, line_voltage: float, sync_speed: float, *, connection: str = "star"
) -> UnbalancedPoint:
    """The motor with its first line open and full line voltage between the other two.

    No current in the first line makes the two sequence currents opposite: the circuits at slip s and 2 - s are in
    series between the two live lines. At standstill their torques cancel.

    Source: as `unbalanced_point`, with the constraint of the open line.
    """
    impedance = tuple(_impedance(circuit, s) for s in (slip, 2 - slip))
    current = 1j * line_voltage / (sqrt(3) * sum(impedance))  # positive sequence, first line as reference
    voltage = Sequences(zero=0j, positive=current * impedance[0], negative=-current * impedance[1])
    return unbalanced_point(circuit, slip, voltage, sync_speed, connection=connection)


def _impedance(circuit: Circuit, slip: float) -> complex:
    gap = circuit.magnetising_admittance(circuit.frequency) + circuit.rotor_admittance(slip, circuit.frequency)
    return complex(circuit.stator_impedance(circuit.frequency) + 1 / gap)


def derating(unbalance: float) -> float:
    """Share of rated power permitted at an unbalance by greatest deviation (pu), straight lines between the readings.

    Raises:
        DomainError: above 5 %, where operation is not recommended.

    Source: NEMA MG 1, 14.36, figure 14-1 (a graph; readings).
    """
    rows = table("nema_unbalance_derating").rows
    levels = [float(r["unbalance_percent"]) for r in rows]
    if 100 * unbalance > levels[-1] + 1e-9:
        raise DomainError.of(
            "unbalance", f"{100 * unbalance:.3g} %", "operation above 5 % is not recommended", "mend the supply first"
        )
    factors: Any = [float(r["factor"]) for r in rows]
    return float(np.interp(100 * unbalance, [0.0, *levels], [1.0, *factors]))

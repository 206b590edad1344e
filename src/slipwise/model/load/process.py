"""Torque curves of driven machines from process data: pumps with valve or static head, fans with damper, conveyors.

All shapes are quasi-steady: the inertia of the water or air column is left out (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipwise.model.load.load import Load, PowerTerm
from slipwise.quantity.errors import DomainError

_POINTS = 161  # of a curve from rest to 1.25 times rated speed
_REACH = 1.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Centrifugal:
    """A pump or fan by its rated point and two shape figures.

    torque: at rated speed and rated flow [N m]; speed: rated, at the motor shaft [rad/s]; inertia [kg m2].
    shut_torque: torque at rated speed without flow, per unit of `torque`; below 1 for radial machines, above 1 for axial.
    shut_head: head at rated speed without flow, per unit of rated head; above 1.
    """

    torque: float
    speed: float
    inertia: float
    shut_torque: float
    shut_head: float = 1.2


def against_shut_valve(machine: Centrifugal) -> Load:
    """Started against a shut valve or damper: torque = shut torque x speed squared.

    Source: affinity laws (Karassik et al., Pump Handbook, from memory).
    """
    term = PowerTerm(coefficient=machine.shut_torque * machine.torque, exponent=2)
    return Load(terms=(term,), base_speed=machine.speed, inertia=machine.inertia)


def against_open_valve(machine: Centrifugal) -> Load:
    """Started into an open system without static head: torque = rated torque x speed squared.

    Source: affinity laws (Karassik et al., Pump Handbook, from memory).
    """
    term = PowerTerm(coefficient=machine.torque, exponent=2)
    return Load(terms=(term,), base_speed=machine.speed, inertia=machine.inertia)


def against_static_head(machine: Centrifugal, static_head: float) -> Load:
    """Started against a static head behind a non-return valve.

    static_head: per unit of rated head, from 0 up to below the shut head at rated speed.

    Below the lift speed n0 = sqrt(static / shut head) the valve stays shut. Above it flow follows from pump head
    H0 n^2 - (H0 - 1) q^2 = Hs + (1 - Hs) q^2, and torque = n^2 (t0 + (1 - t0) q / n) between shut and rated flow.

    Raises:
        DomainError: static_head outside its range.

    Source: affinity laws with a parabolic head curve and straight torque against flow (common practice, no source).
    """
    if not 0 <= static_head < machine.shut_head:
        reason = f"must lie from 0 to below the shut head of {machine.shut_head:g} per unit"
        raise DomainError.of("static_head", static_head, reason, "give the static head per unit of rated head")
    n = np.linspace(0.0, _REACH, _POINTS)
    lift = (static_head / machine.shut_head) ** 0.5
    n = np.sort(np.append(n, lift)) if lift > 0 else n
    torque = machine.torque * _torque_with_flow(machine, n, _flow(machine, n, static_head))
    return Load(
        terms=(),
        base_speed=machine.speed,
        inertia=machine.inertia,
        curve_speed=tuple(float(x) for x in n * machine.speed),
        curve_torque=tuple(float(t) for t in torque),
    )


def _flow(machine: Centrifugal, n: NDArray[np.float64], static_head: float) -> NDArray[np.float64]:
    """Flow per unit of rated at speeds `n` per unit; zero below the lift speed."""
    surplus = (machine.shut_head * n**2 - static_head) / (machine.shut_head - static_head)
    flow: NDArray[np.float64] = np.sqrt(np.maximum(surplus, 0.0))
    return flow


def _torque_with_flow(machine: Centrifugal, n: NDArray[np.float64], flow: NDArray[np.float64]) -> NDArray[np.float64]:
    """Torque per unit of rated at speed and flow per unit."""
    return machine.shut_torque * n**2 + (1 - machine.shut_torque) * n * flow


@dataclass(frozen=True, slots=True, kw_only=True)
class Conveyor:
    """A belt by its moving mass, belt speed and running pull.

    mass: of belt, load and rotating parts reduced to the belt [kg]; belt_speed at `speed` of the motor shaft [m/s], [rad/s].
    pull: force at the drive pulley while running [N]; lift: the part of it that lifts and acts at rest as well [N].
    breakaway: pull needed to leave rest, per unit of the running friction pull. drive_efficiency: of gear and pulley.
    inertia: of gear and pulley at the motor shaft [kg m2].
    """

    mass: float
    belt_speed: float
    speed: float
    pull: float
    lift: float = 0.0
    breakaway: float = 1.0
    drive_efficiency: float = 1.0
    inertia: float = 0.0


def conveyor(belt: Conveyor, breakaway_speed: float) -> Load:
    """Torque and inertia of a belt at the motor shaft: F v / (w eta), m (v / w)^2.

    breakaway_speed: motor speed at which the breakaway excess has faded. [rad/s]

    Source: power and kinetic energy carried over the transmission (textbook mechanics).
    """
    radius = belt.belt_speed / belt.speed
    friction = (belt.pull - belt.lift) * radius / belt.drive_efficiency
    lift = belt.lift * radius / belt.drive_efficiency
    terms = [PowerTerm(coefficient=friction, exponent=0)]
    if belt.lift:
        terms.append(PowerTerm(coefficient=lift, exponent=0, overhauling=True))
    return Load(
        terms=tuple(terms),
        base_speed=belt.speed,
        inertia=belt.inertia + belt.mass * radius**2,
        breakaway=friction * belt.breakaway,
        breakaway_speed=breakaway_speed,
        travel=radius,
    )


def belt_acceleration(shaft_acceleration: float, belt: Conveyor) -> float:
    """Belt acceleration at a shaft acceleration (rad/s2). [m/s2]"""
    return shaft_acceleration * belt.belt_speed / belt.speed

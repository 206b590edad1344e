"""What a motor should read on the bench, computed from its model before anything is measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from slipwise.model.load.load import Load
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.saturated import saturated_point
from slipwise.model.machine.temperature import resistance_factor
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.quantity.errors import DomainError, InputError
from slipwise.results.points import OperatingPoint
from slipwise.solve.plan import Drive
from slipwise.study.points import at_torque

NO_LOAD = (1.1, 1.0, 0.9, 0.75, 0.6, 0.45, 0.3)  # of rated voltage
LOCKED = (0.5, 0.75, 1.0, 1.25)  # of rated current
LOADS = (1.25, 1.0, 0.75, 0.5, 0.25)  # of rated torque
COASTING = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5)  # of synchronous speed
ROOM = 20.0  # degC, of the winding in the direct-current test


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One expected reading. voltage line V; current line A; power W; torque N m; speed rad/s; time s; 0 where not read."""

    voltage: float = 0.0
    current: float = 0.0
    power: float = 0.0
    torque: float = 0.0
    speed: float = 0.0
    time: float = 0.0
    efficiency: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """All tests of one motor. resistance: between two terminals at ROOM [ohm]; clamp: torque at rest and rated voltage [N m].

    coasting is empty when the model has no friction and windage, or no inertia.
    """

    motor: Motor
    resistance: float
    clamp: float
    no_load: tuple[Reading, ...]
    locked_rotor: tuple[Reading, ...]
    load: tuple[Reading, ...]
    coasting: tuple[Reading, ...]


def expected(motor: Motor) -> Expected:
    """The readings a motor should give.

    Raises:
        InputError: it is known by typed curves only.
    """
    circuit = motor.circuit
    if circuit is None:
        raise InputError.of(
            "motor.curves", "", "bench readings are expected from an equivalent circuit, and this motor has curves only",
            "give [motor.circuit] or the plate with its catalogue line",
        )  # fmt: skip
    rating = motor.rating
    rest = saturated_point(circuit, 1.0, rating.phase_voltage, rating.frequency, rating.synchronous_speed).point
    cold = resistance_factor(motor.stator_temperature, ROOM, motor.stator_conductor)
    return Expected(
        motor=motor,
        resistance=2 * circuit.R1 * cold,
        clamp=float(rest.torque),
        no_load=tuple(running_free(motor, NO_LOAD)),
        locked_rotor=tuple(held(motor, share * rating.current) for share in LOCKED),
        load=tuple(on_brake(motor, LOADS)),
        coasting=tuple(coasting(motor, COASTING)),
    )


def running_free(motor: Motor, shares: tuple[float, ...]) -> Iterator[Reading]:
    """At shares of rated voltage; those at which the motor cannot turn itself are left out."""
    for share in shares:
        try:
            point = at_torque(_drive(motor, share), 0.0, "")
        except DomainError:
            continue
        yield _reading(point)


def on_brake(motor: Motor, shares: tuple[float, ...]) -> Iterator[Reading]:
    """At rated voltage and shares of rated torque; those above breakdown are left out."""
    for share in shares:
        try:
            point = at_torque(_drive(motor, 1.0), share * motor.rating.torque, "")
        except DomainError:
            continue
        yield _reading(point)


def held(motor: Motor, current: float, frequency: float | None = None) -> Reading:
    """Rotor held, line current (A) at rated or another frequency (Hz)."""
    from scipy.optimize import brentq

    circuit, rating = motor.circuit, motor.rating
    assert circuit is not None
    hertz = rating.frequency if frequency is None else frequency
    field = 4 * pi * hertz / rating.poles

    def point(volts: float) -> tuple[float, float, float]:
        found = saturated_point(circuit, 1.0, volts, hertz, field).point
        return float(abs(found.stator_current)), float(found.input_power.real), float(found.torque)

    highest = rating.phase_voltage
    while point(highest)[0] < current:
        highest *= 1.5
    volts = float(brentq(lambda v: point(v)[0] - current, 1e-6 * highest, highest, xtol=1e-10))
    reached, power, torque = point(volts)
    return Reading(voltage=volts * sqrt(3), current=reached, power=power, torque=torque)


def coasting(motor: Motor, shares: tuple[float, ...]) -> Iterator[Reading]:
    """Times at which the uncoupled rotor passes shares of synchronous speed, from that speed; none without loss or inertia.

    J dw / T(w) integrated by Gauss's rule between the speeds.
    """
    top = motor.rating.synchronous_speed
    if motor.inertia <= 0 or float(motor.mechanical_torque(top)) <= 0:
        return
    nodes, weights = np.polynomial.legendre.leggauss(20)
    time, before = 0.0, top
    for share in shares:
        speed = share * top
        middle, half = 0.5 * (before + speed), 0.5 * (before - speed)
        torque = np.asarray(motor.mechanical_torque(middle + half * nodes))
        time += float(np.sum(weights / torque)) * half * motor.inertia
        before = speed
        yield Reading(speed=speed, time=time)


def _drive(motor: Motor, share: float) -> Drive:
    """The motor alone, at a share of rated voltage held at its terminals."""
    rating = motor.rating
    bar = Busbar(name="motor terminals", nominal=rating.voltage)
    link = Link(name="bench", kind="network", impedance=0j, busbar=bar)
    path = SupplyPath(voltage=share * rating.voltage, frequency=rating.frequency, links=(link,))
    return Drive(motor=motor, load=Load(terms=(), base_speed=rating.synchronous_speed, inertia=0.0), supply=path)


def _reading(point: OperatingPoint) -> Reading:
    return Reading(
        voltage=point.terminal_voltage,
        current=point.line_current,
        power=point.input_power,
        torque=point.torque,
        speed=point.speed,
        efficiency=point.efficiency or 0.0,
    )

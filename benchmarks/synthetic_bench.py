"""Bench readings of known machines, computed from their circuits, and shaken by meters of a class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from math import pi, sqrt
from typing import Any

import numpy as np
from scipy.optimize import brentq

from slipwise.identify.bench.records import (
    Bench,
    DcReading,
    LoadReading,
    LockedReading,
    Meter,
    Meters,
    NoLoadReading,
    Split,
)
from slipwise.identify.rows import shaft_torque
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss, Motor, Rating
from slipwise.model.machine.point import operating_point

CLASS_HALF = Meters(**{f.name: Meter(accuracy=0.005) for f in fields(Meters) if f.name != "temperature"})
NO_CLASS = Meters()
LOCKED = ((0.9, 0.25),)  # current over rated, frequency over rated
WARM = 25.0  # degC in every test


def machine(circuit: Circuit, power: float, voltage: float, poles: int, friction: float, stray: float = 0.0) -> Motor:
    """A motor with rating values that its circuit gives. friction: at synchronous speed, W; stray: at rated output, W."""
    sync = 4 * pi * circuit.frequency / poles
    rating = Rating(
        power=power, voltage=voltage, frequency=circuit.frequency, poles=poles, speed=0.95 * sync,
        current=power / (sqrt(3) * voltage * 0.7), connection="star",
    )  # fmt: skip
    motor = Motor(
        rating=rating, inertia=0.01, circuit=circuit, mechanical_loss=MechanicalLoss(torque=friction / sync), stray=stray,
        stator_temperature=WARM, rotor_temperature=WARM,
    )  # fmt: skip
    for _ in range(6):
        rating, slip = motor.rating, _full_load_slip(motor)
        point = operating_point(circuit, slip, voltage / sqrt(3), circuit.frequency, sync)
        rating = replace(rating, speed=(1 - slip) * sync, current=float(abs(point.stator_current)))
        motor = replace(motor, rating=rating)
    return motor


def _full_load_slip(motor: Motor) -> float:
    sync = motor.rating.synchronous_speed

    def over(slip: float) -> float:
        return float(shaft_torque(motor, slip) * (1 - slip) * sync - motor.rating.power)

    enough = next(float(s) for s in np.geomspace(1e-4, 0.3, 80) if over(float(s)) >= 0)
    return float(brentq(over, 1e-6, enough, xtol=1e-14))


def b7() -> Motor:
    """The workshop's bench machine, single cage."""
    circuit = Circuit(frequency=50.0, R1=2.55, X1=2.9, Xm=72.0, Rfe=1500.0, rotor=(RotorBranch(R=2.0, X=4.1),))
    return machine(circuit, 2200.0, 400.0, 4, 28.0, 18.0)


def big() -> Motor:
    """A 110 kW machine, 60 Hz, where the stator resistance is a small part of everything."""
    circuit = Circuit(frequency=60.0, R1=0.021, X1=0.095, Xm=4.2, Rfe=95.0, rotor=(RotorBranch(R=0.019, X=0.13),))
    return machine(circuit, 110e3, 460.0, 6, 750.0, 900.0)


def double() -> Motor:
    """A 55 kW machine with two cages, 50 Hz."""
    rotor = (RotorBranch(R=0.16, X=0.11), RotorBranch(R=0.055, X=0.36))
    circuit = Circuit(frequency=50.0, R1=0.05, X1=0.18, Xm=7.0, Rfe=190.0, rotor=rotor)
    return machine(circuit, 55e3, 400.0, 4, 420.0, 450.0)


def bench_of(
    motor: Motor,
    *,
    volts: Sequence[float] = (1.1, 1.0, 0.9, 0.75, 0.6, 0.5, 0.4, 0.3),
    locked: Sequence[tuple[float, float]] = LOCKED,
    loads: Sequence[float] = (),
    meters: Meters = NO_CLASS,
) -> Bench:
    """What ideal meters would read on this motor, and its split of the leakage.

    volts: no-load voltages over rated; locked: (current, frequency) over rated; loads: shaft power over rated.
    """
    circuit, rating = motor.circuit, motor.rating
    assert circuit is not None
    split = circuit.X1 / _rotor_leakage(circuit, min(f for _, f in locked))
    return Bench(
        power=rating.power,
        voltage=rating.voltage,
        frequency=rating.frequency,
        poles=rating.poles,
        connection=rating.connection,
        tested=rating.connection,
        dc=DcReading(between="two terminals", temperature=WARM, resistance=2 * circuit.R1),
        no_load=tuple(_no_load(motor, v * rating.voltage) for v in volts),
        locked=tuple(_locked(motor, i * rating.current, f * rating.frequency) for i, f in locked),
        loads=tuple(_load(motor, share * rating.power) for share in loads),
        meters=meters,
        split=Split(ratio=split, low=split, high=split, why="known machine"),
        speed=rating.speed,
        current=rating.current,
    )


def _rotor_leakage(circuit: Circuit, frequency: float) -> float:
    """Of all branches together at this share of rated frequency, brought to rated. [ohm]"""
    rotor = circuit.rotor_admittance(1.0, frequency * circuit.frequency)
    return float((1 / rotor).imag / frequency)


def _no_load(motor: Motor, voltage: float) -> NoLoadReading:
    slip = _slip(motor, voltage, 0.0)
    found = operating_point(*_at(motor, slip, voltage))
    return NoLoadReading(
        voltage=voltage, current=float(abs(found.stator_current)), power=float(found.input_power.real), temperature=WARM
    )


def _slip(motor: Motor, voltage: float, power: float) -> float:
    """Slip at which friction (stray loss left out at no load) and shaft power are balanced."""
    sync = motor.rating.synchronous_speed

    def over(slip: float) -> float:
        found = operating_point(*_at(motor, slip, voltage))
        speed = (1 - slip) * sync
        stray = motor.stray_torque(speed, abs(found.stator_current)) if power else 0.0
        return float((found.torque - motor.mechanical_torque(speed) - stray) * speed - power)

    return float(brentq(over, 0.0, 0.15, xtol=1e-15))


def _at(motor: Motor, slip: float, voltage: float) -> tuple[Circuit, float, float, float, float]:
    assert motor.circuit is not None
    return motor.circuit, slip, voltage / sqrt(3), motor.rating.frequency, motor.rating.synchronous_speed


def _locked(motor: Motor, current: float, frequency: float) -> LockedReading:
    assert motor.circuit is not None
    sync = motor.rating.synchronous_speed * frequency / motor.rating.frequency
    unit = operating_point(motor.circuit, 1.0, 1.0, frequency, sync)
    volts = current / float(abs(unit.stator_current))
    power = float(unit.input_power.real) * volts**2
    return LockedReading(voltage=volts * sqrt(3), current=current, power=power, frequency=frequency, temperature=WARM)


def _load(motor: Motor, power: float) -> LoadReading:
    slip = _slip(motor, motor.rating.voltage, power)
    found = operating_point(*_at(motor, slip, motor.rating.voltage))
    speed = (1 - slip) * motor.rating.synchronous_speed
    return LoadReading(
        voltage=motor.rating.voltage,
        current=float(abs(found.stator_current)),
        power=float(found.input_power.real),
        speed=speed,
        torque=power / speed,
        temperature=WARM,
    )


def shaken(bench: Bench, random: np.random.Generator) -> Bench:
    """The same readings with errors of the bench's meters: even within the limit of each class, independent."""

    def off(row: Any, names: Sequence[tuple[str, str]]) -> Any:
        changed = {}
        for name, meter_name in names:
            meter, value = getattr(bench.meters, meter_name), getattr(row, name, None)
            if meter is not None and value is not None:
                changed[name] = value + meter.limit(value) * random.uniform(-1, 1)
        return replace(row, **changed)

    dc = [("resistance", "resistance"), ("voltage", "dc_voltage"), ("current", "dc_current")]
    rest = [(n, n) for n in ("voltage", "current", "power", "frequency", "speed", "torque")]
    return replace(
        bench,
        dc=off(bench.dc, dc),
        no_load=tuple(off(row, rest) for row in bench.no_load),
        locked=tuple(off(row, rest) for row in bench.locked),
        loads=tuple(off(row, rest) for row in bench.loads),
    )

"""Steady operating points of a study's motor on its supply: at a speed, at a load torque, or where the load settles."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt
from typing import Any

import numpy as np

from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.quantity.errors import DomainError
from slipwise.results.points import OperatingPoint
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.steady import solve
from slipwise.study.model import Study

RUNNING = Stage(name="running", until=settled())
GRID = 2001  # speeds scanned for a crossing; the crossing itself is then solved


def drive_of(study: Study, *, stiff: bool = False) -> Drive:
    """The study's motor, load and ordinary supply; `stiff`: rated voltage held at the terminals whatever the current."""
    if not stiff:
        return Drive(motor=study.motor, load=study.load, supply=study.supply.nominal)
    rating = study.motor.rating
    terminals = Busbar(name="motor terminals", nominal=rating.voltage)
    link = Link(name="rated voltage", kind="network", impedance=0j, busbar=terminals)
    supply = SupplyPath(voltage=rating.voltage, frequency=rating.frequency, links=(link,))
    return Drive(motor=study.motor, load=study.load, supply=supply)


def at_speed(drive: Drive, speed: float, asked: str) -> OperatingPoint:
    """The steady state at shaft `speed` (rad/s), any sign.

    Raises:
        DomainError: the speed is not finite.
    """
    if not np.isfinite(speed):
        raise DomainError.of("speed", speed, "is not a finite number", "give a finite speed")
    p = solve(drive, RUNNING, float(speed))
    terminal = float(abs(p.busbars[-1]))
    shaft, taken = float(p.torque * speed), float(p.power)
    apparent = 3 * terminal * float(p.line)
    return OperatingPoint(
        asked=asked,
        speed=float(speed),
        slip=1 - float(speed) / drive.motor.rating.synchronous_speed,
        torque=float(p.torque),
        shaft_power=shaft,
        input_power=taken,
        line_current=float(p.line),
        winding_current=float(p.winding),
        power_factor=taken / apparent if apparent else 0.0,
        efficiency=_efficiency(shaft, taken),
        terminal_voltage=terminal * sqrt(3),
        stator_loss=float(p.stator_loss),
        rotor_loss=float(p.rotor_loss),
        core_loss=float(p.core_loss),
        mechanical_loss=float(p.mechanical_loss),
        stray_loss=float(p.stray_loss),
    )


def at_torque(drive: Drive, torque: float, asked: str) -> OperatingPoint:
    """The steady state on the stable side of the curve at shaft `torque` (N m); negative when the load drives the motor.

    Raises:
        DomainError: the motor cannot hold that torque on this supply.
    """
    return at_speed(drive, _crossing(drive, lambda speed: torque + 0.0 * speed, torque < 0, f"{torque:.4g} N m"), asked)


def at_load(drive: Drive, asked: str = "the study's load") -> OperatingPoint:
    """The steady state where the motor meets its load, coming down from synchronous speed.

    Raises:
        DomainError: they do not meet between standstill and twice synchronous speed.
    """
    synchronous = drive.motor.rating.synchronous_speed
    driven = float(drive.load.running(synchronous)) < 0
    return at_speed(drive, _crossing(drive, drive.load.running, driven, "the study's load"), asked)


def _crossing(drive: Drive, wanted: Callable[[Any], Any], generating: bool, words: str) -> float:
    """Speed nearest synchronous speed at which the shaft torque is `wanted(speed)`. [rad/s]"""
    from scipy.optimize import brentq

    synchronous = drive.motor.rating.synchronous_speed
    speeds = np.linspace(synchronous, 2 * synchronous if generating else 0.0, GRID)
    surplus = np.asarray(solve(drive, RUNNING, speeds).torque - wanted(speeds))
    found = np.flatnonzero(surplus <= 0 if generating else surplus >= 0)
    if found.size == 0:
        raise DomainError.of(
            "torque",
            words,
            f"the motor holds at most {abs(surplus + wanted(speeds)).max():.4g} N m on this supply",
            "ask for less torque, or look at the curves with `slipwise curves`",
        )
    first = int(found[0])
    if first == 0:
        return float(synchronous)

    def gap(speed: float) -> float:
        return float(solve(drive, RUNNING, float(speed)).torque - wanted(float(speed)))

    return float(brentq(gap, speeds[first], speeds[first - 1], xtol=1e-9, rtol=1e-14))


def _efficiency(shaft: float, taken: float) -> float | None:
    if shaft > 0 and taken > 0:
        return shaft / taken
    return taken / shaft if shaft < 0 and taken < 0 else None

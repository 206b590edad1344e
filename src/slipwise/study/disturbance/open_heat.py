"""The hottest winding while a motor runs on two lines: where it settles, and when it is too warm."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from slipwise.model.machine.sequence import UnbalancedPoint
from slipwise.model.thermal.parameters import CAGE, FRAME, IRON, WINDING
from slipwise.results.disturbance import Finding
from slipwise.solve.disturbed.open_line import OneLineOpen
from slipwise.solve.heat_limits import time_to_limit
from slipwise.study.disturbance.parts import finding, warmth
from slipwise.study.model import Study
from slipwise.study.thermal.motor import lasting, running_state


@dataclass(frozen=True, slots=True, kw_only=True)
class Warming:
    """The hottest winding on two lines: settled temperature [degC], and time from running warm to its limit [s]."""

    settled: float
    bears: float


def hottest_of(point: UnbalancedPoint) -> float:
    """Largest rms current of the three windings. [A]"""
    return max(abs(i) for i in point.windings)


def warming(study: Study, found: OneLineOpen) -> Warming | None:
    """By the thermal network, all three windings taken to lose what the hottest does; None when `[thermal]` is not given, or
    the motor does not run on."""
    asked, circuit = study.thermal, study.motor.circuit
    if asked is None or circuit is None or found.speed is None:
        return None
    share = (
        9.0 if study.motor.rating.connection == "delta" else 3.0
    )  # R1 is that of the star equivalent; three windings
    point = found.running
    stator = share * circuit.R1 * hottest_of(point) ** 2
    settled = warmth(study, stator, point.rotor_loss, point.core_loss)
    losses = {WINDING: stator, CAGE: point.rotor_loss, IRON: point.core_loss, FRAME: asked.motor.losses.other}
    start = running_state(study, float(study.load.torque(found.before)) / study.motor.rating.torque)
    bears = time_to_limit(lasting(asked), losses, 1.0, start=start, ambient=asked.ambient)
    return None if settled is None else Warming(settled=settled, bears=bears)


def warmed(warm: Warming | None) -> tuple[Finding, ...]:
    """The numbers of `warming`, none when there are none."""
    if warm is None:
        return ()
    bears = warm.bears if isfinite(warm.bears) else None
    return (
        finding("temperature", "Hottest winding, if nothing trips", warm.settled, "degC"),
        finding("bears", "Time until it is at its permitted temperature", bears, "s"),
    )

"""A slip-ring motor on a diode bridge with a smooth link: what rotor chopper and recovery to the line have in common."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np

from slipwise.methods.speed import rotor_reach as reach
from slipwise.methods.speed.rotor_side import (
    NEXT_TO_NOTHING,
    Inside,
    Rings,
    first_crossing,
    inside,
    line_harmonics,
    shaft_torque,
)
from slipwise.methods.speed.way import SpeedTask
from slipwise.model.converter.rotor_bridge import ORDERS, BridgePoint, bridge, short_circuit_current, sweep
from slipwise.results.series import Array
from slipwise.results.speed import DutyPoint, Envelope, FamilyCurve, Harmonic, Loss, Part

_PLACES = np.linspace(0.0, 1.0, 81) ** 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bridged:
    """The machine behind its bridge at a link current: `inside` the motor, `link` at the bridge (as built), arrays alike.

    extra: copper loss from the harmonics of the rotor current, W.
    """

    inside: Inside
    link: BridgePoint
    extra: Any

    @property
    def copper(self) -> Any:
        return self.inside.copper + self.extra


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkLine:
    """What stands at the other end of the link at constant setting: volts = back + resistance x current. [V], [ohm]"""

    back: float
    resistance: float


def bridged(seen: Rings, slip: Any, current: Any) -> Bridged:
    """The machine at a link current (A); slip and current broadcast."""
    resistance, reactance = seen.own_impedance(slip)
    return _from(seen, slip, bridge(current, slip * seen.ring_voltage, resistance, reactance), resistance)


def swept(seen: Rings, slip: Any) -> tuple[Any, Bridged]:
    """The whole range of link current at each slip (n,): the sweep, and the machine along it (n, k)."""
    resistance, reactance = seen.own_impedance(slip)
    found = sweep(slip * seen.ring_voltage, resistance, reactance)
    return found, _from(seen, slip[:, None], found.point, resistance[:, None])


def _from(seen: Rings, slip: Any, link: BridgePoint, resistance: Any) -> Bridged:
    state = inside(seen, slip, link.fundamental / seen.ratio)
    extra = 3 * resistance * (link.square - abs(link.fundamental) ** 2)
    return Bridged(inside=state, link=link, extra=extra)


def link_current_for(seen: Rings, slip: float, torque: float) -> float | None:
    """Smallest link current that carries a shaft torque at a slip; None when none does. [A]"""
    resistance, reactance = seen.own_impedance(slip)
    limit = float(short_circuit_current(slip * seen.ring_voltage, resistance, reactance))
    root = first_crossing(
        lambda share: shaft_torque(seen, bridged(seen, slip, share**2 * limit).inside) - torque, 0.0, 1.0
    )
    return None if root is None else root**2 * limit


def at_most(seen: Rings, slip: float) -> Bridged:
    """The machine at the link current of greatest torque at a slip."""
    resistance, reactance = seen.own_impedance(slip)
    limit = float(short_circuit_current(slip * seen.ring_voltage, resistance, reactance))
    torques = shaft_torque(seen, bridged(seen, slip, _PLACES * limit).inside)
    return bridged(seen, slip, float(_PLACES[int(np.argmax(torques))]) * limit)


def along(seen: Rings, slip: Any, lines: tuple[LinkLine, ...]) -> tuple[Any, Any, Any]:
    """Shaft torque [N m], stator current [A] and link current [A] over slips (n,) at each link line; shape (m, n)."""
    sweep_, state = swept(seen, slip)
    back = np.array([line.back for line in lines])
    resistance = np.array([line.resistance for line in lines])
    place = sweep_.crossing(back, resistance)
    read = sweep_.read
    torque, stator = shaft_torque(seen, state.inside), abs(state.inside.stator)
    return read(torque, place), read(stator, place), read(state.link.current, place)


def torque_at(seen: Rings, line: LinkLine) -> reach.Torque:
    """Shaft torque over slip at one link line."""
    return lambda slip: along(seen, np.atleast_1d(slip), (line,))[0][0]


def curves(seen: Rings, slips: Any, rows: tuple[tuple[str, float, str, LinkLine], ...]) -> tuple[FamilyCurve, ...]:
    """Characteristics for several link lines: (label, value, unit, line) each."""
    torque, current, _ = along(seen, slips, tuple(row[3] for row in rows))
    speed = (1 - slips) * seen.sync
    return tuple(
        FamilyCurve(label=label, value=value, unit=unit, speed=speed, torque=torque[k], current=current[k])
        for k, (label, value, unit, _) in enumerate(rows)
    )


def settles_near(seen: Rings, task: SpeedTask, duty: DutyPoint, line: LinkLine) -> float | None:
    """Slip at which the motor carries the load through a demand at one link line; None when it does not."""
    return reach.settles(seen, task, duty, torque_at(seen, line), 1.0 - NEXT_TO_NOTHING)


def motor_part(seen: Rings, slip: float, state: Bridged) -> tuple[Loss, float, tuple[Harmonic, ...]]:
    """Harmonic copper loss; mean square of the rotor's harmonics, stator-referred [A2]; harmonics in the line [A]."""
    excess = float(state.link.square - abs(state.link.fundamental) ** 2) / seen.ratio**2
    listed = line_harmonics(seen, slip, ORDERS, [float(h) / seen.ratio for h in state.link.harmonics])
    return Loss(part=Part.HARMONIC, power=float(state.extra)), excess, listed


def rated_link_current(seen: Rings) -> float:
    """Link current that carries rated torque at one tenth of slip: the yardstick for a converter's short-time limit. [A]"""
    found = link_current_for(seen, 0.1, seen.motor.rating.torque)
    return float(at_most(seen, 0.1).link.current) if found is None else found


def envelope(task: SpeedTask, seen: Rings, speeds: Array) -> Envelope:
    """Torque over speed behind a bridge whose converter carries `overload` times rated current for a short time."""
    _, state = swept(seen, seen.slip(speeds))
    short = state.link.current / (task.overload * rated_link_current(seen))
    return reach.envelope(task, speeds, shaft_torque(seen, state.inside), state.copper, short, seen.motor)


def open_line_voltage(seen: Rings, slip: float) -> float:
    """Line voltage between open rings at a slip, rms. [V]"""
    return sqrt(3) * slip * seen.ring_voltage

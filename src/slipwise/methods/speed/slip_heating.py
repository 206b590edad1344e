"""Heat of a motor slowed by slip, at every speed along its load, and the speed where it is worst."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from slipwise.methods.speed import duty_load
from slipwise.methods.speed.cooling import winding_heat
from slipwise.methods.speed.stator_voltage import Fed, Full, settles_at
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount, rpm
from slipwise.quantity.errors import InputError
from slipwise.results.slip_heat import SlipHeat

POINTS = 97
SLOWEST = 0.03  # of synchronous speed

States = Callable[[Any, Any], tuple[Fed, Any]]
"""Speeds (rad/s) and shaft torques (N m) to the states that hold them, and where the way can hold them at all."""


def heating(task: SpeedTask, states: States, full: Full, points: int = POINTS) -> SlipHeat:
    """Along the load drawn through the demand of greatest speed, from nearly rest to where full voltage settles.

    Raises:
        InputError: full voltage does not carry this load at all.
    """
    motor, site = task.drive.motor, task.site
    law: Callable[[Any], Any] = task.drive.load.running
    below = [d for d in task.duty if d.speed < motor.rating.synchronous_speed]
    if below:
        law = duty_load.through(task.drive.load, max(below, key=lambda d: d.speed))
    top = settles_at(full, law, motor)
    if top <= SLOWEST * motor.rating.synchronous_speed:
        raise InputError.of("load", "its torque", "full voltage does not carry it", "take a larger motor")
    speed = np.linspace(SLOWEST * motor.rating.synchronous_speed, top, points)
    torque = np.asarray(law(speed), dtype=float)
    fed, possible = states(speed, torque)
    keep = np.flatnonzero(possible)
    if not keep.size:
        raise InputError.of("load", "its torque", "no voltage holds it at any speed", "take a larger motor")
    copper, rotor = np.asarray(fed.copper_loss)[keep], np.asarray(fed.rotor_current)[keep]
    heat = np.asarray(winding_heat(motor, site, speed[keep], copper))
    worst = int(np.argmax(heat))
    return SlipHeat(
        speed=speed[keep],
        torque=torque[keep],
        rotor_current=rotor,
        copper_loss=copper,
        heat=heat,
        worst_speed=float(speed[keep][worst]),
        worst_heat=float(heat[worst]),
        worst_current_speed=float(speed[keep][int(np.argmax(rotor))]),
    )


def heat_note(found_for: Callable[[SpeedTask], SlipHeat], task: SpeedTask) -> str:
    """The worst speed, in words; why there is none, when the load is not carried."""
    try:
        found = found_for(task)
    except InputError as error:
        return f"No heat along the load: {error.faults[0].reason}."
    return (
        f"Along this load the windings heat most at {rpm(found.worst_speed)}: {amount(found.worst_heat)} times what the "
        f"cooling there carries away; the rotor current is greatest at {rpm(found.worst_current_speed)}."
    )

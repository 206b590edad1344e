"""How much heat a motor sheds at a speed and a place, and how hot its windings get against that."""

from __future__ import annotations

from typing import Any

import numpy as np

from slipwise.methods.speed.way import Site
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import operating_point

# A shaft-mounted fan: about half of rated torque for good at standstill, four fifths at a quarter of speed, nearly all
# at half (common practice, no source; makers' curves lie between 0.4 and 0.6 at standstill).
STILL_SHARE, FAN_EXPONENT = 0.30, 0.45
STILL_RANGE = (0.16, 0.40)
COOLING_NOTE = "cooling by the shaft's own fan against speed: common practice, no source"
# Class F: rise 105 K over 40 degC (IEC 60034-1, Table 8). Altitude: 1 % of the rise for each 100 m above 1000 m
# (IEC 60034-1, 8.10, from memory).
RISE, USUAL_AMBIENT, FREE_ALTITUDE, PER_METRE = 105.0, 40.0, 1000.0, 1e-4


def fan_share(speed: Any, rated_speed: float, *, forced: bool = False) -> Any:
    """Heat carried away at shaft speed (rad/s) per unit of that at rated speed; shape of `speed`. [1]

    forced: cooled by its own blower, 1 at any speed. No credit is given above rated speed.
    Source: common practice, no source.
    """
    if forced:
        return 1.0 + 0.0 * speed
    ratio = np.minimum(np.abs(speed) / rated_speed, 1.0)
    return STILL_SHARE + (1 - STILL_SHARE) * ratio**FAN_EXPONENT


def site_share(site: Site) -> float:
    """Heat the windings may give off at this altitude and ambient per unit of that at 1000 m and 40 degC, at most 1. [1]

    Source: IEC 60034-1: rise of class F by 105 K; thinner air above 1000 m (from memory).
    """
    thin = PER_METRE * max(site.altitude - FREE_ALTITUDE, 0.0)
    warm = max(site.ambient - USUAL_AMBIENT, 0.0) / RISE
    return max(1 - thin - warm, 0.0)


def cooling_share(site: Site, speed: Any, rated_speed: float) -> Any:
    """Fan and site together; shape of `speed`. [1]"""
    return fan_share(speed, rated_speed, forced=site.forced) * site_share(site)


def rated_copper_loss(motor: Motor) -> float:
    """Stator and rotor copper loss at rated slip and voltage: the heat the frame is built for. [W]

    Needs a motor with a circuit.
    """
    rating, circuit = motor.rating, motor.circuit
    if circuit is None:
        raise TypeError("a motor known by its curves has no copper loss of its own")
    at = operating_point(circuit, rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    return float(at.stator_loss + at.rotor_loss)


def winding_heat(motor: Motor, site: Site, speed: Any, copper_loss: Any) -> Any:
    """Winding heating per unit of what the cooling at this speed carries away; 1 is the thermal limit. [1]

    copper_loss: stator, rotor and harmonic copper loss inside the motor, W; shape of `speed` (rad/s).
    Source: heat balance with the copper loss at rated load as the limit (common practice, no source).
    """
    return copper_loss / rated_copper_loss(motor) / cooling_share(site, speed, motor.rating.speed)

"""What the motor bears: its thermal limit hot and cold, its stall time against voltage, its own fan at low speed."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np

from slipwise.model.load.load import Load
from slipwise.model.machine.motor import Motor
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.model.thermal.network import ThermalNetwork
from slipwise.model.thermal.parameters import CAGE, FRAME, IRON, WINDING, fan_cooling
from slipwise.results.series import Array
from slipwise.results.thermal import BodyState, FanCurve, LimitCurve, MotorHeat, StallCurve
from slipwise.solve import steady
from slipwise.solve.heat import steady_rise
from slipwise.solve.heat_limits import time_to_limit
from slipwise.solve.plan import Drive
from slipwise.study.model import Study
from slipwise.study.points import RUNNING
from slipwise.study.thermal.model import ThermalStudy

VOLTAGES = np.linspace(0.6, 1.1, 26)  # per unit of rated
SPEEDS = np.linspace(0.05, 1.0, 39)  # per unit of rated


def motor_heat(study: Study) -> MotorHeat | None:
    """Thermal limits of the study's motor; None when it does not ask for them."""
    asked = study.thermal
    if asked is None:
        return None
    network = asked.motor.network
    hot = running_state(study, 1.0)
    bodies = tuple(
        BodyState(name=b.name, heat_capacity=b.heat_capacity, rated=float(t), limit=b.limit)
        for b, t in zip(network.bodies, hot, strict=True)
    )
    stall, currents = _stall(study, asked, hot)
    return MotorHeat(
        bodies=bodies,
        ambient=asked.ambient,
        rated_loss=asked.motor.losses.total,
        permitted=asked.permitted,
        limits=tuple(
            curve
            for state, start in (("hot", hot), ("cold", cold_state(asked)))
            for curve in (
                _running(study, asked, state, start),
                _accelerating(study, asked, state, start),
                _curve("locked rotor", state, currents, stall.hot if state == "hot" else stall.cold),
            )
        ),
        stall=stall,
        fan=_fan(study, asked),
    )


def cold_state(asked: ThermalStudy) -> Array:
    """All bodies at the ambient. [degC]"""
    return np.full(len(asked.motor.network.bodies), asked.ambient)


def running_losses(study: Study, load: float, speed: float = 1.0) -> dict[str, float]:
    """Losses of each body at a torque and a speed per unit of rated, constant flux; none at speed 0 (switched off). [W]

    Current squared = magnetising share squared + the rest with torque squared (circle of the equivalent circuit near rated
    load). Core, friction and stray loss are held at their rated values: what they lose at low speed is left to the
    harmonics of a converter (common practice, no source).
    """
    assert study.thermal is not None
    losses = study.thermal.motor.losses
    if speed == 0:
        return {}
    idle = idle_share(study.motor) ** 2
    return {
        WINDING: losses.stator * (idle + (1 - idle) * load**2),
        CAGE: losses.rotor * load**2,
        IRON: losses.core,
        FRAME: losses.other,
    }


def idle_share(motor: Motor) -> float:
    """Current at synchronous speed per unit of that at rated slip, rated voltage."""
    rating = motor.rating
    speeds = np.array([rating.synchronous_speed * (1 - 1e-9), rating.speed])
    point = steady.solve(_stiff(motor, 1.0), RUNNING, speeds)
    return float(np.clip(point.motor[0] / point.motor[1], 0.0, 0.95))


def running_state(study: Study, load: float) -> Array:
    """Settled temperatures at a load per unit of rated, full cooling. [degC]"""
    assert study.thermal is not None
    return np.asarray(
        study.thermal.ambient + steady_rise(study.thermal.motor.network, running_losses(study, load)), dtype=np.float64
    )


def _stiff(motor: Motor, voltage: float) -> Drive:
    """The motor alone at a terminal voltage per unit of rated that no current lowers."""
    rating = motor.rating
    terminals = Busbar(name="motor terminals", nominal=rating.voltage)
    link = Link(name="terminal voltage", kind="network", impedance=0j, busbar=terminals)
    path = SupplyPath(voltage=voltage * rating.voltage, frequency=rating.frequency, links=(link,))
    return Drive(motor=motor, load=Load(terms=(), base_speed=rating.speed, inertia=0.0), supply=path)


def _stall(study: Study, asked: ThermalStudy, hot: Array) -> tuple[StallCurve, Array]:
    """Stall times over voltage, and the current that flows. Heat of the circuit at each voltage, no fan."""
    found, cold = [], cold_state(asked)
    for voltage in VOLTAGES:
        at = steady.solve(_stiff(study.motor, float(voltage)), RUNNING, 0.0)
        losses = {WINDING: float(at.stator_loss), CAGE: float(at.rotor_loss), IRON: float(at.core_loss)}
        times = [
            time_to_limit(asked.motor.network, losses, 0.0, start=start, ambient=asked.ambient) for start in (hot, cold)
        ]
        found.append((*times, float(at.motor)))
    hot_time, cold_time, current = np.array(found).T
    return StallCurve(voltage=VOLTAGES, hot=hot_time, cold=cold_time), current


def _running(study: Study, asked: ThermalStudy, state: str, start: Array) -> LimitCurve:
    """Overload while running: losses with the square of current, full cooling, up to the current of breakdown.

    An overload lasts, so the winding's limit here is its steady permitted temperature, not that of a short stall.
    """
    network = lasting(asked)
    rating, losses = study.motor.rating, asked.motor.losses
    speeds = np.linspace(0.5, 1.0, 200) * rating.synchronous_speed
    drive = _stiff(study.motor, 1.0)
    curves = steady.solve(drive, RUNNING, speeds)
    most = float(curves.motor[int(np.argmax(curves.electromagnetic))]) / rating.current
    multiples = np.geomspace(1.05, max(most, 1.2), 30)
    times = [
        time_to_limit(
            network,
            {WINDING: losses.stator * i**2, CAGE: losses.rotor * i**2, IRON: losses.core, FRAME: losses.other},
            1.0,
            start=start,
            ambient=asked.ambient,
        )
        for i in multiples
    ]
    return _curve("running", state, multiples * rating.current, np.array(times))


def lasting(asked: ThermalStudy) -> ThermalNetwork:
    """The network with the winding held to what it may have in steady duty."""
    network = asked.motor.network
    bodies = tuple(replace(b, limit=asked.permitted) if b.name == WINDING else b for b in network.bodies)
    return replace(network, bodies=bodies)


def _accelerating(study: Study, asked: ThermalStudy, state: str, start: Array) -> LimitCurve:
    """Held at a speed between standstill and breakdown at rated voltage: heat of that slip, fan with speed."""
    rating = study.motor.rating
    speeds = np.linspace(0.0, 1.0, 121) * rating.synchronous_speed
    point = steady.solve(_stiff(study.motor, 1.0), RUNNING, speeds)
    last = max(int(np.argmax(point.electromagnetic)), 2)
    times = [
        time_to_limit(
            asked.motor.network,
            {
                WINDING: float(point.stator_loss[i]),
                CAGE: float(point.rotor_loss[i]),
                IRON: float(np.broadcast_to(point.core_loss, speeds.shape)[i]),
            },
            fan_cooling(float(speeds[i] / rating.synchronous_speed)),
            start=start,
            ambient=asked.ambient,
        )
        for i in range(0, last + 1, 4)
    ]
    return _curve("accelerating", state, point.motor[: last + 1 : 4], np.array(times))


def _curve(part: str, state: str, current: Array, seconds: Array) -> LimitCurve:
    return LimitCurve(
        label=f"{part} {state}", part=part, state=state, current=np.asarray(current, dtype=np.float64), seconds=seconds
    )


def _fan(study: Study, asked: ThermalStudy) -> FanCurve:
    """Torque that keeps the winding's rated rise; the steady network is linear in the square of torque."""
    network = asked.motor.network
    place = network.names.index(WINDING)
    rated = float(steady_rise(network, running_losses(study, 1.0))[place])

    def torque(speed: float, cooling: float) -> float:
        idle = float(steady_rise(network, running_losses(study, 0.0, speed), cooling)[place])
        one = float(steady_rise(network, running_losses(study, 1.0, speed), cooling)[place])
        return sqrt(max(rated - idle, 0.0) / (one - idle))

    own = np.array([torque(float(n), fan_cooling(float(n))) for n in SPEEDS])
    forced = np.array([torque(float(n), 1.0) for n in SPEEDS])
    return FanCurve(speed=SPEEDS, own_fan=own, forced=forced)

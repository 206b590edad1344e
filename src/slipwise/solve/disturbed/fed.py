"""What the answers about bad supplies share: the circuit that holds at a point, and where a torque balance settles."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.saturated import saturated_point
from slipwise.quantity.errors import DomainError, InputError
from slipwise.results.series import Array
from slipwise.solve import network, steady, stop
from slipwise.solve.plan import Drive, Stage
from slipwise.solve.stop import RUNNING

Net = Callable[[float], float]  # accelerating torque at a shaft speed, N m over rad/s
_SCAN = 400  # speeds looked at between here and standstill, or between here and twice synchronous speed
_NEARLY = 0.99  # of the way to a speed that is only approached


@dataclass(frozen=True, slots=True, kw_only=True)
class Fed:
    """A motor and its supply as one circuit that is the same for both sequences.

    circuit: of the motor alone, without saturation laws. source: impedance up to the terminals [ohm]. emf: phase voltage
    behind it [V]; the supply is static, so that its impedance is that of both sequences.
    """

    drive: Drive
    circuit: Circuit
    emf: float
    source: complex

    @property
    def whole(self) -> Circuit:
        """Motor and supply: the supply's impedance put into the stator's. [ohm]"""
        own = self.circuit
        return replace(own, R1=own.R1 + self.source.real, X1=own.X1 + self.source.imag)

    @property
    def sync(self) -> float:
        """Synchronous speed of the shaft. [rad/s]"""
        return self.drive.motor.rating.synchronous_speed

    def slip(self, speed: float) -> float:
        """Slip at a shaft speed (rad/s). [1]"""
        return 1 - speed / self.sync

    def net(self, speed: float, electromagnetic: float, current: float) -> float:
        """Accelerating torque: air-gap torque (N m) less friction, stray loss and load. current: rms of the motor, A. [N m]"""
        motor = self.drive.motor
        drag = float(motor.mechanical_torque(speed)) + float(motor.stray_torque(speed, current))
        return electromagnetic - drag - float(self.drive.load.torque(speed))


def holding_circuit(motor: Motor, slip: float) -> Circuit:
    """The motor's circuit with the reactances that hold at `slip` (1) and rated voltage, and no saturation law left.

    Raises:
        DomainError: the motor is known by its curves only.

    Source: `model.machine.saturated`.
    """
    if motor.circuit is None:
        raise DomainError.of("motor.circuit", "", "this needs a circuit, curves do not tell it", "give one or a plate")
    rating = motor.rating
    at = saturated_point(motor.circuit, slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    return at.circuit


def fed(drive: Drive, slip: float) -> Fed:
    """The drive behind its equivalent source at rated frequency, with reactances that hold at `slip` (1).

    Raises DomainError as `holding_circuit`. Source: Thevenin's theorem, base loads at their pre-start admittance.
    """
    emf, source = network.thevenin(drive.supply)
    return Fed(drive=drive, circuit=holding_circuit(drive.motor, slip), emf=abs(emf), source=complex(source))


def settles(net: Net, speed: float, lowest: float, highest: float) -> float | None:
    """Where the shaft comes to rest in its torque balance when it begins at `speed`; None when it passes `lowest` or `highest`.

    net: accelerating torque (N m) over speed (rad/s). Every speed in rad/s. The first zero in the direction of motion is
    bracketed on a fine grid, then found to 1e-10.
    """
    from scipy.optimize import brentq

    start = net(speed)
    if start == 0.0:
        return speed
    end = highest if start > 0 else lowest
    before = speed
    for after in np.linspace(speed, end, _SCAN + 1)[1:]:
        if (net(float(after)) > 0) != (start > 0):
            return float(brentq(net, before, float(after), xtol=1e-10, rtol=1e-12))
        before = float(after)
    return None


def steady_net(drive: Drive, speed: float, stage: Stage = RUNNING) -> float:
    """Accelerating torque of the drive in `stage` at `speed` (rad/s), supply path and saturation solved. [N m]"""
    return float(steady.solve(drive, stage, speed).torque) - float(drive.load.torque(speed))


def running_speed(drive: Drive) -> float:
    """Where the drive runs on its supply. [rad/s]

    Raises:
        DomainError: the load is too much for it.
    """
    try:
        return stop.running_speed(drive)
    except InputError as error:
        reason = "the motor does not run on it before anything is disturbed"
        raise DomainError.of("load", "", reason, "lessen the load") from error


def travel(net: Net, inertia: float, begin: float, end: float, points: int = 240) -> tuple[Array, Array]:
    """Times [s] and speeds [rad/s] on the way from `begin` to `end` (rad/s), shape (points,).

    net: accelerating torque, N m, of one sign on the way; inertia: kg m2. A speed that is only approached is never reached:
    give `nearly` of the way. Source: t = integral of J dw / T, trapezoids of 1/T.
    """
    speeds = np.linspace(begin, end, points)
    slowness = np.array([inertia / net(float(w)) for w in speeds])
    steps = 0.5 * (slowness[1:] + slowness[:-1]) * np.diff(speeds)
    return np.concatenate(([0.0], np.cumsum(steps))), speeds


@dataclass(frozen=True, slots=True, kw_only=True)
class FallsTo:
    """Ends an integration by scipy when one number of the state, at `place`, has fallen to `level`."""

    place: int
    level: float = 0.0
    terminal: bool = True

    def __call__(self, _time: float, state: Array) -> float:
        return float(state[self.place] - self.level)


def nearly(begin: float, end: float) -> float:
    """The speed 99 % of the way from `begin` to `end`. [rad/s]"""
    return begin + _NEARLY * (end - begin)

"""What control of the stator voltage has in common, whoever sets the voltage: demand, heat, and the motor it would take."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial
from math import sqrt
from typing import Any

import numpy as np

from slipwise.methods.speed import duty_load
from slipwise.methods.speed.cooling import COOLING_NOTE, winding_heat
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount, rpm
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import operating_point
from slipwise.quantity.errors import InputError
from slipwise.results.speed import DutyPoint, Envelope, Family, FamilyCurve, Harmonic, Loss, OperatingPoint, Part
from slipwise.results.study import Setting
from slipwise.solve import network

SLOWEST = 0.02  # of synchronous speed: below it the slip is taken as that of standstill
SLIP_NOTE = "The rotor keeps slip times the air-gap power as heat, so that the efficiency stays below 1 - s."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fed:
    """A motor at some speed under a reduced voltage; every field has the shape that was asked for.

    torque at the shaft N m; losses by part W; currents rms A; terminal_voltage: before the controller, rms per phase V.
    voltage: fundamental at the motor, flux: of the air gap, both per unit of rated. rotor_current A referred to the stator.
    line_fundamental: of the line current, A. harmonics: of the line current by order, A; empty when sinusoidal.
    """

    torque: Any
    losses: dict[Part, Any]
    line_current: Any
    motor_current: Any
    line_fundamental: Any
    terminal_voltage: Any
    voltage: Any
    flux: Any
    rotor_current: Any
    harmonics: dict[float, Any]

    @property
    def copper_loss(self) -> Any:
        """Stator, rotor and harmonic loss inside the motor. [W]"""
        return sum(self.losses[part] for part in (Part.STATOR, Part.ROTOR, Part.HARMONIC))

    def pick(self, index: Any) -> Fed:
        """One state out of an array of them."""
        plain = {
            name: np.asarray(getattr(self, name))[index]
            for name in self.__dataclass_fields__
            if name not in ("losses", "harmonics")
        }
        losses = {part: np.asarray(loss)[index] for part, loss in self.losses.items()}
        return Fed(losses=losses, harmonics={h: np.asarray(i)[index] for h, i in self.harmonics.items()}, **plain)


def require_circuit(key: str, motor: Motor) -> Circuit:
    """The circuit without its saturation laws, for reduced voltage; InputError for a motor known by its curves only."""
    if motor.circuit is None:
        raise InputError.of(
            f"speed.{key}",
            "a motor known by its curves",
            "the curves hold at full voltage only and do not part the losses",
            "give the equivalent circuit or the plate",
        )
    return replace(motor.circuit, leakage_saturation=None, main_saturation=None)


def rated_flux(motor: Motor, circuit: Circuit) -> float:
    """Gap voltage at rated slip and voltage, per phase. [V]"""
    rating = motor.rating
    at = operating_point(circuit, rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    return float(abs(at.gap_voltage))


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What a way hands over for one demand: the state, its dials, d(motor torque)/d(speed), and why it is not reached."""

    fed: Fed
    speed: float
    settings: tuple[Setting, ...]
    slope: float
    reason: str = ""
    notes: tuple[str, ...] = ()


def answer(task: SpeedTask, duty: DutyPoint, held: Held) -> OperatingPoint:
    """The operating point of one state; losses in chain order, line power their sum and the shaft's."""
    motor, fed = task.drive.motor, held.fed
    losses = tuple(Loss(part=p, power=float(fed.losses[p])) for p in Part if p in fed.losses)
    shaft = float(fed.torque) * held.speed
    line = shaft + sum(row.power for row in losses)
    outside = sum(row.power for row in losses if row.part in (Part.TRANSFORMER, Part.CONVERTER))
    apparent = 3 * float(fed.terminal_voltage) * float(fed.line_current)
    fundamental = 3 * float(fed.terminal_voltage) * float(fed.line_fundamental)
    law = duty_load.through(task.drive.load, duty)
    harmonics = tuple(Harmonic(order=order, current=float(i)) for order, i in fed.harmonics.items())
    heat = float(winding_heat(motor, task.site, held.speed, float(fed.copper_loss)))
    hot = (
        f"for a short time only: the windings heat {amount(heat)} times what the cooling carries away"
        if heat > 1
        else ""
    )
    useful = max(shaft, 0.0)
    return OperatingPoint(
        duty=duty,
        feasible=not held.reason,
        reason=held.reason or hot,
        settings=held.settings,
        speed=held.speed,
        torque=float(fed.torque),
        slip=1 - held.speed / motor.rating.synchronous_speed,
        stability=duty_load.slope(law, held.speed) - held.slope,
        frequency=motor.rating.frequency,
        flux=float(fed.flux),
        losses=losses,
        line_power=line,
        shaft_power=shaft,
        motor_efficiency=useful / (line - outside),
        efficiency=useful / line,
        line_current=float(fed.line_current),
        motor_current=float(fed.motor_current),
        displacement_factor=line / fundamental,
        power_factor=line / apparent,
        harmonics=harmonics,
        distortion=sqrt(sum(row.current**2 for row in harmonics if row.order > 1)) / float(fed.line_fundamental),
        winding_heat=heat,
        notes=(*held.notes, COOLING_NOTE),
    )


def beyond_reach(motor: Motor, duty: DutyPoint) -> str:
    """Why a demand cannot be had by slip alone; "" when it can."""
    synchronous = motor.rating.synchronous_speed
    if duty.torque < 0:
        return "the load drives the motor there; below synchronous speed slip control cannot brake it"
    if duty.speed >= synchronous:
        return f"{rpm(duty.speed)} lies above the synchronous speed of {rpm(synchronous)}; slip control only slows the motor"
    return ""


Full = Callable[[Any], Any]


def undivided(task: SpeedTask, circuit: Circuit) -> Full:
    """Shaft torque on the full supply with nothing between, against speed (rad/s to N m); numbers and arrays alike."""
    motor, rating = task.drive.motor, task.drive.motor.rating
    emf, before = network.thevenin(task.drive.supply)

    def torque(speed: Any) -> Any:
        slip = 1 - speed / rating.synchronous_speed
        per_volt = operating_point(circuit, slip, 1.0, rating.frequency, rating.synchronous_speed).stator_current
        voltage = emf / (1 + before * per_volt)
        at = operating_point(circuit, slip, voltage, rating.frequency, rating.synchronous_speed)
        return at.torque - motor.mechanical_torque(speed) - motor.stray_torque(speed, abs(at.stator_current))

    return torque


def settles_at(full: Full, law: Callable[[Any], Any], motor: Motor) -> float:
    """Highest speed at which the torque of `full` (speed to N m) meets a load law; standstill when it never does. [rad/s]"""
    speed = np.linspace(0.0, motor.rating.synchronous_speed, 801)
    spare = full(speed) - law(speed)
    falls = np.flatnonzero((spare[:-1] >= 0) & (spare[1:] < 0))
    if not falls.size:
        return 0.0
    i = int(falls[-1])
    low, high = float(speed[i]), float(speed[i + 1])
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if float(full(middle)) >= float(law(middle)) else (low, middle)
    return low


def short_of(duty: DutyPoint, torque: float, reached: float) -> str:
    """Why full voltage does not do: the torque it gives at the speed asked for, and where the load settles instead."""
    instead = f"this load settles at {rpm(reached)}" if reached > 0 else "this load is not moved"
    return f"full voltage gives {amount(torque)} N m at {rpm(duty.speed)} where {amount(duty.torque)} N m are needed; {instead}"


def family(
    task: SpeedTask, curves: Iterable[FamilyCurve], *, key: str, title: str, parameter: str, note: str = ""
) -> Family:
    """A torque-speed family with the load through the first demand (or as given), and 1 - s as an upper bound."""
    synchronous = task.drive.motor.rating.synchronous_speed
    speed = np.linspace(0.0, synchronous, 121)
    law: Callable[[Any], Any] = task.drive.load.running
    if task.duty:
        law = duty_load.through(task.drive.load, max(task.duty, key=lambda d: d.speed))
    return Family(
        key=key,
        title=title,
        parameter=parameter,
        curves=tuple(curves),
        load_speed=speed,
        load_torque=np.asarray(law(speed), dtype=float),
        bound="limit",
        note=note,
    )


def sinusoidal_copper(motor: Motor, circuit: Circuit, slip: Any, factor: Any = 1.0) -> tuple[Any, Any]:
    """Copper loss and air-gap torque per V^2 of motor voltage; the ratio is what a newton metre costs. [W/V2], [N m/V2]

    factor: on the rotor resistance, a number.
    """
    rating = motor.rating
    wound = circuit.with_rotor_resistance(factor)
    at = operating_point(wound, slip, 1.0, rating.frequency, rating.synchronous_speed)
    return at.stator_loss + at.rotor_loss, at.torque


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed:
    """The motor that stator-voltage control of this duty would take. oversize, resistance: factors; slip: rated, pu."""

    oversize: float
    oversize_as_is: float
    resistance: float
    slip: float


def needed_motor(task: SpeedTask, circuit: Circuit) -> Needed:
    """Least oversize over the rotor resistance, so that every demand below synchronous speed keeps within its cooling.

    With a linear circuit the copper loss for a torque at a slip is torque x (loss / torque at 1 V), whatever the voltage and
    whatever the size of the motor; the heat it may lose grows with the size. So the oversize is the greatest of the heat
    ratio and of torque over the torque at full voltage. Harmonics are left out. Source: torque proportional to voltage
    squared (Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.7, from memory).
    """
    motor, rating = task.drive.motor, task.drive.motor.rating
    demands = [d for d in task.duty if d.speed < rating.synchronous_speed and d.torque > 0]
    factors = np.geomspace(1.0, 20.0, 41)
    if not demands:
        return Needed(oversize=1.0, oversize_as_is=1.0, resistance=1.0, slip=rating.slip)
    sizes = np.array([max(_size(task, circuit, demand, float(r)) for demand in demands) for r in factors])
    best = int(np.argmin(np.maximum(sizes, 1.0)))
    return Needed(
        oversize=max(float(sizes[best]), 1.0),
        oversize_as_is=max(float(sizes[0]), 1.0),
        resistance=float(factors[best]),
        slip=_rated_slip(motor, circuit, float(factors[best])),
    )


def _size(task: SpeedTask, circuit: Circuit, duty: DutyPoint, factor: float) -> float:
    motor = task.drive.motor
    slip = 1 - duty.speed / motor.rating.synchronous_speed
    loss, torque = sinusoidal_copper(motor, circuit, slip, factor)
    wanted = duty.torque + float(motor.mechanical_torque(duty.speed))
    heat = float(winding_heat(motor, task.site, duty.speed, float(loss / torque) * wanted))
    return max(heat, wanted / (float(torque) * motor.rating.phase_voltage**2))


def _rated_slip(motor: Motor, circuit: Circuit, factor: float) -> float:
    """Slip at rated torque and full voltage with a rotor of `factor` times the resistance; 1 when it gives less."""
    slips = np.geomspace(1e-4, 1.0, 2001)
    torque = sinusoidal_copper(motor, circuit, slips, factor)[1] * motor.rating.phase_voltage**2
    enough = np.flatnonzero(torque >= motor.rating.torque)
    return float(slips[enough[0]]) if enough.size else 1.0


def needed_settings(task: SpeedTask, circuit: Circuit) -> tuple[Setting, ...]:
    """The slip class and the oversize this duty would take, as rows of what must be bought."""
    found = needed_motor(task, circuit)
    row = partial(Setting, unit="pu", origin="derived")
    why = "so that no demand heats the windings beyond what the cooling at its speed carries away; sinusoidal voltage"
    return (
        row(
            key="oversize_as_is",
            title="motor size with this rotor",
            value=found.oversize_as_is,
            why=f"of the present motor, {why}",
        ),
        row(
            key="oversize",
            title="motor size with the best rotor",
            value=found.oversize,
            why=f"of the present motor, least over the rotor resistance, {why}",
        ),
        row(
            key="slip_class",
            title="rated slip of the best rotor",
            value=found.slip,
            why=f"rotor resistance {amount(found.resistance)} times the present one",
        ),
    )


def envelope(task: SpeedTask, circuit: Circuit, short_time: Full) -> Envelope:
    """Torque that the cooling lets pass at each speed for good, and that of full voltage; sinusoidal heat.

    short_time: shaft torque at full voltage against speed (rad/s to N m).
    """
    motor = task.drive.motor
    synchronous = motor.rating.synchronous_speed
    speed = np.linspace(SLOWEST * synchronous, motor.rating.speed, 101)
    loss, torque = sinusoidal_copper(motor, circuit, 1 - speed / synchronous)
    per_torque = np.asarray(winding_heat(motor, task.site, speed, loss / torque))
    thermal = 1 / per_torque - motor.mechanical_torque(speed)
    top = np.asarray(short_time(speed), dtype=float)
    return Envelope(
        speed=speed,
        continuous=np.maximum(np.minimum(thermal, top), 0.0),
        short_time=np.maximum(top, 0.0),
        continuous_limit=tuple("cooling" if t < full else "full voltage" for t, full in zip(thermal, top, strict=True)),
    )

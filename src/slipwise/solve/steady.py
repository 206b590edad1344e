"""The steady state of a drive in one stage at a given speed: currents, torque, losses, every busbar's voltage."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.direct_current import braking_point
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.saturated import between, distance, effective, is_saturable, peaks
from slipwise.quantity.errors import DomainError
from slipwise.results.series import Array
from slipwise.results.start import Curves
from slipwise.solve import network
from slipwise.solve.inside import Inside, computed, field_speed, look_inside, tolerant
from slipwise.solve.plan import DirectCurrent, Drive, Stage

_ROUNDS = 400
_SETTLED = 1e-9  # of a reactance, between rounds


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One steady state, or an array of them; every field has the shape of the speeds asked for.

    torque: at the shaft, after friction, windage and stray loss [N m]; electromagnetic: in the air gap [N m].
    line, motor, winding: rms currents [A]: in the line at the terminals' busbar; in the motor's leads; in one phase winding.
    busbars: complex phase voltage at each busbar [V]; terminal power is three-phase, into the starter [VA].
    The losses are three-phase [W]; rotor is inside the motor, external is in resistors on the slip rings; starter covers
    series and line impedances, shunts and converters.
    """

    speed: Any
    torque: Any
    electromagnetic: Any
    line: Any
    motor: Any
    winding: Any
    motor_voltage: Any
    busbars: tuple[Any, ...]
    power: Any
    stator_loss: Any
    rotor_loss: Any
    external_loss: Any
    core_loss: Any
    starter_loss: Any
    mechanical_loss: Any
    stray_loss: Any
    reactances: Circuit | None = None  # that held here, when the motor saturates
    admittance: Any = 0.0  # per phase, of the starter and all behind it, as the terminals see it [S]


def solve(drive: Drive, stage: Stage, speed: Any, time: Any = 0.0, near: Circuit | None = None) -> Point:
    """Steady state of `drive` in `stage` at shaft `speed` (rad/s), `time` seconds into the stage (for voltage laws).

    speed: number or array, any sign; numbers stay numbers, which keeps the run-up quick.
    near: where a saturating motor's reactances are sought first (`Point.reactances` of a point nearby); no effect on the
        answer beyond 1e-8.

    Source: per-phase equivalent circuit (Chapman, Electric Machinery Fundamentals, 4th ed., ch. 7), solved together with
    the supply; ideal-transformer relations for the stage's ratio.
    """
    motor = stage.motor or drive.motor
    if not stage.connected:
        return _idle(drive, motor, speed)
    if stage.dc is not None:
        return _braked(drive, motor, stage.dc, speed, stage.rotor_external)
    frequency = 1.0 if stage.frequency is None else stage.frequency.at(time)
    if isinstance(speed, float):
        frequency = float(frequency)
    fed = partial(_fed, drive, motor, stage, speed=speed, time=time, frequency=frequency)
    if motor.circuit is not None and is_saturable(motor.circuit):
        return _saturated(fed, motor, stage, speed, frequency, near)
    return fed(look_inside(motor, stage, speed, frequency))[0]


def _fed(
    drive: Drive, motor: Motor, stage: Stage, inside: Inside, *, speed: Any, time: Any, frequency: Any
) -> tuple[Point, Any]:
    """The motor fed through the stage and the path; with it the star-equivalent motor current. [A]"""
    motor_side = inside.impedance + _at(stage.series, frequency)
    factor = _factor(stage, speed, time)
    if stage.frequency is not None:
        current = factor * motor.rating.phase_voltage / motor_side
        busbars, line = _behind_dc_link(drive, abs(current) ** 2 * motor_side.real)
        return _point(motor, stage, inside, speed=speed, busbars=busbars, line=line, current=current), current
    branch = motor_side / abs(stage.ratio) ** 2 + stage.line_series
    admittance = _phase_control(branch, factor) + (0.0 if stage.shunt is None else 1 / stage.shunt)
    voltages = network.solve(drive.supply, admittance)
    line = voltages.terminals * admittance
    current = factor * voltages.terminals / branch / stage.ratio.conjugate()
    return _point(motor, stage, inside, speed=speed, busbars=voltages.busbars, line=line, current=current), current


def _saturated(
    fed: Callable[[Inside], tuple[Point, Any]],
    motor: Motor,
    stage: Stage,
    speed: Any,
    frequency: Any,
    near: Circuit | None,
) -> Point:
    """The same with reactances that hold at the currents they cause, found by damped repetition together with the path."""
    circuit = motor.circuit
    assert circuit is not None
    sync = field_speed(motor, stage, frequency)
    slip, hertz = 1 - speed / sync, motor.rating.frequency * frequency
    idle = 0.0 * abs(slip)
    at = near or effective(circuit, idle, tuple(idle for _ in circuit.rotor), idle)
    damping = 0.6
    for turn in range(_ROUNDS):
        plain = computed(at, slip, hertz, sync, stage.rotor_external)
        inside = tolerant(plain, motor, stage)
        point, current = fed(inside)
        own = abs(current) * abs(inside.impedance) / abs(plain.impedance)  # what saturates the circuit, no tolerance
        gap = own * abs(plain.impedance - at.stator_impedance(hertz))
        local = effective(circuit, *peaks(at, own, gap, slip, hertz, stage.rotor_external))
        if distance(at, local) < _SETTLED:
            return replace(point, reactances=at)
        damping *= 0.4 if turn in {60, 150} else 1.0
        at = between(at, local, damping)
    raise DomainError.of(
        "motor.saturation", "its laws", "settle at no steady state here", "check the knees, shares and the exponent"
    )


def characteristic(stage: Stage, drive: Drive, speeds: ArrayLike | None = None, time: Any = 0.0) -> Curves:
    """Steady characteristics of one stage over speed, the supply path solved at each. `speeds` default: 0 to synchronous."""
    motor = stage.motor or drive.motor
    speed = np.linspace(0.0, motor.rating.synchronous_speed, 401) if speeds is None else np.asarray(speeds, dtype=float)
    p = solve(drive, stage, speed, time)
    shape = np.broadcast_shapes(speed.shape, np.shape(p.line))
    pu = [_shaped(v, shape) for v in network.per_unit(drive.supply, network.Voltages(busbars=p.busbars))]
    apparent = 3 * abs(p.busbars[-1]) * p.line
    factor = np.divide(p.power, apparent, out=np.zeros(shape), where=apparent > 1e-9)
    full = {name: _shaped(getattr(p, name), shape) for name in ("stator_loss", "rotor_loss", "power")}
    return Curves(
        stage=stage.name,
        speed=speed,
        torque=p.torque,
        load=drive.load.torque(speed),
        line_current=p.line,
        motor_current=p.motor,
        winding_current=p.winding,
        power_factor=factor,
        busbar_voltage=np.array(pu),
        **full,
    )


def _shaped(value: Any, shape: tuple[int, ...]) -> Array:
    """As `numpy.broadcast_to`, without its cost where nothing is to be done."""
    found: Array = value if np.shape(value) == shape else np.broadcast_to(value, shape)
    return found


def characteristics(stages: Sequence[Stage], drive: Drive, speeds: Array) -> list[Curves]:
    """The steady characteristics of several stages; those that only differ in ratio and series impedance in one sweep.

    speeds: shape (n,) [rad/s]. A voltage or frequency law is taken at its end.
    """
    found: dict[int, Curves] = {}
    plain = [place for place, stage in enumerate(stages) if _is_plain(stage, drive)]
    if len(plain) > 1:
        found = dict(zip(plain, _together([stages[place] for place in plain], drive, speeds), strict=True))
    for place, stage in enumerate(stages):
        if place not in found:
            end = 0.0 if stage.voltage is None else stage.voltage.x[-1]
            found[place] = characteristic(stage, drive, speeds, time=end)
    return [found[place] for place in range(len(stages))]


def _is_plain(stage: Stage, drive: Drive) -> bool:
    """Fed from the line, whatever lies between; the motor's own circuit with constant reactances."""
    circuit = drive.motor.circuit
    fed = stage.connected and not stage.controlled and not stage.reversed and stage.shunt is None and stage.dc is None
    return (
        fed and stage.motor is None and not stage.rotor_external and circuit is not None and not is_saturable(circuit)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bundle(Stage):
    """Plain stages as one, ratio and impedances as columns. leads: `lead_factor` of each, a column."""

    leads: Any = 1.0

    @property
    def lead_factor(self) -> Any:
        return self.leads


def _together(stages: Sequence[Stage], drive: Drive, speed: Array) -> list[Curves]:
    def column(name: str) -> Any:
        return np.array([getattr(stage, name) for stage in stages])[:, np.newaxis]

    columns: dict[str, Any] = {name: column(name) for name in ("ratio", "series", "line_series")}
    bundle = _Bundle(name="", until=stages[0].until, leads=column("lead_factor"), **columns)
    curves = characteristic(bundle, drive, speed)
    shape = (len(stages), speed.size)
    rows = {name: _shaped(getattr(curves, name), shape) for name in _PER_STAGE}
    volts = np.array([_shaped(bus, shape) for bus in curves.busbar_voltage])
    return [
        Curves(
            stage=stage.name,
            speed=speed,
            load=curves.load,
            busbar_voltage=volts[:, place],
            **{name: values[place] for name, values in rows.items()},
        )
        for place, stage in enumerate(stages)
    ]


_PER_STAGE = (
    *("torque", "line_current", "motor_current", "winding_current", "power_factor"),
    *("stator_loss", "rotor_loss", "power"),
)


def _point(
    motor: Motor, stage: Stage, inside: Inside, *, speed: Any, busbars: tuple[Any, ...], line: Any, current: Any
) -> Point:
    magnitude = abs(current)
    squared = magnitude**2
    gap = inside.gap_per_ampere2 * squared
    electromagnetic, mechanical, stray = _torques(motor, inside, speed, magnitude)
    stator, core = 3 * inside.stator_resistance * squared, inside.core_per_ampere2 * squared
    power = 3 * (busbars[-1] * line.conjugate()).real
    return Point(
        speed=speed,
        torque=electromagnetic - mechanical - stray,
        electromagnetic=electromagnetic,
        line=abs(line),
        motor=magnitude * stage.lead_factor,
        winding=magnitude * (1 / sqrt(3) if motor.rating.connection == "delta" else 1.0),
        motor_voltage=abs(current * inside.impedance),
        busbars=busbars,
        power=power,
        stator_loss=stator,
        rotor_loss=inside.rotor_slip * gap * (1 - inside.external_share),
        external_loss=inside.rotor_slip * gap * inside.external_share,
        core_loss=core,
        starter_loss=power - stator - core - gap,
        mechanical_loss=mechanical * speed,
        stray_loss=stray * speed,
        admittance=line / busbars[-1],
    )


def _torques(motor: Motor, inside: Inside, speed: Any, magnitude: Any) -> tuple[Any, Any, Any]:
    """In the air gap, and what friction with windage and stray loss take off it. [N m]"""
    electromagnetic = inside.gap_per_ampere2 * magnitude**2 / inside.sync_speed
    return electromagnetic, motor.mechanical_torque(speed), motor.stray_torque(speed, magnitude)


def behind_inverter(motor: Motor, speed: Any, frequency: Any, factor: Any) -> tuple[Any, Any]:
    """Shaft torque [N m] and rms motor current [A] at `factor` of rated voltage and `frequency` of rated; shapes broadcast.

    What `solve` has for a stage with a frequency law, without the supply path; for a circuit with constant reactances.

    Raises:
        DomainError: the motor is known by its curves only, or saturates.
    """
    circuit = _constant(motor)
    sync = motor.rating.synchronous_speed * frequency
    inside = computed(circuit, 1 - speed / sync, motor.rating.frequency * frequency, sync, 0.0)
    current = factor * motor.rating.phase_voltage / abs(inside.impedance)
    electromagnetic, mechanical, stray = _torques(motor, inside, speed, current)
    return electromagnetic - mechanical - stray, current


def behind_phase_control(drive: Drive, speed: Any) -> Callable[[Any], Any]:
    """The rms motor current [A] against the voltage factor of a phase control, at shaft `speed` (rad/s); shapes broadcast.

    What `solve` has for a stage with nothing but a voltage law, the supply path solved along, for a circuit with constant
    reactances.

    Raises:
        DomainError: the motor is known by its curves only, or saturates.
    """
    motor = drive.motor
    circuit = _constant(motor)
    sync = motor.rating.synchronous_speed
    branch = tolerant(computed(circuit, 1 - speed / sync, motor.rating.frequency, sync, 0.0), motor).impedance

    def current(factor: Any) -> Any:
        return factor * abs(network.solve(drive.supply, _phase_control(branch, factor)).terminals) / abs(branch)

    return current


def _constant(motor: Motor) -> Circuit:
    if motor.circuit is None or is_saturable(motor.circuit):
        raise DomainError.of("motor.circuit", "", "constant reactances are needed here", "solve the stage instead")
    return motor.circuit


def _braked(drive: Drive, motor: Motor, dc: DirectCurrent, speed: Any, external: float) -> Point:
    """Direct current in the stator: a standing field that brakes the turning rotor; the supply is not loaded.

    Source: dynamic braking by the circuit with the rotor at frequency proportional to speed (Dubey, Fundamentals of
    Electrical Drives, 2nd ed., ch. 6); a saturating main flux is solved along.
    """
    if motor.circuit is None:
        raise DomainError.of("motor.circuit", "", "braking by direct current needs a circuit", "give one or a plate")
    at = braking_point(motor.circuit, dc.share * dc.current, abs(speed) / motor.rating.synchronous_speed, external)
    outside = external / (motor.circuit.rotor[0].R + external)
    sign = (speed > 0) * 1.0 - (speed < 0) * 1.0
    electromagnetic = -sign * at.torque_power / motor.rating.synchronous_speed
    mechanical, stray = motor.mechanical_torque(speed), 0.0 * speed
    stator = dc.resistance * dc.current**2 + 0.0 * speed
    equivalent = dc.share * dc.current + 0.0 * speed
    zero = 0.0 * speed
    return Point(
        speed=speed,
        torque=electromagnetic - mechanical - stray,
        electromagnetic=electromagnetic,
        line=dc.current + zero,
        motor=dc.current + zero,
        winding=equivalent * (1 / sqrt(3) if motor.rating.connection == "delta" else 1.0),
        motor_voltage=dc.resistance * dc.current + zero,
        busbars=tuple(v + zero for v in network.prestart(drive.supply).busbars),
        power=stator,
        stator_loss=stator,
        rotor_loss=at.torque_power * abs(speed) / motor.rating.synchronous_speed * (1 - outside),
        external_loss=at.torque_power * abs(speed) / motor.rating.synchronous_speed * outside,
        core_loss=zero,
        starter_loss=zero,
        mechanical_loss=mechanical * speed,
        stray_loss=stray,
    )


def _idle(drive: Drive, motor: Motor, speed: Any) -> Point:
    """Cut from the supply: friction and windage only."""
    zero = 0.0 * speed
    busbars = tuple(v + zero for v in network.prestart(drive.supply).busbars)
    drag = motor.mechanical_torque(speed)
    names = ("electromagnetic", "line", "motor", "winding", "motor_voltage", "power", "stator_loss", "rotor_loss")
    nothing = dict.fromkeys((*names, "external_loss", "core_loss", "starter_loss", "stray_loss"), zero)
    return Point(speed=speed, torque=-drag, busbars=busbars, mechanical_loss=drag * speed, **nothing)


def _factor(stage: Stage, speed: Any, time: Any) -> Any:
    """Voltage factor of a converter: the law in time, held under the cap in speed; 1 without either."""
    if stage.voltage is None and stage.voltage_cap is None:
        return 1.0
    factor: Any = 1.0 if stage.voltage is None else stage.voltage.at(time)
    if stage.voltage_cap is not None:
        factor = np.minimum(factor, stage.voltage_cap.at(speed))
    return float(factor) if isinstance(speed, float) else factor


def _phase_control(branch: Any, factor: Any) -> Any:
    """Admittance of a phase-controlled branch: same current on both sides, active power conserved, fundamental only."""
    if isinstance(factor, float) and factor == 1.0:
        return 1 / branch
    cosine = factor * (1 / branch).real * abs(branch)
    return factor / abs(branch) * (cosine - 1j * (1 - cosine**2) ** 0.5)


def _behind_dc_link(drive: Drive, power: Any) -> tuple[tuple[Any, ...], Any]:
    """Busbar voltages and line current when an inverter takes `power` (W per phase) at displacement factor 1.

    Power that the motor returns is lost in the dc link, not fed back.
    """
    taken = max(power, 0.0) if isinstance(power, float) else np.maximum(power, 0.0)
    busbars = network.solve(drive.supply, power=taken).busbars
    return busbars, taken / busbars[-1].conjugate()


def _at(impedance: complex, frequency: Any) -> Any:
    return impedance.real + 1j * impedance.imag * frequency

"""Stator voltage by phase control: thyristors in the lines cut the voltage, and the waveform is computed for every slip."""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, pi, sqrt
from typing import Annotated, Any, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Given, assemble, assumed, checked
from slipwise.methods.speed import duty_load
from slipwise.methods.speed import stator_voltage as common
from slipwise.methods.speed.search import first_rise
from slipwise.methods.speed.slip_heating import heat_note, heating
from slipwise.methods.speed.stator_voltage import Fed, Held
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount
from slipwise.methods.way import Designed, Dial
from slipwise.model.converter.thyristor import (
    ORDERS,
    SIXTH,
    Controlled,
    Feed,
    ThyristorData,
    conduction_loss,
    controlled,
    usual_pair,
)
from slipwise.results.series import Array
from slipwise.results.slip_heat import SlipHeat
from slipwise.results.speed import DutyPoint, Envelope, Family, FamilyCurve, OperatingPoint, Part
from slipwise.results.study import Setting
from slipwise.results.wiring import Device, Wiring
from slipwise.solve import network

WIDEST = np.radians(118.0)  # hold-off searched up to here: hardly any current is left
SEARCH = np.concatenate([np.radians([0.0, 4.0, 8.0]), np.radians(np.arange(14.0, 118.0, 8.0)), [WIDEST]])
FAMILY_FIRING = tuple(np.radians((60.0, 75.0, 90.0, 100.0, 110.0, 120.0)))
FAMILY_SPEEDS, FAMILY_HOLD_OFFS, HEAT_POINTS, HEAT_HOLD_OFFS = 61, 21, 33, 31
MARGIN = 2.0  # of blocking voltage over the peak of the line voltage (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseControl:
    """Three pairs of thyristors before the motor, fired a firing angle after each phase's voltage zero.

    The fundamental, the harmonics and their losses come from the periodic waveform of this motor at this slip
    (`model.converter.thyristor`), not from a rule for the voltage. Current displacement in the rotor bars at harmonic
    frequencies is there as far as the circuit's rotor branches carry it. Leakage and main flux are taken as unsaturated.
    """

    key: ClassVar[str] = "phase_control"
    title: ClassVar[str] = "Stator voltage, thyristors"
    also: ClassVar[tuple[str, ...]] = (
        "thyristor controller",
        "ac voltage controller",
        "stator voltage control",
        "SCR control",
    )
    summary: ClassVar[str] = (
        "Thyristors in the lines delay each half wave, and the motor slips until its torque meets the load. Small and "
        "cheap, with a smooth start at no cost; but the slip power stays in the rotor, harmonics add to it, and the power "
        "factor is poor. For small fans and short slow runs with a high-slip or a larger motor."
    )

    threshold: Annotated[
        float,
        Dial(title="threshold voltage", unit="V", example="1 V", doc="Of one conducting thyristor.", low=0.0, high=3.0),
    ]
    slope: Annotated[
        float,
        Dial(
            title="slope resistance",
            unit="ohm",
            example="1 mohm",
            doc="Of one conducting thyristor.",
            low=0.0,
            high=1.0,
        ),
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Given) -> Designed[Self]:
        """There is little to design: the firing angle follows from each demand; the thyristors' figures are assumed.

        Raises:
            InputError: the motor is known by its curves only; a setting outside its dial.
        """
        common.require_circuit(cls.key, task.drive.motor)
        usual = usual_pair(task.drive.motor.rating.current)
        why = "of a thyristor of the motor's size (common practice, no source)"
        chosen = {
            "threshold": assumed(usual.threshold, why, 0.8, 1.1),
            "slope": assumed(usual.slope, why, 0.5 * usual.slope, 2 * usual.slope),
        }
        return assemble(cls, checked(cls, given, "speed"), chosen, "The firing angle is found for each demand.")

    def waveform(self, task: SpeedTask, speed: Any, hold_off: Any) -> Controlled:
        """The periodic state at shaft speeds (rad/s, shape (n,)) and hold-offs (rad, shape (m,) or (n, m))."""
        motor = task.drive.motor
        emf, before = network.thevenin(task.drive.supply)
        feed = Feed(
            phase_voltage=abs(emf),
            frequency=motor.rating.frequency,
            synchronous_speed=motor.rating.synchronous_speed,
            impedance=before,
        )
        slip = 1 - np.atleast_1d(speed) / motor.rating.synchronous_speed
        return controlled(common.require_circuit(self.key, motor), slip, hold_off, feed)

    def fed(self, task: SpeedTask, speed: Any, hold_off: Any) -> Fed:
        """Shaft torque, losses and currents of `waveform`; shape (n, m)."""
        return self._fed(task, np.atleast_1d(speed)[:, None], self.waveform(task, speed, hold_off))

    def _fed(self, task: SpeedTask, speed: Array, wave: Controlled) -> Fed:
        motor = task.drive.motor
        circuit = common.require_circuit(self.key, motor)
        speed = speed + 0.0 * wave.torque
        mechanical, stray = motor.mechanical_torque(speed), motor.stray_torque(speed, wave.current)
        pair = ThyristorData(threshold=self.threshold, slope=self.slope)
        losses = {
            Part.CONVERTER: conduction_loss(pair, wave.mean, wave.current),
            Part.STATOR: wave.stator_loss,
            Part.CORE: wave.core_loss,
            Part.ROTOR: wave.rotor_loss,
            Part.HARMONIC: wave.harmonic_loss,
            Part.STRAY: stray * speed,
            Part.FRICTION: mechanical * speed,
        }
        fundamental = np.abs(wave.fundamental)
        slip = 1 - speed / motor.rating.synchronous_speed
        admittance = np.abs(circuit.rotor_admittance(slip, motor.rating.frequency))
        return Fed(
            torque=wave.torque - mechanical - stray,
            losses=losses,
            line_current=wave.current,
            motor_current=wave.current,
            line_fundamental=fundamental,
            terminal_voltage=np.abs(wave.line_voltage),
            voltage=np.abs(wave.voltage) / motor.rating.phase_voltage,
            flux=np.abs(wave.gap_voltage) / common.rated_flux(motor, circuit),
            rotor_current=np.abs(wave.gap_voltage) * admittance,
            harmonics={float(order): wave.harmonics[..., i] for i, order in enumerate(ORDERS)},
        )

    def hold_off_for(self, task: SpeedTask, speed: float, torque: float) -> float | None:
        """Hold-off that gives a shaft torque (N m) at a speed (rad/s); None when full conduction does not. [rad]"""

        def short(hold_off: Array) -> Array:
            lack: Array = torque - self.fed(task, speed, hold_off).torque[0]
            return lack

        found = first_rise(short, SEARCH, rounds=2, points=13)
        return None if found.x == 0.0 else found.x

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """The firing angle that holds the demand; full conduction where that does not do."""
        motor = task.drive.motor
        speed, reason = duty.speed, common.beyond_reach(motor, duty)
        hold_off = None if reason else self.hold_off_for(task, speed, duty.torque)
        if hold_off is None:
            hold_off = 0.0
            speed = common.settles_at(self._full(task), duty_load.through(task.drive.load, duty), motor)
            given = float(self.fed(task, duty.speed, 0.0).torque[0, 0])
            reason = reason or common.short_of(duty, given, speed)
        wave, fed, slope = self._near(task, speed, hold_off)
        held = Held(
            fed=fed,
            speed=speed,
            settings=_settings(wave, fed),
            slope=slope,
            reason=reason,
            notes=(common.SLIP_NOTE, *_mode_notes(wave)),
        )
        return common.answer(task, duty, held)

    def _near(self, task: SpeedTask, speed: float, hold_off: float) -> tuple[Controlled, Fed, float]:
        """The waveform (the middle of a small grid), its state, and d(torque)/d(speed) at a held firing angle. [N m s]

        By differences over speed and hold-off: along a held firing angle the hold-off follows the speed.
        """
        step = 1e-4 * task.drive.motor.rating.synchronous_speed
        speeds = np.array([speed - step, speed, speed + step])
        angles = max(hold_off, 1e-3) + np.array([-1e-3, 0.0, 1e-3]) if hold_off > 0 else np.array([0.0, 0.0, 1e-3])
        near = self.waveform(task, speeds, angles)
        fed = self._fed(task, speeds[:, None], near)
        torque, span = fed.torque, angles[2] - angles[0]
        by_speed, by_hold = (torque[2, 1] - torque[0, 1]) / (2 * step), (torque[1, 2] - torque[1, 0]) / span
        firing_by_speed = _turned(near.firing[2, 1] - near.firing[0, 1]) / (2 * step)
        firing_by_hold = _turned(near.firing[1, 2] - near.firing[1, 0]) / span
        slope = by_speed - by_hold * firing_by_speed / firing_by_hold if hold_off > 0 else by_speed
        return near, fed.pick((1, 1)), float(slope)

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """Torque against speed for several firing angles."""
        synchronous = task.drive.motor.rating.synchronous_speed
        speed = synchronous * (1 - np.linspace(1.0, 0.03, FAMILY_SPEEDS) ** 1.5)
        wave = self.waveform(task, speed, np.linspace(0.0, WIDEST, FAMILY_HOLD_OFFS))
        fed = self._fed(task, speed[:, None], wave)
        curves = [_curve("full conduction", 0.0, speed, fed.torque[:, 0], fed.line_current[:, 0])]
        for firing in FAMILY_FIRING:
            torque, current = (_at_firing(wave.firing, values, firing) for values in (fed.torque, fed.line_current))
            curves.append(_curve(f"{degrees(firing):.0f}°", firing, speed, torque, current))
        note = heat_note(self.heating, task)
        title = "Torque under phase control"
        return (common.family(task, curves, key="firing", title=title, parameter="firing angle", note=note),)

    def heating(self, task: SpeedTask) -> SlipHeat:
        """Heat at every speed at which the thyristors hold the load, harmonics included, and the worst of them."""

        def states(speed: Any, torque: Any) -> tuple[Fed, Any]:
            fed = self.fed(task, speed, np.linspace(0.0, WIDEST, HEAT_HOLD_OFFS))
            place = _place(fed.torque, torque)
            return _along(fed, place), fed.torque[:, 0] >= torque

        return heating(task, states, self._full(task), HEAT_POINTS)

    def envelope(self, task: SpeedTask) -> Envelope | None:
        """Torque the cooling lets pass for good, harmonics left out, and that of full voltage."""
        return common.envelope(task, common.require_circuit(self.key, task.drive.motor), self._full(task))

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """Current and blocking voltage of a thyristor, and the motor this duty would take."""
        rating = task.drive.motor.rating
        points = [self.point(task, duty) for duty in task.duty]
        current = max([p.motor_current for p in points], default=rating.current)
        blocking = MARGIN * sqrt(2) * rating.voltage
        rows = (
            ("controller_current", "controller current", current, "A", "greatest rms current of the duty"),
            (
                "blocking_voltage",
                "blocking voltage",
                blocking,
                "V",
                f"{MARGIN:g} times the line peak (common practice)",
            ),
        )
        found = tuple(Setting(key=k, title=t, value=v, unit=u, origin="derived", why=w) for k, t, v, u, w in rows)
        return (*found, *common.needed_settings(task, common.require_circuit(self.key, task.drive.motor)))

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """The thyristors start the motor themselves."""
        del task  # the same for every task
        return ("soft_starter",)

    def wiring(self) -> Wiring:
        """Breaker, contactor, thyristors, overload relay, motor."""
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="thyristors", label="V1", after="K1 line"),
                Device(kind="overload", label="F1", after="V1"),
                Device(kind="motor", label="M1", after="F1"),
            ),
            stages=("running",),
            closed=(("K1 line",),),
            notes=(
                "No capacitors between V1 and the motor. V1 is not an isolator: Q1 must be open for work on the motor.",
                "The overload relay does not see the loss of cooling at low speed: embed sensors in the winding.",
            ),
        )

    def _full(self, task: SpeedTask) -> common.Full:
        """Shaft torque with the thyristors fully on: the sinusoidal state, without a waveform."""
        return common.undivided(task, common.require_circuit(self.key, task.drive.motor))


def _curve(label: str, firing: float, speed: Array, torque: Array, current: Array) -> FamilyCurve:
    return FamilyCurve(label=label, value=firing, unit="rad", speed=speed, torque=torque, current=current)


def _turned(angle: float) -> float:
    """An angle difference brought within half a turn. [rad]"""
    return (angle + pi) % (2 * pi) - pi


def _at_firing(firing: Array, values: Array, wanted: float) -> Array:
    """Values at one firing angle, row by row; before the angle of full conduction those of full conduction."""
    return np.array([np.interp(wanted, np.maximum.accumulate(f), v) for f, v in zip(firing, values, strict=True)])


def _place(torque: Array, wanted: Array) -> Array:
    """Where along each row (as a fractional index) the falling torque meets what is wanted; by its square root."""
    index = np.arange(torque.shape[1], dtype=float)
    rows = zip(np.sqrt(np.maximum(torque, 0.0)), np.sqrt(np.maximum(wanted, 0.0)), strict=True)
    return np.array([np.interp(w, t[::-1], index[::-1]) for t, w in rows])


def _along(fed: Fed, place: Array) -> Fed:
    """The states between two neighbours of each row."""
    rows = np.arange(place.size)
    below = np.minimum(place.astype(int), fed.torque.shape[1] - 2)
    part = place - below
    left, right = fed.pick((rows, below)), fed.pick((rows, below + 1))

    def mixed(a: Any, b: Any) -> Any:
        return a + part * (b - a)

    plain = {
        name: mixed(getattr(left, name), getattr(right, name))
        for name in Fed.__dataclass_fields__
        if name not in ("losses", "harmonics")
    }
    losses = {p: mixed(left.losses[p], right.losses[p]) for p in left.losses}
    return Fed(losses=losses, harmonics={h: mixed(i, right.harmonics[h]) for h, i in left.harmonics.items()}, **plain)


def _settings(wave: Controlled, fed: Fed) -> tuple[Setting, ...]:
    firing, hold_off, voltage = float(wave.firing[1, 1]), float(wave.hold_off[1, 1]), float(fed.voltage)
    rows = (
        ("firing_angle", "firing angle", firing, "rad", "after the rising zero of the phase voltage"),
        ("hold_off", "hold-off", hold_off, "rad", "from a current zero to the next firing"),
        ("voltage", "fundamental voltage", voltage, "pu", "at the motor, of rated"),
    )
    return tuple(Setting(key=k, title=t, value=v, unit=u, origin="derived", why=w) for k, t, v, u, w in rows)


def _mode_notes(wave: Controlled) -> tuple[str, ...]:
    hold_off = float(wave.hold_off[1, 1])
    notes = []
    if hold_off > SIXTH:
        notes.append(
            f"Hold-off {amount(degrees(hold_off))}°: two phases conduct or none; the firing needs double pulses."
        )
    if not bool(wave.possible[1, 1]):
        notes.append("The thyristors cannot conduct in this order here: a current would have to change its sign.")
    return tuple(notes)

"""Stator voltage by a variable transformer: a sinusoidal voltage of any height, and the slip that the load then takes."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Annotated, Any, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Given, assemble, assumed, checked
from slipwise.methods.speed import duty_load
from slipwise.methods.speed import stator_voltage as common
from slipwise.methods.speed.slip_heating import heat_note, heating
from slipwise.methods.speed.stator_voltage import Fed, Held
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Designed, Dial
from slipwise.model.machine.point import operating_point
from slipwise.results.slip_heat import SlipHeat
from slipwise.results.speed import DutyPoint, Envelope, Family, FamilyCurve, OperatingPoint, Part
from slipwise.results.study import Setting
from slipwise.results.wiring import Device, Wiring
from slipwise.solve import network

FAMILY_RATIOS = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4)
LEAST_RATIO, MOST_RATIO = 1e-3, 20.0
ROUNDS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class VariableTransformer:
    """The motor behind a transformer of variable ratio, with its series impedance and no-load power.

    Torque at a slip goes with the square of the voltage; below the slip of breakdown the motor is stable only on a load
    that rises quickly enough with speed. Magnetising reactance and leakage are taken as unsaturated.
    Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.7 and Example 6.8; circuit as `model.machine.point`.
    """

    key: ClassVar[str] = "variable_transformer"
    title: ClassVar[str] = "Stator voltage, transformer"
    also: ClassVar[tuple[str, ...]] = ("variable autotransformer", "variable voltage", "regulating transformer")
    summary: ClassVar[str] = (
        "A transformer of variable ratio lowers the voltage, and the motor slips until its torque meets the load. The line "
        "current stays free of harmonics. The slip power stays in the rotor as heat, so it suits small fans over a short "
        "range, with a high-slip or a larger motor."
    )

    resistance: Annotated[
        float,
        Dial(
            title="transformer resistance",
            unit="pu",
            example="1 %",
            doc="Series, at the motor side, per unit of rated voltage over rated current.",
            low=0.0,
            high=0.2,
        ),
    ]
    reactance: Annotated[
        float,
        Dial(
            title="transformer reactance",
            unit="pu",
            example="3 %",
            doc="Series, at the motor side, per unit of rated voltage over rated current.",
            low=0.0,
            high=0.3,
        ),
    ]
    no_load: Annotated[
        float,
        Dial(
            title="transformer no-load loss",
            unit="pu",
            example="1 %",
            doc="At rated voltage, per unit of its rated kVA.",
            low=0.0,
            high=0.1,
        ),
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Given) -> Designed[Self]:
        """There is little to design: the ratio follows from each demand; the transformer's own figures are assumed.

        Raises:
            InputError: the motor is known by its curves only; a setting outside its dial.
        """
        common.require_circuit(cls.key, task.drive.motor)
        usual = "of a variable transformer of the motor's size (common practice, no source)"
        chosen = {
            "resistance": assumed(0.01, usual, 0.005, 0.02),
            "reactance": assumed(0.03, usual, 0.01, 0.05),
            "no_load": assumed(0.005, usual, 0.002, 0.01),
        }
        return assemble(cls, checked(cls, given, "speed"), chosen, "The ratio is found for each demand.")

    def fed(self, task: SpeedTask, speed: Any, ratio: Any) -> Fed:
        """The motor at shaft speeds (rad/s) under voltage ratios; both numbers or arrays of one shape."""
        motor, rating = task.drive.motor, task.drive.motor.rating
        circuit = common.require_circuit(self.key, motor)
        base = rating.phase_voltage / rating.current  # ohm
        slip = 1 - speed / rating.synchronous_speed
        per_volt = operating_point(circuit, slip, 1.0, rating.frequency, rating.synchronous_speed).stator_current
        branch = 1 / per_volt + base * complex(self.resistance, self.reactance)
        admittance = ratio**2 / branch + self.no_load / base
        emf, before = network.thevenin(task.drive.supply)
        terminals = emf / (1 + before * admittance)
        voltage = ratio * terminals / branch / per_volt
        at = operating_point(circuit, slip, voltage, rating.frequency, rating.synchronous_speed)
        current, line = abs(at.stator_current), abs(terminals * admittance)
        mechanical, stray = motor.mechanical_torque(speed), motor.stray_torque(speed, current)
        losses = {
            Part.TRANSFORMER: 3 * abs(terminals) ** 2 * admittance.real - at.input_power.real,
            Part.STATOR: at.stator_loss,
            Part.CORE: at.core_loss,
            Part.ROTOR: at.rotor_loss,
            Part.HARMONIC: 0.0 * current,
            Part.STRAY: stray * speed,
            Part.FRICTION: mechanical * speed,
        }
        return Fed(
            torque=at.torque - mechanical - stray,
            losses=losses,
            line_current=line,
            motor_current=current,
            line_fundamental=line,
            terminal_voltage=abs(terminals),
            voltage=abs(voltage) / rating.phase_voltage,
            flux=abs(at.gap_voltage) / common.rated_flux(motor, circuit),
            rotor_current=abs(at.rotor_current),
            harmonics={},
        )

    def ratio_for(self, task: SpeedTask, speed: Any, torque: Any) -> Any:
        """Voltage ratio that gives a shaft torque (N m) at a speed below synchronous (rad/s); shape of both.

        May exceed 1, which says that full voltage does not do. Found by repetition, because the supply sags and stray
        loss follows the current.
        """
        motor = task.drive.motor
        ratio = 0.7 + 0.0 * (speed + torque)
        for _ in range(ROUNDS):
            fed = self.fed(task, speed, ratio)
            drag = fed.losses[Part.STRAY] / np.maximum(speed, 1e-9) + motor.mechanical_torque(speed)
            made, wanted = fed.torque + drag, torque + drag
            step = np.sqrt(np.maximum(wanted, 0.0) / made)
            ratio = np.clip(ratio * step, LEAST_RATIO, MOST_RATIO)
            if np.max(abs(step - 1)) < 1e-11:
                break
        return ratio

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """The ratio that holds the demand; full voltage where that does not do."""
        motor = task.drive.motor
        speed, reason = duty.speed, common.beyond_reach(motor, duty)
        ratio = 1.0 if reason else float(self.ratio_for(task, speed, duty.torque))
        if reason or ratio > 1.0:
            ratio = 1.0
            speed = common.settles_at(self._full(task), duty_load.through(task.drive.load, duty), motor)
            reason = reason or common.short_of(duty, float(self.fed(task, duty.speed, 1.0).torque), speed)
        step = 1e-4 * motor.rating.synchronous_speed
        low, high = self.fed(task, np.array([speed - step, speed + step]), ratio).torque
        held = Held(
            fed=self.fed(task, speed, ratio),
            speed=speed,
            settings=(_ratio(ratio, given=bool(reason)),),
            slope=float(high - low) / (2 * step),
            reason=reason,
            notes=(common.SLIP_NOTE,),
        )
        return common.answer(task, duty, held)

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """Torque against speed for several ratios."""
        synchronous = task.drive.motor.rating.synchronous_speed
        speed = np.linspace(0.0, synchronous, 201)
        ratio = np.array(FAMILY_RATIOS)[:, None]
        fed = self.fed(task, speed[None, :] + 0.0 * ratio, ratio + 0.0 * speed)
        curves = [
            FamilyCurve(
                label=percent(r), value=r, unit="pu", speed=speed, torque=fed.torque[i], current=fed.line_current[i]
            )
            for i, r in enumerate(FAMILY_RATIOS)
        ]
        note = heat_note(self.heating, task)
        title = "Torque at reduced voltage, sinusoidal"
        return (common.family(task, curves, key="voltage", title=title, parameter="voltage ratio", note=note),)

    def heating(self, task: SpeedTask) -> SlipHeat:
        """Heat at every speed at which full voltage or less holds the load, and the worst of them."""

        def states(speed: Any, torque: Any) -> tuple[Fed, Any]:
            ratio = self.ratio_for(task, speed, torque)
            return self.fed(task, speed, ratio), ratio <= 1.0

        return heating(task, states, self._full(task))

    def envelope(self, task: SpeedTask) -> Envelope | None:
        """Torque the cooling lets pass for good, and that of full voltage."""
        return common.envelope(task, common.require_circuit(self.key, task.drive.motor), self._full(task))

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """The transformer by greatest voltage times greatest current, and the motor this duty would take."""
        rating = task.drive.motor.rating
        points = [self.point(task, duty) for duty in task.duty]
        current = max([p.motor_current for p in points], default=rating.current)
        kva = sqrt(3) * rating.voltage * current
        why = f"full voltage times the greatest current of the duty, {amount(current)} A"
        size = Setting(key="transformer_rating", title="transformer", value=kva, unit="VA", origin="derived", why=why)
        return (size, *common.needed_settings(task, common.require_circuit(self.key, task.drive.motor)))

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """The transformer starts the motor itself at a low ratio."""
        del task  # the same for every task
        return ("autotransformer", "direct")

    def wiring(self) -> Wiring:
        """Breaker, contactor, transformer of variable ratio, overload relay, motor."""
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="variable transformer", label="T1", after="K1 line"),
                Device(kind="overload", label="F1", after="T1"),
                Device(kind="motor", label="M1", after="F1"),
            ),
            stages=("running",),
            closed=(("K1 line",),),
            notes=("The overload relay does not see the loss of cooling at low speed: embed sensors in the winding.",),
        )

    def _full(self, task: SpeedTask) -> common.Full:
        return lambda speed: self.fed(task, speed, 1.0 + 0.0 * speed).torque


def _ratio(ratio: float, given: bool) -> Setting:
    why = "full voltage is not enough" if given else "holds the demand"
    return Setting(key="ratio", title="voltage ratio", value=ratio, unit="pu", origin="derived", why=why)

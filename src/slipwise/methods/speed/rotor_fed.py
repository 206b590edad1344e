"""Rotor-fed both ways: a converter that can take and give power puts a voltage of slip frequency on the rings."""

from __future__ import annotations

from cmath import phase
from dataclasses import dataclass
from math import degrees, sqrt
from typing import Annotated, Any, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Given, assemble, assumed, checked, computed, number
from slipwise.methods.speed import rotor_reach as reach
from slipwise.methods.speed.rotor_side import (
    Answer,
    Inside,
    Outside,
    Rings,
    first_crossing,
    inside,
    moved_source,
    put_together,
    rings,
    rpm,
    setting,
    shaft_torque,
)
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.way import Designed, Dial
from slipwise.model.converter.rotor_fed import bridge_loss, ring_voltage, transformer_loss
from slipwise.results.speed import DutyPoint, Envelope, Family, FamilyCurve, Loss, OperatingPoint, Part
from slipwise.results.study import Setting
from slipwise.results.wiring import Device, Wiring

_VOLTAGE_MARGIN, _CURRENT_MARGIN = 1.1, 1.05
_ROUNDS = 8
_PRACTICE = "common practice, no source"
_DIRECTIONS = (
    "the rotor gives power to the line (below synchronous speed)",
    "the rotor takes power from the line (above synchronous speed)",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RotorFed:
    """Slip power flows out of the rotor below synchronous speed and into it above, through two inverters on one link.

    Its settings at a demand are magnitude and angle of the ring voltage, at slip frequency. `excitation` is the share of
    the magnetising current that the rotor converter supplies; the line-side converter runs at displacement factor 1.
    """

    key: ClassVar[str] = "rotor_fed"
    title: ClassVar[str] = "Rotor-fed both ways"
    also: ClassVar[tuple[str, ...]] = ("Scherbius", "static Scherbius", "doubly fed", "DFIM", "DFIG")
    summary: ClassVar[str] = (
        "A converter for both power directions puts voltage on the slip rings, so that the motor runs below and above "
        "synchronous speed with a converter sized by slip, and can make up its own reactive power. It suits large drives "
        "with a narrow range round synchronous speed; starting needs a resistor or a separate path."
    )

    excitation: Annotated[
        float,
        Dial(
            title="excitation",
            unit="pu",
            example="50 %",
            doc="Share of the magnetising current from the rotor.",
            low=-0.5,
            high=2.0,
        ),
    ]
    converter_voltage: Annotated[
        float,
        Dial(title="converter voltage", unit="V", example="200 V", doc="Greatest line voltage at the rings.", low=1.0),
    ]
    converter_current: Annotated[
        float, Dial(title="converter current", unit="A", example="310 A", doc="Greatest ring current.", low=0.1)
    ]
    valve_drop: Annotated[
        float,
        Dial(title="valve drop", unit="V", example="1.5 V", doc="Mean of each conducting valve.", low=0.0, high=5.0),
    ]
    switching_loss: Annotated[
        float,
        Dial(
            title="switching loss",
            unit="pu",
            example="1 %",
            doc="Of link voltage times current, each phase.",
            low=0.0,
            high=0.05,
        ),
    ]
    transformer_share: Annotated[
        float,
        Dial(title="transformer loss", unit="pu", example="1.5 %", doc="Of the power through it.", low=0.0, high=0.1),
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Given) -> Designed[Self]:
        """Converter for the greatest ring voltage and the greatest ring current of the duty.

        Raises:
            InputError: no slip rings; a setting outside its dial.
        """
        checked(cls, given)
        seen = rings(task.drive, cls.key)
        share = number(given, "excitation") or 0.0
        free = cls(
            excitation=share,
            converter_voltage=1e9,
            converter_current=1e9,
            valve_drop=2.0,
            switching_loss=0.005,
            transformer_share=0.015,
        )
        runs = [run for duty in task.duty if (run := free.run(seen, duty)) is not None]
        volts = max((sqrt(3) * abs(run.voltage) for run in runs), default=0.3 * sqrt(3) * seen.ring_voltage)
        amps = max((run.ring_current for run in runs), default=seen.motor.rating.current * seen.ratio)
        chosen = {
            "excitation": assumed(0.0, "the line magnetises the motor: smallest rotor current", 0.0, 1.0),
            "converter_voltage": computed(
                _VOLTAGE_MARGIN * volts, "greatest over the duty, one tenth in hand for dips"
            ),
            "converter_current": computed(_CURRENT_MARGIN * amps, "greatest over the duty, 5 % in hand"),
            "valve_drop": assumed(2.0, _PRACTICE, 1.5, 3.0),
            "switching_loss": assumed(0.005, _PRACTICE, 0.003, 0.01),
            "transformer_share": assumed(0.015, _PRACTICE, 0.01, 0.025),
        }
        rating = sqrt(3) * _VOLTAGE_MARGIN * volts * _CURRENT_MARGIN * amps
        words = f"Converter of {rating / 1e3:.4g} kVA: greatest ring voltage times greatest ring current of the duty."
        return assemble(cls, given, chosen, words)

    def run(self, seen: Rings, duty: DutyPoint) -> _Run | None:
        """The machine and its converter at a demand, the line's voltage moved by the converter's share; None beyond pull-out."""
        slip, drawn, moved, found = float(seen.slip(duty.speed)), 0j, seen, None
        for _ in range(_ROUNDS):
            state = self._machine(moved, slip, duty.torque)
            if state is None:
                return None
            found = self._with_converter(moved, state)
            if abs(found.drawn - drawn) < 1e-9 * abs(state.stator):
                break
            drawn = found.drawn
            moved = moved_source(seen, state, found.drawn)
        return found

    def _machine(self, seen: Rings, slip: float, torque: float) -> Inside | None:
        """Stator current with the chosen reactive part and as much active part as the torque needs."""
        idle = seen.emf / (seen.circuit.X1 + seen.circuit.Xm + seen.supply.imag)
        reactive = (1 - self.excitation) * idle

        def state(active: Any) -> Inside:
            return _from_stator(seen, slip, active - 1j * reactive)

        most = seen.emf / abs(seen.circuit.R1 + seen.supply.real + 1j * (seen.circuit.X1 + seen.supply.imag)) / 2
        active = first_crossing(lambda x: shaft_torque(seen, state(x)) - torque, -most, most)
        return None if active is None else state(active)

    def _with_converter(self, seen: Rings, state: Inside) -> _Run:
        own, reactance = seen.circuit.rotor[0].R, seen.circuit.rotor[0].X * seen.frequency / seen.circuit.frequency
        gap = state.terminal - seen.circuit.stator_impedance(seen.frequency) * state.stator
        voltage = complex(ring_voltage(gap, state.rotor, state.slip, own, reactance)) / seen.ratio
        amps = abs(complex(state.rotor)) * seen.ratio
        power = float(state.slip * state.gap_power - state.rotor_loss)
        link = sqrt(2) * self.converter_voltage
        if self.converter_voltage > 1e8:  # not yet chosen: the voltage of this demand
            link = sqrt(2) * sqrt(3) * abs(voltage)
        line_amps = abs(power) / (3 * self._line_side(link))
        losses = (
            float(bridge_loss(amps, link, self.valve_drop, self.switching_loss)),
            float(bridge_loss(line_amps, link, self.valve_drop, self.switching_loss)),
            float(transformer_loss(power, self.transformer_share)),
        )
        back = power - sum(losses)
        return _Run(
            seen=seen,
            state=state,
            voltage=voltage,
            ring_current=amps,
            rotor_power=power,
            losses=losses,
            drawn=complex(np.conj(-back / (3 * state.terminal))),
        )

    @staticmethod
    def _line_side(link: float) -> float:
        """Phase voltage of the line-side converter at its link. [V]"""
        return link / sqrt(2) / sqrt(3)

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """The demand with the ring voltage it needs; beyond the converter's voltage or current it says by how much."""
        seen = rings(task.drive, self.key)
        run = self.run(seen, duty)
        if run is None:
            slip = float(seen.slip(duty.speed))
            best = self._with_converter(seen, self._most(seen, slip))
            return reach.beyond(task, duty, seen, best.state, best.settings, best.outside)
        reasons = self._limits(run, task, duty)
        state, slip = run.state, float(run.state.slip)
        injected = run.voltage * seen.ratio
        answer = Answer(
            feasible=not reasons,
            reason="; ".join(reasons),
            settings=run.settings,
            stability=reach.stability(
                seen, task, duty, slip, lambda s: shaft_torque(run.seen, injected_state(run.seen, s, injected))
            ),
            notes=(_DIRECTIONS[run.rotor_power < 0],),
        )
        return put_together(task, duty, run.seen, state, run.outside, answer)

    def _limits(self, run: _Run, task: SpeedTask, duty: DutyPoint) -> list[str]:
        volts, fast = sqrt(3) * abs(run.voltage), task.drive.motor.maximum_speed
        found = []
        if volts > self.converter_voltage:
            found.append(f"{volts:.4g} V are needed at the rings, the converter gives {self.converter_voltage:.4g} V")
        if run.ring_current > self.converter_current:
            found.append(
                f"{run.ring_current:.4g} A are needed in the rings, the converter carries {self.converter_current:.4g} A"
            )
        if duty.speed > fast:
            found.append(f"{rpm(duty.speed)} is beyond the rotor's greatest speed of {rpm(fast)}")
        return found

    def _most(self, seen: Rings, slip: float) -> Inside:
        """The stator current of greatest torque at this excitation."""
        idle = seen.emf / (seen.circuit.X1 + seen.circuit.Xm + seen.supply.imag)
        most = seen.emf / abs(seen.circuit.R1 + seen.supply.real + 1j * (seen.circuit.X1 + seen.supply.imag)) / 2
        active = np.linspace(0.0, most, 200)
        torque = shaft_torque(seen, _from_stator(seen, slip, active - 1j * (1 - self.excitation) * idle))
        return _from_stator(seen, slip, complex(active[int(np.argmax(torque))], -(1 - self.excitation) * idle))

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """Torque over speed for several ring voltages in line with the rotor's own, below and above synchronous speed."""
        seen = rings(task.drive, self.key)
        slips = np.linspace(0.6, -0.6, 241)
        shares = np.array([0.4, 0.2, 0.1, 0.0, -0.1, -0.2, -0.4])
        speed = (1 - slips) * seen.sync
        state = injected_state(seen, slips, shares[:, None] * seen.open_voltage)
        torque, current = shaft_torque(seen, state), abs(state.stator)
        curves = tuple(
            FamilyCurve(label=f"{v:+.2g}", value=float(v), unit="pu", speed=speed, torque=torque[k], current=current[k])
            for k, v in enumerate(shares)
        )
        return (
            Family(
                key=self.key,
                title="Rotor-fed both ways",
                parameter="ring voltage over that of the open rings at standstill",
                curves=curves,
                load_speed=speed,
                load_torque=task.drive.load.torque(speed),
                bound="reference",
                note="each curve starts where slip equals its ring voltage: positive below, negative above synchronous speed",
            ),
        )

    def envelope(self, task: SpeedTask) -> Envelope | None:
        """Within the range of the converter's voltage, both sides of synchronous speed."""
        seen = rings(task.drive, self.key)
        width = min(0.9, self.converter_voltage / (sqrt(3) * seen.ring_voltage))
        top = min((1 + width) * seen.sync, task.drive.motor.maximum_speed)
        speeds = np.linspace((1 - width) * seen.sync, top, 37)
        idle = seen.emf / (seen.circuit.X1 + seen.circuit.Xm)
        active = np.linspace(0.0, 6.0, 121) * seen.motor.rating.current
        state = _from_stator(seen, seen.slip(speeds)[:, None], active - 1j * (1 - self.excitation) * idle)
        short = abs(state.rotor) * seen.ratio / (task.overload * self.converter_current)
        copper = np.broadcast_to(state.copper, short.shape)
        torque = np.broadcast_to(shaft_torque(seen, state), (speeds.size, active.size))
        return reach.envelope(task, speeds, torque, copper, np.broadcast_to(short, torque.shape), seen.motor)

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """Converter by greatest ring voltage times greatest ring current; the power it really passes beside it."""
        seen = rings(task.drive, self.key)
        runs = [run for duty in task.duty if (run := self.run(seen, duty)) is not None]
        give = max((run.rotor_power for run in runs), default=0.0)
        take = max((-run.rotor_power for run in runs), default=0.0)
        start = seen.own_resistance / seen.ratio**2 * (1 / max(seen.motor.rating.slip, 1e-3) - 1)
        rating = sqrt(3) * self.converter_voltage * self.converter_current
        return (
            setting("converter_power", "rotor converter", rating, "VA", "greatest voltage times greatest current"),
            setting("converter_voltage", "at the rings", self.converter_voltage, "V", "greatest slip of the duty"),
            setting("converter_current", "in the rings", self.converter_current, "A", "greatest of the duty"),
            setting("power_out", "out of the rotor", max(give, 0.0), "W", "greatest, below synchronous speed"),
            setting("power_in", "into the rotor", max(take, 0.0), "W", "greatest, above synchronous speed"),
            setting(
                "starting_resistor", "starting resistor", start, "ohm", "per phase at the rings, rated torque at rest"
            ),
        )

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """A rotor resistor up to the converter's range."""
        rings(task.drive, self.key)
        return ("rotor_resistor",)

    def wiring(self) -> Wiring:
        """Motor, starting resistor, and two inverters on one link with a transformer to the line."""
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="overload", label="F1", after="K1 line"),
                Device(kind="motor", label="M1", after="F1", note="slip rings"),
                Device(kind="contactor", label="K2 start", after="M1", branch="rotor", note="starting resistor"),
                Device(kind="resistor", label="R1", after="K2 start", branch="rotor", note="starting only"),
                Device(kind="contactor", label="K3 set", after="M1", branch="recovery"),
                Device(
                    kind="rotor converter",
                    label="U1",
                    after="K3 set",
                    branch="recovery",
                    note="rotor side, slip frequency",
                ),
                Device(kind="line converter", label="U2", after="U1", branch="recovery", note="line side, both ways"),
                Device(
                    kind="transformer",
                    label="T1",
                    after="U2",
                    branch="recovery",
                    note=f"{self.converter_voltage:.4g} V",
                ),
            ),
            stages=("start", "speed set by the rotor converter"),
            closed=(("K1 line", "K2 start"), ("K1 line", "K3 set")),
            motor_leads=6,
            notes=(
                "A dip of the line drives high current into the rotor converter: it needs a fast short-circuiting path.",
            ),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Run:
    """One state: voltage: phase phasor at the rings as built [V]; rotor_power: out of the rotor [W]; losses: W, rotor side,

    line side, transformer; drawn: current the set takes from the terminals [A].
    """

    seen: Rings
    state: Inside
    voltage: complex
    ring_current: float
    rotor_power: float
    losses: tuple[float, float, float]
    drawn: complex

    @property
    def settings(self) -> tuple[Setting, ...]:
        angle = phase(self.voltage)
        line = sqrt(3) * abs(self.voltage)
        slip = float(self.state.slip)
        return (
            setting("ring_voltage", "voltage at the rings", line, "V", "line value, rms"),
            setting(
                "ring_angle", "angle of that voltage", angle, "rad", f"{degrees(angle):.4g} degrees against open rings"
            ),
            setting(
                "rotor_frequency", "rotor frequency", slip * self.seen.frequency, "Hz", "negative: turning backwards"
            ),
            setting("rotor_power", "power out of the rotor", self.rotor_power, "W", "negative: into the rotor"),
        )

    @property
    def outside(self) -> Outside:
        rotor, line, transformer = self.losses
        return Outside(
            losses=(
                Loss(part=Part.RECTIFIER, power=line),
                Loss(part=Part.INVERTER, power=rotor),
                Loss(part=Part.TRANSFORMER, power=transformer),
            ),
            drawn=self.drawn,
            returned=max(self.rotor_power - sum(self.losses), 0.0),
        )


def _from_stator(seen: Rings, slip: Any, stator: Any) -> Inside:
    """The machine from its stator current (phasor against the supply's voltage, A), turned into the frame of open rings."""
    circuit = seen.circuit
    behind = seen.supply + circuit.stator_impedance(seen.frequency)
    gap = seen.emf - behind * stator
    rotor = stator - gap * circuit.magnetising_admittance(seen.frequency)
    division = 1 + behind * circuit.magnetising_admittance(seen.frequency)
    turn = division / abs(division)  # the open rings lag the supply by the angle of 1 / division
    return inside(seen, slip, rotor * turn, gap * turn)


def injected_state(seen: Rings, slip: Any, injected: Any) -> Inside:
    """The machine with a fixed voltage (phasor against open rings, stator-referred, V) at its rings, at slip frequency."""
    return inside(seen, slip, seen.current(slip, 0.0, injected))

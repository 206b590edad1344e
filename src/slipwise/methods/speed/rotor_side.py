"""What all ways of speed control at the slip rings share: the machine seen from its rings, and a point put together.

The frame of every phasor is the voltage the rotor would see with its rings open. Given the rotor current at slip
frequency, stator, core and line follow; what is done with that current outside the rings is each way's own matter.
"""

from __future__ import annotations

from cmath import phase, rect
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import pi
from typing import Any

import numpy as np

from slipwise.methods.speed.cooling import winding_heat
from slipwise.methods.speed.way import SpeedTask
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import source_seen_by_rotor
from slipwise.quantity.errors import InputError
from slipwise.results.speed import DutyPoint, Harmonic, Loss, OperatingPoint, Part
from slipwise.results.study import Setting
from slipwise.solve import network
from slipwise.solve.plan import Drive

REACH = 0.02  # of synchronous speed: a demand met within this counts as met (common practice, no source)
NEXT_TO_NOTHING = 1e-6  # slip at which a curve starts


@dataclass(frozen=True, slots=True, kw_only=True)
class Rings:
    """A slip-ring motor on its supply, seen from the rotor; stator-referred, per phase.

    open_voltage: at slip 1 behind `source`, the magnetising branch included [V]. source: impedance at slip 1, without the
    rotor's own [ohm]. emf: phase voltage of the supply, without the motor [V]; supply: impedance to the terminals [ohm].
    ratio: stator to rotor. sync: synchronous speed of the shaft [rad/s].
    """

    motor: Motor
    circuit: Circuit
    open_voltage: Any
    source: complex
    emf: float
    supply: complex
    ratio: float
    sync: float
    frequency: float

    @property
    def own_resistance(self) -> float:
        return self.circuit.rotor[0].R

    @property
    def reactance(self) -> float:
        """Of rotor leakage and source together at slip 1. [ohm]"""
        return float(self.source.imag + self.circuit.rotor[0].X * self.frequency / self.circuit.frequency)

    @property
    def ring_voltage(self) -> float:
        """Phase voltage between open rings and rotor star at standstill, as built. [V]"""
        return float(abs(self.open_voltage)) / self.ratio

    def slip(self, speed: Any) -> Any:
        return 1 - speed / self.sync

    def own_impedance(self, slip: Any) -> tuple[Any, Any]:
        """Resistance and reactance behind the rings at slip frequency, as built in the rotor. [ohm]"""
        r = self.own_resistance + slip * self.source.real
        return r / self.ratio**2, slip * self.reactance / self.ratio**2

    def current(self, slip: Any, outside: Any = 0.0, injected: Any = 0.0) -> Any:
        """Rotor current with an impedance and a voltage at the rings, stator-referred. ohm, V. [A]"""
        whole = self.own_resistance + outside + slip * (self.source.real + 1j * self.reactance)
        return (slip * abs(self.open_voltage) - injected) / whole


def rings(drive: Drive, key: str) -> Rings:
    """The motor at its rings.

    Raises:
        InputError: a cage motor, or one known by its curves only: named as `speed.KEY`.
    """
    motor = drive.motor
    if motor.wound_ratio is None or motor.circuit is None or len(motor.circuit.rotor) != 1:
        raise InputError.of(
            f"speed.{key}",
            "a motor without a known slip-ring rotor",
            "its rotor circuit is not brought out, so that nothing can be done at slip rings",
            "give the circuit and the rotor voltage at the open rings (line value) of a slip-ring motor, or another way",
        )
    emf, supply = network.thevenin(drive.supply)
    return _seen(motor, motor.circuit, motor.wound_ratio, abs(emf), supply)


def _seen(motor: Motor, circuit: Circuit, ratio: float, emf: float, supply: complex) -> Rings:
    frequency = motor.rating.frequency
    fed = replace(circuit, R1=circuit.R1 + supply.real, X1=circuit.X1 + supply.imag * circuit.frequency / frequency)
    open_voltage, source = source_seen_by_rotor(fed, emf, frequency)
    return Rings(
        motor=motor,
        circuit=circuit,
        open_voltage=abs(open_voltage),
        source=source,
        emf=emf,
        supply=supply,
        ratio=ratio,
        sync=motor.rating.synchronous_speed,
        frequency=frequency,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inside:
    """The machine at a rotor current: phasors A and V, three-phase losses and powers W, torque N m in the air gap.

    Arrays of one shape, or numbers.
    """

    slip: Any
    rotor: Any
    stator: Any
    terminal: Any
    gap_power: Any
    stator_loss: Any
    core_loss: Any
    rotor_loss: Any
    torque: Any

    @property
    def copper(self) -> Any:
        return self.stator_loss + self.rotor_loss

    @property
    def input_power(self) -> Any:
        """Complex, at the terminals. [VA]"""
        return 3 * self.terminal * np.conj(self.stator)


def inside(seen: Rings, slip: Any, rotor: Any, gap: Any = None) -> Inside:
    """Everything that follows from the rotor current (stator-referred phasor, A); gap: its voltage when already known. [V]

    Source: equivalent circuit, Chapman, Electric Machinery Fundamentals, 4th ed., ch. 7.
    """
    circuit = seen.circuit
    if gap is None:
        gap = seen.open_voltage - seen.source * rotor
    stator = gap * circuit.magnetising_admittance(seen.frequency) + rotor
    gap_power = 3 * (gap * np.conj(rotor)).real
    return Inside(
        slip=slip,
        rotor=rotor,
        stator=stator,
        terminal=gap + circuit.stator_impedance(seen.frequency) * stator,
        gap_power=gap_power,
        stator_loss=3 * circuit.R1 * abs(stator) ** 2,
        core_loss=3 * abs(gap) ** 2 / circuit.Rfe,
        rotor_loss=3 * seen.own_resistance * abs(rotor) ** 2,
        torque=gap_power / seen.sync,
    )


def moved_source(seen: Rings, state: Inside, drawn: complex) -> Rings:
    """The motor's source when the set beside it draws `drawn` (A): the supply's voltage less the drop of that current."""
    behind = complex(state.terminal + seen.supply * (state.stator + drawn))
    emf = abs(rect(seen.emf, phase(behind)) - seen.supply * drawn)
    return replace(seen, emf=emf, open_voltage=seen.open_voltage * emf / seen.emf)


def shaft_torque(seen: Rings, state: Inside) -> Any:
    """Torque at the shaft: less friction, windage and stray load loss. [N m]"""
    speed = (1 - state.slip) * seen.sync
    return state.torque - seen.motor.mechanical_torque(speed) - seen.motor.stray_torque(speed, abs(state.stator))


def first_crossing(gap: Callable[[Any], Any], low: float, high: float) -> float | None:
    """Where `gap` (array in, array out) first turns from below zero to zero or more between low and high; None if never.

    Four looks at 49 places each, every one inside the last: the place is known to a few millionths of the width, and to
    the square of that by the straight line at the end.
    """
    for _ in range(4):
        x = np.linspace(low, high, 49)
        y = gap(x)
        up = np.flatnonzero((y[:-1] < 0) & (y[1:] >= 0))
        if not up.size:
            return float(x[0]) if y[0] >= 0 else None
        i = int(up[0])
        low, high, below, above = float(x[i]), float(x[i + 1]), float(y[i]), float(y[i + 1])
    return low + (high - low) * below / (below - above)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """What happens beyond the rings and at the line.

    losses: W, by part. drawn: current taken from the terminals beside the motor's, phasor in the frame of `Inside` [A].
    excess: mean square of the rotor current beyond its fundamental, stator-referred [A2]. rings: losses inside the motor
    from it go to `Part.HARMONIC`. returned: W. harmonics: line harmonics by order [A].
    """

    losses: tuple[Loss, ...] = ()
    drawn: complex = 0.0
    returned: float = 0.0
    excess: float = 0.0
    harmonics: tuple[Harmonic, ...] = ()
    remaining: float = 0.0  # mean square of the line current in orders not listed, A2


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a way found at a demand, in words and numbers."""

    feasible: bool
    reason: str
    settings: tuple[Setting, ...]
    stability: float
    notes: tuple[str, ...] = ()


def put_together(
    task: SpeedTask, duty: DutyPoint, seen: Rings, state: Inside, outside: Outside, answer: Answer
) -> OperatingPoint:
    """One operating point; line power = shaft power + losses by construction of the circuit, not by a remainder."""
    motor, speed = seen.motor, float((1 - state.slip) * seen.sync)
    torque, losses = float(shaft_torque(seen, state)), _losses(seen, state, outside, speed)
    line = state.stator + outside.drawn
    power = complex(3 * state.terminal * np.conj(line))
    motor_excess = outside.excess * _stator_share(seen) ** 2
    square = abs(line) ** 2 + sum(h.current**2 for h in outside.harmonics) + outside.remaining
    rms, shaft = float(np.sqrt(square)), torque * speed
    inner = sum(row.power for row in losses if row.part in _IN_MOTOR)
    copper = sum(row.power for row in losses if row.part in (Part.STATOR, Part.ROTOR, Part.HARMONIC))
    gap = abs(state.terminal - seen.circuit.stator_impedance(seen.frequency) * state.stator)
    return OperatingPoint(
        duty=duty,
        feasible=answer.feasible,
        reason=answer.reason,
        settings=answer.settings,
        speed=speed,
        torque=torque,
        slip=float(state.slip),
        stability=answer.stability,
        frequency=seen.frequency,
        flux=float(gap / _rated_gap(seen)),
        losses=losses,
        line_power=power.real,
        shaft_power=shaft,
        motor_efficiency=shaft / (shaft + inner) if shaft > 0 else 0.0,
        efficiency=shaft / power.real if shaft > 0 else 0.0,
        line_current=rms,
        motor_current=float(np.sqrt(abs(state.stator) ** 2 + motor_excess)),
        displacement_factor=power.real / abs(power),
        power_factor=power.real / (3 * float(abs(state.terminal)) * rms),
        harmonics=outside.harmonics,
        distortion=float(np.sqrt(max(square - abs(line) ** 2, 0.0)) / abs(line)),
        winding_heat=float(winding_heat(motor, task.site, speed, copper)),
        returned=outside.returned,
        notes=answer.notes,
    )


_IN_MOTOR = (Part.STATOR, Part.CORE, Part.ROTOR, Part.HARMONIC, Part.STRAY, Part.FRICTION)
_CHAIN = tuple(Part)


def _losses(seen: Rings, state: Inside, outside: Outside, speed: float) -> tuple[Loss, ...]:
    own = (
        Loss(part=Part.STATOR, power=float(state.stator_loss)),
        Loss(part=Part.CORE, power=float(state.core_loss)),
        Loss(part=Part.ROTOR, power=float(state.rotor_loss)),
        Loss(part=Part.STRAY, power=float(seen.motor.stray_torque(speed, abs(state.stator)) * speed)),
        Loss(part=Part.FRICTION, power=float(seen.motor.mechanical_torque(speed) * speed)),
    )
    return tuple(sorted((*own, *outside.losses), key=lambda row: _CHAIN.index(row.part)))


def _stator_share(seen: Rings) -> float:
    """Part of a rotor harmonic that shows in the stator: the rest magnetises. [1]"""
    circuit = seen.circuit
    return float(circuit.Xm / (circuit.Xm + circuit.X1 + seen.supply.imag))


def _rated_gap(seen: Rings) -> float:
    from slipwise.model.machine.point import operating_point

    rating = seen.motor.rating
    at = operating_point(seen.circuit, rating.slip, rating.phase_voltage, rating.frequency, seen.sync)
    return float(abs(at.gap_voltage))


def line_harmonics(seen: Rings, slip: float, orders: tuple[int, ...], rotor: Any) -> tuple[Harmonic, ...]:
    """Stator harmonics from those of the rotor (rms, stator-referred, A): at |1 - 6 k s| and 1 + 6 k s times line frequency.

    A rotor harmonic of order h = 6 k + 1 turns forwards, 6 k - 1 backwards; with the rotor's own speed that is seen in the
    stator at (1 - s) + h s and (1 - s) - h s. Source: frequencies of the rotating fields, by addition of speeds.
    """
    share, found = _stator_share(seen), []
    for order, current in zip(orders, rotor, strict=True):
        turning = -order if order % 6 == 5 else order
        found.append(Harmonic(order=abs(1 - slip + turning * slip), current=float(current) * share))
    return tuple(found)


def rest_of_line(seen: Rings, excess: float, listed: tuple[Harmonic, ...]) -> float:
    """Mean square of the stator harmonics that are not listed, from the whole excess of the rotor current. [A2]"""
    return max(excess * _stator_share(seen) ** 2 - sum(h.current**2 for h in listed), 0.0)


def rpm(speed: float) -> str:
    """Speed in words."""
    return f"{speed * 30 / pi:.4g} r/min"


def setting(key: str, title: str, value: float, unit: str, why: str) -> Setting:
    """A dial as it stands at one point."""
    return Setting(key=key, title=title, value=float(value), unit=unit, origin="derived", why=why)

"""A motor fed with any frequency and a voltage held at a chosen place: terminals, behind the stator resistance, air gap.

Frequencies and slip frequencies may be arrays of any one shape, so that a family of curves or an envelope is one call.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import Point, first_peak, operating_point
from slipwise.model.machine.saturated import effective
from slipwise.model.machine.saturation import MainSaturation
from slipwise.quantity.errors import DomainError, InputError

# Saturation of the main flux when the motor's own curve is not known: magnetising reactance at little flux 1.25 times that
# at rated flux, knee of exponent 7 (common practice, no source; 1.1 to 1.5, 6 to 9).
TYPICAL_UNSATURATED, TYPICAL_EXPONENT = 1.25, 7.0
SATURATION_NOTE = (
    "saturation of the main flux by a typical curve, assumed: magnetising reactance at little flux 1.25 times that at rated "
    "flux (1.1 to 1.5; common practice, no source)"
)


class Hold(StrEnum):
    """Where the voltage is held."""

    TERMINALS = "terminals"
    STATOR_FLUX = "behind the stator resistance"
    AIR_GAP = "air gap"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fed:
    """Steady states of a motor under a frequency and voltage; every field has the shape asked for.

    point: inside the motor, per `model.machine.point`. frequency of the stator Hz; slip pu; speed of the shaft rad/s.
    voltage: at the terminals, rms per phase of the star equivalent, V. current: rms fundamental in the line, A.
    torque: at the shaft, after friction and stray loss, N m. flux: of the air gap per unit of rated.
    limited: where the voltage asked for was above the greatest one and that was taken instead.
    """

    point: Point
    frequency: Any
    slip: Any
    speed: Any
    voltage: Any
    current: Any
    torque: Any
    flux: Any
    limited: Any
    mechanical_loss: Any
    stray_loss: Any

    @property
    def copper_loss(self) -> Any:
        """Stator and rotor copper loss of the fundamental. [W]"""
        return self.point.stator_loss + self.point.rotor_loss


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Feed:
    """A motor with its rated flux levels, all from the circuit without saturation laws at rated slip, voltage, frequency.

    gap_voltage, stator_voltage: behind the whole stator impedance and behind R1 alone, per phase [V].
    current: fundamental [A]. breakdown_slip: at rated voltage and frequency [1].
    """

    motor: Motor
    circuit: Circuit
    gap_voltage: float
    stator_voltage: float
    current: float
    breakdown_slip: float

    @classmethod
    def of(cls, motor: Motor) -> Feed:
        """The motor with its own saturation laws, or linear when it has none.

        Raises:
            InputError: the motor is known by its curves only, which hold at rated frequency alone.
        """
        circuit = require_circuit(motor)
        rating = motor.rating
        linear = replace(circuit, leakage_saturation=None, main_saturation=None)
        at = operating_point(linear, rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
        behind = rating.phase_voltage - circuit.R1 * at.stator_current
        return cls(
            motor=motor,
            circuit=circuit,
            gap_voltage=float(abs(at.gap_voltage)),
            stator_voltage=float(abs(behind)),
            current=float(abs(at.stator_current)),
            breakdown_slip=first_peak(linear, rating.phase_voltage, rating.frequency, rating.synchronous_speed).slip,
        )

    def with_typical_saturation(self) -> Feed:
        """The same with a typical curve of the main flux where the circuit has no law of its own (`SATURATION_NOTE`)."""
        if self.circuit.main_saturation is not None:
            return self
        law = MainSaturation(
            rated_gap_voltage=self.gap_voltage, unsaturated=TYPICAL_UNSATURATED, exponent=TYPICAL_EXPONENT
        )
        return replace(self, circuit=replace(self.circuit, main_saturation=law))

    @property
    def slip_frequency(self) -> float:
        """Rated, of the rotor currents. [Hz]"""
        return self.motor.rating.slip * self.motor.rating.frequency

    @property
    def per_hertz(self) -> float:
        """Synchronous shaft speed per hertz of the stator. [rad/s per Hz]"""
        return self.motor.rating.synchronous_speed / self.motor.rating.frequency

    def at(self, frequency: Any, slip_frequency: Any, target: Any, hold: Hold, top: Any = np.inf) -> Fed:
        """Steady states at stator and rotor frequencies (Hz) with `target` volts per phase held at a place.

        target: rms V per phase; number or array that broadcasts with the frequencies. top: greatest terminal voltage the
        converter can give, V per phase; where it is too little, the terminals get just that.

        Raises:
            DomainError: a frequency of the stator not above zero; the saturation laws have no steady state there.

        Source: per-phase circuit as in `model.machine.point`; field weakening by the voltage limit: Dubey, Fundamentals of
        Electrical Drives, 2nd ed., ch. 6.
        """
        circuit, slip = self.circuit, slip_frequency / frequency
        held = _held(circuit, slip, frequency, target, hold)
        limited = held.voltage > top * (1 + 1e-12)
        if np.any(limited):
            least = np.minimum(held.voltage, top)
            capped = _held(circuit, slip, frequency, least, Hold.TERMINALS)
            held = _where(limited, capped, held)
        return self._fed(held, frequency, slip, limited)

    def _fed(self, held: _Held, frequency: Any, slip: Any, limited: Any) -> Fed:
        motor = self.motor
        sync = self.per_hertz * frequency
        point = operating_point(held.circuit, slip, held.voltage, frequency, sync)
        speed, current = sync * (1 - slip), abs(point.stator_current)
        friction, stray = motor.mechanical_torque(speed), motor.stray_torque(speed, current)
        return Fed(
            point=point,
            frequency=frequency,
            slip=slip,
            speed=speed,
            voltage=held.voltage,
            current=current,
            torque=point.torque - friction - stray,
            flux=abs(point.gap_voltage) / self.gap_voltage * motor.rating.frequency / frequency,
            limited=limited,
            mechanical_loss=friction * speed,
            stray_loss=stray * speed,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Held:
    """The circuit without laws that holds at each point, and the terminal voltage (V per phase)."""

    circuit: Circuit
    voltage: Any


def require_circuit(motor: Motor) -> Circuit:
    """The motor's circuit. Raises InputError for a motor known by its curves only."""
    if motor.circuit is None:
        raise InputError.of(
            "motor",
            "known by its start curves",
            "the curves hold at rated frequency only, and say nothing of other frequencies",
            "give the equivalent circuit or the plate",
        )
    return motor.circuit


def _held(circuit: Circuit, slip: Any, frequency: Any, target: Any, hold: Hold) -> _Held:
    """Circuit and terminal voltage with `target` held; leakage by damped repetition, main flux by Newton."""
    slip, frequency, target = np.broadcast_arrays(slip, frequency, target)
    leakage = circuit.leakage_saturation
    local = replace(circuit, leakage_saturation=None)
    if leakage is None:
        return _main(local, slip, frequency, target, hold)
    unsaturated = replace(circuit, main_saturation=None)
    for turn in range(200):
        held = _main(local, slip, frequency, target, hold)
        point = operating_point(held.circuit, slip, held.voltage, frequency, 1.0)
        scale = frequency / circuit.frequency
        gap = np.sqrt(2) * abs(point.gap_voltage)
        peaks = tuple(gap * abs(slip / (b.R + 1j * slip * b.X * scale)) for b in held.circuit.rotor)
        wanted = effective(unsaturated, np.sqrt(2) * abs(point.stator_current), peaks, 1.0)
        moved = _distance(local, wanted)
        share = 1.0 if turn < 20 else 0.5
        rotor = tuple(replace(b, X=b.X + share * (w.X - b.X)) for b, w in zip(local.rotor, wanted.rotor, strict=True))
        local = replace(local, X1=local.X1 + share * (wanted.X1 - local.X1), rotor=rotor)
        if moved < 1e-11:
            return _main(local, slip, frequency, target, hold)
    raise DomainError.of(
        "circuit", "leakage saturation", "the law settles at no steady state here", "check knee and shares"
    )


def _distance(a: Circuit, b: Circuit) -> float:
    pairs = [(a.X1, b.X1), *((p.X, q.X) for p, q in zip(a.rotor, b.rotor, strict=True))]
    return max(float(np.max(np.abs(np.divide(p, q) - 1))) for p, q in pairs)


def _main(circuit: Circuit, slip: Any, frequency: Any, target: Any, hold: Hold) -> _Held:
    """Gap voltage from the held one, the main flux law solved for its own level.

    |E|^2 (a + b m + c m^2) = target^2 with m the factor on the magnetising susceptance; Newton on the logarithm from
    the side of little saturation, where the function bends upwards, so that it cannot overshoot.
    """
    scale = frequency / circuit.frequency
    rotor = circuit.rotor_admittance(slip, frequency)
    through = {
        Hold.TERMINALS: circuit.R1 + 1j * circuit.X1 * scale,
        Hold.STATOR_FLUX: 1j * circuit.X1 * scale,
        Hold.AIR_GAP: 0.0 * scale,
    }[hold]
    whole = 1 + through * (rotor + 1 / circuit.Rfe)
    magnet = through / (1j * circuit.Xm * scale)
    law = circuit.main_saturation
    if law is None:
        gap = target / abs(whole + magnet)
        return _Held(circuit=circuit, voltage=gap * abs(_terminal(circuit, scale, rotor, 1.0)))
    gap = _saturated_gap(law, whole, magnet, scale, target)
    factor = law.susceptance_factor(gap / scale)
    here = replace(circuit, Xm=circuit.Xm / factor, main_saturation=None)
    return _Held(circuit=here, voltage=gap * abs(_terminal(circuit, scale, rotor, factor)))


def _terminal(circuit: Circuit, scale: Any, rotor: Any, factor: Any) -> Any:
    """Terminal voltage per volt across the air gap."""
    beyond = rotor + 1 / circuit.Rfe + factor / (1j * circuit.Xm * scale)
    return 1 + (circuit.R1 + 1j * circuit.X1 * scale) * beyond


def _saturated_gap(law: MainSaturation, whole: Any, magnet: Any, scale: Any, target: Any) -> Any:
    a = whole.real**2 + whole.imag**2
    b = 2 * (whole * np.conj(magnet)).real
    c = magnet.real**2 + magnet.imag**2
    least = 1 / law.unsaturated
    wanted = np.maximum(target, 1e-12) ** 2
    gap = np.sqrt(wanted / (a + b * least + c * least**2))
    for _ in range(60):
        level = (1 - least) * (gap / scale / law.rated_gap_voltage) ** law.exponent
        m = least + level
        form = a + b * m + c * m * m
        grade = 2 + law.exponent * level * (b + 2 * c * m) / form
        step = np.log(gap * gap * form / wanted) / np.maximum(grade, 0.5)
        gap = gap * np.exp(-step)
        if np.max(np.abs(step)) < 1e-13:
            break
    return gap


def _where(limited: Any, yes: _Held, no: _Held) -> _Held:
    """One circuit out of two, point by point."""

    def pick(p: Any, q: Any) -> Any:
        return np.where(limited, p, q)

    rotor = tuple(replace(p, X=pick(p.X, q.X)) for p, q in zip(yes.circuit.rotor, no.circuit.rotor, strict=True))
    circuit = replace(
        yes.circuit, X1=pick(yes.circuit.X1, no.circuit.X1), Xm=pick(yes.circuit.Xm, no.circuit.Xm), rotor=rotor
    )
    return _Held(circuit=circuit, voltage=pick(yes.voltage, no.voltage))

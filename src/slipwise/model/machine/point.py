"""One steady operating point of the circuit at its terminals: currents, powers, torque, and the peaks of the torque curve.

Everything is written with the rotor admittance, so that slip 0 needs no special case, and with plain arithmetic, so
that it takes Python numbers as well as arrays.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite
from typing import Any

import numpy as np

from slipwise.model.machine.checks import require_finite, require_positive
from slipwise.model.machine.circuit import Circuit
from slipwise.quantity.errors import DomainError


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Point:
    """Steady state at one slip or at many; every field has the shape of the slip it was asked for.

    Currents and voltages are per-phase rms phasors of the star equivalent, powers are three-phase.

    stator_current: into the motor. [A]   gap_voltage: behind the stator impedance. [V]
    rotor_current: all rotor branches together, referred to the stator. [A]
    input_power: complex, active and reactive. [VA]
    stator_loss, core_loss, rotor_loss: in R1, in Rfe, in the rotor's own resistances. [W]
    external_loss: in resistance added outside a wound rotor. [W]
    gap_power: crossing the air gap. [W]   converted_power: gap power less all rotor-circuit loss. [W]
    torque: on the rotor, before friction and stray loss, positive when driving. [N m]
    """

    stator_current: Any
    gap_voltage: Any
    rotor_current: Any
    input_power: Any
    stator_loss: Any
    core_loss: Any
    gap_power: Any
    rotor_loss: Any
    external_loss: Any
    converted_power: Any
    torque: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Extreme:
    """A peak or a valley of the torque curve: slip in per unit, torque in N m."""

    slip: float
    torque: float


def _square(value: Any) -> Any:
    """|value|^2, without a square root and for any number type."""
    return value.real * value.real + value.imag * value.imag


def operating_point(
    circuit: Circuit,
    slip: Any,
    phase_voltage: Any,
    frequency: Any,
    synchronous_speed: Any,
    *,
    external: float = 0.0,
) -> Point:
    """Steady state of the circuit at its terminals, with the reactances as they stand (`saturated_point` moves them).

    Args:
        circuit: per phase, star equivalent, at its own frequency. [ohm]
        slip: number or array; 1 at standstill, above 1 plugging, negative when generating. [1]
        phase_voltage: rms of the star equivalent; complex to keep an angle. Number, or shape of `slip`. [V]
        frequency: of the supply; reactances are scaled to it, Rfe is kept. Number, or shape of `slip`. [Hz]
        synchronous_speed: of the shaft at `frequency`. [rad/s]
        external: resistance added to each rotor branch of a wound rotor, referred to the stator. [ohm]

    Returns:
        A Point with the shape of `slip`; torque and rotor losses are exactly 0 at slip 0.

    Raises:
        DomainError: slip or voltage not finite, frequency or synchronous speed not above zero, external negative.

    Source: Chapman, Electric Machinery Fundamentals, 4th ed., ch. 7; Fitzgerald, Kingsley, Umans, Electric Machinery,
    ch. 6: torque = air-gap power / synchronous speed. Each rotor branch loses R |I|^2 and carries |I|^2 R / slip.
    """
    require_finite("slip", slip)
    require_finite("phase_voltage", phase_voltage)
    require_positive("frequency", frequency)
    require_positive("synchronous_speed", synchronous_speed)
    if not external >= 0:
        raise DomainError.of("external", external, "a resistance cannot be negative", "give zero or more ohm")
    voltage = phase_voltage * (1 + 0j)
    rotor = circuit.rotor_admittance(slip, frequency, external)
    beyond = circuit.magnetising_admittance(frequency) + rotor
    gap_voltage = voltage / (1 + circuit.stator_impedance(frequency) * beyond)
    current = gap_voltage * beyond
    level = 3 * _square(gap_voltage)
    gap_power = level * rotor.real
    own, added = _rotor_losses(circuit, slip, frequency, external)
    return Point(
        stator_current=current,
        gap_voltage=gap_voltage,
        rotor_current=gap_voltage * rotor,
        input_power=3 * voltage * current.conjugate(),
        stator_loss=3 * circuit.R1 * _square(current),
        core_loss=level / circuit.Rfe,
        gap_power=gap_power,
        rotor_loss=level * own,
        external_loss=level * added,
        converted_power=gap_power - level * (own + added),
        torque=gap_power / synchronous_speed,
    )


def _rotor_losses(circuit: Circuit, slip: Any, frequency: Any, external: float) -> tuple[Any, Any]:
    """R |y|^2 summed over the branches, own resistance and external resistance apart; shape of `slip`. [S]"""
    own: Any = 0.0 * slip
    added: Any = 0.0 * slip
    for branch in circuit.rotor:
        reactance = slip * branch.X * frequency / circuit.frequency
        square = slip * slip / ((branch.R + external) ** 2 + reactance * reactance)
        own = own + branch.R * square
        added = added + external * square
    return own, added


def source_seen_by_rotor(circuit: Circuit, phase_voltage: complex, frequency: float) -> tuple[complex, complex]:
    """Open-circuit voltage and impedance of everything before the rotor, seen from the air gap. [V], [ohm]

    The exact reduction of stator impedance and magnetising branch, without the approximation X_th = X1.
    Source: Chapman, 4th ed., sect. 7.5.
    """
    division = 1 + circuit.stator_impedance(frequency) * circuit.magnetising_admittance(frequency)
    return phase_voltage / division, circuit.stator_impedance(frequency) / division


def turning_slips(circuit: Circuit, frequency: float, external: float = 0.0) -> tuple[float, ...]:
    """Slips at which the torque curve turns at constant terminal voltage, ascending, both signs; exact for any rotor.

    The rotor admittance is a quotient of polynomials A/B in the slip, so the torque is Re(A B*) / |B + Z A|^2 and its
    turning points are the real roots of one real polynomial. A single cage has two, in closed form:
    slip = +- R2 / sqrt(R^2 + (X + X2)^2) with the source R + jX seen by the rotor (Chapman, 4th ed., sect. 7.5).
    """
    _, source = source_seen_by_rotor(circuit, 1.0, frequency)
    scale = frequency / circuit.frequency
    if len(circuit.rotor) == 1:
        branch = circuit.rotor[0]
        slip = (branch.R + external) / abs(source + 1j * branch.X * scale)
        return (-slip, slip)
    return _turning_roots([(b.R + external, b.X * scale) for b in circuit.rotor], source)


def _turning_roots(branches: list[tuple[float, float]], source: complex) -> tuple[float, ...]:
    """Real roots of the derivative of the torque, with the slip scaled to the middle of the branches' corner slips."""
    corners = [r / max(x + source.imag, abs(source)) for r, x in branches]
    unit = float(np.exp(np.mean(np.log(corners))))
    factors = [np.array([1j * unit * x, r]) for r, x in branches]
    below = np.array([1.0 + 0j])
    above = np.array([0j])
    for factor in factors:
        above = np.polyadd(np.polymul(above, factor), np.polymul(below, np.array([unit, 0.0])))
        below = np.polymul(below, factor)
    top = np.polymul(above, np.conj(below)).real
    whole = np.polyadd(below, source * above)
    bottom = np.polymul(whole, np.conj(whole)).real
    turning = np.polysub(np.polymul(np.polyder(top), bottom), np.polymul(top, np.polyder(bottom)))
    roots = np.roots(np.trim_zeros(turning, "f"))
    real = roots[np.abs(roots.imag) <= 1e-7 * np.abs(roots)].real
    slope = np.polyder(turning)
    for _ in range(2):  # polishes what the eigenvalue solver left
        real = real - np.polyval(turning, real) / np.polyval(slope, real)
    return tuple(sorted(float(root) * unit for root in real if isfinite(float(root))))


def _extremes(
    slips: list[float], circuit: Circuit, feed: tuple[complex, float, float], external: float
) -> list[Extreme]:
    voltage, frequency, speed = feed
    torques = [float(operating_point(circuit, s, voltage, frequency, speed, external=external).torque) for s in slips]
    return [Extreme(slip=s, torque=t) for s, t in zip(slips, torques, strict=True)]


def breakdown(
    circuit: Circuit,
    phase_voltage: complex,
    frequency: float,
    synchronous_speed: float,
    *,
    external: float = 0.0,
    generating: bool = False,
    highest_slip: float = inf,
) -> Extreme:
    """Largest torque of the curve at constant terminal voltage (most negative one when `generating`).

    Args:
        circuit, phase_voltage, frequency, synchronous_speed, external: as for `operating_point`.
        generating: look at negative slips.
        highest_slip: slips beyond this magnitude are not considered; 1 keeps to the starting range, infinity allows a
            peak in plugging, as with a large rotor resistance. [1]

    Returns:
        Slip and torque of the highest peak; the end of the range when the torque still rises there.

    Raises:
        DomainError: as `operating_point`.

    Source: Chapman, 4th ed., sect. 7.5 for one cage; for several branches `turning_slips` is exact as well.
    """
    require_finite("phase_voltage", phase_voltage)
    sign = -1.0 if generating else 1.0
    slips = [s for s in turning_slips(circuit, frequency, external) if 0 < sign * s <= highest_slip]
    if isfinite(highest_slip):
        slips.append(sign * highest_slip)
    found = _extremes(slips, circuit, (phase_voltage, frequency, synchronous_speed), external)
    return max(found, key=lambda extreme: sign * extreme.torque)


def first_peak(
    circuit: Circuit, phase_voltage: complex, frequency: float, synchronous_speed: float, *, external: float = 0.0
) -> Extreme:
    """First peak met when slowing down from synchronous speed, within the starting range; standstill when there is none.

    This is the breakdown torque of the plate: torque the motor can carry without an abrupt drop in speed. With a
    double cage the torque nearer standstill may be higher still. Arguments and errors as `breakdown`.
    Source: IEC 60034-1, definition of breakdown torque (from memory).
    """
    slips = [s for s in turning_slips(circuit, frequency, external) if 0 < s <= 1]
    return _extremes([*slips, 1.0][:1], circuit, (phase_voltage, frequency, synchronous_speed), external)[0]


def pull_up(
    circuit: Circuit, phase_voltage: complex, frequency: float, synchronous_speed: float, *, external: float = 0.0
) -> Extreme:
    """Smallest torque between standstill and the highest peak, the steady pull-up torque without harmonic torques.

    Arguments and errors as `breakdown`. Source: IEC 60034-1, definition of pull-up torque (from memory).
    """
    top = breakdown(circuit, phase_voltage, frequency, synchronous_speed, external=external, highest_slip=1.0)
    between = [s for s in turning_slips(circuit, frequency, external) if top.slip <= s <= 1]
    found = _extremes([*between, 1.0], circuit, (phase_voltage, frequency, synchronous_speed), external)
    return min(found, key=lambda extreme: extreme.torque)

"""A circuit with saturation solved at its terminals: the reactances that hold at the currents they cause."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Any

import numpy as np

from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.point import Point, operating_point
from slipwise.quantity.errors import DomainError

_ROUNDS = 400
_ROOT2 = sqrt(2)


def is_saturable(circuit: Circuit) -> bool:
    """Whether the circuit carries any saturation law."""
    return circuit.leakage_saturation is not None or circuit.main_saturation is not None


def effective(circuit: Circuit, stator_peak: Any, branch_peaks: tuple[Any, ...], gap_voltage: Any) -> Circuit:
    """The circuit with the reactances that hold at given currents and flux, and no law left in it.

    Args:
        circuit: with one or both laws.
        stator_peak: peak stator phase current, star equivalent. [A]
        branch_peaks: peak current of each rotor branch, referred to the stator. [A]
        gap_voltage: rms behind the stator impedance, referred to the circuit's frequency (x f circuit / f supply). [V]

    Returns:
        A Circuit whose reactances have the shape of the arguments. Source: laws of `saturation`.
    """
    X1: Any = circuit.X1
    rotor = circuit.rotor
    Xm: Any = circuit.Xm
    leakage, main = circuit.leakage_saturation, circuit.main_saturation
    if leakage is not None:
        X1 = circuit.X1 * leakage.stator(stator_peak)
        rotor = tuple(
            RotorBranch(R=b.R, X=b.X * leakage.rotor(peak)) for b, peak in zip(circuit.rotor, branch_peaks, strict=True)
        )
    if main is not None:
        Xm = circuit.Xm / main.susceptance_factor(gap_voltage)
    return replace(circuit, X1=X1, Xm=Xm, rotor=rotor, leakage_saturation=None, main_saturation=None)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SaturatedPoint:
    """A steady state and the circuit, without laws, that holds in it (reactances of the shape of the slip)."""

    point: Point
    circuit: Circuit


def saturated_point(
    circuit: Circuit,
    slip: Any,
    phase_voltage: Any,
    frequency: float,
    synchronous_speed: float,
    *,
    external: float = 0.0,
) -> SaturatedPoint:
    """Steady state of a circuit with saturation laws; without laws the same as `operating_point`.

    Arguments as `operating_point`. The reactances are found by damped repetition until they move by less than 1e-12.

    Raises:
        DomainError: as `operating_point`; or the laws have no steady state there (flux far beyond any real knee).
    """
    local, damping = circuit, 0.6
    at = effective(circuit, 0.0 * np.abs(slip), tuple(0.0 * np.abs(slip) for _ in circuit.rotor), 0.0 * np.abs(slip))
    for turn in range(_ROUNDS):
        point = operating_point(at, slip, phase_voltage, frequency, synchronous_speed, external=external)
        if not is_saturable(circuit):
            return SaturatedPoint(point=point, circuit=at)
        local = effective(circuit, *peaks(at, point.stator_current, point.gap_voltage, slip, frequency, external))
        moved = distance(at, local)
        if moved < 1e-12:
            return SaturatedPoint(point=point, circuit=at)
        if turn in {60, 150}:
            damping *= 0.4
        at = between(at, local, damping)
    raise DomainError.of(
        "circuit", "saturation", "the laws settle at no steady state here", "check knee, shares and exponent"
    )


def peaks(
    circuit: Circuit, stator_current: Any, gap_voltage: Any, slip: Any, frequency: float, external: float = 0.0
) -> tuple[Any, tuple[Any, ...], Any]:
    """What the laws look at: peak stator current, peak current of each rotor branch [A], flux as rms voltage [V].

    circuit: without laws, as it holds at the point. stator_current, gap_voltage: rms phasors or magnitudes. [A], [V]
    """
    scale = frequency / circuit.frequency
    level = _ROOT2 * abs(gap_voltage)
    branches = tuple(level * abs(slip / (b.R + external + 1j * slip * b.X * scale)) for b in circuit.rotor)
    return _ROOT2 * abs(stator_current), branches, abs(gap_voltage) / scale


def distance(a: Circuit, b: Circuit) -> float:
    """Greatest relative difference between the reactances of two circuits."""
    pairs = [(a.X1, b.X1), (a.Xm, b.Xm), *((p.X, q.X) for p, q in zip(a.rotor, b.rotor, strict=True))]
    return max(float(np.max(np.abs(np.divide(p, q) - 1))) for p, q in pairs)


def between(a: Circuit, b: Circuit, share: float) -> Circuit:
    """A step from `a` towards `b`; the magnetising branch by its susceptance."""

    def mix(p: Any, q: Any) -> Any:
        return p + share * (q - p)

    rotor = tuple(RotorBranch(R=p.R, X=mix(p.X, q.X)) for p, q in zip(a.rotor, b.rotor, strict=True))
    return replace(a, X1=mix(a.X1, b.X1), Xm=1 / mix(np.divide(1, a.Xm), np.divide(1, b.Xm)), rotor=rotor)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReducedVoltage:
    """Locked rotor at a fraction of rated voltage. Ratios to full voltage; `linear` ones are fraction and its square."""

    fraction: float
    current_ratio: float
    torque_ratio: float

    def words(self) -> str:
        """What saturation does to a reduced-voltage start, for a report."""
        return (
            f"At {100 * self.fraction:.0f} % voltage leakage saturation leaves {100 * self.current_ratio:.0f} % of the "
            f"locked-rotor current and {100 * self.torque_ratio:.0f} % of the torque, where proportion would give "
            f"{100 * self.fraction:.0f} % and {100 * self.fraction**2:.0f} %"
        )


def at_reduced_voltage(
    circuit: Circuit, fraction: float, phase_voltage: float, frequency: float, synchronous_speed: float
) -> ReducedVoltage:
    """Locked-rotor current and torque at `fraction` of the voltage over those at full voltage, saturation included.

    Raises DomainError as `saturated_point`.
    """
    full, part = (
        saturated_point(circuit, 1.0, volts, frequency, synchronous_speed).point
        for volts in (phase_voltage, fraction * phase_voltage)
    )
    return ReducedVoltage(
        fraction=fraction,
        current_ratio=float(np.abs(part.stator_current) / np.abs(full.stator_current)),
        torque_ratio=float(part.torque / full.torque),
    )

"""Stator windings for two pole numbers: coil lists, winding factors, and the circuit seen at another pole number.

A coil list says for each coil where its leading side lies and which way its current flows; everything else is counted
from it: the winding factor, the sense in which the field turns, and the diagram.
"""

from __future__ import annotations

from cmath import exp, phase
from dataclasses import dataclass, replace
from enum import StrEnum
from math import lcm, pi, sin, sqrt

from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.quantity.errors import DomainError


class Connection(StrEnum):
    """How the two halves of each phase stand together."""

    SERIES_STAR = "series star"
    SERIES_DELTA = "series delta"
    DOUBLE_STAR = "double star"


SQUARED_TURNS = {Connection.SERIES_STAR: 1.0, Connection.SERIES_DELTA: 1 / 3, Connection.DOUBLE_STAR: 1 / 4}
"""Impedance of the star equivalent per unit of that of the winding all in series and in star: delta a third, halves in
parallel a quarter (star-delta equivalence)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """One coil. slot: of its leading side. sign: sense of the current at the lower pole number. half: 1 is reversed for the
    higher one."""

    phase: int
    slot: int
    sign: int
    half: int

    def turned(self) -> Coil:
        """The coil with its current reversed if it belongs to half 1."""
        return replace(self, sign=-self.sign) if self.half else self


def belts(slots: int, pole_pairs: int) -> tuple[Coil, ...]:
    """A double-layer winding of 60 degree belts, a coil starting in every slot; half 1 are the belts of negative sign.

    Reversing half 1 gives all belts of a phase the same sign, which makes twice the poles.

    Raises:
        DomainError: the slots do not divide into equal belts.

    Source: consequent poles (Say, Alternating Current Machines, from memory).
    """
    if slots % (6 * pole_pairs):
        reason = f"must be a multiple of {6 * pole_pairs} for {2 * pole_pairs} poles"
        raise DomainError.of("slots", slots, reason, f"take {6 * pole_pairs * max(round(slots / 6 / pole_pairs), 1)}")
    width = slots // (6 * pole_pairs)
    pattern = ((0, 1), (2, -1), (1, 1), (0, -1), (2, 1), (1, -1))
    return tuple(
        Coil(phase=p, slot=slot, sign=sign, half=0 if sign > 0 else 1)
        for slot in range(slots)
        for p, sign in (pattern[slot // width % 6],)
    )


def mean_phasor(coils: tuple[Coil, ...], slots: int, pitch: int, pole_pairs: int, of_phase: int) -> complex:
    """Emf of a phase for a field of `pole_pairs`, per unit of that of as many full-pitch coils in one place. [1]

    Source: winding factor as the vector mean of the coils' emfs, distribution times pitch (Fitzgerald, Kingsley, Umans,
    Electric Machinery, appendix B, from memory).
    """
    mine = [coil for coil in coils if coil.phase == of_phase]
    span = sin(pole_pairs * pitch * pi / slots)
    total = sum(c.sign * exp(2j * pi * pole_pairs * (c.slot + pitch / 2) / slots) for c in mine)
    return span * total / len(mine)


def winding_factor(coils: tuple[Coil, ...], slots: int, pitch: int, pole_pairs: int) -> float:
    """Magnitude of the mean phasor of phase 0. [1]"""
    return abs(mean_phasor(coils, slots, pitch, pole_pairs, 0))


def turns_backwards(coils: tuple[Coil, ...], slots: int, pitch: int, pole_pairs: int) -> bool:
    """Whether the field runs against the slot numbers when phases 0, 1, 2 follow each other in time."""
    first, second = (mean_phasor(coils, slots, pitch, pole_pairs, k) for k in (0, 1))
    return phase(second / first) < 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rewound:
    """How another pole number differs from the one whose circuit is known, each as new over old.

    squared_turns: of the star equivalent (`SQUARED_TURNS`, or a choice of turns). factor: winding factor. poles.
    resistance: stator resistance beyond what the turns give (less copper).
    ring_share: part of the rotor impedance in the end rings at the old pole number; it falls with the square of the poles.
    """

    squared_turns: float
    factor: float
    poles: float
    ring_share: float
    resistance: float = 1.0

    @property
    def flux_density(self) -> float:
        """Of the air gap at the same voltage: voltage x poles / (turns x winding factor)."""
        return self.poles / (sqrt(self.squared_turns) * self.factor)


def rewound(circuit: Circuit, new: Rewound) -> Circuit:
    """The circuit of the same frame at another pole number.

    Stator resistance and leakage go with turns squared (same coils, same overhang; slot leakage does not know the poles).
    The magnetising reactance goes with (turns x factor / poles)^2, and so does Rfe at a loss that follows flux density
    squared. The rotor goes with (turns x factor)^2, its end-ring part also with 1 / poles^2. No saturation law is kept: the
    flux differs; whoever uses it looks at `flux_density`.

    Source: magnetising and slot-leakage inductance of distributed windings, rotor referral by effective turns
    (Say, Alternating Current Machines, from memory). The leakage rule is good to some 20 % (common practice, no source).
    """
    rotor = new.squared_turns * new.factor**2 * (1 - new.ring_share + new.ring_share / new.poles**2)
    main = new.squared_turns * (new.factor / new.poles) ** 2
    return replace(
        circuit,
        R1=circuit.R1 * new.squared_turns * new.resistance,
        X1=circuit.X1 * new.squared_turns,
        Xm=circuit.Xm * main,
        Rfe=circuit.Rfe * main,
        rotor=tuple(RotorBranch(R=b.R * rotor, X=b.X * rotor) for b in circuit.rotor),
        leakage_saturation=None,
        main_saturation=None,
    )


def usual_slots(*pole_pairs: int, multiple: int = 6) -> int:
    """Slots near 48 (or near 8 a pole) that suit every pole number: multiples of `multiple` x pole pairs."""
    unit = lcm(*(multiple * p for p in pole_pairs))
    wanted = max(48, 8 * max(pole_pairs))
    return unit * max(round(wanted / unit), 1)


def synchronous_speed(frequency: float, poles: float) -> float:
    """Of the shaft, 4 pi f / poles. [rad/s]  Source: common textbook treatment."""
    return 4 * pi * frequency / poles


def cascade_speeds(frequency: float, poles_1: int, poles_2: int) -> tuple[float, ...]:
    """The four speeds of two coupled motors, ascending: together as the sum of poles, as the difference, each alone. [rad/s]

    Source: cascade of two motors on one shaft, the rotor of one feeding the other (Srivastava, Electrical Machines,
    Example 5.25). With equal poles the difference gives no speed.
    """
    poles = [poles_1 + poles_2, poles_1, poles_2]
    if poles_1 != poles_2:
        poles.append(abs(poles_1 - poles_2))
    return tuple(sorted(synchronous_speed(frequency, p) for p in poles))

"""Three pairs of thyristors in the lines of a running motor: the periodic waveform, found without marching in time.

A phase that has run out of current is fired again after a hold-off. At a constant speed the machine is linear between
switchings and its six-pulse symmetry repeats every sixth of a period, turned by 60 degrees. The periodic waveform is
therefore the null vector of one small matrix for every hold-off; nothing is iterated. Averages are taken by Gauss
quadrature over each smooth piece, so that the power balance closes to rounding.

Source: the method of a hold-off angle as independent variable (Lipo, "The analysis of induction motors with voltage
control by symmetrically triggered thyristors", IEEE Trans. PAS-90, 1971, from memory); machine equations: Krause,
Wasynczuk, Sudhoff, Analysis of Electric Machinery, ch. 4, in the stator's frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipwise.model.converter.thyristor_modes import Modes, Piece, modes_of
from slipwise.model.machine.checks import require_finite, require_positive
from slipwise.model.machine.circuit import Circuit
from slipwise.quantity.errors import DomainError

Array = NDArray[np.float64]
SIXTH = pi / 3
GREATEST_HOLD_OFF = 2 * SIXTH  # beyond it no two phases conduct at once, and no current can flow
ORDERS = (1, 5, 7, 11, 13, 17, 19, 23, 25)  # of the line current: no triplen, no even ones (three wires, symmetry)
_ROOT2 = 2**0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Controlled:
    """Periodic state of a phase-controlled motor; every field has the shape (slips, hold-offs) unless it says otherwise.

    hold_off: from a phase's current zero to its next firing; up to 60 degrees two or three phases conduct by turns, beyond
        it two or none. [rad]
    firing: from the rising zero of a phase's own source voltage to its firing. [rad]
    torque: mean, in the air gap [N m].
    fundamental: current into the motor, complex rms against the source [A]; current: its rms with harmonics [A]; peak:
        greatest instantaneous [A]; mean: average of its magnitude [A].
    gap_voltage, voltage: fundamental behind the stator impedance and at the motor's terminals, complex rms per phase [V].
    line_voltage: fundamental before the thyristors, complex rms per phase. [V]
    harmonics: rms line current by order, shape (slips, hold-offs, len(ORDERS)). [A]
    stator_loss, rotor_loss: of the fundamental; harmonic_loss: copper loss of everything else; core_loss: of the
        fundamental; converted: mechanical power = torque x shaft speed. [W]
    source_power: mean of source voltage x current of the waveform, which knows no core loss: a check on the balance. [W]
    possible: the thyristors can really conduct this way (each current keeps its sign while it flows).
    """

    hold_off: Array
    firing: Array
    torque: Array
    fundamental: Any
    current: Array
    peak: Array
    mean: Array
    gap_voltage: Any
    voltage: Any
    line_voltage: Any
    harmonics: Array
    stator_loss: Array
    rotor_loss: Array
    harmonic_loss: Array
    core_loss: Array
    converted: Array
    source_power: Array
    possible: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """What stands before the thyristors: phase voltage rms [V], series impedance at `frequency` [ohm], Hz, shaft rad/s."""

    phase_voltage: float
    frequency: float
    synchronous_speed: float
    impedance: complex = 0.0


def controlled(circuit: Circuit, slip: Any, hold_off: Any, feed: Feed, *, external: float = 0.0) -> Controlled:
    """Periodic state at each slip and each hold-off.

    Args:
        circuit: per phase, star equivalent, taken without its saturation laws. [ohm]
        slip: number or shape (n,). [1]
        hold_off: number, shape (m,), or (n, m) for hold-offs of their own at each slip; 0 to below 120 degrees. [rad]
        feed: source and speed.
        external: resistance added per rotor phase, referred to the stator. [ohm]

    Returns:
        A Controlled of shape (n, m). A core-loss resistance is taken into the source seen by the magnetising branch, which
        is exact at the fundamental and so joins the sinusoidal state at hold-off 0; the harmonics see no core loss.

    Raises:
        DomainError: a hold-off outside its range, a slip not finite, a feed that is not above zero.

    Source: as the module.
    """
    require_finite("slip", slip)
    for name in ("phase_voltage", "frequency", "synchronous_speed"):
        require_positive(name, getattr(feed, name))
    slips = np.atleast_1d(np.asarray(slip, dtype=float))
    angles = np.atleast_1d(np.asarray(hold_off, dtype=float))
    angles = np.broadcast_to(angles, np.broadcast_shapes((slips.size, 1), angles.shape))
    if not bool(np.all((angles >= 0) & (angles < GREATEST_HOLD_OFF))):
        raise DomainError.of("hold_off", hold_off, "it lies from 0 to below 120 degrees", "give it in rad")
    behind = circuit.stator_impedance(feed.frequency) + feed.impedance
    division = 1 + behind / circuit.Rfe
    modes = modes_of(circuit, slips, feed.frequency, behind / division, external)
    continuous = angles <= SIXTH
    first = np.where(continuous, angles, GREATEST_HOLD_OFF - angles)
    pieces = modes.periodic(first, SIXTH - first, continuous, abs(feed.phase_voltage / division) * _ROOT2)
    return _measured(_Asked(circuit=circuit, feed=feed, modes=modes, division=division), angles, pieces)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Asked:
    """What `controlled` was asked, and `division`: the source over what the magnetising branch sees of it."""

    circuit: Circuit
    feed: Feed
    modes: Modes
    division: complex


def _measured(asked: _Asked, angles: Array, pieces: tuple[Piece, Piece]) -> Controlled:
    """Averages over the pieces, and the core-loss branch put back."""
    feed, own = asked.feed, asked.circuit.stator_impedance(asked.feed.frequency)
    share = [piece.length[..., None] * piece.weights / SIXTH for piece in pieces]

    def mean(of: Any) -> Any:
        return sum(np.einsum("...n,...n", w, of(piece)) for w, piece in zip(share, pieces, strict=True))

    source = (pieces[0].source * np.exp(-1j * pieces[0].angle))[..., 0] * asked.division  # stopped, at its true angle
    against = np.abs(source) / source / _ROOT2
    inner = mean(lambda p: p.current * np.exp(-1j * p.angle)) * against
    gap = 1j * mean(lambda p: p.gap_flux * np.exp(-1j * p.angle)) * against
    ripple = mean(lambda p: np.abs(p.current) ** 2) / 2 - np.abs(inner) ** 2
    fundamental = inner + gap / asked.circuit.Rfe
    torque = 1.5 * mean(lambda p: (np.conj(p.gap_flux) * p.current).imag) / feed.synchronous_speed
    rotor = 3 * np.abs(gap) ** 2 * asked.modes.rotor_admittances()[:, None]
    return Controlled(
        hold_off=angles,
        firing=_firing(angles, pieces[0], source),
        torque=torque,
        fundamental=fundamental,
        current=np.sqrt(np.abs(fundamental) ** 2 + ripple),
        peak=np.maximum(*(np.max(np.abs(_phases(p.current)), axis=(0, -1)) for p in pieces)),
        mean=mean(lambda p: np.mean(np.abs(_phases(p.current)), axis=0)),
        gap_voltage=gap,
        voltage=gap + own * fundamental,
        line_voltage=feed.phase_voltage - feed.impedance * fundamental,
        harmonics=_spectrum(fundamental, pieces, share),
        stator_loss=3 * own.real * np.abs(fundamental) ** 2,
        rotor_loss=rotor,
        harmonic_loss=3 * own.real * ripple + 1.5 * mean(lambda p: p.rotor_square) - rotor,
        core_loss=3 * np.abs(gap) ** 2 / asked.circuit.Rfe,
        converted=torque * feed.synchronous_speed * (1 - asked.modes.slips)[:, None],
        source_power=1.5 * mean(lambda p: (p.source * np.conj(p.current)).real),
        possible=_possible(angles, pieces),
    )


def _spectrum(fundamental: Any, pieces: tuple[Piece, Piece], share: list[Array]) -> Array:
    """Rms of each order of the line current, the fundamental with its core-loss current; orders 5, 11, ... turn backwards."""
    turning = np.array([order if order % 6 == 1 else -order for order in ORDERS])
    total: Any = 0.0
    for weights, piece in zip(share, pieces, strict=True):
        turns = np.exp(-1j * piece.angle[..., None] * turning)
        total = total + ((weights * piece.current)[..., None, :] @ turns)[..., 0, :]
    rms: Array = np.abs(total) / _ROOT2
    rms[..., 0] = np.abs(fundamental)
    return rms


def _phases(current: Any) -> Any:
    """Currents of the three phases of a space vector; shape (3, ...)."""
    turns = np.exp(-2j * pi / 3 * np.arange(3)).reshape(3, *[1] * current.ndim)
    return (turns * current).real


def _firing(angles: Array, first: Piece, source: Any) -> Array:
    """Firing angle from the phase of the source at the beginning of the sixth, where phase a has just run out."""
    upward = np.mean(first.current.imag, axis=-1) >= 0
    after: Array = np.mod(np.angle(source) - pi / 2 + np.where(upward, 0.0, pi), 2 * pi)
    # beyond 60 degrees the phase fired is the one that begins the sixth; both rules agree at 60 degrees
    return np.mod(after + np.minimum(angles, SIXTH), 2 * pi)


def _possible(angles: Array, pieces: tuple[Piece, Piece]) -> NDArray[np.bool_]:
    """Whether every current keeps its sign while it flows: the open phase's neighbours first, then all three."""
    small = 1e-9 * np.max(np.abs(pieces[0].current), axis=-1, initial=0.0)[..., None]

    def one_signed(values: Any) -> Any:
        return np.all(values >= -small, axis=-1) | np.all(values <= small, axis=-1)

    fine = one_signed(pieces[0].current.imag)
    for phase in _phases(pieces[1].current):
        fine = fine & (one_signed(phase) | (angles > SIXTH))
    result: NDArray[np.bool_] = fine
    return result


@dataclass(frozen=True, slots=True, kw_only=True)
class ThyristorData:
    """Conduction loss of one pair: threshold voltage [V] and slope resistance [ohm]."""

    threshold: float
    slope: float


def conduction_loss(pair: ThyristorData, mean: Any, current: Any) -> Any:
    """Loss of three pairs: 3 (threshold x mean |i| + slope x rms^2); shape of the currents (A). [W]

    Source: straight-line on-state characteristic (IEC 60747-6, from memory).
    """
    return 3 * (pair.threshold * mean + pair.slope * current * current)


def usual_pair(rated_current: float) -> ThyristorData:
    """A pair of usual size for a motor: 0.9 V, and 0.35 V more at the peak of rated current (common practice, no source)."""
    return ThyristorData(threshold=0.9, slope=0.35 / (_ROOT2 * rated_current))

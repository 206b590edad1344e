"""The machine between two switchings of its thyristors: three phases on, two on, or none, each linear and in closed form.

Angles of the source take the place of time and reactances that of inductances, so that flux linkages are in volts.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipwise.model.machine.circuit import Circuit

Array = NDArray[np.float64]
_NODES = 20
_X, _W = np.polynomial.legendre.leggauss(_NODES)
NODES, WEIGHTS = 0.5 * (_X + 1), 0.5 * _W  # on a piece of length 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """One smooth piece of the waveform at its Gauss nodes; arrays of shape (slips, hold-offs, nodes) unless said.

    length: rad, shape (slips, hold-offs); weights: shape (nodes,); angle: of the source since the sixth began [rad].
    source, current, gap_flux: space vectors of peak phase values [V], [A], [V].
    rotor_square: sum over the branches of R x |current|^2. [W]
    """

    length: Array
    weights: Array
    angle: Array
    source: Any
    current: Any
    gap_flux: Any
    rotor_square: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Flow:
    """exp(matrix x angle) for a stack of matrices, from their eigenvalues.

    keep: which rows of the whole state this mode moves; the others are currents that do not flow.
    """

    keep: tuple[int, ...]
    values: Any  # (slips, k)
    vectors: Any  # (slips, k, k)
    inverse: Any
    size: int

    def at(self, angle: Any) -> Array:
        """Propagators over `angle` (slips, hold-offs), embedded in the whole state: (slips, hold-offs, size, size)."""
        grown = np.exp(self.values[:, None, None, :] * angle[..., None, None])
        small = ((self.vectors[:, None] * grown) @ self.inverse[:, None]).real
        whole = np.zeros((*angle.shape, self.size, self.size))
        index = np.array(self.keep)
        whole[..., index[:, None], index[None, :]] = small
        return whole

    def along(self, angles: Any, begin: Array) -> Array:
        """States (slips, hold-offs, nodes, size) at `angles` (slips, hold-offs, nodes) after `begin` (.., size)."""
        index = np.array(self.keep)
        mixed = np.einsum("sij,shj->shi", self.inverse, begin[..., index])
        grown = np.exp(self.values[:, None, None, :] * angles[..., None]) * mixed[:, :, None, :]
        count = grown.shape[-1]
        small = grown.reshape(grown.shape[0], -1, count) @ self.vectors.transpose(0, 2, 1)
        whole = np.zeros((*angles.shape, self.size))
        whole[..., index] = small.real.reshape(*angles.shape, count)
        return whole


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Modes:
    """The three modes at a row of slips.

    State: stator current, rotor flux linkages, source, each as two real numbers.
    coupling: k = share of each branch's flux that the stator feels; inverse: rotor currents from flux linkages.
    """

    slips: Array
    magnetising: float
    resistances: Array
    inverse: Array
    coupling: Array
    leakages: Array
    three: Flow
    two: Flow
    none: Flow

    def rotor_admittances(self) -> Array:
        """Sum over the branches of R |y|^2 at the fundamental, shape (slips,). [S]"""
        s = self.slips[:, None]
        y = s / (self.resistances + 1j * s * self.leakages)
        total: Array = np.sum(self.resistances * np.abs(y) ** 2, axis=1)
        return total

    def periodic(self, first: Array, second: Array, continuous: Any, peak: float) -> tuple[Piece, Piece]:
        """The waveform that repeats after a sixth, turned by 60 degrees; `peak` is the source's phase voltage. [V]"""
        size = self.three.size
        opening = self.two.at(first)
        closing = np.where(continuous[..., None, None], self.three.at(second), self.none.at(second))
        begin = _begin(opening, closing, continuous, size)
        begin *= peak / np.hypot(begin[..., -2], begin[..., -1])[..., None]
        middle = np.einsum("...ij,...j->...i", opening, begin)
        on, off = (mode.along(second[..., None] * NODES, middle) for mode in (self.three, self.none))
        closed = np.where(continuous[..., None, None], on, off)
        opened = self.two.along(first[..., None] * NODES, begin)
        return self._piece(opened, first, 0.0 * first), self._piece(closed, second, first)

    def _piece(self, state: Array, length: Array, begins: Array) -> Piece:
        pairs = state[..., 0::2] + 1j * state[..., 1::2]
        current, flux, source = pairs[..., 0], pairs[..., 1:-1], pairs[..., -1]
        rotor = flux @ self.inverse.T - self.coupling * current[..., None]
        return Piece(
            length=length,
            weights=WEIGHTS,
            angle=begins[..., None] + length[..., None] * NODES,
            source=source,
            current=current,
            gap_flux=self.magnetising * (current + np.sum(rotor, axis=-1)),
            rotor_square=np.sum(self.resistances * np.abs(rotor) ** 2, axis=-1),
        )


def _begin(opening: Array, closing: Array, continuous: Any, size: int) -> Array:
    """State at the beginning of the sixth, up to its length: the null vector of the conditions for repetition.

    Phase a is open at the beginning. With three phases on in the second piece the whole state must repeat; with none on,
    the flux must, and the current must have run out at the end of the first piece.
    """
    turn = np.zeros((size, size))
    c, s = np.cos(pi / 3), np.sin(pi / 3)
    for k in range(0, size, 2):
        turn[k : k + 2, k : k + 2] = [[c, -s], [s, c]]
    repeat = closing @ opening - turn
    repeat = repeat[..., :-2, :]  # the source repeats by itself
    run_out = opening[..., 1:2, :]
    # with none on: no current at the beginning (rows 0, 1 as identities), none at the end of the first piece, flux repeats
    at_rest = np.concatenate([np.broadcast_to(run_out, run_out.shape), repeat[..., 2:, :]], axis=-2)
    whole = np.zeros((*repeat.shape[:-2], size, size))
    idle = np.zeros((*repeat.shape[:-2], size, size))
    whole[..., : size - 2, :] = repeat
    whole[..., size - 2, 0] = 1.0  # phase a is open
    idle[..., : size - 3, :] = at_rest
    idle[..., size - 3, 0] = 1.0
    idle[..., size - 2, 1] = 1.0
    matrix = np.where(continuous[..., None, None], whole, idle)
    scale = np.max(np.abs(matrix), axis=-2, keepdims=True)
    scale[scale == 0] = 1.0
    null = np.linalg.svd(matrix / scale)[2][..., -1, :]
    begin: Array = null / scale[..., 0, :]
    return begin


def modes_of(circuit: Circuit, slips: Array, frequency: float, behind: complex, external: float) -> Modes:
    """The modes at a row of slips; `behind` is everything between source and air gap, the stator too (ohm)."""
    x = frequency / circuit.frequency
    resistances = np.array([b.R + external for b in circuit.rotor])
    leakages = np.array([b.X * x for b in circuit.rotor])
    magnetising = circuit.Xm * x
    inverse: Array = np.linalg.inv(np.diag(leakages) + magnetising).astype(np.float64)
    coupling = magnetising * np.sum(inverse, axis=1)
    leakage = behind.imag + magnetising * (1 - np.sum(coupling))
    matrix = _matrix(slips, resistances, inverse, coupling, (behind.real, leakage))
    size = matrix.shape[-1]
    every = tuple(range(size))
    return Modes(
        slips=slips,
        magnetising=magnetising,
        resistances=resistances,
        inverse=inverse,
        coupling=coupling,
        leakages=leakages,
        three=_flow(matrix, every),
        two=_flow(matrix, every[1:]),
        none=_flow(matrix, every[2:]),
    )


def _matrix(slips: Array, resistances: Array, inverse: Array, coupling: Array, series: tuple[float, float]) -> Array:
    """d(state)/d(angle) with all phases on: stator current, rotor flux linkages, source, as pairs of real numbers."""
    count = resistances.size
    resistance, leakage = series
    whole = np.zeros((slips.size, count + 2, count + 2), complex)
    rotor = -resistances[:, None] * inverse
    whole[:, 1:-1, 1:-1] = rotor + 1j * (1 - slips)[:, None, None] * np.eye(count)
    whole[:, 1:-1, 0] = resistances * coupling
    whole[:, 0, :] = -np.einsum("k,skj->sj", coupling, whole[:, 1:-1, :]) / leakage
    whole[:, 0, 0] -= resistance / leakage
    whole[:, 0, -1] = 1 / leakage
    whole[:, -1, -1] = 1j
    real = np.zeros((slips.size, 2 * count + 4, 2 * count + 4))
    real[:, 0::2, 0::2], real[:, 0::2, 1::2] = whole.real, -whole.imag
    real[:, 1::2, 0::2], real[:, 1::2, 1::2] = whole.imag, whole.real
    return real


def _flow(matrix: Array, keep: tuple[int, ...]) -> Flow:
    index = np.array(keep)
    values, vectors = np.linalg.eig(matrix[:, index[:, None], index[None, :]])
    return Flow(keep=keep, values=values, vectors=vectors, inverse=np.linalg.inv(vectors), size=matrix.shape[-1])

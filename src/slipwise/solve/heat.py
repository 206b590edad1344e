"""Exact temperatures of a thermal network whose losses and cooling are constant piece by piece."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from slipwise.model.thermal.network import ThermalNetwork
from slipwise.quantity.errors import DomainError
from slipwise.results.ledger import Ledger, LedgerRow, Side
from slipwise.results.series import Array
from slipwise.results.thermal import HeatTrace


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A stretch of time with constant losses. losses: body name to W, absent ones none; cooling: 0 standing, 1 running."""

    seconds: float
    losses: Mapping[str, float]
    cooling: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Modes:
    """The network diagonalised: rise = basis @ modes, each mode decaying at its own rate. [1/s]"""

    basis: Array
    inverse: Array
    rates: Array
    matrix: Array


def _modes(network: ThermalNetwork, cooling: float) -> _Modes:
    root = np.sqrt(network.capacities())
    matrix = network.conductances(cooling)
    rates, vectors = np.linalg.eigh(matrix / np.outer(root, root))
    return _Modes(basis=vectors / root[:, None], inverse=vectors.T * root, rates=np.maximum(rates, 0.0), matrix=matrix)


def steady_rise(network: ThermalNetwork, losses: Mapping[str, float], cooling: float = 1.0) -> Array:
    """Rise of each body over the ambient when nothing changes any more, shape (n,). [K]

    Raises:
        DomainError: the network has no way to the ambient at this cooling.
    """
    matrix = network.conductances(cooling)
    if np.linalg.matrix_rank(matrix) < len(network.bodies):
        raise DomainError.of("thermal.path", "ambient", "no body reaches the ambient", "add a path with an empty `to`")
    return np.asarray(np.linalg.solve(matrix, _vector(network, losses)), dtype=np.float64)


def heat(
    network: ThermalNetwork,
    pieces: Sequence[Piece],
    *,
    ambient: float,
    start: Array | None = None,
    points: int = 24,
) -> HeatTrace:
    """Temperatures over the pieces, exact at every recorded time; heat removed is integrated in closed form.

    ambient: degC. start: temperatures at the beginning, shape (n,), degC; the ambient when left out. points: recorded
    within each piece.

    Source: linear heat balance C dT/dt = P - G (T - Ta), solved by its modes (matrix exponential).
    """
    rise = np.zeros(len(network.bodies)) if start is None else np.asarray(start, dtype=float) - ambient
    first, now, removed, made = rise.copy(), 0.0, 0.0, 0.0
    times, rises = [np.zeros(1)], [rise[:, None]]
    cache: dict[float, _Modes] = {}
    for piece in pieces:
        if not piece.seconds > 0:
            raise DomainError.of("thermal.piece.seconds", piece.seconds, "must be above zero", "give a time in seconds")
        modes = cache.setdefault(piece.cooling, _modes(network, piece.cooling))
        loss = _vector(network, piece.losses)
        local = np.linspace(0.0, piece.seconds, points + 1)[1:]
        curve, area = _piece(modes, rise, loss, local)
        removed += float(network.to_ambient(piece.cooling) @ area)
        made += float(loss.sum()) * piece.seconds
        times.append(now + local)
        rises.append(curve)
        now, rise = now + piece.seconds, curve[:, -1]
    stored = float(network.capacities() @ (rise - first))
    return HeatTrace(
        time=np.concatenate(times),
        bodies=network.names,
        temperature=ambient + np.concatenate(rises, axis=1),
        limits=tuple(body.limit for body in network.bodies),
        ambient=ambient,
        energy=Ledger(
            rows=(
                LedgerRow(name="losses", energy=made, side=Side.SUPPLIED),
                LedgerRow(name="carried off by cooling", energy=removed, side=Side.LOST),
                LedgerRow(name="stored as heat", energy=stored, side=Side.STORED),
            )
        ),
    )


def temperatures(
    network: ThermalNetwork, losses: Mapping[str, float], cooling: float, *, start: Array, ambient: float, times: Array
) -> Array:
    """Temperatures under constant losses at `times` (s, ascending) from `start`, shape (bodies, times). [degC] Exact."""
    modes = _modes(network, cooling)
    curve, _ = _piece(modes, np.asarray(start, dtype=float) - ambient, _vector(network, losses), times)
    return ambient + curve


def _vector(network: ThermalNetwork, losses: Mapping[str, float]) -> Array:
    unknown = set(losses) - set(network.names)
    if unknown:
        known = ", ".join(network.names)
        raise DomainError.of("thermal.losses", sorted(unknown)[0], "there is no such body", f"name one of {known}")
    return np.array([losses.get(name, 0.0) for name in network.names])


def _piece(modes: _Modes, rise: Array, loss: Array, local: Array) -> tuple[Array, Array]:
    """Rises at the local times, shape (n, times), and the area under each body's rise over the whole piece. [K], [K s]"""
    mode, drive = modes.inverse @ rise, modes.basis.T @ loss
    rt = np.outer(modes.rates, local)
    decay, ramp = np.exp(-rt), local * _phi1(rt)
    curve = modes.basis @ (mode[:, None] * decay + drive[:, None] * ramp)
    end = local[-1]
    last = modes.rates * end
    area = modes.basis @ (mode * end * _phi1(last) + drive * end**2 * _phi2(last))
    return curve, area


def _phi1(x: Array) -> Array:
    """(1 - exp(-x)) / x, 1 at 0."""
    safe = np.where(x > 1e-12, x, 1.0)
    return np.where(x > 1e-12, -np.expm1(-safe) / safe, 1.0)


def _phi2(x: Array) -> Array:
    """(1 - phi1(x)) / x, 1/2 at 0; by its series where the difference would cancel."""
    small = x < 1e-2
    safe = np.where(small, 1.0, x)
    series = 1 / 2 - x / 6 + x**2 / 24 - x**3 / 120 + x**4 / 720 - x**5 / 5040
    return np.where(small, series, (1 - _phi1(safe)) / safe)


def limit_cycle(network: ThermalNetwork, pieces: Sequence[Piece], *, ambient: float, points: int = 24) -> HeatTrace:
    """One cycle of a duty repeated for ever: it ends at the temperatures it begins with.

    The beginning solves the linear map of one cycle, so no number of repetitions has to be guessed.
    """
    size = len(network.bodies)
    idle = np.zeros((size, size))
    for j in range(size):
        unit = np.zeros(size)
        unit[j] = 1.0
        silent = [Piece(seconds=p.seconds, losses={}, cooling=p.cooling) for p in pieces]
        idle[:, j] = heat(network, silent, ambient=0.0, start=unit, points=1).final
    driven = heat(network, pieces, ambient=0.0, points=1).final
    begin = np.linalg.solve(np.eye(size) - idle, driven)
    return heat(network, pieces, ambient=ambient, start=np.asarray(begin + ambient, dtype=np.float64), points=points)

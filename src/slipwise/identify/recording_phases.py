"""Three phases out of whatever channels there are: line or phase voltages, two currents or three, crossed or turned leads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from slipwise.identify.recording import Channel, Kind, Recording
from slipwise.quantity.errors import InputError
from slipwise.results.recording import CleaningStep
from slipwise.results.series import Array

Vector = NDArray[np.complex128]
ORDERS: tuple[tuple[int, ...], ...] = tuple(permutations(range(3)))
TURN = np.exp(2j * np.pi / 3)
LEAST_LAG, MOST_LAG = np.radians(25.0), np.radians(86.0)  # of a motor's current behind its voltage while starting
MOST_UNBALANCE = 0.25  # negative over positive sequence beyond which a lead is taken to be turned


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Phases:
    """Instantaneous phase values, shape (3, n), NaN where nothing is known."""

    voltage: Array
    current: Array


def space_vector(phases: Array) -> Vector:
    """2/3 (a + b e^(j120) + c e^(-j120)): length is the peak phase value of a balanced system; shape (3, n) to (n,)."""
    vector: Vector = 2 / 3 * (phases[0] + TURN * phases[1] + np.conj(TURN) * phases[2])
    return vector


def phases_of(recording: Recording, steps: list[CleaningStep]) -> Phases:
    """Voltages to the star point of a balanced star and line currents, from the channels of a waveform recording.

    Raises:
        InputError: fewer than two voltages between different phases or two currents.

    A motor without neutral carries three currents that sum to nothing, so the third follows from two; the same holds for
    line voltages. Common parts of the phase voltages (of an unearthed star point) drop out in the space vector.
    """
    voltage = _voltages(recording.of(Kind.VOLTAGE), steps)
    current = _third(_by_phase(recording.of(Kind.CURRENT), ("a", "b", "c")), "current", steps)
    return Phases(voltage=voltage, current=current)


def _by_phase(channels: Sequence[Channel], letters: tuple[str, ...]) -> list[Array | None]:
    found = {channel.phase: channel.values for channel in channels}
    return [found.get(letter) for letter in letters]


def _third(rows: list[Array | None], what: str, steps: list[CleaningStep]) -> Array:
    """Three rows of which at most one is missing, filled from the other two; likewise single samples."""
    known = [row for row in rows if row is not None]
    if len(known) < 2:
        raise InputError.of(
            f"recording.{what}",
            f"{len(known)} phases",
            "the waveform of a start needs two phases at least",
            "record two line currents and two voltages, or give running rms values",
        )
    if len(known) == 2:
        steps.append(
            CleaningStep(what=f"third {what} from the other two", why="three wires: the sum is zero", changed=1)
        )
        known_sum = known[0] + known[1]
        return np.array([-known_sum if row is None else row for row in rows])
    table = np.array(known)
    gaps = ~np.isfinite(table)
    lone = gaps.sum(axis=0) == 1
    if lone.any():
        where = np.nonzero(gaps & lone)
        table[where] = -np.nansum(table[:, where[1]], axis=0)
        why = "drop-out of one phase while the other two went on"
        steps.append(CleaningStep(what=f"{what} filled from the other phases", why=why, changed=int(lone.sum())))
    return table


def _voltages(channels: Sequence[Channel], steps: list[CleaningStep]) -> Array:
    lines = _by_phase(channels, ("ab", "bc", "ca"))
    if sum(row is not None for row in lines) >= 2:
        ab, bc, ca = _third(lines, "voltage", steps)
        return np.array([ab - ca, bc - ab, ca - bc]) / 3
    phases = _by_phase(channels, ("a", "b", "c"))
    if sum(row is not None for row in phases) == 2:
        note = "third voltage from the other two"
        steps.append(CleaningStep(what=note, why="taken as balanced against the star point: an assumption", changed=1))
    return _third(phases, "voltage", []) if any(row is None for row in phases) else _third(phases, "voltage", steps)


def matched(
    voltage: Vector, phases: Array, frequency: float, time: Array, steps: list[CleaningStep], kept: slice
) -> Array:
    """Line currents in the order and polarity of the voltages.

    Args:
        voltage: space vector, turning forwards.   phases: currents as named, shape (3, n).
        frequency: [Hz]   time: [s]   kept: the part of the recording in which the motor runs.

    All orders of the leads and turns of single ones are tried: a motor's current while starting is balanced and lags its
    voltage by 25 to 86 degrees, which no other order shows, since orders differ by 60 degrees. The order as named is kept
    where it will do.

    Raises:
        InputError: no order makes these the currents of a motor at this voltage.
    """
    turning = np.exp(-2j * np.pi * frequency * time[kept])
    reference = np.nanmean(voltage[kept] * turning)
    best: tuple[int, tuple[int, ...], tuple[int, ...]] | None = None
    turns: list[tuple[int, ...]] = [
        (1, 1, 1),
        (-1, 1, 1),
        (1, -1, 1),
        (1, 1, -1),
        (-1, -1, -1),
        (1, -1, -1),
        (-1, 1, -1),
        (-1, -1, 1),
    ]
    for order in ORDERS:
        for signs in turns:
            vector = space_vector(phases[list(order)][:, kept] * np.array(signs)[:, None])
            forwards, backwards = np.nanmean(vector * turning), np.nanmean(vector * np.conj(turning))
            lag = np.angle(reference / forwards) if forwards != 0 else np.nan
            if abs(backwards) > MOST_UNBALANCE * abs(forwards) or not LEAST_LAG <= lag <= MOST_LAG:
                continue
            effort = sum(o != i for i, o in enumerate(order)) + sum(s < 0 for s in signs)
            if best is None or effort < best[0]:
                best = effort, order, signs
    if best is None:
        raise InputError.of(
            "recording.current",
            "in every order and polarity",
            "unbalanced, or not the current of a motor at these voltages",
            "check which lead each channel was on, and that voltage and current belong to the same motor",
        )
    _, order, signs = best
    _tell(order, signs, steps)
    found: Array = phases[list(order)] * np.array(signs, dtype=float)[:, None]
    return found


def _tell(order: Sequence[int], signs: Sequence[int], steps: list[CleaningStep]) -> None:
    moved = [f"{'abc'[o]} is used as {'abc'[i]}" for i, o in enumerate(order) if o != i]
    turned = ["abc"[o] for o, s in zip(order, signs, strict=True) if s < 0]
    if moved:
        why = "currents named in another order than the voltages: " + ", ".join(moved)
        steps.append(CleaningStep(what="current leads swapped back", why=why, changed=len(moved)))
    if turned:
        why = "recorded against the direction of the others, or of the motor's power"
        steps.append(CleaningStep(what=f"current {', '.join(turned)} turned round", why=why, changed=len(turned)))

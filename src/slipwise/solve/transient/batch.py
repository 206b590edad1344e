"""Many different starts at once: what each came to, without its course."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from os import cpu_count
from types import ModuleType
from typing import Any

import numpy as np

from slipwise.quantity.errors import InputError
from slipwise.results.series import Array
from slipwise.results.start import Outcome
from slipwise.solve.plan import Drive, Plan
from slipwise.solve.transient import kernel as k
from slipwise.solve.transient.answer import outcome_of
from slipwise.solve.transient.engine import Engine, Note, kernel
from slipwise.solve.transient.pack import pack

TOLERANCE = 3e-6  # of one step: speed within 1e-4 of synchronous in 99 starts of 100
_CHUNK = 64  # starts a thread takes at a time


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Batch:
    """Many starts; arrays of shape (n,) in the order given. Torque N m, currents A (peak, any phase), speeds rad/s, times s.

    run_up_time: to 99 % of the final speed; nan where the start did not arrive.
    """

    outcome: tuple[Outcome, ...]
    run_up_time: Array
    final_speed: Array
    end: Array
    torque_max: Array
    torque_min: Array
    line_current: Array
    winding_current: Array
    steps: Array


def batch(
    starts: Sequence[tuple[Plan, Drive]],
    *,
    switching_angle: float = 0.0,
    max_time: float = 120.0,
    tolerance: float = TOLERANCE,
    engine: Engine = "auto",
    note: Note | None = None,
) -> Batch:
    """Run every start as an electrical transient, on all cores, keeping peaks, outcome and times only.

    Arguments, errors and source as `transient`; the coarser tolerance is meant for statistics.
    """
    if not starts:
        raise InputError.of("starts", "()", "there is nothing to run", "give at least one plan and drive")
    module = kernel(engine, starts=len(starts), note=note)
    decks = [_deck(plan, drive, switching_angle, max_time, tolerance) for plan, drive in starts]
    rows = _marched(module, decks)
    cases = zip(decks, rows, starts, strict=True)
    outcome = tuple(outcome_of(deck, row, plan, drive) for deck, row, (plan, drive) in cases)
    arrived = np.array([found is Outcome.ARRIVED for found in outcome])
    return Batch(
        outcome=outcome,
        run_up_time=np.where(arrived, rows[:, k.Q_RISE], np.nan),
        final_speed=rows[:, k.Q_SPEED],
        end=rows[:, k.Q_END],
        torque_max=rows[:, k.Q_TMAX],
        torque_min=rows[:, k.Q_TMIN],
        line_current=rows[:, k.Q_LINE],
        winding_current=rows[:, k.Q_WINDING],
        steps=rows[:, k.Q_STEPS],
    )


def _deck(plan: Plan, drive: Drive, angle: float, max_time: float, tolerance: float) -> Array:
    deck = pack(plan, drive, max_time=max_time, tolerance=tolerance).deck
    deck[k.O_ANGLE] = angle
    deck[k.O_BOOKS] = deck[k.O_RECORD] = 0.0
    return deck


def _marched(module: ModuleType, decks: list[Array]) -> Array:
    """What the kernel answers for each deck, shape (n, QUICK)."""
    count = len(decks)
    begins: Any = np.concatenate([[0], np.cumsum([deck.size for deck in decks])]).astype(float)
    numbers: Any = np.concatenate(decks)
    out: Any = np.zeros(k.QUICK * count)
    if not module.COMPILED:
        out = out.tolist()
        module.many(numbers.tolist(), begins.tolist(), 0, count, out)
        return np.array(out).reshape(count, k.QUICK)
    with ThreadPoolExecutor(cpu_count() or 1) as pool:
        firsts = range(0, count, _CHUNK)
        list(pool.map(lambda i: module.many(numbers, begins, i, min(i + _CHUNK, count), out), firsts))
    answers: Array = out.reshape(count, k.QUICK)
    return answers

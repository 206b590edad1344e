"""Many different starts at once: what each came to, without its course."""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import accumulate, chain
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
from slipwise.solve.transient.engine import Engine, Note, kernel, lanes
from slipwise.solve.transient.pack import numbers_of

TOLERANCE = 3e-6  # of one step: speed within 1e-4 of synchronous in 99 starts of 100
_LEAST, _MOST = 32, 1024  # starts a thread takes at a time


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

    Plain starts (see `lanes.py`) march eight side by side, the others one by one in the kernel. Arguments, errors and source
    as `transient`; the coarser tolerance is meant for statistics.
    """
    if not starts:
        raise InputError.of("starts", "()", "there is nothing to run", "give at least one plan and drive")
    module = kernel(engine, starts=len(starts), note=note)
    decks: list[list[float]] = []
    rows = np.zeros((len(starts), k.QUICK))
    with ThreadPoolExecutor(cpu_count() or 1) as pool:
        under_way = []
        for part in _parts(len(starts)):
            packed = [_deck(*start, switching_angle, max_time, tolerance) for start in starts[part]]
            decks += packed
            under_way.append(pool.submit(_march, module, packed, rows[part], note))
        for work in under_way:
            work.result()
    cases = zip(decks, rows.tolist(), starts, strict=True)
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


def _deck(plan: Plan, drive: Drive, angle: float, max_time: float, tolerance: float) -> list[float]:
    deck = numbers_of(plan, drive, max_time=max_time, tolerance=tolerance)
    deck[k.O_ANGLE] = angle
    deck[k.O_BOOKS] = deck[k.O_RECORD] = 0.0
    return deck


def _parts(count: int) -> Iterator[slice]:
    """The starts by the part: all cores have work while the next is laid out."""
    size = max(_LEAST, min(_MOST, count // (4 * (cpu_count() or 1))))
    return (slice(i, min(i + size, count)) for i in range(0, count, size))


def _march(module: ModuleType, decks: list[list[float]], rows: Array, note: Note | None) -> None:
    """What each deck comes to, into rows of shape (n, QUICK): plain starts side by side, the others one by one."""
    for cages in sorted({deck[k.O_BRANCHES] for deck in decks if deck[k.O_STAGES] == 1} & {1, 2}):
        _run(lanes(int(cages), compiled=module.COMPILED, note=note), decks, rows)
    for i in np.flatnonzero(rows[:, k.Q_REASON] == 0):
        _run(module, decks[i : i + 1], rows[i : i + 1])


def _run(module: ModuleType, decks: list[list[float]], rows: Array) -> None:
    """`many` of a module over the decks; rows it leaves alone stay as they are."""
    begins: Any = list(accumulate((float(len(deck)) for deck in decks), initial=0.0))
    if module.COMPILED:
        numbers = array("d")  # quicker filled from lists than by numpy
        for deck in decks:
            numbers.fromlist(deck)
        module.many(np.frombuffer(numbers), np.array(begins), 0, len(decks), rows.reshape(-1))
        return
    out = rows.ravel().tolist()
    module.many(list(chain.from_iterable(decks)), begins, 0, len(decks), out)
    rows[:] = np.array(out).reshape(rows.shape)

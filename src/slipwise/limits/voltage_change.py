"""The course of a voltage change: what lasts of it, and how long it is more than that may be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from slipwise.limits.judge import judge
from slipwise.model.supply.path import Busbar, ChangeLimits
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.series import Array
from slipwise.results.start import Outcome, RunUp


def steady_change(run_up: RunUp) -> Array:
    """What is left of the voltage change of each busbar once the motor runs, per unit of its voltage before; shape (busbars,).

    Source: relative steady-state voltage change of IEC 61000-3-3.
    """
    left: Array = (run_up.prestart_voltage - run_up.busbar_voltage[:, -1]) / run_up.prestart_voltage
    return left


def time_above(run_up: RunUp, place: int, level: float) -> float:
    """How long the dip of busbar `place` is deeper than `level` (pu of its voltage before), straight between records. [s]"""
    before = float(run_up.prestart_voltage[place])
    over = (before - run_up.busbar_voltage[place]) / before - level
    high, low = np.maximum(over[:-1], over[1:]), np.minimum(over[:-1], over[1:])
    share = np.where(low >= 0, 1.0, np.where(high <= 0, 0.0, high / np.where(high > low, high - low, 1.0)))
    return float(np.sum(share * np.diff(run_up.time)))


def change_rows(run_ups: Mapping[str, RunUp], busbars: Sequence[Busbar]) -> tuple[Criterion, ...]:
    """Two rows for each busbar that asks for them, worst over the cases; none for starts that do not arrive."""
    arrived = {case: run for case, run in run_ups.items() if run.outcome is Outcome.ARRIVED}
    if not arrived:
        return ()
    return tuple(
        row
        for place, busbar in enumerate(busbars)
        if busbar.changes is not None
        for row in _rows(arrived, place, busbar.name, busbar.changes)
    )


def _rows(run_ups: Mapping[str, RunUp], place: int, name: str, limits: ChangeLimits) -> tuple[Criterion, Criterion]:
    lasting = judge(
        f"steady_change:{name}",
        f"Lasting voltage change at {name}",
        {case: float(steady_change(run)[place]) for case, run in run_ups.items()},
        limits.steady,
        unit="pu",
        sense=Sense.AT_MOST,
        source=limits.source,
    )
    long = judge(
        f"change_time:{name}",
        f"Time of a change above {100 * limits.steady:g} % at {name}",
        {case: time_above(run, place, limits.steady) for case, run in run_ups.items()},
        limits.seconds,
        unit="s",
        sense=Sense.AT_MOST,
        source=limits.source,
    )
    return lasting, long

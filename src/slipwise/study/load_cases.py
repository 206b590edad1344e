"""A load found in several states: every way must start it in each, and the worst counts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from slipwise.model.load.load import Load
from slipwise.results.criteria import Criterion, Sense, Verdict
from slipwise.study.model import Study
from slipwise.study.verdict import rank, verdict

_POINTS = 101  # of the torque curve, over which the heaviest load is found

Rows = Mapping[str, Sequence[Criterion]]


def each_load(study: Study) -> dict[str, Study]:
    """The study with its load in each state by name; one of no name when the file tells of one state only."""
    return {name: replace(study, load=load) for name, load in study.loads} or {"": study}


def heaviest(study: Study) -> str:
    """The state with the greatest mean torque on the way up, of equals the one with the greatest inertia."""
    if not study.loads:
        return ""
    speed = np.linspace(0.0, study.motor.rating.synchronous_speed, _POINTS)
    return max(
        each_load(study).items(), key=lambda item: (float(item[1].load.torque(speed).mean()), item[1].load.inertia)
    )[0]


def changed(study: Study, change: Callable[[Load], Load]) -> Study:
    """The study with its load changed in every state."""
    loads = tuple((name, change(load)) for name, load in study.loads)
    return replace(study, load=change(study.load), loads=loads)


def binding(rows: Rows, first: str) -> str:
    """The state in which the way stands worst; `first` where it stands as badly there as in any other."""
    return max((first, *rows), key=lambda name: _badness(verdict(rows[name])))


def _badness(found: Verdict) -> tuple[int, float]:
    margin = None if found.binding is None else found.binding.margin
    return rank(found.status), -round(1.0 if margin is None else margin, 6)


def worst(rows: Rows) -> tuple[tuple[str, Criterion], ...]:
    """For each criterion the state in which it stands worst, and the row there; in the order of the first state."""
    by_key: dict[str, list[tuple[str, Criterion]]] = {}
    for name, found in rows.items():
        for row in found:
            by_key.setdefault(row.key, []).append((name, row))
    return tuple(max(found, key=lambda item: _row_badness(item[1])) for found in by_key.values())


def _row_badness(row: Criterion) -> tuple[int, float]:
    """By status, then by margin; a row that is only shown by its value on the side that a limit would stand."""
    if row.margin is not None:
        return rank(row.status), -round(row.margin, 6)
    shown = 0.0 if row.value is None else row.value
    return rank(row.status), shown if row.sense is Sense.AT_MOST else -shown


def named(found: Sequence[tuple[str, Criterion]]) -> tuple[Criterion, ...]:
    """The rows, each with the state it was taken from."""
    return tuple(replace(row, load_case=name) for name, row in found)

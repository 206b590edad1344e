"""Which records of a start belong to which of its stages."""

from __future__ import annotations

import numpy as np

from slipwise.results.start import RunUp, StageMark


def by_stage(run_up: RunUp) -> tuple[tuple[StageMark, slice], ...]:
    """Each stage gone through with the places of its records.

    The record at a change belongs to the stage that ends there; the next stage begins with the record after it.
    """
    found = []
    for number, mark in enumerate(run_up.stages):
        begin = 0 if number == 0 else int(np.searchsorted(run_up.time, mark.begin, side="right"))
        end = int(np.searchsorted(run_up.time, mark.end, side="right"))
        if end <= begin:  # shorter than the records are apart
            begin = min(begin, run_up.time.size - 1)
            end = begin + 1
        found.append((mark, slice(begin, end)))
    return tuple(found)

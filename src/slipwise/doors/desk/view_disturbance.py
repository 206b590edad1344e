"""Bad supplies as the page shows them: each with its verdict, and its curves in the units they are labelled with."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from slipwise.doors.desk.shown import judged_dict, numbers
from slipwise.present import tables_disturbance
from slipwise.present.figures.disturbance import axis_words
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.disturbance import DisturbanceResult, Level, Panel
from slipwise.results.study import StudyResult


def disturbances_dict(result: StudyResult) -> dict[str, Any]:
    """All of them in the order of the study file, and one line for the head."""
    explained = {item.name: item.title for item in result.explanations}
    return {
        "sentence": tables_disturbance.headline(result),
        "disturbances": [_disturbance(found, explained) for found in result.disturbances],
    }


def _disturbance(found: DisturbanceResult, explained: dict[str, str]) -> dict[str, Any]:
    return {
        "key": found.key,
        "kind": found.kind,
        "title": found.title,
        **judged_dict(found.key, found.verdict, explained),
        "summary": found.summary,
        "actions": list(found.actions),
        "notes": list(found.notes),
        "panels": [_panel(panel) for panel in found.panels],
    }


def _panel(panel: Panel) -> dict[str, Any]:
    """Curves over one axis, with the lines across and upright."""
    x_unit, unit = panel.traces[0].x_unit, panel.traces[0].unit
    across = display_unit(_ends(trace.x for trace in panel.traces), x_unit)
    up = display_unit(
        _ends([*(trace.values for trace in panel.traces), np.array([level.value for level in panel.levels])]), unit
    )
    x, y = in_display(1.0, x_unit, across), in_display(1.0, unit, up)
    return {
        "x": axis_words(panel.x_quantity, across),
        "y": axis_words(panel.quantity, up),
        "over_time": x_unit == "s",
        "traces": [
            {"label": trace.label, "x": numbers(x * trace.x), "y": numbers(y * trace.values)} for trace in panel.traces
        ],
        "levels": [_level(level, y) for level in panel.levels],
        "marks": [_level(mark, x) for mark in panel.marks],
    }


def _level(level: Level, factor: float) -> dict[str, Any]:
    words = f"{level.label} {show(level.value, level.unit)}" if level.label else ""
    return {"words": words, "value": factor * level.value}


def _ends(arrays: Iterable[np.ndarray]) -> tuple[float, float]:
    """Least and greatest of what is finite."""
    every = np.concatenate([np.asarray(array, dtype=float) for array in arrays])
    finite = every[np.isfinite(every)]
    return (float(finite.min()), float(finite.max())) if finite.size else (0.0, 0.0)

"""One start in time, as the page draws it."""

from __future__ import annotations

from typing import Any

import numpy as np

from slipwise.doors.desk.shown import Units, numbers
from slipwise.limits.voltage import dips
from slipwise.present import tables
from slipwise.quantity.show import show
from slipwise.results.start import Outcome, RunUp, StageMark, Transient

MOST = 900  # points of a run-up; its own steps are thinned out beyond


def start_dict(
    run: RunUp, transient: Transient | None, rated: tuple[float, float, float], points: int
) -> dict[str, Any]:
    """Traces, stages with their contacts, and what it heated. rated: synchronous speed, torque, current, in SI."""
    sync, torque, current = rated
    fed = (
        []
        if transient is None
        else [float(np.abs(transient.torque).max()), float(np.abs(transient.line_currents).max())]
    )
    units = Units(
        speed=(sync, "rad/s"),
        torque=(max([torque, float(np.abs(run.torque).max()), *fed[:1]]), "N m"),
        current=(max([current, float(run.line_current.max()), *fed[1:]]), "A"),
    )
    at = thinned(len(run.time), MOST)
    return {
        "units": {**units.names, "time": "s", "voltage": "%"},
        "case": run.case,
        "outcome": run.outcome.value,
        "arrived": run.outcome is Outcome.ARRIVED,
        "run_up_text": tables.run_up_text(run),
        "final_speed": units.one("speed", run.final_speed),
        "traces": {
            "time": numbers(run.time[at]),
            "speed": units.of("speed", run.speed[at]),
            "torque": units.of("torque", run.torque[at]),
            "load": units.of("torque", run.load[at]),
            **{
                name: units.of("current", getattr(run, name)[at])
                for name in ("line_current", "motor_current", "winding_current")
            },
            "busbars": [
                {
                    "name": name,
                    "voltage": numbers(100 * row[at]),
                    "before": float(100 * before),
                    "dip": float(100 * dip),
                    "dip_text": show(dip, "pu"),
                }
                for name, row, before, dip in zip(
                    run.busbars, run.busbar_voltage, run.prestart_voltage, dips(run), strict=True
                )
            ],
        },
        "stages": [stage_dict(mark, units) for mark in run.stages],
        "heat": {
            "stator_text": show(run.stator_heat, "J"),
            "rotor_text": show(run.rotor_heat, "J"),
            "current_text": f"{run.current_heat:.3g} s at rated current",
        },
        "transient": None if transient is None else _transient(transient, units, points),
    }


def thinned(count: int, most: int) -> Any:
    """Indices of at most about `most` of `count` points, first and last among them."""
    return np.arange(count) if count <= most else np.unique(np.linspace(0, count - 1, most).round().astype(int))


def stage_dict(mark: StageMark, units: Units) -> dict[str, Any]:
    """One stage of a start or a stop."""
    return {
        "name": mark.name,
        "begin": float(mark.begin),
        "end": float(mark.end),
        "end_speed": units.one("speed", mark.end_speed),
        "contacts": list(mark.contacts),
        "reason": mark.reason,
    }


def _transient(found: Transient, units: Units, points: int) -> dict[str, Any]:
    at = thinned(len(found.time), points)
    peaks = found.peaks
    return {
        "angle_deg": float(np.degrees(found.switching_angle)),
        "outcome": found.outcome.value,
        "time": numbers(found.time[at]),
        "speed": units.of("speed", found.speed[at]),
        "torque": units.of("torque", found.torque[at]),
        "line_currents": [units.of("current", row[at]) for row in found.line_currents],
        "peaks": [
            _peak("greatest torque", peaks.torque_max, "N m", peaks.torque_max_time),
            _peak("least torque", peaks.torque_min, "N m", peaks.torque_min_time),
            _peak(
                f"greatest line current, phase {peaks.line_current_phase}",
                peaks.line_current,
                "A",
                peaks.line_current_time,
            ),
        ],
    }


def _peak(words: str, value: float, unit: str, time: float) -> dict[str, Any]:
    return {"words": words, "shown": show(value, unit), "time": float(time)}

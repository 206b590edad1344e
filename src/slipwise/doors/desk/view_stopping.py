"""Ways of stopping as the page shows them: verdicts, the stop over time, and what brakes over speed."""

from __future__ import annotations

from typing import Any

from slipwise.doors.desk.shown import Units, contacts_dict, judged_dict, numbers, setting_dict
from slipwise.doors.desk.view_start import stage_dict, thinned
from slipwise.present import tables_stopping
from slipwise.quantity.show import show
from slipwise.results.start import Curves, RunUp
from slipwise.results.stopping import Stop, StoppingResult, StopWayResult
from slipwise.results.study import StudyResult

MOST = 500  # points of a stop over time


def stopping_dict(result: StudyResult, found: StoppingResult) -> dict[str, Any]:
    """The ways in the order they were asked for, all in one set of units."""
    explained = {item.name: item.title for item in result.explanations}
    all_curves: list[RunUp | Curves] = [way.stops[0].run for way in found.ways if way.stops]
    all_curves += [curve for way in found.ways for curve in way.curves]
    units = Units(
        speed=(found.running_speed, "rad/s"),
        torque=(max([result.rated_torque, *(float(abs(one.torque).max()) for one in all_curves)]), "N m"),
        current=(max([result.rated_current, *(float(one.motor_current.max()) for one in all_curves)]), "A"),
    )
    best = found.recommendation
    return {
        "units": {**units.names, "time": "s", "voltage": "%"},
        "direction": found.direction,
        "running_speed": units.one("speed", found.running_speed),
        "running_text": show(found.running_speed, "rad/s"),
        "recommendation": {
            "way": best.way,
            "runner_up": best.runner_up,
            "reason": best.reason,
            "sentence": tables_stopping.verdict_sentence(found),
        },
        "ways": [_way(found, way, units, explained) for way in found.ways],
        "notes": list(found.notes),
    }


def _way(found: StoppingResult, way: StopWayResult, units: Units, explained: dict[str, str]) -> dict[str, Any]:
    stop = way.stops[0] if way.stops else None
    return {
        "key": way.key,
        "title": way.title,
        "place": tables_stopping.place(found, way),
        "applies": stop is not None,
        **judged_dict(f"stopping.{way.key}", way.verdict, explained),
        "designed": way.designed,
        "settings": [setting_dict(f"stopping.{way.key}", row) for row in way.settings],
        "stop_time_text": "" if stop is None else tables_stopping.time_text(stop),
        "words": _words(way),
        "stop": None if stop is None else _stop(stop, units),
        "slowest": _slowest(way, units),
        "characteristics": [_characteristic(curve, units) for curve in way.curves],
        "contacts": contacts_dict(way.wiring),
        "circuit": bool(way.wiring.devices),
    }


def _words(way: StopWayResult) -> list[str]:
    """What the numbers of one stop come to, in sentences."""
    if not way.stops:
        return []
    stop = way.stops[0]
    turns = f"{show(stop.turns, '')} turns of the motor's shaft until then" if stop.stop_time is not None else ""
    greatest = (
        f"braking torque up to {show(stop.braking_torque, 'N m')}, line current up to {show(stop.line_current, 'A')}"
    )
    said = "; ".join(words for words in (turns, greatest) if words)
    return [
        words
        for words in (
            f"Nominal case: {said}.",
            tables_stopping.failure_words(way),
            tables_stopping.excess_words(way),
        )
        if words
    ]


def _stop(stop: Stop, units: Units) -> dict[str, Any]:
    """The nominal stop over time, with its stages."""
    run = stop.run
    at = thinned(len(run.time), MOST)
    return {
        "case": stop.case,
        "stop_time": stop.stop_time,
        "time": numbers(run.time[at]),
        "speed": units.of("speed", run.speed[at]),
        "torque": units.of("torque", run.torque[at]),
        "load": units.of("torque", run.load[at]),
        "motor_current": units.of("current", run.motor_current[at]),
        "line_current": units.of("current", run.line_current[at]),
        "busbars": [
            {"name": name, "voltage": numbers(100 * row[at])}
            for name, row in zip(run.busbars, run.busbar_voltage, strict=True)
        ],
        "stages": [stage_dict(mark, units) for mark in run.stages],
    }


def _slowest(way: StopWayResult, units: Units) -> dict[str, Any] | None:
    """Speed over time in the case that takes longest beside the nominal one."""
    other = max(way.stops[1:], key=lambda stop: stop.stop_time or 0.0, default=None)
    if other is None:
        return None
    run = other.run
    at = thinned(len(run.time), MOST)
    return {
        "case": other.case,
        "stop_time_text": tables_stopping.time_text(other),
        "time": numbers(run.time[at]),
        "speed": units.of("speed", run.speed[at]),
    }


def _characteristic(curve: Curves, units: Units) -> dict[str, Any]:
    """A stage that brakes, over speed."""
    return {
        "stage": curve.stage,
        "speed": units.of("speed", curve.speed),
        "torque": units.of("torque", curve.torque),
        "load": units.of("torque", curve.load),
        "motor_current": units.of("current", curve.motor_current),
    }

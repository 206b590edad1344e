"""Several motors on one path as the page shows them: each sequence and the dip over time, with their verdicts."""

from __future__ import annotations

from typing import Any

from slipwise.doors.desk.shown import Units, judged_dict, numbers
from slipwise.doors.desk.view_start import thinned
from slipwise.present import tables_group
from slipwise.quantity.show import show
from slipwise.results.group import GroupDip, GroupResult, GroupRun, SwitchingSequence
from slipwise.results.study import StudyResult

MOST = 400  # points of a run


def group_dict(result: StudyResult, group: GroupResult) -> dict[str, Any]:
    """The sequences, the proposed one first, and the dip when one is asked for, all in one set of units."""
    explained = {item.name: item.title for item in result.explanations}
    runs = [run for found in group.sequences for run in found.runs]
    runs += [] if group.dip is None else [group.dip.run]
    units = Units(
        speed=(max(float(run.speed.max()) for run in runs), "rad/s"),
        current=(max(float(run.line_current.max()) for run in runs), "A"),
    )
    return {
        "units": {**units.names, "time": "s", "voltage": "%"},
        "sentence": tables_group.headline(result),
        "words": group.words,
        "proposed": group.proposed,
        "sequences": [_sequence(found, units, explained) for found in group.sequences],
        "dip": None if group.dip is None else _dip(group.dip, units, explained),
    }


def _sequence(found: SwitchingSequence, units: Units, explained: dict[str, str]) -> dict[str, Any]:
    return {
        "key": found.key,
        "title": found.title,
        **judged_dict(f"group.{found.key}", found.verdict, explained),
        "words": tables_group.in_words(found),
        "batches": [
            {"motors": list(names), "switch_on": time}
            for names, time in zip(found.batches, found.switch_on, strict=True)
        ],
        "runs": [_run(run, units) for run in found.runs],
    }


def _dip(found: GroupDip, units: Units, explained: dict[str, str]) -> dict[str, Any]:
    return {
        "key": "dip",
        "title": f"Dip to {show(found.remaining, 'pu')} for {show(found.duration, 's')}",
        **judged_dict("group.dip", found.verdict, explained),
        "words": found.words,
        "batches": [],
        "runs": [_run(found.run, units)],
    }


def _run(run: GroupRun, units: Units) -> dict[str, Any]:
    """One case over time: each motor, each busbar in % of nominal."""
    at = thinned(len(run.time), MOST)
    return {
        "case": run.case,
        "total_text": "" if run.total_time is None else show(run.total_time, "s"),
        "time": numbers(run.time[at]),
        "motors": [
            {
                "name": track.name,
                "switch_on": track.switch_on,
                "dropped": track.dropped,
                "outcome": track.outcome.value,
                "peak_text": show(track.peak_current, "A"),
                "speed": units.of("speed", speed[at]),
                "current": units.of("current", current[at]),
            }
            for track, speed, current in zip(run.tracks, run.speed, run.line_current, strict=True)
        ],
        "busbars": [
            {"name": name, "voltage": numbers(100 * row[at]), "dip_text": show(float(dip), "pu")}
            for name, row, dip in zip(run.busbars, run.busbar_voltage, run.dips, strict=True)
        ],
    }

"""What can be drawn of a study: report, command line, notebook and page go through this list."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from slipwise.present import tables
from slipwise.present.figures import (
    bars,
    boundary,
    characteristics,
    comparison,
    duty,
    group,
    run_up,
    thermal,
    time_current,
    transient,
)
from slipwise.present.figures.disturbance import disturbance
from slipwise.present.figures.look import Look
from slipwise.present.figures.speed_catalogue import speed_drawings
from slipwise.present.figures.stopping_catalogue import stopping_drawings
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure


class Entry(NamedTuple):
    """One figure. key: stable, `comparison` or `<way>.run_up`; title: as shown; function: draws it in a look."""

    key: str
    title: str
    function: Callable[[Look], Figure]


OF_A_WAY: tuple[tuple[str, str, Callable[[StudyResult, WayResult, Look], Figure], Callable[[WayResult], bool]], ...] = (
    ("torque_speed", "torque and current against speed", characteristics.torque_speed, lambda way: bool(way.curves)),
    ("current_speed", "line, motor and winding current", characteristics.current_speed, lambda way: bool(way.curves)),
    ("run_up", "run-up", run_up.run_up, lambda way: bool(way.run_ups)),
    ("time_current", "start, limits and trips", time_current.time_current, lambda way: way.protection is not None),
    ("starts_in_a_row", "starts in a row", thermal.starts, lambda way: way.heat is not None),
    ("transient", "electrical transient", transient.transient, lambda way: way.band is not None),
    (
        "switching_angle",
        "peaks over the switching angle",
        transient.switching_angle,
        lambda way: way.band is not None and len(way.band.angles) > 1,
    ),
)


def catalogue(result: StudyResult) -> list[Entry]:
    """Every figure this study has data for: those of all ways first, then way by way, the recommended one first."""
    found: list[Entry] = []
    if any(way.curves and way.run_ups for way in result.ways):
        found.append(Entry("comparison", "All ways compared", partial(comparison.comparison, result)))
        if bars.dip_rows(result):
            found.append(Entry("dip", "Voltage dip at each busbar", partial(bars.dip, result)))
        found.append(Entry("heat", "Heat of one start", partial(bars.heat, result)))
    if result.duty is not None:
        found.append(Entry("duty", "The duty cycle", partial(duty.duty, result)))
    if result.heat is not None:
        found.append(Entry("stall", "Safe stall time and low speed", partial(thermal.stall, result)))
    found += _of_group(result)
    if any(row.edges for row in result.boundaries):
        found.append(Entry("boundary", "How far each way carries", partial(boundary.boundary, result)))
    for way in tables.ranked(result):
        for key, words, function, possible in OF_A_WAY:
            if possible(way):
                found.append(Entry(f"{way.key}.{key}", f"{way.title}: {words}", partial(function, result, way)))
        if result.heat is not None and way.heat is not None:
            words = "start against the thermal limit"
            found.append(
                Entry(f"{way.key}.thermal_limit", f"{way.title}: {words}", partial(thermal.limit, result, way))
            )
    for bad in result.disturbances:
        if bad.panels:
            found.append(Entry(f"{bad.key}.curves", bad.title, partial(disturbance, result, bad)))
    drawn = (*speed_drawings(result), *stopping_drawings(result))
    return [*found, *(Entry(*drawing) for drawing in drawn)]


def _of_group(result: StudyResult) -> list[Entry]:
    """Every sequence of a group, and its dip."""
    if result.group is None:
        return []
    found = [
        Entry(f"group.{s.key}", f"Group: {s.title[0].lower()}{s.title[1:]}", partial(group.sequence, result, s))
        for s in result.group.sequences
    ]
    if result.group.dip is not None:
        found.append(Entry("group.dip", "Group: dip of the source", partial(group.dip, result)))
    return found


def draw(result: StudyResult, key: str, look: Look | None = None) -> Figure:
    """One figure by its key.

    Raises:
        KeyError: no such figure; names those there are.
    """
    entries = {entry.key: entry for entry in catalogue(result)}
    if key not in entries:
        raise KeyError(f"no figure {key!r}; there are {', '.join(entries)}")
    return entries[key].function(look or Look())


def file_name(key: str, format: str) -> str:
    """Name of the file of a figure: `direct.run_up.svg`."""
    return f"{key}.{format}"

"""What can be drawn of the speed part of a study: of all ways first, then way by way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING

from slipwise.present import tables_speed
from slipwise.present.figures import (
    speed_change,
    speed_duty,
    speed_envelope,
    speed_family,
    speed_harmonics,
    speed_losses,
    speed_process,
    speed_year,
)
from slipwise.present.figures.look import Look
from slipwise.results.speed import SpeedWayResult
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Drawing = tuple[str, str, Callable[[Look], "Figure"]]
"""Key, title and function, as an entry of the catalogue."""


def speed_drawings(result: StudyResult) -> Iterator[Drawing]:
    """Every figure of the speed part; none without it."""
    found = result.speed
    if found is None:
        return
    if any(way.points for way in found.ways):
        yield "speed_year", "A year of the duty", partial(speed_year.year, result)
    if any(point.feasible for way in found.ways for point in way.points):
        for quantity in speed_duty.QUANTITIES:
            yield quantity.key, quantity.title, partial(_against_duty, result, quantity.key)
    if found.process is not None:
        yield "speed_process", f"The {found.process.machine} and its system", partial(speed_process.process, result)
    for way in tables_speed.ranked(found):
        yield from _of_a_way(result, way)


def _against_duty(result: StudyResult, key: str, look: Look) -> Figure:
    """By the key of the quantity, so that the drawing can be handed to another process."""
    quantity = next(quantity for quantity in speed_duty.QUANTITIES if quantity.key == key)
    return speed_duty.against_duty(result, quantity, look)


def _of_a_way(result: StudyResult, way: SpeedWayResult) -> Iterator[Drawing]:
    for family in way.families:
        title = speed_family.heading(way, family)
        yield f"{way.key}.family_{family.key}", title, partial(speed_family.family, result, way, family)
    kinds: tuple[tuple[str, str, Callable[[StudyResult, SpeedWayResult, Look], Figure], bool], ...] = (
        ("losses", "where the power goes", speed_losses.losses, any(p.line_power > 0 for p in way.points)),
        ("envelope", "torque that can be held", speed_envelope.envelope, way.envelope is not None),
        ("slip_heat", "heat of the windings along the load", speed_envelope.slip_heat, way.heat is not None),
        ("harmonics", "harmonics of the line current", speed_harmonics.harmonics, bool(speed_harmonics.worst(way))),
    )
    for key, words, function, possible in kinds:
        if possible:
            yield f"{way.key}.{key}", f"{way.title}: {words}", partial(function, result, way)
    for number, change in enumerate(way.changeovers, start=1):
        key, title = f"{way.key}.change_{number}", f"{way.title}: {change.title}"
        yield key, title, partial(speed_change.changeover, result, way, change)

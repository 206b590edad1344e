"""What can be drawn of the stopping part of a study: of all ways first, then way by way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING

from slipwise.present import tables_stopping
from slipwise.present.figures import stopping
from slipwise.present.figures.look import Look
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Drawing = tuple[str, str, Callable[[Look], "Figure"]]
"""Key, title and function, as an entry of the catalogue."""


def stopping_drawings(result: StudyResult) -> Iterator[Drawing]:
    """Every figure of the stopping part; none without it."""
    found = result.stopping
    if found is None:
        return
    if any(way.stops for way in found.ways):
        yield "stopping", "Ways of stopping", partial(stopping.all_ways, result, found)
    for way in tables_stopping.ranked(found):
        if not way.stops:
            continue
        yield f"stop_{way.key}.stop", f"{way.title}: the stop", partial(stopping.stop, result, way)
        if way.curves:
            words = "torque and current against speed"
            yield f"stop_{way.key}.braking", f"{way.title}: {words}", partial(stopping.braking, result, way)
        if way.band is not None:
            words = "electrical transient of the stop"
            yield f"stop_{way.key}.transient", f"{way.title}: {words}", partial(stopping.stop_transient, result, way)

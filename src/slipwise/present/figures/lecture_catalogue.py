"""What can be drawn of a lecture as figures."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from slipwise.present.figures.catalogue import Entry
from slipwise.present.figures.lecture_bars import bars
from slipwise.present.figures.lecture_chart import chart
from slipwise.present.figures.lecture_flow import power_flow
from slipwise.present.figures.look import Look
from slipwise.results.lecture import BarPicture, Chart, FlowPicture, Lecture, Picture

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def figure_of(picture: Picture, look: Look) -> Figure:
    """Draws one picture by its kind."""
    if isinstance(picture, Chart):
        return chart(picture, look)
    return power_flow(picture, look) if isinstance(picture, FlowPicture) else bars(picture, look)


def lecture_figures(found: Lecture) -> list[Entry]:
    """Every figure of a lecture in its order."""
    pictures = [picture for topic in found.topics for picture in topic.pictures]
    return [
        Entry(picture.key, picture.title, partial(figure_of, picture))
        for picture in pictures
        if isinstance(picture, Chart | BarPicture | FlowPicture)
    ]

"""Lectures of two examples as the tests look at them: computed once, drawn once in each look."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from matplotlib.figure import Figure

import slipwise
from slipwise.present.deck.slides import all_sheets
from slipwise.present.figures.lecture_catalogue import lecture_figures
from slipwise.present.figures.lecture_circuit import Sheet
from slipwise.present.figures.look import Look
from slipwise.results.lecture import Chart, Lecture
from slipwise.teach.lecture import lecture

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
CAGE, RINGS = "pump_p3", "crusher_k1"
LIGHT, DARK = Look(), Look(mode="dark")
DRAWN = ((CAGE, LIGHT), (RINGS, DARK))


@cache
def of(name: str) -> Lecture:
    """The lecture of an example."""
    return lecture(slipwise.load(EXAMPLES / f"{name}.toml"))


def chart_of(name: str, key: str) -> Chart:
    """One chart of a lecture."""
    pictures = (picture for topic in of(name).topics for picture in topic.pictures)
    found = next(picture for picture in pictures if picture.key == key)
    assert isinstance(found, Chart)
    return found


@cache
def figures(name: str, look: Look) -> dict[str, Figure]:
    """Every figure of a lecture, laid out."""
    found = {entry.key: entry.function(look) for entry in lecture_figures(of(name))}
    for figure in found.values():
        figure.canvas.draw()
    return found


@cache
def sheets(name: str, look: Look) -> tuple[Sheet, ...]:
    """Every sheet with a circuit or a winding."""
    return tuple(all_sheets(of(name), look))

"""Bad supplies in pictures: the panels of one disturbance, stacked over one axis, or side by side where the axes differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipwise.present import tables
from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, DOTTED, SOLID, Look
from slipwise.present.figures.run_up import LEFT, WIDTH, curve
from slipwise.present.figures.scale import Divisions, divide, span
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.disturbance import DisturbanceResult, Panel
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BOTTOM, TOP, GAP = 0.115, 0.80, 0.085
PENS = (SOLID, DASHED, DOTTED)
Place = tuple[float, float, float, float]


def disturbance(result: StudyResult, found: DisturbanceResult, look: Look) -> Figure:
    """All panels of one disturbance."""
    title = found.title
    with canvas.drawing():
        figure = canvas.sheet(look, title, f"{result.title}: {tables.STATUS_WORDS[found.verdict.status]}.")
        labels = Labels(figure, look)
        columns = _columns(found)
        for column, (left, width) in zip(columns, _sides(len(columns)), strict=True):
            ends = _ends(column)
            for panel, place in zip(column, _stacked(len(column), left, width), strict=True):
                axes = canvas.panel(figure, look, place)
                _x_axis(axes, look, panel, ends, label=panel is column[-1])
                _draw(axes, labels, look, panel, ends)
        canvas.describe(figure, title, " ".join((found.summary, *map(_said, found.panels))))
        return figure


def _columns(found: DisturbanceResult) -> list[list[Panel]]:
    """Panels that share their horizontal axis stand over one another."""
    columns: list[list[Panel]] = []
    for panel in found.panels:
        if columns and columns[-1][0].x_quantity == panel.x_quantity:
            columns[-1].append(panel)
        else:
            columns.append([panel])
    return columns


def _sides(count: int) -> list[tuple[float, float]]:
    """Left edge and width of each column."""
    if count == 1:
        return [(LEFT, WIDTH)]
    width = (WIDTH - 0.085 * (count - 1)) / count
    return [(LEFT + n * (width + 0.085), width) for n in range(count)]


def _stacked(count: int, left: float, width: float) -> list[Place]:
    height = (TOP - BOTTOM - GAP * (count - 1)) / count
    return [(left, TOP - height - n * (height + GAP), width, height) for n in range(count)]


def _ends(column: list[Panel]) -> tuple[float, float]:
    every = np.concatenate([trace.x for panel in column for trace in panel.traces])
    return float(every.min()), float(every.max())


def axis_words(quantity: str, symbol: str) -> str:
    """What an axis measures with its unit: "torque, of rated" in % is "torque, % of rated"."""
    name, mark, of = quantity.partition(", of ")
    if symbol == "%" and mark:
        return f"{name}, % of {of}"
    return f"{quantity}, {symbol}" if symbol else quantity


def _x_axis(axes: Axes, look: Look, panel: Panel, ends: tuple[float, float], label: bool) -> None:
    from matplotlib.ticker import MaxNLocator

    unit = panel.traces[0].x_unit
    symbol = display_unit(ends, unit)
    one = in_display(1.0, unit, symbol)
    axes.set_xlim(*ends)
    ticks = np.asarray(MaxNLocator(nbins=6, steps=[1, 2, 2.5, 5, 10]).tick_values(ends[0] * one, ends[1] * one)) / one
    slack = 1e-5 * (ends[1] - ends[0])
    ticks = ticks[(ticks >= ends[0] - slack) & (ticks <= ends[1] + slack)]
    shown = [canvas.tick_text(round(float(t) * one, 9)) for t in ticks]
    axes.set_xticks(ticks, shown if label else [""] * len(ticks))
    if label:
        axes.set_xlabel(axis_words(panel.x_quantity, symbol), size=look.text, color=look.palette.ink)


def _draw(axes: Axes, labels: Labels, look: Look, panel: Panel, ends: tuple[float, float]) -> None:
    unit = panel.traces[0].unit
    levels = np.array([level.value for level in panel.levels])
    low, high = span([*(trace.values for trace in panel.traces), levels])
    symbol = display_unit((low, high), unit)
    one = in_display(1.0, unit, symbol)
    scale = divide(low * one, high * one, 3, 5)
    canvas.value_axis(axes, Divisions(step=scale.step / one, below=scale.below, above=scale.above), 1 / one)
    canvas.name_above(axes, look, axis_words(panel.quantity, symbol))
    for number, trace in enumerate(panel.traces):
        pen = (look.colour(number), PENS[number % len(PENS)], 1.0)
        curve(axes, labels, look, (trace.label, trace.x, trace.values), pen)
    for level in panel.levels:
        across = np.linspace(*ends, 50)
        curve(axes, labels, look, (level.label, across, np.full(50, level.value)), (look.palette.quiet, SOLID, 0.45))
    for mark in panel.marks:
        axes.axvline(mark.value, color=look.palette.quiet, linewidth=look.hair, zorder=2)
        labels.upright(axes, mark.value)
    count = len(panel.traces)
    for number, trace in enumerate(panel.traces):
        if count > 1:
            labels.on_curve(axes, trace.label, trace.label, look.colour(number), prefer=(number + 0.5) / count)
    for level in panel.levels:
        words = f"{level.label} {show(level.value, level.unit)}"
        labels.on_curve(axes, level.label, words, look.palette.quiet, prefer=0.8)
    for mark in panel.marks:
        words = f"{mark.label} {show(mark.value, mark.unit)}" if mark.label else ""
        if words:
            labels.at_point(axes, mark.value, 0.9 * axes.get_ylim()[1], words, look.palette.quiet)


def _said(panel: Panel) -> str:
    """One panel in words, from its numbers."""
    parts = (
        f"{trace.label} from {show(float(np.nanmin(trace.values)), trace.unit)} to "
        f"{show(float(np.nanmax(trace.values)), trace.unit)}"
        for trace in panel.traces
    )
    return f"{panel.quantity.capitalize()} over {panel.x_quantity}: {'; '.join(parts)}."

"""A chart of a lecture: panels with curves that carry their names, told apart by colour and by dash pattern."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.lecture_sheet import (
    in_axis,
    lecture_sheet,
    level_axis,
    places,
    upright_axis,
    x_unit,
    y_unit,
)
from slipwise.present.figures.look import DOTTED, SOLID, Dash, Look, pattern_of
from slipwise.present.figures.scale import round_up
from slipwise.present.figures.speed_family import clearest
from slipwise.quantity.show import show
from slipwise.results.lecture import Chart, Dot, Line, Panel, Role
from slipwise.results.series import Array

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

TIGHT = 2  # panels beside one another, beyond which their titles stand above what they measure
CROWD = 3  # lines of a panel beyond which names stand in their curves, not beside them
CLEAR = 10.0  # pixels by which a name is nearer to its own curve than to the next


def chart(found: Chart, look: Look) -> Figure:
    """Draws the panels of a chart with every curve named on it."""
    with canvas.drawing():
        figure = lecture_sheet(look, found.title, found.note)
        labels = Labels(figure, look)
        boxes = places(len(found.panels), found.stacked)
        for number, (panel, box) in enumerate(zip(found.panels, boxes, strict=True)):
            axes = canvas.panel(figure, look, box)
            last = number == len(found.panels) - 1
            _panel(axes, labels, look, panel, (found.stacked, last, len(found.panels)))
        canvas.describe(figure, found.title, chart_words(found))
        return figure


def _panel(axes: Axes, labels: Labels, look: Look, panel: Panel, place: tuple[bool, bool, int]) -> None:
    stacked, last, count = place
    units = x_unit(panel), y_unit(panel)
    drawn = [(in_axis(panel.x, line.x, units[0]), in_axis(panel.y, line.y, units[1])) for line in panel.lines]
    if panel.whole:
        _same_scale(axes, labels, look, panel, drawn)
    else:
        level_axis(axes, look, panel, not stacked or last, 1 if stacked else count)
        upright_axis(axes, look, panel, [y for _, y in drawn], count if stacked else 1)
    if panel.title:
        canvas.name_above(axes, look, panel.title, *(("left", 1) if count > TIGHT else ("right", 0)))
    for number, (line, (x, y)) in enumerate(zip(panel.lines, drawn, strict=True)):
        _draw(axes, look, line, x, y)
        labels.curve(axes, str(number), x, y)
    for dot in panel.dots:
        _dot(axes, labels, look, dot, _at(panel, dot, units))
    for dot in panel.dots:
        if dot.words:
            x0, y0 = _at(panel, dot, units)
            labels.at_point(axes, x0, y0, dot.words, look.palette.ink)
    _names(axes, labels, look, panel, drawn)


def _draw(axes: Axes, look: Look, line: Line, x: Array, y: Array) -> None:
    colour, dash, width = pen_of(look, line)
    axes.plot(x, y, color=colour, linestyle=dash, linewidth=look.line * width, zorder=2 if line.role is Role.AID else 3)


def pen_of(look: Look, line: Line) -> tuple[str, Dash, float]:
    """Colour, dash pattern and width against the usual of a line."""
    if line.role is Role.CURVE:
        return look.colour(line.tone), pattern_of(line.tone), 1.0
    dash = {Role.LOAD: SOLID, Role.BOUND: DOTTED, Role.AID: SOLID}[line.role]
    return look.palette.quiet, dash, {Role.LOAD: 0.8, Role.BOUND: 1.0, Role.AID: 0.45}[line.role]


def _at(panel: Panel, dot: Dot, units: tuple[str, str]) -> tuple[float, float]:
    x = float(in_axis(panel.x, np.array([dot.x]), units[0])[0])
    return x, float(in_axis(panel.y, np.array([dot.y]), units[1])[0])


def _dot(axes: Axes, labels: Labels, look: Look, dot: Dot, at: tuple[float, float]) -> None:
    colour = look.colour(dot.tone)
    axes.plot(
        [at[0]], [at[1]], "o", color=colour, markersize=9 * look.scale, clip_on=False, zorder=6,
        markerfacecolor=look.palette.paper if dot.hollow else colour, markeredgewidth=look.line * 0.7,
    )  # fmt: skip
    labels.point(axes, *at)


def _names(axes: Axes, labels: Labels, look: Look, panel: Panel, drawn: list[tuple[Array, Array]]) -> None:
    """The name of each curve where it is farthest from its neighbours."""
    spots = [_pixels(axes, x, y) for x, y in drawn]
    order = sorted(range(len(drawn)), key=lambda n: panel.lines[n].role is not Role.CURVE)
    for number in order:
        line = panel.lines[number]
        if not line.label or not len(spots[number]):
            continue
        others = [spot for n, spot in enumerate(spots) if n != number and len(spot)]
        prefer = clearest(spots[number], others) if line.prefer is None else line.prefer
        if len(panel.lines) > CROWD and labels.in_curve(axes, str(number), line.label, pen_of(look, line)[0], prefer):
            continue
        labels.on_curve(axes, str(number), line.label, pen_of(look, line)[0], prefer=prefer, clear=CLEAR)


def _pixels(axes: Axes, x: Array, y: Array) -> Array:
    """Points of a curve inside the panel, evenly spaced along its abscissa. [pixels]"""
    low, high = float(np.nanmin(x)), float(np.nanmax(x))
    order = np.argsort(x, kind="stable")
    even = np.linspace(low, high, 80)
    heights = np.interp(even, np.asarray(x)[order], np.asarray(y)[order])
    bottom, top = axes.get_ylim()
    inside = np.isfinite(heights) & (heights >= bottom) & (heights <= top)
    return np.asarray(axes.transData.transform(np.column_stack([even[inside], heights[inside]])), dtype=float)


def _same_scale(axes: Axes, labels: Labels, look: Look, panel: Panel, drawn: list[tuple[Array, Array]]) -> None:
    """Both axes in one scale, so that a circle is one: its upper part from a little below zero."""
    high = 1.1 * max(float(np.nanmax(y)) for _, y in drawn)
    low = -0.12 * high
    box = axes.bbox
    across = (high - low) * box.width / box.height
    right = max(float(np.nanmax(x)) for x, _ in drawn)
    left = min(0.0, (right - across) / 2)
    axes.set_ylim(low, high)
    axes.set_xlim(left, left + across)
    step = round_up(high / 5)
    for set_ticks, end, begin in ((axes.set_xticks, left + across, left), (axes.set_yticks, high, low)):
        ticks = np.arange(np.ceil(begin / step), np.floor(end / step) + 1) * step
        set_ticks(ticks, [canvas.tick_text(round(float(t), 6)) for t in ticks])
    axes.axhline(0.0, color=look.palette.quiet, linewidth=look.hair)
    axes.axvline(0.0, color=look.palette.quiet, linewidth=look.hair)
    labels.curve(axes, "level", np.array([left, left + across]), np.zeros(2))
    labels.upright(axes, 0.0)
    axes.set_xlabel(f"{panel.x.words}, {x_unit(panel)}", size=look.text, color=look.palette.ink)
    canvas.name_above(axes, look, f"{panel.y.words}, {y_unit(panel)} (same scale)")


def chart_words(found: Chart) -> str:
    """What a chart shows, from the numbers: its caption, and of every curve both ends and the greatest value."""
    parts = [found.caption]
    for panel in found.panels:
        head = f"{panel.y.words} against {panel.x.words}".capitalize()
        parts.append(f"{head}{', ' + panel.title if panel.title else ''}:")
        parts += [_line_words(panel, line) for line in panel.lines if line.role is not Role.AID and line.label]
    return " ".join(parts)


def _line_words(panel: Panel, line: Line) -> str:
    x_as, y_as = (("" if m.per_unit else m.unit) for m in (panel.x, panel.y))
    top = int(np.nanargmax(line.y))
    first, last = (f"{show(float(line.y[n]), y_as)} at {show(float(line.x[n]), x_as)}" for n in (0, -1))
    greatest = f"{show(float(line.y[top]), y_as)} at {show(float(line.x[top]), x_as)}"
    return f"{line.label}: from {first} to {last}, greatest {greatest}."

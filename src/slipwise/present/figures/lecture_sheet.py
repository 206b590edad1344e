"""The sheet of a lecture picture: title, a note of up to two lines, and the axes of its panels."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import Look
from slipwise.present.figures.marks import r_min
from slipwise.present.figures.scale import Divisions, divide, round_step, round_up, speed_ticks
from slipwise.quantity.show import display_unit, in_display
from slipwise.results.lecture import Measure, Panel
from slipwise.results.series import Array

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LEFT, RIGHT, LOW, HIGH = 0.078, 0.965, 0.118, 0.765
GAP, STACK = 0.088, 0.085  # between panels side by side, and one above the other
NEAR = 0.25  # of the highest: an axis that begins beyond it does not reach back to zero
BELOW = 0.35  # of the top, as far as an axis reaches below zero


def lecture_sheet(look: Look, title: str, note: str) -> Figure:
    """An empty figure with a title and a note under it over at most two lines."""
    figure = canvas.sheet(look, title)
    labels = Labels(figure, look)
    words = labels.wrapped(note, look.small, 0.94, 2)
    figure.text(0.03, 0.916, words, color=look.palette.quiet, va="top", ha="left", size=look.small, linespacing=1.15)
    return figure


def places(count: int, stacked: bool) -> list[tuple[float, float, float, float]]:
    """Left, bottom, width, height of each panel, in shares of the sheet."""
    if stacked:
        height = (HIGH - LOW - STACK * (count - 1)) / count
        return [(LEFT, HIGH - (n + 1) * height - n * STACK, RIGHT - LEFT, height) for n in range(count)]
    width = (RIGHT - LEFT - GAP * (count - 1)) / count
    return [(LEFT + n * (width + GAP), LOW, width, HIGH - LOW) for n in range(count)]


def shown_unit(measure: Measure, highest: float) -> str:
    """Unit as shown on an axis: "%" for per unit, "" for a pure number."""
    if measure.per_unit or not measure.unit:
        return ""
    return display_unit([highest], measure.unit)


def in_axis(measure: Measure, values: Array, unit: str) -> Array:
    """Values as plotted, in the unit of the axis."""
    if measure.unit == "rad/s":
        return np.asarray(r_min(values))
    if not unit:
        return np.asarray(values, dtype=float)
    return np.asarray(values, dtype=float) * in_display(1.0, measure.unit, unit)


def axis_words(measure: Measure, unit: str) -> str:
    """What an axis measures and in what."""
    return f"{measure.words}, {unit}" if unit else measure.words


def upright_axis(axes: Axes, look: Look, panel: Panel, values: list[Array], rows: int) -> None:
    """The vertical axis over all values, or up to where the panel is cut. values: as plotted."""
    unit = y_unit(panel)
    top = None if panel.top is None else float(in_axis(panel.y, np.array([panel.top]), unit)[0])
    high = max((float(np.nanmax(v)) for v in values), default=1.0)
    low = min((float(np.nanmin(v)) for v in values), default=0.0)
    wanted = high if top is None else top
    floor = -BELOW * wanted if panel.bottom is None else float(in_axis(panel.y, np.array([panel.bottom]), unit)[0])
    divisions = divide(max(low, floor), wanted, *((2, 4) if rows > 1 else (4, 6)))
    if wanted < 0.999 * divisions.high and abs(wanted - 1) < 1e-9:
        divisions = Divisions(step=0.2, below=0, above=5)
    canvas.value_axis(axes, divisions)
    cut = " (cut)" if top is not None and high > 1.001 * divisions.high else ""
    canvas.name_above(axes, look, axis_words(panel.y, unit) + cut)


def y_unit(panel: Panel) -> str:
    """Unit of the vertical axis as shown."""
    highest = panel.top or max((float(np.nanmax(np.abs(line.y))) for line in panel.lines), default=1.0)
    return shown_unit(panel.y, highest)


def x_unit(panel: Panel) -> str:
    """Unit of the horizontal axis as shown; speeds in r/min."""
    return shown_unit(panel.x, max((float(np.nanmax(np.abs(line.x))) for line in panel.lines), default=1.0))


def level_axis(axes: Axes, look: Look, panel: Panel, label: bool, across: int) -> None:
    """The horizontal axis. across: panels beside one another; the more, the fewer ticks."""
    unit = x_unit(panel)
    low = min(float(np.nanmin(in_axis(panel.x, line.x, unit))) for line in panel.lines)
    high = max(float(np.nanmax(in_axis(panel.x, line.x, unit))) for line in panel.lines)
    if panel.x.unit == "s":
        canvas.time_axis(axes, look, (0.0, high), label)
        return
    if panel.synchronous is not None:
        high = float(r_min(panel.synchronous))
    begin = low if low > NEAR * high else min(0.0, low)
    ticks = _ticks(panel, begin, high, across)
    axes.set_xlim(begin, high)
    ticks = ticks[(ticks >= begin - 1e-9) & (ticks <= high * (1 + 1e-9))]
    axes.set_xticks(ticks, [canvas.tick_text(round(float(t), 6)) for t in ticks] if label else [""] * len(ticks))
    if label:
        axes.set_xlabel(axis_words(panel.x, unit), size=look.text, color=look.palette.ink)


def _ticks(panel: Panel, low: float, high: float, across: int) -> Array:
    if panel.synchronous is not None and low <= 0:
        ticks = speed_ticks(float(r_min(panel.synchronous)))
        return _fewer(ticks) if across > 2 else ticks
    most = {1: 8, 2: 5}.get(across, 4)
    step = round_up((high - low) / most)
    ticks = np.arange(np.floor(low / step), np.ceil(high / step) + 1) * step
    if panel.synchronous is None:
        return np.asarray(ticks)
    return np.append(ticks[ticks < high - step / 2], high)


def _fewer(ticks: Array) -> Array:
    """From zero to the last in thirds where they read well, else in halves."""
    top = float(ticks[-1])
    return np.linspace(0.0, top, 4 if round_step(top / 3) else 3)

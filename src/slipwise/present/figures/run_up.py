"""The run-up in time: speed, line current and the voltage of every busbar, with all stages marked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, SOLID, Dash, Look, dash_of
from slipwise.present.figures.marks import r_min
from slipwise.present.figures.scale import divide, round_up, span, thinned
from slipwise.present.tables import run_up_text
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.series import Array
from slipwise.results.start import Outcome, RunUp, StageMark
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LEFT, WIDTH = 0.085, 0.885
PLACES = ((LEFT, 0.585, WIDTH, 0.205), (LEFT, 0.355, WIDTH, 0.155), (LEFT, 0.105, WIDTH, 0.175))


def run_up(result: StudyResult, way: WayResult, look: Look) -> Figure:
    """Speed, line current and busbar voltages of the nominal run-up; the slowest other case is drawn thin."""
    with canvas.drawing():
        title = f"{way.title}: run-up"
        run = way.run_ups[0]
        figure = canvas.sheet(look, title, f"{result.title}. {_capital(run.case)} case: {outcome_words(run)}.")
        speed, current, voltage = (canvas.panel(figure, look, place) for place in PLACES)
        other = slowest(way)
        end = _end(run, other)
        for axes in (speed, current, voltage):
            canvas.time_axis(axes, look, (0.0, end), label=axes is voltage)
        labels = Labels(figure, look)
        mark_stages((speed, current, voltage), look, run.stages, labels)
        _speed(speed, labels, look, (result, run, other))
        _current(current, labels, look, run)
        _voltage(voltage, labels, look, run)
        canvas.describe(figure, title, run_up_words(way))
        return figure


def slowest(way: WayResult) -> RunUp | None:
    """The other case that takes longest or does not arrive; None with one case only."""
    others = way.run_ups[1:]
    if not others:
        return None
    return max(others, key=lambda run: (run.outcome is not Outcome.ARRIVED, run.run_up_time or float(run.time[-1])))


def _end(run: RunUp, other: RunUp | None) -> float:
    """The time shown: the whole nominal run-up, and of the other case no more than three times that."""
    longest = float(run.time[-1])
    if other is not None:
        longest = max(longest, min(float(other.time[-1]), 3 * longest))
    return longest * 1.02


def _speed(axes: Axes, labels: Labels, look: Look, data: tuple[StudyResult, RunUp, RunUp | None]) -> None:
    result, run, other = data
    runs = [run] if other is None else [run, other]
    low, high = span([r_min(r.speed) for r in runs] + [r_min(np.array([result.synchronous_speed]))])
    canvas.value_axis(axes, divide(low, high, 3, 4))
    canvas.name_above(axes, look, "speed, r/min", rows=1)
    if other is not None:
        curve(axes, labels, look, (other.case, other.time, r_min(other.speed)), (look.palette.quiet, SOLID, 0.5))
    curve(axes, labels, look, (run.case, run.time, r_min(run.speed)), (look.colour(0), SOLID, 1.0))
    labels.on_curve(axes, run.case, f"{run.case} case", look.colour(0), prefer=0.25)
    if other is not None:
        labels.on_curve(axes, other.case, f"{other.case}: {_short(other)}", look.palette.quiet, prefer=0.7)


def _current(axes: Axes, labels: Labels, look: Look, run: RunUp) -> None:
    scale = divide(0.0, span([run.line_current])[1], 2, 4)
    unit = display_unit([scale.high], "A")
    canvas.value_axis(axes, scale, 1 / in_display(1.0, "A", unit))
    canvas.name_above(axes, look, f"line current, {unit} rms")
    curve(axes, labels, look, ("line", run.time, run.line_current), (look.colour(1), DASHED, 1.0))
    first, last = float(run.line_current[0]), float(run.line_current[-1])
    words = f"{show(first, 'A')} at switch-on, {show(last, 'A')} at the end"
    labels.on_curve(axes, "line", words, look.colour(1), prefer=0.5)


def _voltage(axes: Axes, labels: Labels, look: Look, run: RunUp) -> None:
    """Busbar voltages in per cent of nominal."""
    shares = 100 * run.busbar_voltage
    high = float(max(np.nanmax(shares), 100 * run.prestart_voltage.max()))
    voltage_axis(axes, look, float(np.nanmin(shares)), high)
    for number, (name, row) in enumerate(zip(run.busbars, shares, strict=True)):
        curve(axes, labels, look, (name, run.time, row), (look.colour(number), dash_of(number), 0.8))
    for number, (name, row) in enumerate(zip(run.busbars, run.busbar_voltage, strict=True)):
        words = f"{name}: least {show(float(np.nanmin(row)), 'pu')}"
        labels.on_curve(axes, name, words, look.colour(number), prefer=0.15 + 0.3 * (number % 3))


def voltage_axis(axes: Axes, look: Look, low: float, high: float) -> None:
    """An axis of voltage in per cent of nominal; it does not begin at zero and says so."""
    step = round_up(max(high - low, 1.0) / 3)
    bottom, top = np.floor(low / step - 0.4) * step, np.ceil(high / step + 1e-9) * step
    axes.set_ylim(bottom, top)
    ticks = np.arange(bottom, top + step / 2, step)
    axes.set_yticks(ticks, [canvas.tick_text(round(float(t), 6)) for t in ticks])
    canvas.name_above(axes, look, "busbar voltage, % of nominal (axis cut)")


def curve(
    axes: Axes, labels: Labels, look: Look, named: tuple[str, Array, Array], pen: tuple[str, Dash, float]
) -> None:  # fmt: skip
    """Draws and marks a curve over time. pen: colour, dash pattern, width against the usual."""
    (name, x, y), (colour, dash, width) = named, pen
    x, y = thinned(x, y)
    axes.plot(x, y, color=colour, linestyle=dash, linewidth=look.line * width, zorder=3, solid_joinstyle="round")
    labels.curve(axes, name, x, y)


def mark_stages(panels: Sequence[Axes], look: Look, stages: Sequence[StageMark], labels: Labels) -> None:
    """A thin line where each stage begins, through all panels, and the names of the stages in a row above the first.

    Names that would run into one another stand together, in their order.
    """
    figure, top = panels[0].figure, panels[0].get_position()
    low, high = panels[0].get_xlim()
    for mark in stages[1:]:
        for axes in panels:
            axes.axvline(mark.begin, color=look.palette.quiet, linewidth=look.hair, zorder=2)
            labels.upright(axes, mark.begin)
    places = [top.x0 + top.width * (min(max(m.begin, low), high) - low) / (high - low) for m in stages]
    names = [m.name for m in stages]
    for text, x in _side_by_side(names, places, lambda words: labels.width(words, look.small), top.x1):
        figure.text(x, top.y1 + 0.008, text, size=look.small, color=look.palette.quiet, va="bottom", ha="left")


def _side_by_side(
    names: Sequence[str], places: Sequence[float], width: Callable[[str], float], limit: float
) -> list[tuple[str, float]]:  # fmt: skip
    """Names at their places (shares of the sheet), joined with those before them where there is no room."""
    row: list[tuple[str, float]] = []
    for name, place in zip(names, places, strict=True):
        if row and row[-1][1] + width(row[-1][0]) + 0.012 > place:
            row[-1] = (f"{row[-1][0]}, {name}", row[-1][1])
        else:
            row.append((name, place + 0.003))
    if row:  # the last may not run past the panel, nor into the one before it
        text, x = row[-1]
        before = row[-2][1] + width(row[-2][0]) + 0.012 if len(row) > 1 else 0.0
        row[-1] = (text, max(before, min(x, limit - width(text))))
    return row


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def outcome_words(run: RunUp) -> str:
    """How it ended, in words with the number that matters."""
    if run.outcome is Outcome.ARRIVED:
        return f"runs at {show(run.final_speed, 'rad/s')}, run-up time {show(run.run_up_time, 's')}"
    return run_up_text(run)


def _short(run: RunUp) -> str:
    return f"run-up time {show(run.run_up_time, 's')}" if run.outcome is Outcome.ARRIVED else run_up_text(run)


def run_up_words(way: WayResult) -> str:
    """What the run-up figure shows, from the numbers."""
    run = way.run_ups[0]
    parts = [f"{_capital(run.case)} case: {outcome_words(run)}."]
    for mark in run.stages:
        begin, end = show(mark.begin, "s"), show(mark.end, "s")
        parts.append(f"Stage {mark.name} from {begin} to {end}, to {show(mark.end_speed, 'rad/s')} ({mark.reason}).")
    parts.append(f"Greatest line current {show(float(run.line_current.max()), 'A')}.")
    for name, row in zip(run.busbars, run.busbar_voltage, strict=True):
        parts.append(f"Least voltage at {name} {show(float(np.nanmin(row)), 'pu')} of nominal.")
    other = slowest(way)
    if other is not None:
        parts.append(f"{_capital(other.case)} case: {outcome_words(other)}.")
    return " ".join(parts)

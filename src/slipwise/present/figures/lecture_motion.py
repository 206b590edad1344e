"""A start shown moving: a point runs along the torque curve while others run along speed, current and torque in time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.lecture_sheet import HIGH, LEFT, LOW, RIGHT
from slipwise.present.figures.look import SOLID, Dash, Look, pattern_of
from slipwise.present.figures.marks import alike, r_min
from slipwise.present.figures.scale import divide, span
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.lecture import Motion
from slipwise.results.series import Array
from slipwise.results.start import Outcome

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

HALF, GAP, STACK = 0.46, 0.07, 0.085  # right edge of the left panel; between columns; between rows at the right
WORDS = (0.03, 0.885)  # where the changing line of numbers stands, of the sheet, its baseline
LAST = 1.12  # of the run-up time, as long as is shown
RESTS = 0.12  # of the frames, at the end, on the last point


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moving:
    """A still figure and what moves over it.

    spots: shares of the sheet, shape (frames, 4, 2): on the torque curve, and on speed, current and torque in time; y from below.
    words: the line of numbers of each frame. colours: of the four points.
    """

    figure: Figure
    spots: Array
    words: tuple[str, ...]
    colours: tuple[str, ...]


def moving(found: Motion, look: Look, frames: int = 200) -> Moving:
    """Draws the still part and computes where the points stand in every frame.

    The start is shown evenly in time, whatever it lasts; the time is told in every frame.
    """
    with canvas.drawing():
        figure = canvas.sheet(look, found.title)
        end = shown_to(found)
        left = canvas.panel(figure, look, (LEFT, LOW, HALF - LEFT, HIGH + 0.02 - LOW))
        height = (HIGH + 0.02 - LOW - 2 * STACK) / 3
        rows = [
            canvas.panel(figure, look, (HALF + GAP, LOW + n * (height + STACK), RIGHT - HALF - GAP, height))
            for n in (2, 1, 0)
        ]
        labels = Labels(figure, look)
        _characteristic(left, labels, look, found)
        traces = _traces(found)
        for number, (axes, (words, unit, values)) in enumerate(zip(rows, traces, strict=True)):
            _trace(axes, labels, look, (found, words, unit, values, end), number)
        run = found.run
        times = np.concatenate(
            [np.linspace(0.0, end, round(frames * (1 - RESTS))), np.full(round(frames * RESTS), end)]
        )
        at = np.minimum(times, run.time[-1])
        speed, torque = (np.interp(at, run.time, v) for v in (run.speed, run.torque))
        spots = [_shares(figure, left, r_min(speed), torque * _size("N m", found))]
        for axes, (_, unit, values) in zip(rows, traces, strict=True):
            size = in_display(1.0, "rad/s", "r/min") if unit == "rad/s" else in_display(1.0, unit, _unit(unit, values))
            spots.append(_shares(figure, axes, times, np.interp(at, run.time, values) * size))
        canvas.describe(figure, found.title, motion_words(found))
        return Moving(
            figure=figure,
            spots=np.stack(spots, axis=1),
            words=tuple(_told(found, float(t), float(min(t, run.time[-1]))) for t in times),
            colours=(look.colour(1), look.colour(0), look.colour(1), look.colour(2)),
        )


def shown_to(found: Motion) -> float:
    """How much of the run is shown. [s]"""
    run = found.run
    return LAST * run.run_up_time if run.run_up_time is not None else float(run.time[-1])


def _unit(unit: str, values: Array) -> str:
    return display_unit([float(np.nanmax(values))], unit)


def _size(unit: str, found: Motion) -> float:
    return in_display(1.0, unit, _unit(unit, np.concatenate(found.torques)))


def _traces(found: Motion) -> list[tuple[str, str, Array]]:
    run = found.run
    return [("speed", "rad/s", run.speed), ("line current", "A", run.line_current), ("torque", "N m", run.torque)]


def _characteristic(axes: Axes, labels: Labels, look: Look, found: Motion) -> None:
    """Torque of every stage, the path of this start as a pale band, the load."""
    size = _size("N m", found)
    low, high = span([*(t * size for t in found.torques), found.run.torque * size, found.load * size])
    canvas.value_axis(axes, divide(max(low, -0.2 * high), high))
    canvas.name_above(axes, look, f"torque, {_unit('N m', np.concatenate(found.torques))}")
    canvas.speed_axis(axes, look, float(r_min(found.synchronous)))
    axes.set_xlabel("speed, r/min", size=look.text, color=look.palette.ink)
    axes.plot(
        r_min(found.run.speed), found.run.torque * size, color=look.palette.faint, linewidth=look.line * 4, zorder=1.5,
        solid_capstyle="round",
    )  # fmt: skip
    lines: list[tuple[str, Array, str, Dash]] = []
    for number, (name, torque) in enumerate(zip(found.stages, found.torques, strict=True)):
        same = next((n for n, (_, other, _, _) in enumerate(lines) if alike(other, torque * size)), None)
        if same is not None:
            lines[same] = (f"{lines[same][0]}, {name}", *lines[same][1:])
        elif float(np.max(torque)) > 0:
            lines.append((name, torque * size, look.colour(number), pattern_of(number)))
    lines.append(("load", found.load * size, look.palette.quiet, SOLID))
    x = r_min(found.speeds)
    for name, y, colour, dash in lines:
        axes.plot(x, y, color=colour, linestyle=dash, linewidth=look.line * 0.9, zorder=3)
        labels.curve(axes, name, x, y)
    for number, (name, _, colour, _) in enumerate(lines):
        labels.on_curve(
            axes, name, labels.cut(name, look.text, 0.3), colour, prefer=0.25 + 0.15 * (number % 3), clear=10.0
        )


def _trace(
    axes: Axes, labels: Labels, look: Look, data: tuple[Motion, str, str, Array, float], number: int
) -> None:  # fmt: skip
    """One quantity in time, the changes of stage as thin lines."""
    found, words, unit, values, end = data
    display = "r/min" if unit == "rad/s" else _unit(unit, values)
    shown = values * in_display(1.0, unit, display)
    canvas.time_axis(axes, look, (0.0, end), label=number == 2)
    canvas.value_axis(axes, divide(*span([shown]), 2, 4))
    canvas.name_above(axes, look, f"{words}, {display}")
    run = found.run
    x, y = np.append(run.time, max(end, float(run.time[-1]))), np.append(shown, shown[-1])
    axes.plot(x, y, color=look.colour(number), linewidth=look.line * 0.9, zorder=3)
    for mark in run.stages[1:]:
        if mark.begin < end:
            axes.axvline(mark.begin, color=look.palette.quiet, linewidth=look.hair, zorder=2)
            labels.upright(axes, mark.begin)


def _shares(figure: Figure, axes: Axes, x: Array, y: Array) -> Array:
    low, high = sorted(axes.get_ylim())
    pixels = axes.transData.transform(np.column_stack([x, np.clip(y, low, high)]))
    return np.asarray(pixels / np.array([figure.bbox.width, figure.bbox.height]))


def _told(found: Motion, time: float, at: float) -> str:
    """The line of numbers at one instant."""
    run = found.run
    speed, torque, current = (float(np.interp(at, run.time, v)) for v in (run.speed, run.torque, run.line_current))
    stage = next((m.name for m in run.stages if m.begin <= at < m.end), run.stages[-1].name)
    parts = (
        f"{time:.3f} s" if time < 10 else f"{time:.1f} s",
        show(speed, "rad/s"),
        show(torque, "N m"),
        show(current, "A"),
    )
    return " · ".join((*parts, stage))


def motion_words(found: Motion) -> str:
    """What the moving picture shows, from the numbers."""
    run = found.run
    ended = f"run-up time {show(run.run_up_time, 's')}" if run.outcome is Outcome.ARRIVED else run.outcome.value
    stages = "; ".join(f"{m.name} from {show(m.begin, 's')} to {show(m.end_speed, 'rad/s')}" for m in run.stages)
    return (
        f"{found.caption} A point runs along the torque curve beside speed, line current and torque against time: {ended}, "
        f"greatest line current {show(float(run.line_current.max()), 'A')}. Stages: {stages}."
    )

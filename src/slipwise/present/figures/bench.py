"""Figures of bench tests: the loss line, the magnetising curve, leakage against current, and what is left of the losses."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slipwise.present.figures import canvas
from slipwise.present.figures.catalogue import Entry
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, SOLID, Look
from slipwise.present.figures.scale import Divisions, divide
from slipwise.quantity.show import show
from slipwise.results.identification import Identification

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]
PLACE = (0.08, 0.13, 0.86, 0.67)
UNTITLED = (0.08, 0.14, 0.86, 0.76)  # of the panel, where the page says what the figure shows


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One curve or one set of readings. drawn: joined by a line; marked: a dot at every point; dashed: unless told, when
    no points are marked."""

    name: str
    words: str
    x: Array
    y: Array
    drawn: bool = True
    marked: bool = True
    prefer: float = 0.7  # where along it the label goes
    dashed: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """One figure: its title, a note, what the axes measure, and its lines; both axes begin at zero."""

    title: str
    note: str
    across: str
    up: str
    lines: tuple[Line, ...]


def catalogue(found: Identification) -> list[Entry]:
    """Every figure these readings have data for, by key: the test and what it shows."""
    made: list[tuple[str, Plot | None]] = [
        ("no_load.loss_line", loss_line(found)),
        ("no_load.magnetising_curve", magnetising_curve(found)),
        ("locked_rotor.leakage", leakage(found)),
        ("load.residual_loss", residual_loss(found)),
    ]
    draw: Callable[[Plot, Look], Figure] = plot
    return [Entry(key, one.title, partial(draw, one)) for key, one in made if one is not None]


def loss_line(found: Identification) -> Plot | None:
    """No-load loss less copper loss over the square of the gap voltage, and the line to zero voltage."""
    points = sorted(found.no_load, key=lambda p: p.gap_voltage)
    if sum(p.on_line for p in points) < 2:
        return None
    x = np.array([p.gap_voltage**2 for p in points]) / 1e3
    y = np.array([p.constant_loss for p in points])
    friction = next(v.value for v in found.values if v.symbol == "P_fw")
    used = [(p.gap_voltage**2 / 1e3, p.constant_loss - friction) for p in points if p.on_line]
    slope = float(np.mean([loss for _, loss in used]) / np.mean([square for square, _ in used]))
    ends = np.array([0.0, float(x.max())])
    lines = (
        Line(name="line", words=f"meets zero voltage at {show(friction, 'W')}: friction and windage", x=ends,
             y=friction + slope * ends, marked=False, prefer=0.25),
        Line(name="read", words="readings", x=x, y=y, drawn=False),
    )  # fmt: skip
    note = f"Line through the {len(used)} readings of the loss line; above it iron that saturates takes more."
    across = "square of the voltage behind the stator impedance, 1000 V²"
    return Plot(
        title="Core loss and friction told apart", note=note, across=across, up="loss less copper loss, W", lines=lines
    )


def magnetising_curve(found: Identification) -> Plot | None:
    """Gap voltage over magnetising current."""
    points = sorted(found.no_load, key=lambda p: p.gap_voltage)
    if len(points) < 3:
        return None
    y = np.array([p.gap_voltage for p in points])
    x = np.array([p.gap_voltage / p.reactance for p in points])
    steep = max(p.reactance for p in points)
    top = min(float(x.max()), float(y.max()) / steep)
    gap = Line(
        name="gap", words=f"air gap alone, {show(steep, 'ohm')}", x=np.array([0.0, top]), y=np.array([0.0, top * steep]),
        marked=False, prefer=0.5,
    )  # fmt: skip
    read = Line(name="read", words="readings", x=x, y=y, prefer=0.85)
    return Plot(
        title="Magnetising curve", note="Per phase of the star equivalent, rms.", across="magnetising current, A",
        up="voltage behind the stator impedance, V", lines=(gap, read),
    )  # fmt: skip


def leakage(found: Identification) -> Plot | None:
    """Reactance of the locked machine, brought to rated frequency, over current, one line a test frequency."""
    if len(found.locked) < 2:
        return None
    lines = []
    for frequency in sorted({p.frequency for p in found.locked}):
        points = sorted((p for p in found.locked if p.frequency == frequency), key=lambda p: p.current)
        x, y = np.array([p.current for p in points]), np.array([p.reactance for p in points])
        words = f"tested at {show(frequency, 'Hz')}"
        lines.append(Line(name=words, words=words, x=x, y=y, drawn=len(points) > 1))
    note = "Falls with current where the leakage paths saturate, with frequency where current is displaced in the bars."
    return Plot(
        title="Reactance of the locked machine", note=note, across="line current, A",
        up="reactance at rated frequency, Ω", lines=tuple(lines),
    )  # fmt: skip


def residual_loss(found: Identification) -> Plot | None:
    """What input less output less four losses leaves over, over torque squared."""
    if found.stray is None:
        return None
    points = sorted(found.loads, key=lambda p: p.torque)
    x = np.array([p.torque**2 for p in points])
    y = np.array([p.residual for p in points])
    ends = np.array([0.0, float(x.max())])
    line = found.stray
    words = f"correlation {line.correlation:.3f}; stray load loss {show(line.at_rated, 'W')} at rated torque"
    lines = (
        Line(name="line", words=words, x=ends, y=line.offset + line.slope * ends, marked=False, prefer=0.4),
        Line(name="read", words="readings", x=x, y=y, drawn=False),
    )
    note = "Input less output, copper, core, rotor, friction and windage."
    return Plot(title="Loss left over", note=note, across="torque squared, (N m)²", up="loss left over, W", lines=lines)


def plot(one: Plot, look: Look) -> Figure:
    """Draws it; labels stand on the lines."""
    with canvas.drawing():
        figure = canvas.sheet(look, one.title, one.note)
        axes = canvas.panel(figure, look, PLACE if one.title else UNTITLED)
        up = _scale([line.y for line in one.lines])
        canvas.value_axis(axes, up)
        _across(axes, one.lines)
        axes.set_xlabel(one.across, size=look.text, color=look.palette.ink)
        canvas.name_above(axes, look, one.up)
        labels = Labels(figure, look)
        for number, line in enumerate(one.lines):
            _line(axes, labels, look, (number, line))
        for number, line in enumerate(one.lines):
            if line.drawn:
                labels.on_curve(axes, line.name, line.words, look.colour(number), prefer=line.prefer)
            else:
                middle = len(line.x) // 2
                labels.at_point(axes, float(line.x[middle]), float(line.y[middle]), line.words, look.colour(number))
        canvas.describe(
            figure, one.title, f"{one.up} over {one.across}: " + "; ".join(line.words for line in one.lines) + "."
        )
        return figure


def _line(axes: Axes, labels: Labels, look: Look, what: tuple[int, Line]) -> None:
    number, line = what
    colour = look.colour(number)
    if line.drawn:
        dashed = not line.marked if line.dashed is None else line.dashed
        dash = DASHED if dashed else SOLID
        axes.plot(line.x, line.y, color=colour, linewidth=look.line, linestyle=dash)
        labels.curve(axes, line.name, line.x, line.y)
    if line.marked:
        axes.plot(line.x, line.y, linestyle="none", marker="o", markersize=9 * look.scale, color=colour)
        for x, y in zip(line.x, line.y, strict=True):
            labels.point(axes, float(x), float(y))


def _across(axes: Axes, lines: Sequence[Line]) -> None:
    """The horizontal axis, with round ticks: it ends where the curves end, or a little beyond the last dot."""
    low = min(0.0, *(float(np.min(line.x)) for line in lines))
    high = max(float(np.max(line.x)) for line in lines)
    divisions = divide(low, high)
    high *= 1.03 if any(line.marked for line in lines) else 1.0
    ticks = divisions.ticks[divisions.ticks <= high * (1 + 1e-9)]
    axes.set_xlim(divisions.low, high)
    axes.set_xticks(ticks, [canvas.tick_text(float(t)) for t in ticks])


def _scale(values: Sequence[Array]) -> Divisions:
    """From zero, or from below it when something lies there."""
    low = min(0.0, *(float(np.min(v)) for v in values))
    high = max(float(np.max(v)) for v in values)
    return divide(low, 1.04 * high)

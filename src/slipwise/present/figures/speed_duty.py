"""All ways against the demands of the duty: what becomes of the line's power, the power factor, the line current."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present import tables_speed
from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DOTTED, Dash, Look, dash_of
from slipwise.present.figures.scale import Divisions, divide
from slipwise.quantity.show import display_unit, in_display, show, show_number
from slipwise.results.series import Array
from slipwise.results.speed import DutyPoint, OperatingPoint, SpeedResult, SpeedWayResult
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LEFT, BOTTOM, HIGH = 0.075, 0.185, 0.63
NAMES = 0.225  # of the width, for the names of the ways on the right
SYMBOLS = "os^Dvp*hX"


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """What is drawn. unit: SI; of: its value at a point; least: the axis reaches at least so far."""

    key: str
    title: str
    axis: str
    unit: str
    of: Callable[[OperatingPoint], float]
    least: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the figure: name, values by demand (not a number where the way does not hold it), pen."""

    name: str
    values: Array
    colour: str
    dash: Dash
    symbol: str


QUANTITIES = (
    Quantity(
        key="speed_efficiency",
        title="What the process gets of the power from the line",
        axis="used by the process, % of line power",
        unit="pu",
        of=lambda point: used(point) / point.line_power,
        least=1.0,
    ),
    Quantity(
        key="speed_power_factor",
        title="Power factor at each demand",
        axis="true power factor",
        unit="",
        of=lambda point: point.power_factor,
        least=1.0,
    ),
    Quantity(
        key="speed_current",
        title="Line current at each demand",
        axis="line current, rms with harmonics",
        unit="A",
        of=lambda point: point.line_current,
        least=0.0,
    ),
)


def used(point: OperatingPoint) -> float:
    """Shaft power without what a valve or damper takes. [W]"""
    return point.shaft_power if point.duty.useful is None else min(point.duty.useful, point.shaft_power)


def against_duty(result: StudyResult, quantity: Quantity, look: Look) -> Figure:
    """One quantity at every demand, slowest first, a line for each way that holds any.

    Raises:
        ValueError: the study has no speed part.
    """
    found = result.speed
    if found is None:
        raise ValueError("the study has no speed control")
    duty = sorted(found.duty, key=lambda demand: demand.speed)
    rows = rows_of(result, found, duty, quantity, look)
    with canvas.drawing():
        figure = canvas.sheet(look, quantity.title, f"{result.title}. Demands that a way does not hold are left out.")
        axes = canvas.panel(figure, look, (LEFT, BOTTOM, 0.985 - LEFT - NAMES, HIGH))
        labels = Labels(figure, look)
        scale = divide(0.0, max([quantity.least, *(float(np.nanmax(row.values)) for row in rows)]))
        _value_axis(axes, look, quantity, scale)
        _demands(axes, look, labels, duty)
        for row in rows:
            _draw(axes, look, row)
            labels.curve(axes, row.name, np.arange(len(row.values), dtype=float), row.values)
        _level(axes, look, labels, result, quantity)
        _names(axes, look, labels, rows)
        canvas.describe(figure, quantity.title, duty_words(quantity, rows, duty))
        return figure


def rows_of(
    result: StudyResult, found: SpeedResult, duty: Sequence[DutyPoint], quantity: Quantity, look: Look
) -> list[Row]:  # fmt: skip
    """The ways in the order of the comparison, and the line 1 - s where it says something."""
    rows = []
    ways = [way for way in tables_speed.ranked(found) if any(point.feasible for point in way.points)]
    for number, way in enumerate(ways):
        colour, dash = look.colour(number), dash_of(number)
        values = np.array([_value(way, demand, quantity) for demand in duty])
        rows.append(Row(name=way.title, values=values, colour=colour, dash=dash, symbol=SYMBOLS[number % len(SYMBOLS)]))
    slipping = any(family.bound for way in ways for family in way.families)
    if quantity.key == "speed_efficiency" and slipping:
        ideal = np.array([demand.speed / result.synchronous_speed for demand in duty])
        ideal[ideal > 1.0] = np.nan
        rows.append(Row(name="1 \u2212 s", values=ideal, colour=look.palette.quiet, dash=DOTTED, symbol="None"))
    return [row for row in rows if np.isfinite(row.values).any()]


def _value(way: SpeedWayResult, demand: DutyPoint, quantity: Quantity) -> float:
    point = next((p for p in way.points if p.duty.name == demand.name and p.feasible), None)
    return float("nan") if point is None else quantity.of(point)


def _value_axis(axes: Axes, look: Look, quantity: Quantity, scale: Divisions) -> None:
    unit = display_unit([scale.high], quantity.unit)
    canvas.value_axis(axes, scale, 1 / in_display(1.0, quantity.unit, unit))
    canvas.name_above(axes, look, quantity.axis + (f", {unit}" if quantity.unit == "A" else ""))


def _demands(axes: Axes, look: Look, labels: Labels, duty: Sequence[DutyPoint]) -> None:
    """Name and speed of each demand under its place."""
    axes.set_xlim(-0.4, len(duty) - 0.6)
    room = 0.96 * axes.get_position().width / len(duty)
    names = [labels.wrapped(demand.name, look.small, room, 2) for demand in duty]
    speeds = [show_number(demand.speed, "rad/s", "r/min") for demand in duty]
    axes.set_xticks(range(len(duty)), [f"{name}\n{speed}" for name, speed in zip(names, speeds, strict=True)])
    axes.set_xlabel("demand and its speed, r/min", size=look.text, color=look.palette.ink)
    axes.grid(visible=False, axis="x")


def _draw(axes: Axes, look: Look, row: Row) -> None:
    axes.plot(
        np.arange(len(row.values)), row.values,  color=row.colour, linestyle=row.dash,
        linewidth=look.line, marker=row.symbol, markersize=9 * look.scale, zorder=3, clip_on=False,
    )  # fmt: skip


def _level(axes: Axes, look: Look, labels: Labels, result: StudyResult, quantity: Quantity) -> None:
    """The motor's rated current across the panel of currents."""
    if quantity.key == "speed_current":
        axes.axhline(result.rated_current, color=look.palette.quiet, linewidth=look.hair, zorder=1)
        labels.curve(axes, "rated", np.array(axes.get_xlim()), np.full(2, result.rated_current))
        labels.on_curve(axes, "rated", f"rated {show(result.rated_current, 'A')}", look.palette.quiet, prefer=0.05)


def _names(axes: Axes, look: Look, labels: Labels, rows: Sequence[Row]) -> None:
    """The names on the right at the height of their last points, moved apart, each with a thin leader."""
    ends = [int(np.flatnonzero(np.isfinite(row.values))[-1]) for row in rows]
    heights = [float(row.values[end]) for row, end in zip(rows, ends, strict=True)]
    box, (_, top) = axes.get_position(), axes.get_ylim()
    line = 21.0 * look.scale / 72 / look.height  # of one line of type
    words = [labels.wrapped(row.name, look.text, NAMES - 0.035, 2) for row in rows]
    if line * sum(1 + text.count("\n") for text in words) > box.height + 0.1:
        words = [labels.cut(row.name, look.text, NAMES - 0.035) for row in rows]
    wanted = [box.y0 + box.height * height / top for height in heights]
    sizes = [line * (1 + text.count("\n")) for text in words]
    for row, text, end, height, y in zip(
        rows, words, ends, heights, apart(wanted, sizes, box.y0 - 0.05, box.y1 + 0.05), strict=True
    ):  # fmt: skip
        figure = axes.figure
        figure.text(
            box.x1 + 0.03, y, text, size=look.text, color=row.colour, ha="left", va="center", linespacing=1.0
        )  # fmt: skip
        axes.annotate(
            "", (end, height), xycoords="data", xytext=(box.x1 + 0.027, y), textcoords="figure fraction",
            arrowprops={
                "arrowstyle": "-", "color": row.colour, "linewidth": look.hair, "shrinkA": 0, "shrinkB": 6 * look.scale
            },
            annotation_clip=False,
        )  # fmt: skip


def apart(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Middles of boxes as near as may be to those wanted, in their order, none over another, within low and high."""
    order = sorted(range(len(wanted)), key=lambda n: wanted[n])
    places, floor = [0.0] * len(wanted), low
    for n in order:
        places[n] = max(wanted[n], floor + sizes[n] / 2)
        floor = places[n] + sizes[n] / 2
    ceiling = high
    for n in reversed(order):
        places[n] = min(places[n], ceiling - sizes[n] / 2)
        ceiling = places[n] - sizes[n] / 2
    return places


def duty_words(quantity: Quantity, rows: Sequence[Row], duty: Sequence[DutyPoint]) -> str:
    """What the figure shows, from the numbers."""
    demands = ", ".join(f"{demand.name} at {show(demand.speed, 'rad/s')}" for demand in duty)
    parts = [f"{quantity.title}, demands {demands}."]
    for row in rows:
        told = [
            f"{demand.name} {show(float(value), quantity.unit)}" if np.isfinite(value) else f"{demand.name} not held"
            for demand, value in zip(duty, row.values, strict=True)
        ]
        parts.append(f"{row.name}: {', '.join(told)}.")
    return " ".join(parts)

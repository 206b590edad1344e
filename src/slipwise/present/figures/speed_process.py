"""The pump or fan in its system: heads against flow, and the power the ways take against what the process needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipwise.present import tables_speed
from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASH_DOT, DOTTED, SOLID, Look, dash_of
from slipwise.present.figures.scale import divide
from slipwise.present.figures.speed_duty import used
from slipwise.present.figures.speed_family import pen
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.series import Array
from slipwise.results.speed import DutyPoint, HeadCurve, ProcessChart, SpeedResult, SpeedWayResult
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

HEADS = (0.075, 0.115, 0.39, 0.66)
POWERS = (0.555, 0.115, 0.405, 0.66)
MOST_WAYS = 5
PER_HOUR = 3600.0


def process(result: StudyResult, look: Look) -> Figure:
    """Left head against flow at each speed with the system; right power against flow, by ways, need and cube law.

    Raises:
        ValueError: the study has no process.
    """
    found = result.speed
    if found is None or found.process is None:
        raise ValueError("the study describes no pump or fan")
    chart = found.process
    title = f"The {chart.machine} and its system"
    with canvas.drawing():
        figure = canvas.sheet(look, title, f"{result.title}. {_note(chart)}")
        heads, powers = canvas.panel(figure, look, HEADS), canvas.panel(figure, look, POWERS)
        labels = Labels(figure, look)
        _heads(heads, labels, look, chart, found.duty)
        _powers(powers, labels, look, found, chart)
        canvas.describe(figure, title, process_words(found, chart))
        return figure


def _note(chart: ProcessChart) -> str:
    if chart.static_head > 0:
        return "With static head the power does not fall with the cube of the flow."
    return "Without static head the power falls with the cube of the flow."


def _flow_axis(axes: Axes, look: Look, chart: ProcessChart, most: float) -> None:
    size = 1.0 if chart.rated_flow is None else chart.rated_flow * PER_HOUR
    scale = divide(0.0, most * size, 3, 4)
    axes.set_xlim(0.0, scale.high / size)
    words = [canvas.tick_text(round(float(t) if chart.rated_flow else float(t) * 100, 6)) for t in scale.ticks]
    axes.set_xticks(scale.ticks / size, words)
    unit = "flow, % of rated" if chart.rated_flow is None else "flow, m³/h"
    axes.set_xlabel(unit, size=look.text, color=look.palette.ink)


def _heads(axes: Axes, labels: Labels, look: Look, chart: ProcessChart, duty: tuple[DutyPoint, ...]) -> None:
    size = 1.0 if chart.rated_head is None else chart.rated_head
    scale = divide(0.0, max(float(np.nanmax(curve.head[curve.flow <= 1.1])) for curve in chart.curves) * size, 3, 5)
    axes.set_ylim(0.0, scale.high / size)
    ticks = [canvas.tick_text(round(float(t) if chart.rated_head else 100 * float(t), 6)) for t in scale.ticks]
    axes.set_yticks(scale.ticks / size, ticks)
    canvas.name_above(axes, look, "head, % of rated" if chart.rated_head is None else "head, m")
    _flow_axis(axes, look, chart, max([1.15, *(demand.flow or 0.0 for demand in duty)]))
    machine = [curve for curve in chart.curves if curve.speed is not None]
    system = next(curve for curve in chart.curves if curve.speed is None)
    for number, curve in enumerate(machine):
        x, y = _above_zero(curve)
        pen(axes, labels, look, (str(number), x, y), (look.colour(2 * number % 4), SOLID))
    pen(axes, labels, look, ("system", system.flow, system.head), (look.palette.ink, DASH_DOT))
    for demand in duty:
        if demand.flow is not None:
            head = float(np.interp(demand.flow, system.flow, system.head))
            axes.plot([demand.flow], [head], "o", color=look.colour(1), markersize=9 * look.scale, zorder=6)
            labels.point(axes, demand.flow, head)
    labels.on_curve(axes, "system", _system_words(chart), look.palette.ink, prefer=0.05)
    for number, curve in enumerate(machine):
        words = f"{show(curve.speed, 'rad/s')}, {curve.label}"
        labels.on_curve(axes, str(number), words, look.colour(2 * number % 4), prefer=0.1, clear=14.0)


def _above_zero(curve: HeadCurve) -> tuple[Array, Array]:
    keep = curve.head >= 0
    return curve.flow[keep], curve.head[keep]


def _system_words(chart: ProcessChart) -> str:
    if chart.static_head <= 0:
        return "system"
    still = (
        show(chart.static_head, "pu") if chart.rated_head is None else show(chart.static_head * chart.rated_head, "m")
    )
    return f"system, {still} static"


def _powers(axes: Axes, labels: Labels, look: Look, found: SpeedResult, chart: ProcessChart) -> None:
    demands = sorted((d for d in found.duty if d.flow is not None), key=lambda demand: demand.flow or 0.0)
    flow = np.array([demand.flow for demand in demands], dtype=float)
    lines = power_lines(found, chart, demands)
    scale = divide(0.0, max(float(np.nanmax(y)) for _, y in lines), 3, 5)
    unit = display_unit([scale.high], "W")
    canvas.value_axis(axes, scale, 1 / in_display(1.0, "W", unit))
    canvas.name_above(axes, look, f"power, {unit}")
    _flow_axis(axes, look, chart, max([1.15, *flow]))
    for number, (name, y) in enumerate(lines):
        colour, dash = look.colour(number - 2), dash_of(max(number - 2, 0))
        colour, dash = ((look.palette.quiet, DOTTED), (look.palette.ink, DASH_DOT), (colour, dash))[min(number, 2)]
        pen(axes, labels, look, (name, flow, y), (colour, dash))
        axes.plot(flow, y, "o", color=colour, markersize=6 * look.scale, zorder=4)
    for number, (name, _) in enumerate(lines):
        colour = (look.palette.quiet, look.palette.ink, look.colour(number - 2))[min(number, 2)]
        labels.on_curve(axes, name, name, colour, prefer=0.3, clear=14.0)


def power_lines(found: SpeedResult, chart: ProcessChart, demands: list[DutyPoint]) -> list[tuple[str, Array]]:
    """What the cube of the flow would promise, what the process needs, and the line power of the ways. [W]"""
    cube = {d.name: power for d, power in zip(found.duty, chart.cube_law, strict=True)}
    lines = [("cube of the flow", np.array([cube[d.name] for d in demands]))]
    lines.append(("needed at the shaft", np.array([d.useful or d.speed * d.torque for d in demands])))
    ways = [way for way in tables_speed.ranked(found) if any(p.feasible for p in way.points)][:MOST_WAYS]
    return lines + [(way.title, np.array([_line_power(way, d) for d in demands])) for way in ways]


def _line_power(way: SpeedWayResult, demand: DutyPoint) -> float:
    point = next((p for p in way.points if p.duty.name == demand.name and p.feasible), None)
    return float("nan") if point is None else point.line_power


def process_words(found: SpeedResult, chart: ProcessChart) -> str:
    """What the figure shows, from the numbers."""
    parts = [f"Head and power of the {chart.machine} against flow. {_note(chart)}"]
    parts.append(f"Static head {show(chart.static_head, 'pu')} of rated head.")
    for demand, cube in zip(found.duty, chart.cube_law, strict=True):
        if demand.flow is None:
            continue
        told = [f"the process needs {show(demand.useful, 'W')}", f"the cube of the flow would be {show(cube, 'W')}"]
        for way in found.ways:
            point = next((p for p in way.points if p.duty.name == demand.name and p.feasible), None)
            if point is not None:
                told.append(f"{way.title} takes {show(point.line_power, 'W')} for {show(used(point), 'W')}")
        parts.append(f"Demand {demand.name} at {show(demand.flow, 'pu')} flow: {', '.join(told)}.")
    return " ".join(parts)

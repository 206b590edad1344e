"""Steady characteristics against speed: torque of every stage with the load, and the currents."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASH_DOT, DASHED, DOTTED, SOLID, Dash, Look, dash_of
from slipwise.present.figures.marks import JOINED, Mark, alike, drawable, marks_of, r_min
from slipwise.present.figures.scale import Divisions, apart, divide, matching, span
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.series import Array
from slipwise.results.start import Curves
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDE = (0.075, 0.115, 0.85, 0.70)  # place of the single panel
FEW = 3  # with more stages than this the currents get a figure of their own only


def torque_speed(result: StudyResult, way: WayResult, look: Look) -> Figure:
    """Torque of every stage (solid) and line current (dashed) against speed, with the load and the points that matter."""
    way = drawable(way)
    with canvas.drawing():
        title = f"{way.title}: torque and current against speed"
        note = f"{result.title}. Pale band: the path of this start." if way.run_ups else result.title
        figure = canvas.sheet(look, title, note)
        axes = canvas.panel(figure, look, WIDE)
        top = divide(*span([c.torque for c in way.curves] + [way.curves[0].load]))
        unit = display_unit([top.high], "N m")
        canvas.value_axis(axes, top, 1 / in_display(1.0, "N m", unit))
        canvas.name_above(axes, look, f"torque, {unit} (solid)")
        canvas.speed_axis(axes, look, float(r_min(result.synchronous_speed)), _lowest(way))
        labels = Labels(figure, look)
        _path(axes, way, look)
        for number, curve in enumerate(way.curves):
            pen = (look.colour(number), dash_of(number))
            _curve(axes, labels, look, (f"torque {number}", r_min(curve.speed), curve.torque), pen)
        _curve(axes, labels, look, ("load", r_min(way.curves[0].speed), way.curves[0].load), (look.palette.ink, SOLID))
        right = _currents_right(axes, labels, look, way, top) if len(way.curves) <= FEW else None
        marks = marks_of(way)
        for mark in marks:
            _point(axes, labels, look, mark)
        for mark in _joined(axes, look, marks):
            labels.at_point(axes, float(r_min(mark.speed)), mark.value, mark.words, look.colour(mark.stage))
        labels.on_curve(axes, "load", "load", look.palette.ink, prefer=0.45)
        for number, curve in enumerate(way.curves):
            name = f"{curve.stage}: torque" if right else curve.stage
            labels.on_curve(axes, f"torque {number}", name, look.colour(number), prefer=0.3)
            if right:
                labels.on_curve(right, f"current {number}", f"{curve.stage}: current", look.colour(number), prefer=0.25)
        canvas.describe(figure, title, torque_words(result, way))
        return figure


def current_speed(result: StudyResult, way: WayResult, look: Look) -> Figure:
    """Line, motor and winding current of every stage against speed, told apart by dash pattern."""
    way = drawable(way)
    with canvas.drawing():
        title = f"{way.title}: line, motor and winding current"
        figure = canvas.sheet(look, title, result.title)
        axes = canvas.panel(figure, look, WIDE)
        kinds = [_kinds(curve) for curve in way.curves]
        top = divide(0.0, max([result.rated_current] + [span([y for _, y, _ in several])[1] for several in kinds]))
        unit = display_unit([top.high], "A")
        canvas.value_axis(axes, top, 1 / in_display(1.0, "A", unit))
        canvas.name_above(axes, look, f"rms current, {unit}")
        canvas.speed_axis(axes, look, float(r_min(result.synchronous_speed)), _lowest(way))
        labels = Labels(figure, look)
        axes.axhline(result.rated_current, color=look.palette.quiet, linewidth=look.hair)
        rated_x = np.array(axes.get_xlim())
        labels.curve(axes, "rated", rated_x, np.full(2, result.rated_current))
        for number, (curve, several) in enumerate(zip(way.curves, kinds, strict=True)):
            for words, y, dash in several:
                _curve(axes, labels, look, (f"{number} {words}", r_min(curve.speed), y), (look.colour(number), dash))
        labels.on_curve(axes, "rated", f"rated {show(result.rated_current, 'A')}", look.palette.quiet, prefer=0.05)
        for number, (curve, several) in enumerate(zip(way.curves, kinds, strict=True)):
            for place, (words, _, _) in enumerate(several):
                labels.on_curve(
                    axes, f"{number} {words}", f"{curve.stage}: {words}", look.colour(number), 0.2 + 0.2 * place
                )
        canvas.describe(figure, title, current_words(way))
        return figure


def _kinds(curve: Curves) -> list[tuple[str, Array, Dash]]:
    """The currents that differ from each other, each with its dash pattern; those that coincide share one curve."""
    found: list[tuple[str, Array, Dash]] = [("line", curve.line_current, DASHED)]
    for words, y, dash in (("motor", curve.motor_current, DASH_DOT), ("winding", curve.winding_current, DOTTED)):
        same = next((n for n, (_, other, _) in enumerate(found) if alike(y, other)), None)
        if same is None:
            found.append((words, y, dash))
        else:
            found[same] = (f"{found[same][0].replace(JOINED, ', ')}{JOINED}{words}", *found[same][1:])
    return found


def _joined(axes: Axes, look: Look, marks: list[Mark]) -> list[Mark]:
    """Marks whose symbols fall on one another get one label between them."""
    found: list[Mark] = []
    for mark in marks:
        at = axes.transData.transform((float(r_min(mark.speed)), mark.value))
        spots = [axes.transData.transform((float(r_min(m.speed)), m.value)) for m in found]
        near = next((n for n, spot in enumerate(spots) if np.hypot(*(spot - at)) < 14 * look.scale), None)
        if near is None:
            found.append(mark)
        else:
            found[near] = replace(found[near], words=f"{mark.words}\n{found[near].words}")
    return found


def _curve(axes: Axes, labels: Labels, look: Look, named: tuple[str, Array, Array], pen: tuple[str, Dash]) -> None:
    (name, x, y), (colour, dash) = named, pen
    axes.plot(x, y, color=colour, linestyle=dash, linewidth=look.line, solid_capstyle="round", zorder=3)
    labels.curve(axes, name, x, y)


def _currents_right(axes: Axes, labels: Labels, look: Look, way: WayResult, left: Divisions) -> Axes:
    """Line current of each stage, dashed, on a right-hand axis that meets the same grid."""
    right = canvas.twin(axes, look)
    scale = matching(left, span([c.line_current for c in way.curves])[1])
    for curve in way.curves:
        scale = apart(curve.torque, left, curve.line_current, scale)
    unit = display_unit([scale.high], "A")
    canvas.value_axis(right, scale, 1 / in_display(1.0, "A", unit), hide_negative=True)
    canvas.name_above(right, look, f"line current, {unit} (dashed)", "right")
    for number, curve in enumerate(way.curves):
        right.plot(
            r_min(curve.speed),
            curve.line_current,
            color=look.colour(number),
            linestyle=DASHED,
            linewidth=look.line * 0.75,
        )
        labels.curve(right, f"current {number}", r_min(curve.speed), curve.line_current)
    return right


def _path(axes: Axes, way: WayResult, look: Look) -> None:
    """What the start runs through, as a broad pale band under the curves."""
    if way.run_ups:
        run = way.run_ups[0]
        axes.plot(
            r_min(run.speed),
            run.torque,
            color=look.palette.faint,
            linewidth=look.line * 4,
            zorder=1.5,
            solid_capstyle="round",
        )


def _point(axes: Axes, labels: Labels, look: Look, mark: Mark) -> None:
    colour = look.colour(mark.stage)
    axes.plot(
        [float(r_min(mark.speed))], [mark.value], mark.symbol, color=colour, markersize=9 * look.scale, clip_on=False,
        markerfacecolor=colour if mark.symbol == "o" else look.palette.paper, markeredgewidth=look.line * 0.7, zorder=5,
    )  # fmt: skip
    labels.point(axes, float(r_min(mark.speed)), mark.value)


def _lowest(way: WayResult) -> float:
    return float(r_min(min(0.0, *(float(c.speed[0]) for c in way.curves))))


def torque_words(result: StudyResult, way: WayResult) -> str:
    """What the torque figure shows, from the numbers."""
    way = drawable(way)
    parts = [
        f"Torque against speed from standstill to the synchronous {show(result.synchronous_speed, 'rad/s')}; "
        f"rated torque {show(result.rated_torque, 'N m')}."
    ]
    for curve in way.curves:
        top = int(np.argmax(curve.torque))
        first = f"{show(float(curve.torque[0]), 'N m')} and {show(float(curve.line_current[0]), 'A')} in the line"
        peak = f"{show(float(curve.torque[top]), 'N m')} at {show(float(curve.speed[top]), 'rad/s')}"
        begin = show(float(curve.speed[0]), "rad/s")
        parts.append(f"Stage {curve.stage}: {first} at {begin}, greatest torque {peak}.")
    load = way.curves[0].load
    parts.append(f"Load: {show(float(load[0]), 'N m')} at the start, {show(float(load[-1]), 'N m')} at the end.")
    parts += [f"Marked: {mark.words}." for mark in marks_of(way)]
    return " ".join(parts)


def current_words(way: WayResult) -> str:
    """What the current figure shows, from the numbers."""
    way = drawable(way)
    parts = ["Currents against speed."]
    for curve in way.curves:
        at_rest = ", ".join(f"{words} {show(float(y[0]), 'A')}" for words, y, _ in _kinds(curve))
        parts.append(f"Stage {curve.stage} at {show(float(curve.speed[0]), 'rad/s')}: {at_rest}.")
    return " ".join(parts)

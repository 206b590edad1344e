"""Steady characteristics against speed: torque of every stage with the load, and the currents."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASH_DOT, DASHED, DOTTED, SOLID, Dash, Look, dash_of
from slipwise.present.figures.scale import Divisions, apart, divide, matching, span
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.series import Array
from slipwise.results.start import Curves, Outcome, RunUp
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDE = (0.075, 0.115, 0.85, 0.70)  # place of the single panel
FEW = 3  # with more stages than this the currents get a figure of their own only


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A marked point of a characteristic: in rad/s and N m or A; symbol as the drawing library names it."""

    speed: float
    value: float
    words: str
    symbol: str
    stage: int


def r_min(speed: Array | float) -> Array:
    """Speeds as plotted. [r/min]"""
    return np.asarray(in_display(1.0, "rad/s", "r/min") * np.asarray(speed, dtype=float))


def torque_speed(result: StudyResult, way: WayResult, look: Look) -> Figure:
    """Torque of every stage (solid) and line current (dashed) against speed, with the load and the points that matter."""
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
        for mark in marks:
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
        same = next((n for n, (_, other, _) in enumerate(found) if _alike(y, other)), None)
        if same is None:
            found.append((words, y, dash))
        else:
            found[same] = (f"{found[same][0]} and {words}", *found[same][1:])
    return found


def _alike(first: Array, second: Array) -> bool:
    return bool(
        np.allclose(
            first, second, rtol=0.01, atol=0.005 * float(np.nanmax(np.abs(first), initial=1e-9)), equal_nan=True
        )
    )


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


def marks_of(way: WayResult) -> list[Mark]:
    """Where it runs or hangs, where stages change, where a stage alone would crawl, and the breakdown torque."""
    run = way.run_ups[0] if way.run_ups else None
    marks: list[Mark] = []
    last = len(way.curves) - 1
    if run is not None:
        marks += _end_mark(way, run, last) + _change_marks(way, run)
    peak = way.curves[last]
    top = int(np.argmax(peak.torque))
    speed, torque = float(peak.speed[top]), float(peak.torque[top])
    if 0 < top < len(peak.speed) - 1:
        marks.append(Mark(speed=speed, value=torque, words=f"breakdown {show(torque, 'N m')}", symbol="^", stage=last))
    return marks


def _end_mark(way: WayResult, run: RunUp, last: int) -> list[Mark]:
    names = [c.stage for c in way.curves]
    stage = names.index(run.stages[-1].name) if run.stages and run.stages[-1].name in names else last
    torque = float(np.interp(run.final_speed, way.curves[stage].speed, way.curves[stage].torque))
    speed = show(run.final_speed, "rad/s")
    words = {Outcome.ARRIVED: f"runs at {speed}", Outcome.HANGS: f"hangs at {speed}"}.get(
        run.outcome, str(run.outcome.value)
    )
    symbol = "o" if run.outcome is Outcome.ARRIVED else "s"
    return [Mark(speed=run.final_speed, value=torque, words=words, symbol=symbol, stage=stage)]


def _change_marks(way: WayResult, run: RunUp) -> list[Mark]:
    """Ends of the stages before the last, and the balance of torques a stage left alone would settle at."""
    marks = []
    ends = {m.name: m.end_speed for m in run.stages[:-1]}
    for number, curve in enumerate(way.curves[:-1]):
        if curve.stage not in ends:
            continue
        speed = ends[curve.stage]
        torque = float(np.interp(speed, curve.speed, curve.torque))
        marks.append(
            Mark(
                speed=speed,
                value=torque,
                words=f"leaves {curve.stage} at {show(speed, 'rad/s')}",
                symbol="D",
                stage=number,
            )
        )
        crawl = crossing(curve)
        if crawl is not None and crawl < 0.97 * run.final_speed:
            value = float(np.interp(crawl, curve.speed, curve.load))
            words = f"{curve.stage} alone hangs at {show(crawl, 'rad/s')}"
            marks.append(Mark(speed=crawl, value=value, words=words, symbol="s", stage=number))
    return marks[:4]


def crossing(curve: Curves) -> float | None:
    """The first speed at which torque falls to the load's, read off the curve; None if it never does. [rad/s]"""
    net = curve.torque - curve.load
    falls = np.flatnonzero((net[:-1] > 0) & (net[1:] <= 0))
    if not len(falls):
        return None
    n = int(falls[0])
    share = float(net[n] / (net[n] - net[n + 1]))
    return float(curve.speed[n] + share * (curve.speed[n + 1] - curve.speed[n]))


def torque_words(result: StudyResult, way: WayResult) -> str:
    """What the torque figure shows, from the numbers."""
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
    parts = ["Currents against speed."]
    for curve in way.curves:
        at_rest = ", ".join(f"{words} {show(float(y[0]), 'A')}" for words, y, _ in _kinds(curve))
        parts.append(f"Stage {curve.stage} at {show(float(curve.speed[0]), 'rad/s')}: {at_rest}.")
    return " ".join(parts)

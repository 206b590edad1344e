"""Stops in pictures: all ways over one time axis; of one way speed, torque and current, and the braking characteristic."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipwise.present import tables_stopping
from slipwise.present.figures import canvas, transient
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, SOLID, Look, dash_of
from slipwise.present.figures.marks import r_min
from slipwise.present.figures.run_up import PLACES, curve, mark_stages
from slipwise.present.figures.scale import apart, divide, matching, span
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.criteria import Status
from slipwise.results.start import Transient
from slipwise.results.stopping import Stop, StoppingResult, StopWayResult
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WHOLE = (0.085, 0.115, 0.885, 0.70)
WIDE = (0.075, 0.115, 0.85, 0.70)
AROUND = (0.03, 0.22)  # shown before and after the braking stage comes on, s
ROOM = 1.15  # beyond the slowest stop shown
SLOW = 8.0  # times the quickest stop: what takes longer is cut off at the end of the axis
MOST = 6  # ways in one picture
ABOVE = 0.4  # of the greatest braking torque: what the torque axis shows above zero at least


def all_ways(result: StudyResult, found: StoppingResult, look: Look) -> Figure:
    """Speed against time of every way that this motor can have, nominal case, named on the curves."""
    title = "Ways of stopping"
    with canvas.drawing():
        ways = _shown(found)
        end = _window(found)
        figure = canvas.sheet(look, title, f"{result.title}. Nominal case, running {found.direction}.")
        axes = canvas.panel(figure, look, WHOLE)
        canvas.time_axis(axes, look, (0.0, end))
        canvas.value_axis(axes, divide(*span([r_min(way.stops[0].run.speed) for way in ways]), 3, 5))
        canvas.name_above(axes, look, "speed, r/min")
        labels = Labels(figure, look)
        for number, way in enumerate(ways):
            run = way.stops[0].run
            kept = run.time <= min(end, way.stops[0].stop_time or end)
            pen = (look.colour(number), dash_of(number), 1.0)
            curve(axes, labels, look, (way.key, run.time[kept], r_min(run.speed[kept])), pen)
        for number, way in enumerate(ways):
            words = f"{way.title}: {tables_stopping.time_text(way.stops[0])}"
            labels.on_curve(axes, way.key, words, look.colour(number), prefer=0.25 + 0.12 * number)
        canvas.describe(figure, title, all_words(found))
        return figure


def _shown(found: StoppingResult) -> list[StopWayResult]:
    """Those that could be computed; two that run alike (either inverter) are drawn once."""
    kept: list[StopWayResult] = []
    for way in tables_stopping.ranked(found):
        if way.stops and not any(_alike(way, other) for other in kept):
            kept.append(way)
    return kept[:MOST]


def _alike(one: StopWayResult, other: StopWayResult) -> bool:
    a, b = one.stops[0].stop_time, other.stops[0].stop_time
    return a is not None and b is not None and abs(a - b) < 1e-3 * max(a, b)


def _window(found: StoppingResult) -> float:
    """Time shown: all stops that pass, none more than SLOW times the quickest. [s]"""
    times = [w.stops[0].stop_time for w in found.ways if w.stops and w.verdict.status is not Status.FAILS]
    known = [t for t in times if t is not None]
    if not known:
        known = [float(w.stops[0].run.time[-1]) for w in found.ways if w.stops]
    return ROOM * min(max(known), SLOW * min(known))


def all_words(found: StoppingResult) -> str:
    """What the picture shows, from the numbers."""
    parts = [tables_stopping.verdict_sentence(found)]
    parts += [f"{way.title}: {tables_stopping.time_text(way.stops[0])}." for way in found.ways if way.stops]
    return " ".join(parts)


def stop(result: StudyResult, way: StopWayResult, look: Look) -> Figure:
    """Speed, torque and current of the nominal stop over time; the speed of the slowest other case thin."""
    title = f"{way.title}: the stop"
    with canvas.drawing():
        nominal = way.stops[0]
        run = nominal.run
        figure = canvas.sheet(look, title, f"{result.title}. Nominal case: {_ended(nominal)}.")
        panels = [canvas.panel(figure, look, place) for place in PLACES]
        other = max(way.stops[1:], key=lambda s: s.stop_time or 0.0, default=None)
        end = 1.02 * max(float(run.time[-1]), min(other.stop_time or 0.0, 3 * float(run.time[-1])) if other else 0.0)
        for axes in panels:
            canvas.time_axis(axes, look, (0.0, end), label=axes is panels[-1])
        labels = Labels(figure, look)
        mark_stages(panels, look, run.stages, labels)
        _speed(panels[0], labels, look, nominal, other)
        _torque(panels[1], labels, look, nominal)
        _current(panels[2], labels, look, nominal)
        canvas.describe(figure, title, stop_words(way))
        return figure


def _speed(axes: Axes, labels: Labels, look: Look, nominal: Stop, other: Stop | None) -> None:
    runs = [nominal.run] if other is None else [nominal.run, other.run]
    canvas.value_axis(axes, divide(*span([r_min(run.speed) for run in runs]), 3, 4))
    canvas.name_above(axes, look, "speed, r/min", rows=1)
    if other is not None:
        pen = (look.palette.quiet, SOLID, 0.5)
        curve(axes, labels, look, (other.case, other.run.time, r_min(other.run.speed)), pen)
    pen = (look.colour(0), SOLID, 1.0)
    curve(axes, labels, look, ("nominal", nominal.run.time, r_min(nominal.run.speed)), pen)
    words = f"{tables_stopping.time_text(nominal)}, {show(nominal.turns, '')} turns"
    labels.on_curve(axes, "nominal", words, look.colour(0), prefer=0.35)
    if other is not None:
        words = f"{other.case}: {tables_stopping.time_text(other)}"
        labels.on_curve(axes, other.case, words, look.palette.quiet, prefer=0.7)


def _torque(axes: Axes, labels: Labels, look: Look, nominal: Stop) -> None:
    run = nominal.run
    scale = divide(*span([run.torque, run.load]), 2, 4)
    unit = display_unit([max(scale.high, -scale.low)], "N m")
    canvas.value_axis(axes, scale, 1 / in_display(1.0, "N m", unit))
    canvas.name_above(axes, look, f"torque, {unit}, steady")
    curve(axes, labels, look, ("load", run.time, run.load), (look.palette.ink, SOLID, 0.6))
    curve(axes, labels, look, ("torque", run.time, run.torque), (look.colour(2), SOLID, 1.0))
    labels.on_curve(axes, "torque", f"motor, to {show(-nominal.braking_torque, 'N m')}", look.colour(2), prefer=0.4)
    labels.on_curve(axes, "load", "load", look.palette.ink, prefer=0.15)


def _current(axes: Axes, labels: Labels, look: Look, nominal: Stop) -> None:
    run = nominal.run
    scale = divide(0.0, span([run.motor_current])[1], 2, 4)
    unit = display_unit([scale.high], "A")
    canvas.value_axis(axes, scale, 1 / in_display(1.0, "A", unit))
    canvas.name_above(axes, look, f"motor current, {unit} (rms, or direct)")
    curve(axes, labels, look, ("current", run.time, run.motor_current), (look.colour(1), DASHED, 1.0))
    words = f"up to {show(float(run.motor_current.max()), 'A')}"
    labels.on_curve(axes, "current", words, look.colour(1), prefer=0.4)


def _ended(stop: Stop) -> str:
    if stop.stop_time is None:
        return tables_stopping.time_text(stop)
    return f"all but at rest after {show(stop.stop_time, 's')}"


def stop_words(way: StopWayResult) -> str:
    """What the picture of one stop shows, from the numbers."""
    parts = [f"{stop.case} case: {_ended(stop)}, {show(stop.turns, '')} turns." for stop in way.stops]
    for mark in way.stops[0].run.stages:
        end = show(mark.end_speed, "rad/s")
        parts.append(
            f"Stage {mark.name} from {show(mark.begin, 's')} to {show(mark.end, 's')}, to {end} ({mark.reason})."
        )
    greatest = way.stops[0]
    parts.append(
        f"Greatest braking torque {show(greatest.braking_torque, 'N m')}, current {show(greatest.line_current, 'A')}."
    )
    return " ".join(parts)


def braking(result: StudyResult, way: StopWayResult, look: Look) -> Figure:
    """Torque (solid) and motor current (dashed) of every braking stage against speed, with the load and the path."""
    title = f"{way.title}: torque and current against speed"
    with canvas.drawing():
        ramp = " The voltage ramp at its end." if any(c.stage == "voltage ramp" for c in way.curves) else ""
        note = f"{result.title}. Below zero the motor brakes. Pale band: the path of this stop.{ramp}"
        figure = canvas.sheet(look, title, note)
        axes = canvas.panel(figure, look, WIDE)
        curves, run = way.curves, way.stops[0].run
        room = np.array([0.0, -ABOVE * min(float(c.torque.min()) for c in curves)])  # for the currents, above zero
        scale = divide(*span([c.torque for c in curves] + [curves[0].load, room]))
        unit = display_unit([max(scale.high, -scale.low)], "N m")
        canvas.value_axis(axes, scale, 1 / in_display(1.0, "N m", unit))
        canvas.name_above(axes, look, f"torque, {unit} (solid)")
        top = max(float(c.speed[-1]) for c in curves)
        canvas.speed_axis(axes, look, float(r_min(top)), 0.0)
        if top > 1.001 * result.synchronous_speed:
            axes.set_xlabel("speed, r/min", size=look.text, color=look.palette.ink)
        labels = Labels(figure, look)
        axes.plot(
            r_min(run.speed), run.torque, color=look.palette.faint, linewidth=look.line * 4, zorder=1.5,
            solid_capstyle="round",
        )  # fmt: skip
        right = canvas.twin(axes, look)
        amps = matching(scale, span([c.motor_current for c in curves])[1])
        for c in curves:
            amps = apart(c.torque, scale, c.motor_current, amps)
        canvas.value_axis(right, amps, hide_negative=True)
        canvas.name_above(right, look, "motor current, A (dashed)", "right")
        curve(axes, labels, look, ("load", r_min(curves[0].speed), curves[0].load), (look.palette.ink, SOLID, 0.6))
        for number, c in enumerate(curves):
            curve(axes, labels, look, (c.stage, r_min(c.speed), c.torque), (look.colour(number), SOLID, 1.0))
            pen = (look.colour(number), DASHED, 0.75)
            curve(right, labels, look, (f"{c.stage} current", r_min(c.speed), c.motor_current), pen)
        labels.on_curve(axes, "load", "load", look.palette.ink, prefer=0.8)
        for number, c in enumerate(curves):
            labels.on_curve(axes, c.stage, f"{c.stage}: torque", look.colour(number), prefer=0.5)
            labels.on_curve(right, f"{c.stage} current", f"{c.stage}: current", look.colour(number), prefer=0.3)
        canvas.describe(figure, title, braking_words(way))
        return figure


def braking_words(way: StopWayResult) -> str:
    """What the characteristic shows, from the numbers."""
    parts = []
    for c in way.curves:
        at = int(np.argmin(c.torque))
        parts.append(
            f"Stage {c.stage}: {show(float(c.torque[-1]), 'N m')} and {show(float(c.motor_current[-1]), 'A')} at "
            f"{show(float(c.speed[-1]), 'rad/s')}, greatest braking {show(-float(c.torque[at]), 'N m')} at "
            f"{show(float(c.speed[at]), 'rad/s')}."
        )
    return " ".join(parts)


def stop_transient(result: StudyResult, way: StopWayResult, look: Look) -> Figure:
    """The electrical transient of the stop, the first moments of braking enlarged."""
    return transient.transient(result, way, look, zoom=_braking_comes_on)


def _braking_comes_on(worst: Transient) -> tuple[tuple[float, float], str]:
    """The begin of the stage with the greatest torque magnitude, and what it is called."""
    pairs = zip(worst.stages, worst.stage_peaks, strict=True)
    mark, _ = max(pairs, key=lambda pair: max(pair[1].torque_max, -pair[1].torque_min))
    begin = max(0.0, mark.begin - AROUND[0])
    return (begin, min(float(worst.time[-1]), mark.begin + AROUND[1])), f"{mark.name} comes on, enlarged"

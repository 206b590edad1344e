"""The change between two fixed speeds in time: torque, speed and line current, with the pause between."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, SOLID, Look
from slipwise.present.figures.marks import r_min
from slipwise.present.figures.run_up import PLACES, curve, mark_stages
from slipwise.present.figures.scale import divide, span
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.changeover import Changeover
from slipwise.results.speed import SpeedWayResult
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def changeover(result: StudyResult, way: SpeedWayResult, found: Changeover, look: Look) -> Figure:
    """One change of speed from switching off to the new steady speed; torque below zero brakes."""
    title = f"{way.title}: {found.title[0].lower()}{found.title[1:]}"
    run = found.run
    with canvas.drawing():
        figure = canvas.sheet(look, title, f"{result.title}. {outcome(found)}")
        torque, speed, current = (canvas.panel(figure, look, place) for place in PLACES)
        for axes in (torque, speed, current):
            canvas.time_axis(axes, look, (float(run.time[0]), float(run.time[-1])), label=axes is current)
        labels = Labels(figure, look)
        mark_stages((torque, speed, current), look, run.stages, labels)
        _torque(torque, labels, look, found)
        _speed(speed, labels, look, found)
        _current(current, labels, look, found)
        canvas.describe(figure, title, change_words(found))
        return figure


def outcome(found: Changeover) -> str:
    """The pause, and what comes back to the line."""
    words = f"Pause {show(found.pause, 's')}, current back at {show(found.switched_at, 'rad/s')}"
    return f"{words}; {show(found.returned, 'J')} given back to the line." if found.returned > 0 else f"{words}."


def _torque(axes: Axes, labels: Labels, look: Look, found: Changeover) -> None:
    run = found.run
    scale = divide(*span([run.torque, run.load]), 3, 4)
    unit = display_unit([scale.high, scale.low], "N m")
    canvas.value_axis(axes, scale, 1 / in_display(1.0, "N m", unit))
    canvas.name_above(axes, look, f"torque, {unit}", rows=1)
    curve(axes, labels, look, ("load", run.time, run.load), (look.palette.ink, SOLID, 0.5))
    curve(axes, labels, look, ("motor", run.time, run.torque), (look.colour(0), SOLID, 1.0))
    at = run.time[int(np.argmin(np.abs(run.torque - found.extreme_torque)))]
    labels.point(axes, float(at), found.extreme_torque)
    word = "brakes with" if found.extreme_torque < 0 else "drives with"
    labels.at_point(
        axes, float(at), found.extreme_torque, f"{word} {show(abs(found.extreme_torque), 'N m')}", look.colour(0)
    )
    labels.on_curve(axes, "load", "load", look.palette.ink, prefer=0.8)


def _speed(axes: Axes, labels: Labels, look: Look, found: Changeover) -> None:
    run = found.run
    canvas.value_axis(axes, divide(*span([r_min(run.speed)]), 2, 4))
    canvas.name_above(axes, look, "speed, r/min")
    curve(axes, labels, look, ("speed", run.time, r_min(run.speed)), (look.colour(2), SOLID, 1.0))
    words = f"{show(float(run.speed[0]), 'rad/s')} to {show(run.final_speed, 'rad/s')}"
    labels.on_curve(axes, "speed", words, look.colour(2), prefer=0.5)


def _current(axes: Axes, labels: Labels, look: Look, found: Changeover) -> None:
    run = found.run
    scale = divide(0.0, span([run.line_current])[1], 2, 4)
    unit = display_unit([scale.high], "A")
    canvas.value_axis(axes, scale, 1 / in_display(1.0, "A", unit))
    canvas.name_above(axes, look, f"line current, {unit} rms")
    curve(axes, labels, look, ("line", run.time, run.line_current), (look.colour(1), DASHED, 1.0))
    words = f"up to {show(float(np.nanmax(run.line_current)), 'A')}"
    labels.on_curve(axes, "line", words, look.colour(1), prefer=0.5)


def change_words(found: Changeover) -> str:
    """What the change shows, from the numbers."""
    run = found.run
    extreme = f"{show(found.extreme_torque, 'N m')} at {show(found.extreme_speed, 'rad/s')}"
    return (
        f"{found.title}: from {show(float(run.speed[0]), 'rad/s')} on {found.from_poles} poles to "
        f"{show(run.final_speed, 'rad/s')} on {found.to_poles} poles in {show(float(run.time[-1]), 's')}. "
        f"{outcome(found)} Greatest torque after the pause {extreme}, greatest line current "
        f"{show(float(np.nanmax(run.line_current)), 'A')}."
    )

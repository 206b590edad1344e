"""The cycle that a running motor repeats: torque of load and motor, speed, and line current over one period."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, SOLID, Look
from slipwise.present.figures.marks import r_min
from slipwise.present.figures.run_up import PLACES, curve
from slipwise.present.figures.scale import divide, round_up, span
from slipwise.present.tables_duty import duty_sentence
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.duty import DutyCycle
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def duty(result: StudyResult, look: Look) -> Figure:
    """One period of the settled cycle. Raises ValueError when the study has none."""
    found = result.duty
    if found is None:
        raise ValueError("the study has no duty cycle")
    title = "The duty cycle"
    with canvas.drawing():
        figure = canvas.sheet(look, title, f"{result.title}. Settled cycle: it ends at the speed it began with.")
        torque, speed, current = (canvas.panel(figure, look, place) for place in PLACES)
        for axes in (torque, speed, current):
            canvas.time_axis(axes, look, (0.0, found.period), label=axes is current)
        labels = Labels(figure, look)
        _torque(torque, labels, look, found)
        _speed(speed, labels, look, found)
        _current(current, labels, look, (result.rated_current, found))
        canvas.describe(figure, title, duty_sentence(result))
        return figure


def _torque(axes: Axes, labels: Labels, look: Look, found: DutyCycle) -> None:
    scale = divide(*span([found.torque, found.load, np.zeros(1)]), 3, 4)
    unit = display_unit([scale.high], "N m")
    canvas.value_axis(axes, scale, 1 / in_display(1.0, "N m", unit))
    canvas.name_above(axes, look, f"torque, {unit}")
    curve(axes, labels, look, ("load", found.time, found.load), (look.palette.ink, SOLID, 0.5))
    curve(axes, labels, look, ("motor", found.time, found.torque), (look.colour(0), SOLID, 1.0))
    labels.on_curve(axes, "motor", f"motor, up to {show(found.peak_torque, 'N m')}", look.colour(0), prefer=0.6)
    labels.on_curve(axes, "load", f"load, up to {show(float(found.load.max()), 'N m')}", look.palette.ink, prefer=0.1)


def _speed(axes: Axes, labels: Labels, look: Look, found: DutyCycle) -> None:
    """The axis does not begin at zero and says so."""
    low, high = (float(r_min(speed)) for speed in (found.lowest_speed, found.highest_speed))
    step = round_up(max(high - low, 1e-3 * high) / 3)
    bottom, top = np.floor(low / step) * step, np.ceil(high / step + 1e-9) * step
    ticks = np.arange(bottom, top + step / 2, step)
    axes.set_ylim(bottom, top)
    axes.set_yticks(ticks, [canvas.tick_text(round(float(t), 6)) for t in ticks])
    canvas.name_above(axes, look, "speed, r/min (axis cut)")
    curve(axes, labels, look, ("speed", found.time, r_min(found.speed)), (look.colour(2), SOLID, 1.0))
    words = f"{show(found.lowest_speed, 'rad/s')} to {show(found.highest_speed, 'rad/s')}"
    labels.on_curve(axes, "speed", words, look.colour(2), prefer=0.5)


def _current(axes: Axes, labels: Labels, look: Look, data: tuple[float, DutyCycle]) -> None:
    rated, found = data
    scale = divide(0.0, max(span([found.line_current])[1], rated), 2, 4)
    unit = display_unit([scale.high], "A")
    canvas.value_axis(axes, scale, 1 / in_display(1.0, "A", unit))
    canvas.name_above(axes, look, f"line current, {unit} rms")
    curve(axes, labels, look, ("line", found.time, found.line_current), (look.colour(1), DASHED, 1.0))
    level = np.full(2, rated)
    curve(axes, labels, look, ("rated", np.array([0.0, found.period]), level), (look.palette.quiet, SOLID, 0.5))
    labels.on_curve(axes, "line", f"{show(found.rms_current, 'A')} rms over the cycle", look.colour(1), prefer=0.5)
    labels.on_curve(axes, "rated", f"rated {show(rated, 'A')}", look.palette.quiet, prefer=0.9)

"""Heat in pictures: the thermal limit with the start laid over it, temperatures of starts, stall time, own fan."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, SOLID, Look, dash_of
from slipwise.present.figures.run_up import LEFT, WIDTH, curve
from slipwise.present.figures.scale import divide, span
from slipwise.present.tables_heat import starts_note
from slipwise.quantity.show import show
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WHOLE = (LEFT, 0.13, WIDTH, 0.66)
FASTEST, SLOWEST = 0.1, 1e4  # s shown


def limit(result: StudyResult, way: WayResult, look: Look) -> Figure:
    """Current across, time up, both logarithmic: limits hot and cold, and the current of the nominal start."""
    heat = result.heat
    if heat is None:
        raise ValueError("the study has no thermal limits")
    title = f"{way.title}: start against the thermal limit"
    with canvas.drawing():
        figure = canvas.sheet(look, title, f"{result.title}. Form of IEEE 620; nominal case.")
        axes = canvas.panel(figure, look, WHOLE)
        rated = result.rated_current
        _log_axes(axes, look, [float(c.current.max()) / rated for c in heat.limits])
        labels = Labels(figure, look)
        for part in heat.limits:
            pen = (look.colour(0 if part.state == "hot" else 1), SOLID if part.state == "hot" else DASHED, 0.9)
            kept = np.isfinite(part.seconds) & (part.seconds > 0)
            curve(axes, labels, look, (part.label, part.current[kept] / rated, part.seconds[kept]), pen)
        for state, number, place in (("hot", 0, 0.3), ("cold", 1, 0.5)):
            labels.on_curve(axes, f"running {state}", f"limit from {state}", look.colour(number), prefer=place)
            labels.on_curve(axes, f"locked rotor {state}", f"locked rotor, {state}", look.colour(number), prefer=0.5)
        run = way.run_ups[0]
        shown = run.time >= FASTEST
        start = ("start", run.motor_current[shown] / rated, run.time[shown])
        curve(axes, labels, look, start, (look.colour(2), SOLID, 1.2))
        labels.on_curve(axes, "start", f"start, run-up {show(run.run_up_time, 's')}", look.colour(2), prefer=0.3)
        canvas.describe(figure, title, limit_words(result, way))
        return figure


def limit_words(result: StudyResult, way: WayResult) -> str:
    """What the figure shows, from the numbers."""
    heat = result.heat
    if heat is None:
        return ""
    hot, cold = (float(np.interp(1.0, heat.stall.voltage, v)) for v in (heat.stall.hot, heat.stall.cold))
    return (
        f"At rated voltage the rotor may stand {show(hot, 's')} from hot and {show(cold, 's')} from cold; the start takes "
        f"{show(way.run_ups[0].run_up_time, 's')} at up to "
        f"{show(float(way.run_ups[0].motor_current.max()) / result.rated_current, '')} times rated current."
    )


def _log_axes(axes: Axes, look: Look, most: list[float]) -> None:
    from matplotlib.ticker import NullLocator

    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlim(0.9, max(most) * 1.1)
    axes.set_ylim(FASTEST, SLOWEST)
    across = [n for n in (1, 1.5, 2, 3, 4, 5, 6, 8, 10) if n < max(most) * 1.1]
    axes.set_xticks(across, [canvas.tick_text(float(n)) for n in across])
    up = [0.1, 1, 10, 100, 1000, 10000]
    axes.set_yticks(up, [canvas.tick_text(float(n)) for n in up])
    axes.xaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_minor_locator(NullLocator())
    axes.set_xlabel("motor current, of rated", size=look.text, color=look.palette.ink)
    canvas.name_above(axes, look, "time, s")


def starts(result: StudyResult, way: WayResult, look: Look) -> Figure:
    """Winding, rotor, iron and frame over the starts in a row and the cooling after them."""
    heat = way.heat
    if heat is None:
        raise ValueError("the study has no temperatures of this way")
    title = f"{way.title}: starts in a row"
    trace = heat.starts
    with canvas.drawing():
        figure = canvas.sheet(look, title, f"{result.title}. From ambient, nominal case.")
        axes = canvas.panel(figure, look, WHOLE)
        canvas.time_axis(axes, look, (0.0, float(trace.time[-1])))
        canvas.value_axis(axes, divide(*span(list(trace.temperature)), 3, 5))
        canvas.name_above(axes, look, "temperature, °C")
        labels = Labels(figure, look)
        for number, (name, row) in enumerate(zip(trace.bodies, trace.temperature, strict=True)):
            curve(axes, labels, look, (name, trace.time, row), (look.colour(number), dash_of(number), 1.0))
        for number, (name, row) in enumerate(zip(trace.bodies, trace.temperature, strict=True)):
            words = f"{name}, up to {show(float(row.max()), 'degC')}"
            labels.on_curve(axes, name, words, look.colour(number), prefer=0.2 + 0.2 * number)
        canvas.describe(figure, title, starts_note(heat))
        return figure


def stall(result: StudyResult, look: Look) -> Figure:
    """Stall time over voltage, and steady torque over speed with either fan, side by side."""
    heat = result.heat
    if heat is None:
        raise ValueError("the study has no thermal limits")
    title = "Safe stall time, and torque at low speed"
    with canvas.drawing():
        figure = canvas.sheet(look, title, f"{result.title}. From the thermal network of the motor.")
        left = canvas.panel(figure, look, (LEFT, 0.13, 0.40, 0.66))
        right = canvas.panel(figure, look, (0.57, 0.13, 0.40, 0.66))
        labels = Labels(figure, look)
        one = (
            (heat.stall.voltage, (("hot", heat.stall.hot), ("cold", heat.stall.cold))),
            "stall time, s",
            "voltage, of rated",
        )
        two = (
            (heat.fan.speed, (("own fan", heat.fan.own_fan), ("forced", heat.fan.forced))),
            "torque, of rated",
            "speed, of rated",
        )
        for axes, ((x, curves), above, below) in ((left, one), (right, two)):
            axes.set_xlim(float(x[0]), float(x[-1]))
            ticks = np.round(np.linspace(0.2, 1.0, 5), 1)
            ticks = ticks[(ticks >= x[0]) & (ticks <= x[-1])]
            axes.set_xticks(ticks, [canvas.tick_text(float(t)) for t in ticks])
            axes.set_xlabel(below, size=look.text, color=look.palette.ink)
            canvas.value_axis(axes, divide(0.0, max(float(np.max(y[np.isfinite(y)])) for _, y in curves), 3, 5))
            canvas.name_above(axes, look, above)
            for number, (name, y) in enumerate(curves):
                curve(axes, labels, look, (name, x, y), (look.colour(number), dash_of(number), 1.0))
            for number, (name, _) in enumerate(curves):
                labels.on_curve(axes, name, name, look.colour(number), prefer=0.3 + 0.3 * number)
        canvas.describe(figure, title, stall_words(result))
        return figure


def stall_words(result: StudyResult) -> str:
    """Both panels in words."""
    heat = result.heat
    if heat is None:
        return ""
    hot, low = (float(np.interp(v, heat.stall.voltage, heat.stall.hot)) for v in (1.0, 0.8))
    own = float(np.interp(0.25, heat.fan.speed, heat.fan.own_fan))
    return (
        f"From hot the rotor may stand {show(hot, 's')} at rated voltage and {show(low, 's')} at 80 % of it. At a quarter of "
        f"rated speed the motor's own fan leaves {show(own, 'pu')} of rated torque."
    )

"""Figures of a recorded start: the fit over the recording with what is left, joint region, load torque, predicted band."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, SOLID, Look
from slipwise.present.figures.marks import r_min
from slipwise.present.figures.run_up import curve
from slipwise.present.figures.scale import Divisions, divide, round_up, span
from slipwise.quantity.show import show
from slipwise.results.recording import CoastDownResult, Commissioning, Deviation, RecordingResult, Trace
from slipwise.results.series import Array

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LEFT, WIDTH = 0.085, 0.885
ROWS = ((LEFT, 0.585, WIDTH, 0.215), (LEFT, 0.335, WIDTH, 0.17), (LEFT, 0.105, WIDTH, 0.15))
ONE = (0.09, 0.13, 0.86, 0.67)
DOTS = 1500  # measured points drawn at most


def fit(found: RecordingResult, look: Look) -> Figure:
    """Current and speed as recorded with the fit laid over, and the residuals over their noise below."""
    with canvas.drawing():
        title = "Recorded start and fit"
        figure = canvas.sheet(look, title, f"{found.source}. Dots: recorded; lines: fitted.")
        panels = [canvas.panel(figure, look, place) for place in ROWS]
        labels = Labels(figure, look)
        end = float(found.speed_time[-1])
        for axes in panels:
            canvas.time_axis(axes, look, (0.0, end), label=axes is panels[-1])
        measured, fitted = currents(found)
        _laid(panels[0], labels, look, (found.speed_time, measured, fitted), 0)
        canvas.name_above(panels[0], look, "line current, length of the space vector / √2, A")
        speed = next((trace for trace in found.traces if trace.name == "speed"), None)
        recorded = np.full_like(found.speed, np.nan) if speed is None else speed.measured
        _laid(panels[1], labels, look, (found.speed_time, r_min(recorded), r_min(found.speed)), 1)
        reach = 1.96 * found.speed_error
        panels[1].fill_between(
            found.speed_time,
            r_min(found.speed - reach),
            r_min(found.speed + reach),
            color=look.colour(1),
            alpha=0.25,
            lw=0,
        )
        word = "speed, r/min" if speed is not None else "speed, r/min (not recorded: from the fit, with its 95 % band)"
        canvas.name_above(panels[1], look, word)
        _residuals(panels[2], labels, look, found)
        canvas.describe(figure, title, fit_words(found))
        return figure


def currents(found: RecordingResult) -> tuple[Array, Array]:
    """Recorded and fitted length of the current's space vector over root two, A."""
    rows = [trace for trace in found.traces if trace.name.startswith("current")]
    measured = np.sqrt(sum(trace.measured**2 for trace in rows) / 2)
    fitted = np.sqrt(sum(trace.fitted**2 for trace in rows) / 2)
    return np.asarray(measured), np.asarray(fitted)


def _laid(axes: Axes, labels: Labels, look: Look, data: tuple[Array, Array, Array], colour: int) -> None:
    time, measured, fitted = data
    canvas.value_axis(axes, divide(*span([measured, fitted]), 3, 5))
    some = slice(None, None, max(1, time.size // DOTS))
    axes.plot(
        time[some],
        measured[some],
        ".",
        color=look.palette.quiet,
        markersize=2.2 * look.scale,
        zorder=2,
        rasterized=False,
    )
    curve(axes, labels, look, ("fit", time, fitted), (look.colour(colour), SOLID, 0.7))


def _residuals(axes: Axes, labels: Labels, look: Look, found: RecordingResult) -> None:
    """Means of the residuals over many pieces, over the noise such a mean would have: within 2 when noise explains all."""
    top = 3.0
    lines = []
    for trace in found.traces:
        time, level = pieces(trace)
        lines.append((trace, time, level))
        top = max(top, float(np.nanmax(np.abs(level))))
    canvas.value_axis(axes, _even(top))
    axes.axhspan(-2, 2, color=look.palette.wash, zorder=0.5, linewidth=0)
    for number, (trace, time, level) in enumerate(lines):
        axes.plot(time, level, color=look.colour(number), linewidth=look.line * 0.5, zorder=3)
        labels.curve(axes, trace.name, time, level)
    for number, (trace, _, _) in enumerate(lines):
        labels.on_curve(axes, trace.name, trace.name.partition(",")[0], look.colour(number), prefer=0.3 + 0.25 * number)
    canvas.name_above(
        axes,
        look,
        "what is left, means over noise (shaded: its own noise alone; that of the voltage adds to the currents)",
    )


def _even(top: float) -> Divisions:
    step = round_up(top / 2)
    return Divisions(step=step, below=2, above=2)


def pieces(trace: Trace, count: int = 120) -> tuple[Array, Array]:
    """Middle times of `count` pieces, and means of the residual in them over the noise of such a mean."""
    many = max(1, trace.time.size // count)
    blocks = trace.time.size // many
    left = (trace.fitted - trace.measured)[: blocks * many].reshape(blocks, many)
    known = np.isfinite(left)
    number = np.maximum(known.sum(axis=1), 1)
    mean = np.where(known, left, 0.0).sum(axis=1) / number
    return trace.time[: blocks * many].reshape(blocks, many).mean(axis=1), mean * np.sqrt(number) / trace.noise


def joint_region(found: RecordingResult, look: Look) -> Figure:
    """Inertia and load torque together: the ellipse that holds both at 95 %."""
    region = found.region
    with canvas.drawing():
        title = "Inertia and load torque together"
        note = f"95 % region; correlation {region.correlation:.2f}. Any pair inside agrees with the recording."
        figure = canvas.sheet(look, title, note)
        axes = canvas.panel(figure, look, ONE)
        x, y = region.outline
        axes.fill(x, y, color=look.palette.wash, zorder=1)
        axes.plot(x, y, color=look.colour(0), linewidth=look.line, zorder=3)
        axes.plot(
            [region.centre[0]], [region.centre[1]], "o", color=look.colour(0), markersize=7 * look.scale, zorder=4
        )
        for values, limits in ((x, axes.set_xlim), (y, axes.set_ylim)):
            margin = 0.35 * float(np.ptp(values))
            limits(float(values.min()) - margin, float(values.max()) + margin)
        labels = Labels(figure, look)
        labels.curve(axes, "region", x, y)
        words = f"{show(float(region.centre[0]), region.units[0])}, {show(float(region.centre[1]), region.units[1])}"
        labels.at_point(axes, float(region.centre[0]), float(region.centre[1]), words, look.colour(0))
        axes.set_xlabel(f"{region.names[0]}, kg m²", size=look.text, color=look.palette.ink)
        canvas.name_above(axes, look, f"{region.names[1]}, N m")
        canvas.describe(figure, title, region_words(found))
        return figure


def load_torque(found: RecordingResult, look: Look) -> Figure:
    """Resisting torque over speed with its 95 % band."""
    with canvas.drawing():
        title = "Resisting torque at the shaft"
        figure = canvas.sheet(look, title, "Fitted law with its 95 % band; friction and windage are counted in.")
        axes = canvas.panel(figure, look, ONE)
        band = (found.load_low, found.load_high)
        _over_speed(axes, look, r_min(found.load_speed), (found.load_torque, *band))
        canvas.name_above(axes, look, "torque, N m")
        top = show(float(found.load_torque[-1]), "N m")
        canvas.describe(
            figure, title, f"Resisting torque against speed: {top} at {show(float(found.load_speed[-1]), 'rad/s')}."
        )
        return figure


def coast_down(found: CoastDownResult, look: Look) -> Figure:
    """A coast-down over time, and what follows for torque, or torque over inertia."""
    with canvas.drawing():
        title = "Coast-down"
        figure = canvas.sheet(look, title, f"{found.source}. Dots: recorded; line: fitted.")
        left = canvas.panel(figure, look, (0.08, 0.13, 0.40, 0.67))
        right = canvas.panel(figure, look, (0.57, 0.13, 0.40, 0.67))
        labels = Labels(figure, look)
        canvas.time_axis(left, look, (0.0, float(found.time[-1])))
        _laid(left, labels, look, (found.time, r_min(found.speed), r_min(found.fitted)), 0)
        canvas.name_above(left, look, "speed, r/min")
        known = found.torque is not None and found.torque_low is not None and found.torque_high is not None
        if known:
            rows = tuple(np.asarray(row) for row in (found.torque, found.torque_low, found.torque_high))
        else:
            rows = (found.ratio, found.ratio_low, found.ratio_high)
        _over_speed(right, look, r_min(found.curve_speed), (rows[0], rows[1], rows[2]))
        canvas.name_above(right, look, "torque, N m" if known else "torque over inertia, rad/s²")
        canvas.describe(figure, title, "Speed falling freely, and the resisting torque that follows from it.")
        return figure


def _over_speed(axes: Axes, look: Look, speed: Array, rows: tuple[Array, Array, Array]) -> None:
    middle, low, high = rows
    canvas.value_axis(axes, divide(*span([low, high])))
    axes.fill_between(speed, low, high, color=look.colour(0), alpha=0.2, linewidth=0)
    axes.plot(speed, middle, color=look.colour(0), linewidth=look.line, zorder=3)
    axes.set_xlim(0.0, float(speed[-1]) * 1.02)
    axes.set_xlabel("speed, r/min", size=look.text, color=look.palette.ink)


def laid_over(found: Commissioning, look: Look) -> Figure:
    """The recorded start over the predicted band: current, speed, terminal voltage."""
    recording = found.recording
    with canvas.drawing():
        title = f"{found.way}: recorded over predicted"
        figure = canvas.sheet(look, title, f"{found.title}. Shaded: predicted over the supply cases; line: recorded.")
        panels = [canvas.panel(figure, look, place) for place in ROWS]
        end = max(float(recording.speed_time[-1]), float(np.interp(0.995, _share(found.speed_low), found.time)) * 1.1)
        end = min(end, float(found.time[-1]))
        rows = (
            (recording.current, found.current_low, found.current_high, "line current, rms of the fundamental, A"),
            (r_min(recording.speed), r_min(found.speed_low), r_min(found.speed_high), "speed, r/min"),
            (
                recording.voltage / found.rated_voltage,
                found.voltage_low,
                found.voltage_high,
                "terminal voltage, pu of rated",
            ),
        )
        for number, (axes, (line, low, high, words)) in enumerate(zip(panels, rows, strict=True)):
            canvas.time_axis(axes, look, (0.0, end), label=axes is panels[-1])
            canvas.value_axis(axes, divide(*span([line, low, high]), 3, 5))
            axes.fill_between(found.time, low, high, color=look.palette.quiet, alpha=0.3, linewidth=0, zorder=1)
            for edge in (low, high):
                axes.plot(found.time, edge, color=look.palette.quiet, linewidth=look.hair, linestyle=DASHED, zorder=2)
            axes.plot(recording.speed_time, line, color=look.colour(number), linewidth=look.line * 0.7, zorder=3)
            canvas.name_above(axes, look, words)
        canvas.describe(figure, title, laid_over_words(found))
        return figure


def _share(speed: Array) -> Array:
    """Speed over its greatest, made ascending so that it can be looked up."""
    share: Array = np.maximum.accumulate(speed / max(float(speed.max()), 1e-9)) + 1e-9 * np.arange(speed.size)
    return share


def fit_words(found: RecordingResult) -> str:
    """What the figure of the fit shows, from the numbers."""
    parts = [
        f"{trace.name}: misfit {trace.misfit:.3g} times the noise {show(trace.noise, trace.unit)}"
        for trace in found.traces
    ]
    return f"Recorded start over {show(float(found.speed_time[-1]), 's')}. {'; '.join(parts)}."


def region_words(found: RecordingResult) -> str:
    """What the figure of the joint region shows."""
    r = found.region
    spread = [1.96 * sqrt(float(r.covariance[i, i])) for i in range(2)]
    return "; ".join(
        f"{name} {show(float(r.centre[i]), unit)}, give or take {show(spread[i], unit)}"
        for i, (name, unit) in enumerate(zip(r.names, r.units, strict=True))
    )


def laid_over_words(found: Commissioning) -> str:
    """What the figure of the recording over the band shows."""

    def where(row: Deviation) -> str:
        return f"{row.status} of" if row.status == "at the edge" else row.status

    rows = (
        f"{d.name} {show(d.recorded, d.unit)}, {where(d)} {show(d.low, d.unit)} to {show(d.high, d.unit)}"
        for d in found.deviations
    )
    return "; ".join(rows) + "."

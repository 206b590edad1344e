"""The electrical transient: torque, line currents and speed in full, with the changeover enlarged; and the band of angles."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, SOLID, Look
from slipwise.present.figures.marks import r_min
from slipwise.present.figures.run_up import curve, mark_stages
from slipwise.present.figures.scale import Divisions, apart, divide, matching, span, thinned
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.series import Array
from slipwise.results.start import Peaks, Transient, TransientBand
from slipwise.results.stopping import StopWayResult
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ROWS = ((0.555, 0.235), (0.285, 0.195), (0.105, 0.105))  # bottom and height of torque, current, speed
WHOLE, ZOOM = (0.085, 0.50), (0.665, 0.31)  # left and width
AROUND = (0.03, 0.14)  # shown before and after a changeover, s
FIRST = 0.12  # shown after switching on when there is no changeover, s
PHASES = ("a", "b", "c")
Zoom = Callable[[Transient], tuple[tuple[float, float], str]]
"""What to enlarge of a transient: from and to when [s], and its name."""


def transient(
    result: StudyResult, way: WayResult | StopWayResult, look: Look, zoom: Zoom | None = None
) -> Figure:  # fmt: skip
    """One start in full at the worst switching angle, the changeover (or the first cycles) enlarged on the right."""
    band = _band_of(way)
    with canvas.drawing():
        worst = band.worst
        title = f"{way.title}: electrical transient"
        angle = show(worst.switching_angle, "rad")
        figure = canvas.sheet(look, title, f"{result.title}. Worst of {len(band.angles)} switching angles: {angle}.")
        window, about = (zoom or zoom_window)(worst)
        columns = [[canvas.panel(figure, look, (x, y, w, h)) for y, h in ROWS] for x, w in (WHOLE, ZOOM)]
        end = float(worst.time[-1])
        scales = _scales(worst)
        labels = Labels(figure, look)
        canvas.time_axis(columns[0][0], look, (0.0, end), label=False)
        mark_stages(columns[0], look, worst.stages, labels)
        for panels, times, large in ((columns[0], (0.0, end), False), (columns[1], window, True)):
            for axes, scale, (quantity, unit) in zip(panels, scales, _names(scales), strict=True):
                canvas.time_axis(axes, look, times, label=axes is panels[-1])
                canvas.value_axis(axes, scale, 1 / in_display(1.0, quantity, unit))
            _draw(panels, labels, look, worst, times)
            if not large:
                _shade(panels, look, window)
        for row, words in enumerate(_captions(scales)):
            canvas.name_above(columns[0][row], look, words, rows=int(row == 0))
        canvas.name_above(columns[1][0], look, about)
        _tell_phases(columns[1][1], look, worst, window)
        _mark_peaks(columns, labels, look, worst, window)
        canvas.describe(figure, title, transient_words(band))
        return figure


def zoom_window(worst: Transient) -> tuple[tuple[float, float], str]:
    """What to enlarge: the last changeover, or the first cycles; and its name."""
    end = float(worst.time[-1])
    if len(worst.stages) > 1:
        open_end = worst.stages[-1].begin
        short = [m for m in worst.stages[1:-1] if m.end - m.begin < AROUND[1] and abs(m.end - open_end) < 1e-9]
        begin = short[0].begin if short else open_end
        return (max(0.0, begin - AROUND[0]), min(end, open_end + AROUND[1])), "the changeover enlarged"
    return (0.0, min(end, FIRST)), "the first cycles enlarged"


def _band_of(way: WayResult | StopWayResult) -> TransientBand:
    if way.band is None:
        raise ValueError(f"{way.key} has no electrical transient: {way.transient_note}")
    return way.band


def _scales(worst: Transient) -> tuple[Divisions, Divisions, Divisions]:
    return (
        divide(*_roomy(span([worst.torque, worst.load])), 4, 6),
        divide(*_roomy(span(list(worst.line_currents))), 3, 4),
        divide(*span([r_min(worst.speed)]), 3, 3),
    )


def _roomy(limits: tuple[float, float]) -> tuple[float, float]:
    """Limits with room for the words beside the peaks."""
    return 1.2 * limits[0], 1.2 * limits[1]


def _names(scales: Sequence[Divisions]) -> list[tuple[str, str]]:
    reach = [max(s.high, -s.low) for s in scales]
    return [("N m", display_unit([reach[0]], "N m")), ("A", display_unit([reach[1]], "A")), ("", "")]


def _captions(scales: Sequence[Divisions]) -> list[str]:
    (_, torque), (_, current), _ = _names(scales)
    return [f"air-gap torque, {torque}", f"line currents, {current}", "speed, r/min"]


def _draw(panels: Sequence[Axes], labels: Labels, look: Look, worst: Transient, times: tuple[float, float]) -> None:
    """Torque with the load, three currents, speed, over the times shown."""
    inside = (worst.time >= times[0] - 1e-3) & (worst.time <= times[1] + 1e-3)
    time = worst.time[inside]
    whole = times[1] - times[0] > 0.5
    width = 0.45 if whole else 0.8
    curve(panels[0], labels, look, ("load", time, worst.load[inside]), (look.palette.ink, SOLID, 0.6))
    curve(panels[0], labels, look, ("torque", time, worst.torque[inside]), (look.colour(0), SOLID, width))
    for number, row in enumerate(worst.line_currents):
        x, y = thinned(time, row[inside])
        panels[1].plot(
            x, y, color=look.colour(number), linewidth=look.line * (0.3 if whole else 0.6), zorder=3 - 0.1 * number
        )
        labels.curve(panels[1], PHASES[number], x, y)
    curve(panels[2], labels, look, ("speed", time, r_min(worst.speed[inside])), (look.colour(0), SOLID, 0.9))
    if whole:
        labels.on_curve(panels[0], "load", "load", look.palette.ink, prefer=0.6)


def _shade(panels: Sequence[Axes], look: Look, window: tuple[float, float]) -> None:
    for axes in panels:
        axes.axvspan(*window, color=look.palette.wash, zorder=0.5, linewidth=0)


def _tell_phases(axes: Axes, look: Look, worst: Transient, window: tuple[float, float]) -> None:
    """Names of the phases at the right end of their curves, kept apart."""
    at = int(np.searchsorted(worst.time, window[1])) - 1
    box = axes.get_position()
    low, high = axes.get_ylim()
    height = look.small / 72 / look.height * 1.05
    wanted = [box.y0 + box.height * (float(row[at]) - low) / (high - low) for row in worst.line_currents]
    for number, y in enumerate(kept_apart(wanted, height)):
        axes.figure.text(
            box.x1 + 0.004, y, PHASES[number], size=look.small, color=look.colour(number), va="center", ha="left"
        )


def kept_apart(places: Sequence[float], least: float) -> list[float]:
    """Places moved as little as needed so that no two lie closer than `least`; the order is kept."""
    order = np.argsort(np.asarray(places), kind="stable")
    moved = [[float(places[i])] for i in order]
    groups: list[tuple[float, int]] = []  # centre and how many share it
    for (place,) in moved:
        groups.append((place, 1))
        while len(groups) > 1 and groups[-1][0] - groups[-2][0] < least * (groups[-1][1] + groups[-2][1]) / 2:
            (one, n), (two, m) = groups[-2], groups[-1]
            groups[-2:] = [((one * n + two * m) / (n + m), n + m)]
    result = [0.0] * len(places)
    spread = [centre + (k - (count - 1) / 2) * least for centre, count in groups for k in range(count)]
    for i, value in zip(order, spread, strict=True):
        result[int(i)] = value
    return result


def _mark_peaks(
    columns: Sequence[Sequence[Axes]], labels: Labels, look: Look, worst: Transient, window: tuple[float, float]
) -> None:  # fmt: skip
    """Greatest torque magnitude and greatest current, marked in the enlargement if they lie there."""
    peaks = worst.peaks
    value, time = torque_peak(peaks)
    phase = PHASES.index(peaks.line_current_phase) if peaks.line_current_phase in PHASES else 0
    current = float(np.interp(peaks.line_current_time, worst.time, worst.line_currents[phase]))
    tasks = (
        (0, time, value, f"{show(value, 'N m')} at {show(time, 's')}", look.colour(0)),
        (
            1,
            peaks.line_current_time,
            np.copysign(peaks.line_current, current),
            show(peaks.line_current, "A"),
            look.colour(phase),
        ),
    )
    for row, when, what, words, colour in tasks:
        axes = columns[1 if window[0] <= when <= window[1] else 0][row]
        axes.plot([when], [what], "o", color=colour, markersize=7 * look.scale, zorder=6, clip_on=False)
        labels.point(axes, when, float(what), 6)
        labels.at_point(axes, when, float(what), words, colour)


def torque_peak(peaks: Peaks) -> tuple[float, float]:
    """The torque of greatest magnitude and its time."""
    if abs(peaks.torque_min) > abs(peaks.torque_max):
        return peaks.torque_min, peaks.torque_min_time
    return peaks.torque_max, peaks.torque_max_time


def switching_angle(result: StudyResult, way: WayResult, look: Look) -> Figure:
    """Extreme torques (solid) and peak line current (dashed) of the same start over the switching angle."""
    band = _band_of(way)
    with canvas.drawing():
        title = f"{way.title}: peaks over the switching angle"
        figure = canvas.sheet(look, title, result.title)
        axes = canvas.panel(figure, look, (0.085, 0.115, 0.83, 0.70))
        scale = divide(*span([band.torque_max, band.torque_min]))
        unit = display_unit([max(scale.high, -scale.low)], "N m")
        degrees = in_display(1.0, "rad", "°") * band.angles
        order = np.argsort(degrees, kind="stable")
        canvas.value_axis(axes, scale, 1 / in_display(1.0, "N m", unit))
        canvas.name_above(axes, look, f"greatest and least torque, {unit} (solid)")
        _angle_axis(axes, look, degrees)
        right = canvas.twin(axes, look)
        amps = apart(band.torque_max, scale, band.line_current, matching(scale, span([band.line_current])[1]))
        canvas.value_axis(right, amps, hide_negative=True)
        canvas.name_above(right, look, "peak line current, A (dashed)", "right")
        labels = Labels(figure, look)
        drawn = (
            (axes, "greatest torque", band.torque_max, (look.colour(0), SOLID)),
            (axes, "least torque", band.torque_min, (look.colour(2), SOLID)),
            (right, "peak line current", band.line_current, (look.colour(1), DASHED)),
        )
        for where, name, y, (colour, dash) in drawn:
            where.plot(degrees[order], y[order], color=colour, linestyle=dash, linewidth=look.line)
            where.plot(degrees[order], y[order], "o", color=colour, markersize=5 * look.scale)
            labels.curve(where, name, degrees[order], y[order])
        for where, name, y, (colour, _) in drawn:
            unit_of = "A" if where is right else "N m"
            words = f"{name}: {_spread(y, unit_of)}"
            labels.on_curve(where, name, words, colour, prefer=0.5)
        canvas.describe(figure, title, band_words(band))
        return figure


def _angle_axis(axes: Axes, look: Look, degrees: Array) -> None:
    low, high = float(degrees.min()), float(degrees.max())
    margin = 0.02 * max(high - low, 1.0)
    axes.set_xlim(low - margin, high + margin)
    step = 30.0 if high - low <= 200 else 60.0
    ticks = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
    axes.set_xticks(ticks, [f"{t:.0f}°" for t in ticks])
    axes.set_xlabel(
        "angle of phase a's voltage at switch-on (0°: its positive peak)", size=look.text, color=look.palette.ink
    )


def transient_words(band: TransientBand) -> str:
    """What the transient figure shows, from the numbers."""
    worst, peaks = band.worst, band.worst.peaks
    value, time = torque_peak(peaks)
    current = (
        f"{show(peaks.line_current, 'A')} in phase {peaks.line_current_phase} at {show(peaks.line_current_time, 's')}"
    )
    parts = [
        f"Electrical transient at a switching angle of {show(worst.switching_angle, 'rad')}: {worst.outcome.value}, "
        f"final speed {show(worst.final_speed, 'rad/s')}.",
        f"Greatest torque magnitude {show(value, 'N m')} at {show(time, 's')}.",
        f"Peak line current {current}.",
    ]
    for mark, peak in zip(worst.stages, worst.stage_peaks, strict=False):
        parts.append(f"Stage {mark.name}: torque {show(peak.torque_min, 'N m')} to {show(peak.torque_max, 'N m')}.")
    return " ".join(parts)


def band_words(band: TransientBand) -> str:
    """What the figure over the switching angle shows, from the numbers."""
    rows = (
        ("greatest torque", band.torque_max, "N m"),
        ("least torque", band.torque_min, "N m"),
        ("peak line current", band.line_current, "A"),
    )
    spans = [f"the {name} {_spread(y, unit)}" for name, y, unit in rows]
    return f"Over {len(band.angles)} switching angles: {'; '.join(spans)}."


def _spread(values: Array, unit: str) -> str:
    """ "1260 N m to 1270 N m", or one number when both read the same."""
    low, high = show(float(values.min()), unit), show(float(values.max()), unit)
    return low if low == high else f"{low} to {high}"

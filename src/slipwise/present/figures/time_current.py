"""Start, limits and trips in one picture: time runs to the right as in a run-up, current stands above it, both logarithmic."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, DOTTED, SOLID, Look
from slipwise.present.figures.run_up import LEFT, WIDTH, curve, slowest
from slipwise.quantity.show import show
from slipwise.results.protection import Protection, RelayCheck, TripCurve
from slipwise.results.series import Array
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PLACE = (LEFT, 0.13, WIDTH, 0.66)
LOWEST_TOP = 5.0  # times rated current, shown even where the start draws less
EARLIEST, LATEST = 5e-3, 5e3  # s shown
HALF_CYCLE = 0.01  # s, where the start begins
START, LIMIT, RELAY, TRIP = range(4)  # colours


def time_current(result: StudyResult, way: WayResult, look: Look) -> Figure:
    """The start, the band of the relay cold and warm, the instantaneous trip, and what the motor bears.

    Currents in the line, of rated current; of a relay in the winding as the line carries them while the motor runs.
    Raises ValueError for a way without a protection.
    """
    found = way.protection
    if found is None:
        raise ValueError("the way has no protection")
    title = f"{way.title}: start, limits and trips"
    with canvas.drawing():
        rated = show(result.rated_current, "A")
        peak = "; the highest peak divided by √2" if found.instantaneous is not None else ""
        note = f"{result.title}. Rms, of rated current ({rated}){peak}."
        figure = canvas.sheet(look, title, note)
        axes = canvas.panel(figure, look, PLACE)
        _axes(axes, look, _highest(result, way, found))
        labels = Labels(figure, look)
        _relay(axes, labels, look, (result, found))
        _limits(axes, labels, look, (result, found))
        _start(axes, labels, look, (result, way))
        _trip(axes, labels, look, (result, found))
        _name(axes, labels, look, (result, way, found))
        canvas.describe(figure, title, time_current_words(result, way))
        return figure


def time_current_words(result: StudyResult, way: WayResult) -> str:
    """What the figure shows, from the numbers."""
    found = way.protection
    if found is None:
        return ""
    start = float(way.run_ups[0].line_current[0]) / result.rated_current
    words = [
        f"The start draws {show(start, '')} times rated current at first and is over after "
        f"{show(way.run_ups[0].run_up_time, 's')}."
    ]
    relay = found.relay
    if relay is not None:
        words.append(
            f"A relay of class {relay.trip_class} set to {show(relay.setting, 'A')} in the {relay.place} trips at standstill "
            f"within {show(relay.stalled_cold, 's')} from cold and {show(relay.stalled_hot, 's')} from hot."
        )
    for stall in found.stalls[:1]:
        if stall.limit_hot is not None or stall.limit_cold is not None:
            words.append(
                f"At rated voltage the rotor may stand {show(stall.limit_hot, 's')} from hot, "
                f"{show(stall.limit_cold, 's')} from cold."
            )
    trip = found.instantaneous
    if trip is not None:
        words.append(
            f"The instantaneous trip at {show(trip.setting, 'A')} lies above the highest peak, which asks for "
            f"{show(trip.least, 'A')} at least."
        )
    return " ".join(words)


def _highest(result: StudyResult, way: WayResult, found: Protection) -> float:
    rated = result.rated_current
    tops = [float(run.line_current.max()) / rated for run in way.run_ups]
    tops += [stall.line_current / rated for stall in found.stalls]
    if found.instantaneous is not None:
        tops += [found.instantaneous.setting / rated, found.instantaneous.high / sqrt(2) / rated]
    return max(*tops, LOWEST_TOP)


def _axes(axes: Axes, look: Look, most: float) -> None:
    from matplotlib.ticker import NullLocator

    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlim(EARLIEST, LATEST)
    axes.set_ylim(0.3, most * 1.6)
    across = [0.01, 0.1, 1, 10, 100, 1000]
    axes.set_xticks(across, [canvas.tick_text(float(n)) for n in across])
    up = [n for n in (0.5, 1, 2, 3, 5, 7, 10, 15, 20, 30, 50) if n < most * 1.6]
    axes.set_yticks(up, [canvas.tick_text(float(n)) for n in up])
    axes.xaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_minor_locator(NullLocator())
    axes.set_xlabel("time, s", size=look.text, color=look.palette.ink)
    canvas.name_above(axes, look, "line current, of rated")


def _relay(axes: Axes, labels: Labels, look: Look, data: tuple[StudyResult, Protection]) -> None:
    """The cold band shaded between its quickest and slowest relay, the warm one between thin lines."""
    result, found = data
    relay, band = found.relay, found.curve
    if relay is None or band is None:
        return
    level = np.array(band.multiple) * in_line(relay, found) / result.rated_current
    times = {name: np.clip(np.array(values), EARLIEST / 10, LATEST * 10) for name, values in _edges(band).items()}
    axes.fill_betweenx(level, times["quick_cold"], times["slow_cold"], color=look.palette.wash, linewidth=0, zorder=0.5)
    for name, values in times.items():
        pen = (look.colour(RELAY), SOLID if name.endswith("cold") else DASHED, 0.8 if name.endswith("cold") else 0.6)
        curve(axes, labels, look, (name, values, level), pen)


def _edges(band: TripCurve) -> dict[str, tuple[float, ...]]:
    return {
        "quick_cold": band.quick_cold,
        "slow_cold": band.slow_cold,
        "quick_hot": band.quick_hot,
        "slow_hot": band.slow_hot,
    }


def in_line(relay: RelayCheck, found: Protection) -> float:
    """Line current while the relay sees its setting, motor in its running connection, rms. [A]"""
    if relay.place == "line" or not found.stalls:
        return relay.setting
    first = found.stalls[0]
    return relay.setting * first.line_current / first.winding_current


def _limits(axes: Axes, labels: Labels, look: Look, data: tuple[StudyResult, Protection]) -> None:
    """What the motor bears: the curves of its thermal network, and the stall times as points with their square law."""
    result, found = data
    rated = result.rated_current
    for part in () if result.heat is None else result.heat.limits:
        if part.part == "locked rotor":
            continue
        kept = np.isfinite(part.seconds) & (part.seconds > 0)
        dash = SOLID if part.state == "hot" else DASHED
        points = (part.label, part.seconds[kept], part.current[kept] / rated)
        curve(axes, labels, look, points, (look.colour(LIMIT), dash, 0.8))
    for state, name in (("hot", "limit_hot"), ("cold", "limit_cold")):
        rows = [(getattr(s, name), s.line_current / rated) for s in found.stalls if getattr(s, name) is not None]
        if not rows:
            continue
        seconds, level = rows[0]
        highest, lowest = level, min(row[1] for row in rows if row[1] > 1.0)
        line = np.geomspace(highest, max(lowest, 2.0), 30)
        points = (f"stall {state}", seconds * (level / line) ** 2, line)
        curve(axes, labels, look, points, (look.colour(LIMIT), SOLID if state == "hot" else DASHED, 1.1))
        axes.plot([seconds], [level], "s", color=look.colour(LIMIT), markersize=9 * look.scale,
                  markerfacecolor=look.colour(LIMIT) if state == "hot" else look.palette.paper)  # fmt: skip
        labels.point(axes, seconds, level)


def _start(axes: Axes, labels: Labels, look: Look, data: tuple[StudyResult, WayResult]) -> None:
    result, way = data
    run, other = way.run_ups[0], slowest(way)
    if other is not None:
        curve(axes, labels, look, (other.case, *_track(other.time, other.line_current / result.rated_current)),
              (look.palette.quiet, SOLID, 0.6))  # fmt: skip
    curve(axes, labels, look, (run.case, *_track(run.time, run.line_current / result.rated_current)),
          (look.colour(START), SOLID, 1.4))  # fmt: skip


def _track(time: Array, level: Array) -> tuple[Array, Array]:
    """From the first half cycle to the right edge, where the motor runs on."""
    shown = (time >= HALF_CYCLE) & (level > 0)
    begin = float(np.interp(HALF_CYCLE, time, level))
    return (
        np.concatenate(([HALF_CYCLE], time[shown], [LATEST])),
        np.concatenate(([begin], level[shown], [float(level[-1])])),
    )


def _trip(axes: Axes, labels: Labels, look: Look, data: tuple[StudyResult, Protection]) -> None:
    """The instantaneous trip with its tolerance, the highest peak with its range, and the speed switch."""
    result, found = data
    rated, trip, switch = result.rated_current, found.instantaneous, found.speed_switch
    if trip is not None:
        level = trip.setting / rated
        x = np.geomspace(EARLIEST, max(0.2, 1.6 * trip.moment), 20)
        low, high = (1 - trip.tolerance) * level, (1 + trip.tolerance) * level
        axes.fill_between(x, low, high, color=look.palette.wash, linewidth=0, zorder=0.4)
        curve(axes, labels, look, ("trip", x, np.full(x.size, level)), (look.colour(TRIP), SOLID, 1.0))
        moment = max(trip.moment, HALF_CYCLE)
        first, last = trip.low / sqrt(2) / rated, trip.high / sqrt(2) / rated
        reach = np.geomspace(min(first, 0.97 * last), last, 10)
        curve(axes, labels, look, ("peak", np.full(10, moment), reach), (look.colour(START), SOLID, 1.0))
        axes.plot([moment], [last], "^", color=look.colour(START), markersize=10 * look.scale)
        labels.point(axes, moment, last)
    if switch is not None and (switch.given or (switch.saves and switch.lets_start)):
        height = np.geomspace(1.0, float(axes.get_ylim()[1]) * 0.9, 20)
        curve(axes, labels, look, ("switch", np.full(20, switch.delay), height), (look.colour(TRIP), DOTTED, 1.0))


def _name(axes: Axes, labels: Labels, look: Look, data: tuple[StudyResult, WayResult, Protection]) -> None:
    """Labels last, when every curve is known."""
    result, way, found = data
    run, other, relay = way.run_ups[0], slowest(way), found.relay
    labels.on_curve(axes, run.case, f"start, run-up {show(run.run_up_time, 's')}", look.colour(START), prefer=0.3)
    if relay is not None:
        words = f"class {relay.trip_class}, {show(relay.setting, 'A')} in the {relay.place}, cold"
        labels.on_curve(axes, "slow_cold", words, look.colour(RELAY), prefer=0.75)
        labels.on_curve(axes, "quick_hot", "warm", look.colour(RELAY), prefer=0.35)
    trip = found.instantaneous
    if trip is not None:
        level = trip.high / sqrt(2) / result.rated_current
        at = max(trip.moment, HALF_CYCLE)
        labels.at_point(axes, at, level, f"highest peak {show(trip.peak, 'A')}", look.colour(START))
        words = f"instantaneous trip {show(trip.setting, 'A')}"
        labels.on_curve(axes, "trip", words, look.colour(TRIP), prefer=0.5)
    if other is not None:
        labels.on_curve(axes, other.case, f"{other.case} case", look.palette.quiet, prefer=0.45)
    _name_limits(axes, labels, look, (result, found))
    switch = found.speed_switch
    if switch is not None:
        words = f"speed switch {show(switch.delay, 's')}"
        labels.on_curve(axes, "switch", words, look.colour(TRIP))


def _name_limits(axes: Axes, labels: Labels, look: Look, data: tuple[StudyResult, Protection]) -> None:
    result, found = data
    colour = look.colour(LIMIT)
    for stall in found.stalls[:1]:
        level = stall.line_current / result.rated_current
        known = [
            (seconds, state) for seconds, state in ((stall.limit_hot, "hot"), (stall.limit_cold, "cold")) if seconds
        ]
        if known:
            words = "stall borne: " + ", ".join(f"{show(seconds, 's')} {state}" for seconds, state in known)
            labels.at_point(axes, known[-1][0], level, words, colour)
    if result.heat is not None:
        labels.on_curve(axes, "running hot", "limit running, hot", colour, prefer=0.4)
        labels.on_curve(axes, "running cold", "cold", colour, prefer=0.6)

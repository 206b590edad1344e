"""What a way can hold over speed: continuous and short-time torque, what limits them, and heat where the motor slips."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASH_DOT, DASHED, SOLID, Look
from slipwise.present.figures.marks import r_min
from slipwise.present.figures.scale import Divisions, divide, matching, speed_ticks
from slipwise.present.figures.speed_family import WIDE, demands_together, pen
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.slip_heat import SlipHeat
from slipwise.results.speed import Envelope, SpeedWayResult
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FEW = 5  # speeds, with fewer the way stands still between them
LEAST_STRETCH = 0.04  # of the panel's width, below which the name of a limit is not written


def envelope(result: StudyResult, way: SpeedWayResult, look: Look) -> Figure:
    """Continuous torque over a pale area, short-time torque above it, every demand as a point.

    Raises:
        ValueError: the way has no envelope.
    """
    found = way.envelope
    if found is None:
        raise ValueError(f"{way.title} has no envelope")
    title = f"{way.title}: torque that can be held"
    with canvas.drawing():
        figure = canvas.sheet(
            look, title, f"{result.title}. Every demand as a point; the words say what limits it for good."
        )
        axes = canvas.panel(figure, look, WIDE)
        carried = [point.torque for point in way.points]
        scale = divide(0.0, max([float(np.nanmax(found.short_time)), float(np.nanmax(found.continuous)), *carried]))
        unit = display_unit([scale.high], "N m")
        canvas.value_axis(axes, scale, 1 / in_display(1.0, "N m", unit))
        canvas.name_above(axes, look, f"torque, {unit}")
        speed_axis(axes, look, result, float(r_min(max(found.speed.max(), *(p.speed for p in way.points)))))
        labels = Labels(figure, look)
        for name, torque, colour, dash in (
            ("short-time", found.short_time, look.colour(2), DASH_DOT),
            ("continuous", found.continuous, look.colour(0), SOLID),
        ):
            pen(axes, labels, look, (name, r_min(found.speed), torque), (colour, dash))
        if len(found.speed) < FEW:
            _only_there(axes, labels, look, found)
        else:
            axes.fill_between(r_min(found.speed), 0.0, found.continuous, color=look.palette.wash, zorder=1, linewidth=0)
            _limits(axes, labels, look, found)
        _demands(axes, labels, look, way)
        labels.on_curve(axes, "short-time", "short-time", look.colour(2), prefer=0.5)
        labels.on_curve(axes, "continuous", "continuous", look.colour(0), prefer=0.5)
        canvas.describe(figure, title, envelope_words(way, found))
        return figure


def _only_there(axes: Axes, labels: Labels, look: Look, found: Envelope) -> None:
    """A way with a few fixed speeds: squares at them, the lines between only lead the eye."""
    for line in axes.lines:
        line.set(marker="s", markersize=9 * look.scale, linewidth=look.hair)
    for speed, most in zip(found.speed, np.maximum(found.continuous, found.short_time), strict=True):
        axes.plot([r_min(speed)] * 2, [0.0, most], color=look.palette.quiet, linewidth=look.hair, zorder=2)
        labels.curve(axes, f"at {speed}", np.full(2, r_min(speed)), np.array([0.0, most]))


def speed_axis(axes: Axes, look: Look, result: StudyResult, end: float) -> None:
    """From standstill in the steps of synchronous speed, as far as the data go. end: r/min."""
    step = float(np.diff(speed_ticks(float(r_min(result.synchronous_speed)))[:2])[0])
    count = int(np.ceil(end / step - 1e-6))
    ticks = (np.arange(count + 1) * step)[:: max(1, round(count / 8))]
    axes.set_xlim(0.0, max(end, count * step))
    axes.set_xticks(ticks, [canvas.tick_text(round(float(t), 1)) for t in ticks])
    axes.set_xlabel("speed, r/min", size=look.text, color=look.palette.ink)


def stretches(found: Envelope) -> list[tuple[str, float, float]]:
    """What limits the continuous torque, from which speed to which. [rad/s]"""
    runs, at = [], 0
    for word, group in groupby(found.continuous_limit):
        count = len(list(group))
        runs.append((word, float(found.speed[at]), float(found.speed[min(at + count, len(found.speed) - 1)])))
        at += count
    return runs


def _limits(axes: Axes, labels: Labels, look: Look, found: Envelope) -> None:
    """The name of each limit low in the area, where it begins a thin upright line."""
    width = axes.get_xlim()[1]
    for number, (_, begin, _) in enumerate(stretches(found)):
        if number:
            x, y = float(r_min(begin)), float(np.interp(begin, found.speed, found.continuous))
            axes.plot([x, x], [0, y], color=look.palette.quiet, linewidth=look.hair, zorder=2)
            labels.curve(axes, f"limit {number}", np.full(2, x), np.array([0.0, y]))
    for word, begin, end in stretches(found):
        if float(r_min(end - begin)) > LEAST_STRETCH * width:
            middle = float(r_min((begin + end) / 2))
            labels.at_point(axes, middle, 0.12 * axes.get_ylim()[1], f"limit: {word}", look.palette.quiet)


def _demands(axes: Axes, labels: Labels, look: Look, way: SpeedWayResult) -> None:
    spots = []
    for point in way.points:
        fill = look.colour(1) if point.feasible else look.palette.paper
        axes.plot(
            [float(r_min(point.speed))], [point.torque], "o", color=look.colour(1), markersize=10 * look.scale,
            markerfacecolor=fill, markeredgewidth=look.line * 0.8, zorder=6, clip_on=False,
        )  # fmt: skip
        labels.point(axes, float(r_min(point.speed)), point.torque)
        name = point.duty.name if point.feasible else f"{point.duty.name}: not held"
        spots.append((float(r_min(point.speed)), point.torque, name))
    for x, y, names in demands_together(axes, look, spots):
        labels.at_point(axes, x, y, names, look.colour(1))


def envelope_words(way: SpeedWayResult, found: Envelope) -> str:
    """What the envelope shows, from the numbers."""
    top = int(np.nanargmax(found.continuous))
    parts = [
        f"Continuous torque up to {show(float(found.continuous[top]), 'N m')} at {show(float(found.speed[top]), 'rad/s')}, "
        f"short-time torque up to {show(float(np.nanmax(found.short_time)), 'N m')}."
    ]
    for word, begin, end in stretches(found):
        parts.append(f"From {show(begin, 'rad/s')} to {show(end, 'rad/s')} the limit is: {word}.")
    for point in way.points:
        there = float(np.interp(point.speed, found.speed, found.continuous))
        held = "" if point.feasible else ", not held"
        at = f"{show(point.torque, 'N m')} at {show(point.speed, 'rad/s')}"
        parts.append(f"Demand {point.duty.name}: {at}{held}; {show(there, 'N m')} can be held there for good.")
    return " ".join(parts)


def slip_heat(result: StudyResult, way: SpeedWayResult, look: Look) -> Figure:
    """Heat of the windings against speed along the load, with the limit and the worst speed; rotor current on the right.

    Raises:
        ValueError: the way does not slow the motor by its slip.
    """
    found = way.heat
    if found is None:
        raise ValueError(f"{way.title} has no heat along the load")
    title = f"{way.title}: heat of the windings along the load"
    with canvas.drawing():
        note = (
            f"{result.title}. Of what the cooling carries away at each speed; 100 % is the limit of continuous running."
        )
        figure = canvas.sheet(look, title, note)
        axes = canvas.panel(figure, look, WIDE)
        scale = divide(0.0, max(float(np.nanmax(found.heat)), 1.0))
        canvas.value_axis(axes, scale, 0.01)
        canvas.name_above(axes, look, "winding heat, % of the limit")
        canvas.speed_axis(axes, look, float(r_min(result.synchronous_speed)))
        labels = Labels(figure, look)
        right = _rotor_current(axes, labels, look, found, scale)
        pen(axes, labels, look, ("heat", r_min(found.speed), found.heat), (look.colour(1), SOLID))
        pen(axes, labels, look, ("limit", np.array(axes.get_xlim()), np.ones(2)), (look.palette.ink, SOLID))
        spots = [(found.worst_speed, found.worst_heat, f"hottest: {show(found.worst_heat, 'pu')} at {_at(found)}")]
        spots += [(p.speed, p.winding_heat, p.duty.name) for p in way.points if p.feasible]
        for number, (speed, heat, _) in enumerate(spots):
            symbol = "o" if number else "^"
            axes.plot([r_min(speed)], [heat], symbol, color=look.colour(1), markersize=10 * look.scale, zorder=6)
            labels.point(axes, float(r_min(speed)), heat)
        labels.on_curve(axes, "limit", "limit of continuous running", look.palette.ink, prefer=0.1)
        labels.on_curve(right, "rotor", "rotor current", look.colour(0), prefer=0.3)
        labels.on_curve(axes, "heat", "winding heat", look.colour(1), prefer=0.3)
        for x, y, names in demands_together(axes, look, [(float(r_min(s)), h, name) for s, h, name in spots]):
            labels.at_point(axes, x, y, names, look.colour(1))
        canvas.describe(figure, title, heat_words(way, found))
        return figure


def _at(found: SlipHeat) -> str:
    return show(found.worst_speed, "rad/s")


def _rotor_current(axes: Axes, labels: Labels, look: Look, found: SlipHeat, left: Divisions) -> Axes:
    right = canvas.twin(axes, look)
    scale = matching(left, float(np.nanmax(found.rotor_current)))
    unit = display_unit([scale.high], "A")
    canvas.value_axis(right, scale, 1 / in_display(1.0, "A", unit))
    canvas.name_above(right, look, f"rotor current, {unit}, seen from the stator (dashed)", "right")
    pen(right, labels, look, ("rotor", r_min(found.speed), found.rotor_current), (look.colour(0), DASHED))
    return right


def heat_words(way: SpeedWayResult, found: SlipHeat) -> str:
    """What the heat figure shows, from the numbers."""
    begin, end = show(float(found.speed[0]), "rad/s"), show(float(found.speed[-1]), "rad/s")
    parts = [
        f"Winding heat along the load from {begin} to {end}: greatest {show(found.worst_heat, 'pu')} of what the cooling "
        f"carries away, at {_at(found)}; the rotor current is greatest at {show(found.worst_current_speed, 'rad/s')}, "
        f"{show(float(np.nanmax(found.rotor_current)), 'A')} seen from the stator."
    ]
    held = [point for point in way.points if point.feasible]
    parts += [f"Demand {p.duty.name} at {show(p.speed, 'rad/s')}: {show(p.winding_heat, 'pu')}." for p in held]
    return " ".join(parts)

"""Families of characteristics of one way of speed control, with the load, the demands and the line 1 - s."""

from __future__ import annotations

from dataclasses import replace
from re import sub
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import DASHED, DOTTED, SOLID, Dash, Look, dash_of
from slipwise.present.figures.marks import r_min
from slipwise.present.figures.scale import Divisions, divide, matching, speed_ticks
from slipwise.quantity.show import MINUS, THIN, display_unit, in_display, show
from slipwise.results.series import Array
from slipwise.results.speed import Family, FamilyCurve, OperatingPoint, SpeedWayResult
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDE = (0.075, 0.115, 0.85, 0.70)
STEEP = 6.0  # times the torque carried: curves that rise beyond are cut, at CAP times it
CAP = 3.0
BRAKING = 0.35  # of the top, as far as the panel reaches below zero
FEW = 4  # curves of one family that get colours of their own; of more, neighbours differ
IDLE = 0.01  # share of the greatest torque that is nothing to draw
CLEAR = 26.0  # pixels by which a label is nearer to its own curve than to the next
BOUNDS = {"limit": "1 \u2212 s: no efficiency lies above", "reference": "1 \u2212 s: reference, no bound here"}


def family(result: StudyResult, way: SpeedWayResult, found: Family, look: Look) -> Figure:
    """Torque against speed for several settings; the load; on the first family of the way also its demands."""
    title, found = heading(way, found), drawable(found)
    with canvas.drawing():
        figure = canvas.sheet(look, title, f"{result.title}. Varied: {found.parameter}.")
        axes = canvas.panel(figure, look, WIDE)
        points = held(way, found.key)
        scale = _torque_axis(axes, look, result, found, points)
        _speed_axis(axes, look, result, found)
        labels = Labels(figure, look)
        right = _ideal_line(axes, labels, look, (result, found, scale), points)
        _curves(axes, labels, look, found)
        pen(axes, labels, look, ("load", r_min(found.load_speed), found.load_torque), (look.palette.ink, DASHED))
        for point in points:
            _mark(axes, labels, look, point)
        _name(axes, labels, look, found)
        if right is not None:
            labels.on_curve(right, "1-s", BOUNDS[found.bound], look.palette.quiet, prefer=0.2)
        spots = [(float(r_min(p.speed)), p.torque, p.duty.name) for p in points]
        for x, y, names in demands_together(axes, look, spots):
            labels.at_point(axes, x, y, names, look.colour(1))
        canvas.describe(figure, title, family_words(way, found))
        return figure


def heading(way: SpeedWayResult, found: Family) -> str:
    """The family's own title, led by the way's where it does not name it itself."""
    return (
        found.title if found.title.startswith(way.title) else f"{way.title}: {found.title[0].lower()}{found.title[1:]}"
    )


def drawable(found: Family) -> Family:
    """The family without the idle ends of its curves: where a bridge blocks, torque stays at zero up to the last speed."""
    return replace(found, curves=tuple(_driving(curve) for curve in found.curves))


def _driving(curve: FamilyCurve) -> FamilyCurve:
    top = float(np.nanmax(curve.torque))
    if float(np.nanmin(curve.torque)) < -IDLE * top:
        return curve  # it brakes beyond its synchronous speed
    end = int(np.flatnonzero(curve.torque > IDLE * top)[-1]) + 2
    return replace(curve, speed=curve.speed[:end], torque=curve.torque[:end], current=curve.current[:end])


def held(way: SpeedWayResult, key: str) -> list[OperatingPoint]:
    """The demands that the way holds; they belong to its first family, the settings of which they use."""
    return [point for point in way.points if point.feasible] if key == way.families[0].key else []


def _torque_axis(
    axes: Axes, look: Look, result: StudyResult, found: Family, points: list[OperatingPoint]
) -> Divisions:  # fmt: skip
    carried = max([result.rated_torque, *(p.torque for p in points)])
    highest, lowest = _top([c.torque for c in found.curves]), -_top([-c.torque for c in found.curves])
    high = max(highest if highest < STEEP * carried else CAP * carried, *(1.05 * p.torque for p in points), 0.0)
    scale = divide(max(lowest, -BRAKING * high), high)
    unit = display_unit([scale.high], "N m")
    canvas.value_axis(axes, scale, 1 / in_display(1.0, "N m", unit))
    cut = " (curves beyond are cut)" if highest > 1.001 * scale.high or lowest < 1.001 * scale.low - 0.03 * high else ""
    canvas.name_above(axes, look, f"torque, {unit}{cut}")
    return scale


def _top(curves: list[Array]) -> float:
    """Greatest finite value, at least zero."""
    return max([0.0, *(float(np.nanmax(c[np.isfinite(c)], initial=0.0)) for c in curves)])


def _speed_axis(axes: Axes, look: Look, result: StudyResult, found: Family) -> None:
    """To synchronous speed where no curve goes beyond; else over the whole family from standstill, in round steps."""
    synchronous = float(r_min(result.synchronous_speed))
    end = max(float(r_min(c.speed.max())) for c in found.curves)
    begin = min(float(r_min(c.speed.min())) for c in found.curves)
    if abs(end - synchronous) < 0.01 * synchronous:
        canvas.speed_axis(axes, look, synchronous)
        return
    ticks = speed_ticks(synchronous)
    step = float(ticks[1] - ticks[0])
    if not 0.5 < end / synchronous < 2.5:
        ticks = divide(0.0, end).ticks
    else:
        ticks = np.arange(np.floor(begin / step + 1e-9), np.ceil(end / step - 1e-9) + 1) * step
    axes.set_xlim(float(ticks[0]), max(end, float(ticks[-2])))
    ticks = ticks[ticks <= axes.get_xlim()[1] * (1 + 1e-9)]
    axes.set_xticks(ticks, [canvas.tick_text(round(float(t), 1)) for t in ticks])
    axes.set_xlabel("speed, r/min", size=look.text, color=look.palette.ink)


def pen(axes: Axes, labels: Labels, look: Look, named: tuple[str, Array, Array], how: tuple[str, Dash]) -> None:
    """Draws a curve and marks it for its label."""
    (name, x, y), (colour, dash) = named, how
    axes.plot(x, y, color=colour, linestyle=dash, linewidth=look.line, zorder=3)
    labels.curve(axes, name, x, y)


def _how(look: Look, found: Family, number: int) -> tuple[str, Dash]:
    return (look.colour(number), dash_of(number)) if len(found.curves) <= FEW else (look.colour(2 * number % 4), SOLID)


def _curves(axes: Axes, labels: Labels, look: Look, found: Family) -> None:
    for number, curve in enumerate(found.curves):
        pen(axes, labels, look, (curve.label, r_min(curve.speed), curve.torque), _how(look, found, number))


def _name(axes: Axes, labels: Labels, look: Look, found: Family) -> None:
    """Labels of the curves, each where it is farthest from its neighbours."""
    labels.on_curve(axes, "load", "load", look.palette.ink, prefer=0.5)
    spots = [_pixels(axes, curve) for curve in found.curves]
    for number, curve in enumerate(found.curves):
        colour, _ = _how(look, found, number)
        others = [spot for n, spot in enumerate(spots) if n != number and len(spot)]
        labels.on_curve(
            axes, curve.label, words(curve.label), colour, prefer=clearest(spots[number], others), clear=CLEAR
        )


def _pixels(axes: Axes, curve: FamilyCurve) -> Array:
    """Points of a curve inside the panel, evenly spaced along its speeds. [pixels]"""
    some = np.linspace(0, len(curve.speed) - 1, 80).astype(int)
    x, y = np.asarray(r_min(curve.speed))[some], curve.torque[some]
    low, high = axes.get_ylim()
    inside = np.isfinite(y) & (y >= low) & (y <= high)
    return np.asarray(axes.transData.transform(np.column_stack([x[inside], y[inside]])), dtype=float)


def clearest(own: Array, others: list[Array]) -> float:
    """Where along a curve (0 left end, 1 right end) its nearest neighbour is farthest."""
    if not others or len(own) < 2:
        return 0.3
    rivals = np.concatenate(others)
    gaps = np.hypot(*(own[:, None, :] - rivals[None, :, :]).transpose(2, 0, 1)).min(axis=1)
    left, right = float(own[0, 0]), float(own[-1, 0])
    share = (own[:, 0] - left) / max(right - left, 1e-9)
    return float(share[int(np.argmax(np.minimum(gaps, 60.0) - 10.0 * np.abs(share - 0.4)))])


def words(label: str) -> str:
    """A label with signs in place of spelled units."""
    return sub(r"(?<!\w)-(?=\d)", MINUS, label).replace(" deg", "°").replace(" ohm", f"{THIN}Ω")


def _mark(axes: Axes, labels: Labels, look: Look, point: OperatingPoint) -> None:
    """A filled point where the demand is held by itself, a hollow one where a speed loop has to hold it."""
    x = float(r_min(point.speed))
    fill = look.colour(1) if point.stable else look.palette.paper
    axes.plot(
        [x], [point.torque], "o", color=look.colour(1), markersize=10 * look.scale, markerfacecolor=fill,
        markeredgewidth=look.line * 0.8, zorder=6, clip_on=False,
    )  # fmt: skip
    labels.point(axes, x, point.torque)


def demands_together(
    axes: Axes, look: Look, spots: list[tuple[float, float, str]]
) -> list[tuple[float, float, str]]:  # fmt: skip
    """Places (in the units of the axes) with their names; those that fall on one another share a label."""
    found: list[tuple[float, float, str]] = []
    for x, y, name in spots:
        at = axes.transData.transform((x, y))
        gaps = [float(np.hypot(*(axes.transData.transform(spot[:2]) - at))) for spot in found]
        near = next((n for n, gap in enumerate(gaps) if gap < 8 * look.scale), None)
        if near is None:
            found.append((x, y, name))
        else:
            found[near] = (*found[near][:2], f"{found[near][2]}, {name}")
    return found


def _ideal_line(
    axes: Axes, labels: Labels, look: Look, about: tuple[StudyResult, Family, Divisions], points: list[OperatingPoint]
) -> Axes | None:
    """The line 1 - s on a right-hand axis, with the efficiency of each demand, where the way works by slip."""
    result, found, scale = about
    if not found.bound:
        return None
    right = canvas.twin(axes, look)
    canvas.value_axis(right, matching(scale, 1.0), 0.01, hide_negative=True)
    canvas.name_above(right, look, "efficiency, % (diamonds)" if points else "efficiency, %", "right")
    x = np.array([0.0, float(r_min(result.synchronous_speed))])
    right.plot(x, [0.0, 1.0], color=look.palette.quiet, linestyle=DOTTED, linewidth=look.line, zorder=2)
    labels.curve(right, "1-s", x, np.array([0.0, 1.0]))
    for point in points:
        spot = float(r_min(point.speed))
        right.plot(
            [spot], [point.efficiency], "D", color=look.colour(1), markersize=8 * look.scale, zorder=5, clip_on=False,
        )  # fmt: skip
        labels.point(right, spot, point.efficiency)
    return right


def family_words(way: SpeedWayResult, found: Family) -> str:
    """What the family shows, from the numbers."""
    parts = [f"Torque against speed, varied: {found.parameter}."]
    for curve in found.curves:
        top = int(np.argmax(curve.torque))
        peak = f"{show(float(curve.torque[top]), 'N m')} at {show(float(curve.speed[top]), 'rad/s')}"
        parts.append(f"{curve.label}: greatest torque {peak}, {show(float(curve.torque[0]), 'N m')} at the left end.")
    load = show(float(found.load_torque[-1]), "N m")
    parts.append(f"Load: {load} at {show(float(found.load_speed[-1]), 'rad/s')}.")
    for point in held(way, found.key):
        at = f"{show(point.torque, 'N m')} at {show(point.speed, 'rad/s')}"
        standing = "stable" if point.stable else "needs a speed loop"
        parts.append(f"Demand {point.duty.name}: {at}, {standing}, efficiency {show(point.efficiency, 'pu')}.")
    if found.bound:
        parts.append(f"{BOUNDS[found.bound]}.")
    return " ".join([*parts, found.note]).strip()

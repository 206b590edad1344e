"""Harmonic currents of one way at its worst demand, against what the point of common coupling may carry."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import SOLID, Look
from slipwise.present.figures.scale import divide
from slipwise.present.figures.speed_family import WIDE, pen
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.harmonic_limits import HarmonicLimits
from slipwise.results.speed import Harmonic, OperatingPoint, SpeedWayResult
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LOWEST, HIGHEST = 1.5, 50.0  # orders that count as harmonics
NAMED = 4  # bars with their figures


def worst(way: SpeedWayResult) -> OperatingPoint | None:
    """The demand whose harmonics come nearest to a limit, or are largest where there is none; None without any."""
    found = [p for p in way.points if p.feasible and any(_counts(h) for h in p.harmonics)]
    return max(found, key=lambda point: _use(point, way.harmonic_limits), default=None)


def _counts(harmonic: Harmonic) -> bool:
    return LOWEST < harmonic.order <= HIGHEST


def _use(point: OperatingPoint, limits: HarmonicLimits | None) -> float:
    return max(_share(harmonic, limits) for harmonic in point.harmonics if _counts(harmonic))


def _share(harmonic: Harmonic, limits: HarmonicLimits | None) -> float:
    """Use of its limit; without one the current itself."""
    limit = None if limits is None else limit_of(limits, harmonic.order)
    if limits is None or limit is None:
        return harmonic.current if limits is None else 0.0
    return harmonic.current / limits.demand / limit


def limit_of(limits: HarmonicLimits, order: float) -> float | None:
    """What one order may carry, per unit of the demand current; below the first band that of the first band."""
    first = min(band.order_from for band in limits.bands)
    at = max(order, first)
    for band in limits.bands:
        if band.order_from <= at < band.order_to or at == band.order_to == HIGHEST:
            return band.limit
    return None


def harmonics(result: StudyResult, way: SpeedWayResult, look: Look) -> Figure:
    """Bars by order, per cent of the demand current under a stepped limit; in ampere where no limit is known.

    Raises:
        ValueError: the way draws no harmonics.
    """
    point = worst(way)
    if point is None:
        raise ValueError(f"{way.title} draws no harmonics")
    title, limits = f"{way.title}: harmonics of the line current", way.harmonic_limits
    with canvas.drawing():
        figure = canvas.sheet(look, title, f"{result.title}. Demand {point.duty.name}. {total_words(point, limits)}")
        axes = canvas.panel(figure, look, WIDE)
        size = 1.0 if limits is None else 1.0 / limits.demand
        rows = [(h.order, h.current * size) for h in point.harmonics if h.order <= HIGHEST and abs(h.order - 1) > 1e-6]
        _axes(axes, look, [value for _, value in rows], limits)
        labels = Labels(figure, look)
        if limits is not None:
            x, y = _steps(limits)
            pen(axes, labels, look, ("limit", x, y), (look.palette.ink, SOLID))
        _bars(axes, labels, look, rows, limits)
        if limits is not None:
            words = f"limit at {limits.busbar}, short-circuit over demand current {show(limits.ratio, '')}"
            labels.on_curve(axes, "limit", words, look.palette.ink, prefer=0.35)
        canvas.describe(figure, title, harmonics_words(way, point))
        return figure


def _axes(axes: Axes, look: Look, values: list[float], limits: HarmonicLimits | None) -> None:
    most = max([*values, *(band.limit for band in limits.bands)] if limits else values)
    scale = divide(0.0, most)
    unit = "%" if limits else display_unit([scale.high], "A")
    canvas.value_axis(axes, scale, 0.01 if limits else 1 / in_display(1.0, "A", unit))
    canvas.name_above(axes, look, "harmonic current, % of demand current" if limits else f"harmonic current, {unit}")
    axes.set_xlim(0, HIGHEST)
    ticks = [1, 5, 7, 11, 13, 17, 19, 23, 25, 29, 31, 35, 37, 41, 43, 47, 49]
    axes.set_xticks(ticks, [str(tick) for tick in ticks])
    axes.set_xlabel("order, of line frequency", size=look.text, color=look.palette.ink)
    axes.grid(visible=False, axis="x")


def _steps(limits: HarmonicLimits) -> tuple[np.ndarray, np.ndarray]:
    x, y = [LOWEST], [limits.bands[0].limit]
    for band, after in zip(limits.bands, [*limits.bands[1:], None], strict=True):
        x += [min(band.order_to, HIGHEST)] * 2
        y += [band.limit, band.limit if after is None else after.limit]
    return np.array(x), np.array(y)


def _bars(
    axes: Axes, labels: Labels, look: Look, rows: list[tuple[float, float]], limits: HarmonicLimits | None
) -> None:  # fmt: skip
    """Blue within its limit, hatched beyond it, pale where the order does not count; the largest with their figures."""
    palette = look.palette
    for order, value in rows:
        counts = LOWEST < order
        limit = limit_of(limits, order) if limits is not None and counts else None
        broken = limit is not None and value > limit
        colour = palette.bad if broken else look.colour(0) if counts else palette.quiet
        (bar,) = axes.bar(order, value, width=0.6, color=colour, edgecolor=palette.paper, zorder=3)
        bar.set_hatch("//" if broken else "")
        for x in (order - 0.3, order + 0.3):
            labels.curve(axes, f"bar {order} {x}", np.full(2, x), np.array([0.0, value]))
    for order, value in sorted(rows, key=lambda row: -row[1])[:NAMED]:
        shown = show(value, "pu" if limits is not None else "A")
        words = f"{order:.3g}: {shown}" if order > LOWEST else f"{order:.3g}: {shown}, not counted"
        labels.at_point(axes, order, value, words, palette.ink if order > LOWEST else palette.quiet)


def total_words(point: OperatingPoint, limits: HarmonicLimits | None) -> str:
    """All harmonics together, against their limit where it is known."""
    total = sqrt(sum(h.current**2 for h in point.harmonics if _counts(h)))
    if limits is None:
        return f"All harmonics together {show(total, 'A')}."
    share = total / limits.demand
    verdict = "within" if share <= limits.total else "over"
    return f"All together {show(share, 'pu')}, {verdict} the limit of {show(limits.total, 'pu')}."


def harmonics_words(way: SpeedWayResult, point: OperatingPoint) -> str:
    """What the spectrum shows, from the numbers."""
    limits = way.harmonic_limits
    parts = [f"Harmonics of the line current at demand {point.duty.name}. {total_words(point, limits)}"]
    if limits is not None:
        parts.append(
            f"Limits of {limits.source}, per unit of a demand current of {show(limits.demand, 'A')} at {limits.busbar}."
        )
    for harmonic in point.harmonics:
        if abs(harmonic.order - 1) > 1e-6:
            limit = None if limits is None or not _counts(harmonic) else limit_of(limits, harmonic.order)
            share = "" if limits is None else f", {show(harmonic.current / limits.demand, 'pu')}"
            against = "" if limit is None else f" against {show(limit, 'pu')}"
            parts.append(f"Order {harmonic.order:.3g}: {show(harmonic.current, 'A')}{share}{against}.")
    return " ".join(parts)

"""A year of the duty for every way: energy, cost with the purchase, and payback, each with its range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from slipwise.present import tables_speed
from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import Look
from slipwise.present.figures.scale import divide
from slipwise.present.tables import STATUS_WORDS
from slipwise.quantity.show import MISSING, THIN, show_range
from slipwise.results.criteria import Status
from slipwise.results.speed import SpeedResult, SpeedWayResult, Year
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MWH = 3.6e9  # J
BOTTOM, HIGH, GAP = 0.12, 0.65, 0.05
THOUSANDS = 1e4  # from here on money is drawn in thousands
MOST_IN_TWO_LINES = 8  # rows with words under their bars; of more the words stand behind them
MOST_WITH_WORDS = 5  # rows whose names have room for the verdict under them


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """pieces: laid end to end; low and high: range of their sum; words behind it."""

    pieces: tuple[float, ...]
    low: float
    high: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One quantity of all ways. names: of the pieces, where there are several."""

    title: str
    unit: str
    names: tuple[str, ...]
    bars: tuple[Bar | None, ...]


def year(result: StudyResult, look: Look) -> Figure:
    """Bars of all ways that were computed, the recommended one first; ways that fail are hatched.

    Raises:
        ValueError: the study has no speed part.
    """
    found = result.speed
    if found is None:
        raise ValueError("the study has no speed control")
    ways = [way for way in tables_speed.ranked(found) if way.points]
    panels = panels_of(ways)
    title = "A year of the duty"
    with canvas.drawing():
        note = "Thin line: range from what was assumed. Bold: recommended. Hatched: fails."
        figure = canvas.sheet(look, title, f"{result.title}. {note}")
        labels = Labels(figure, look)
        left = 0.03 + min(0.27, max(labels.width(way.title, look.text) for way in ways)) + 0.015
        width = (0.97 - left - GAP * (len(panels) - 1)) / len(panels)
        for number, panel in enumerate(panels):
            axes = canvas.panel(figure, look, (left + number * (width + GAP), BOTTOM, width, HIGH))
            _panel(axes, look, labels, panel, ways)
            if number == 0:
                _names(canvas.writer(figure, look), axes, labels, found, ways)
        canvas.describe(figure, title, year_words(ways, panels))
        return figure


def panels_of(ways: Sequence[SpeedWayResult]) -> list[Panel]:
    """Energy always; cost and payback when a tariff and prices to buy are given; else CO2 when its factor is."""
    currency = next((way.year.currency for way in ways if way.year.currency), "")
    panels = [Panel(title="Energy a year", unit="MWh", names=(), bars=tuple(_energy(way.year) for way in ways))]
    if any(way.year.cost is not None for way in ways):
        names = ("energy", "purchase") if any(way.year.total is not None for way in ways) else ()
        large = max(way.year.total or way.year.cost or 0.0 for way in ways) >= THOUSANDS
        unit = f"1000{THIN}{currency}" if large else currency
        bars = tuple(_cost(way.year, 1e3 if large else 1.0) for way in ways)
        panels.append(Panel(title="Cost a year", unit=unit, names=names or ("energy",), bars=bars))
    for title, unit, bar in (("Pays back", "years", _payback), ("CO2 a year", "t", _carbon)):
        bars = tuple(bar(way.year) for way in ways)
        if len(panels) < 3 and any(row is not None and row.pieces for row in bars):
            panels.append(Panel(title=title, unit=unit, names=(), bars=bars))
    return panels


def _energy(row: Year) -> Bar:
    value, low, high = row.energy / MWH, row.energy_low / MWH, row.energy_high / MWH
    return Bar(pieces=(value,), low=low, high=high, words=show_range(value, low, high, ""))


def _cost(row: Year, size: float) -> Bar | None:
    """In `size` of the currency: energy, and the share of the purchase where its price is known."""
    if row.cost is None:
        return None
    value = row.cost if row.total is None else row.total
    low, high = (row.cost_low, row.cost_high) if row.total is None else (row.total_low, row.total_high)
    low, high = (value if end is None else end for end in (low, high))
    pieces = (row.cost / size, (value - row.cost) / size)
    words = show_range(value / size, low / size, high / size, "")
    return Bar(pieces=pieces, low=low / size, high=high / size, words=words)


def _payback(row: Year) -> Bar | None:
    """None where the way has no price or is itself the one the others are compared with."""
    if row.payback is None:
        return None
    words = tables_speed.payback_text(row).removesuffix(" years")
    if not isfinite(row.payback):
        return Bar(pieces=(), low=0.0, high=0.0, words=words)
    low, high = row.payback_low or row.payback, row.payback_high or row.payback
    return Bar(pieces=(row.payback,), low=low, high=high if isfinite(high) else row.payback, words=words)


def _carbon(row: Year) -> Bar | None:
    if row.carbon is None:
        return None
    value, factor = row.carbon / 1e3, row.carbon / row.energy / 1e3 if row.energy else 0.0
    low, high = row.energy_low * factor, row.energy_high * factor
    return Bar(pieces=(value,), low=low, high=high, words=show_range(value, low, high, ""))


def _panel(axes: Axes, look: Look, labels: Labels, panel: Panel, ways: Sequence[SpeedWayResult]) -> None:
    """Bars from the top down with their range; under each, or behind it, its value in words."""
    palette, count = look.palette, len(panel.bars)
    reach = max((max(bar.high, sum(bar.pieces)) for bar in panel.bars if bar is not None), default=1.0)
    scale = divide(0.0, reach, 2, 4)
    behind = count > MOST_IN_TWO_LINES
    told = [MISSING if bar is None else bar.words.partition(" (")[0] if behind else bar.words for bar in panel.bars]
    room = max(labels.width(words, look.small) for words in told)
    room = (room + 0.012) / axes.get_position().width if behind else 0.02
    axes.set_xlim(0, max(scale.high if not behind else 0.0, reach / max(0.1, 1.0 - room)))
    axes.set_ylim(count, 0)
    ticks = [tick for tick in scale.ticks if tick <= axes.get_xlim()[1] and (tick <= reach * 1.02 or not behind)]
    axes.set_xticks(ticks, [canvas.tick_text(round(float(tick), 6)) for tick in ticks])
    axes.set_yticks([])
    axes.grid(visible=False, axis="y")
    axes.set_xlabel(panel.unit, size=look.text, color=palette.ink)
    axes.annotate(
        labels.wrapped(panel.title, look.text, axes.get_position().width, 2), (0, 1), xycoords="axes fraction",
        xytext=(0, (30 if panel.names else 8) * look.scale), textcoords="offset points", size=look.text,
        color=palette.ink, va="bottom", annotation_clip=False,
    )  # fmt: skip
    _piece_names(axes, look, labels, panel)
    for n, (way, bar, words) in enumerate(zip(ways, panel.bars, told, strict=True)):
        end = 0.0 if bar is None else max([bar.high, sum(bar.pieces)])
        at = (end + 0.02 * axes.get_xlim()[1], n + 0.5) if behind else (0.0, n + 0.60)
        axes.text(*at, words, size=look.small, color=palette.ink, va="center" if behind else "top", ha="left")
        if bar is not None:
            _bar(axes, look, n + (0.5 if behind else 0.38), bar, way.status is Status.FAILS)


def _bar(axes: Axes, look: Look, n: float, bar: Bar, fails: bool) -> None:
    palette, left = look.palette, 0.0
    for piece, value in enumerate(bar.pieces):
        colour = palette.bad if fails else look.colour(0 if piece == 0 else 2)
        (box,) = axes.barh(n, value, left=left, height=0.34, color=colour, edgecolor=palette.paper, zorder=3)
        box.set_hatch("//" if fails else "")
        left += value
    if bar.high > bar.low:
        axes.plot([bar.low, bar.high], [n] * 2, color=palette.ink, linewidth=look.line * 0.8, zorder=4)
        axes.plot([bar.low, bar.high], [n] * 2, "|", color=palette.ink, markersize=12 * look.scale, zorder=4)


def _piece_names(axes: Axes, look: Look, labels: Labels, panel: Panel) -> None:
    """Names of the pieces in their colours, in a row above the panel."""
    x = 0.0
    for number, name in enumerate(panel.names):
        colour = look.colour(0 if number == 0 else 2)
        axes.annotate(
            name, (x, 1), xycoords="axes fraction", xytext=(0, 8 * look.scale), textcoords="offset points",
            size=look.small, color=colour, va="bottom", annotation_clip=False,
        )  # fmt: skip
        x += (labels.width(name, look.small) + 0.015) / axes.get_position().width


def _names(
    write: canvas.Writer, axes: Axes, labels: Labels, found: SpeedResult, ways: Sequence[SpeedWayResult]
) -> None:
    """Name, and where there is room the verdict under it; the recommended way in bold."""
    box, look = axes.get_position(), labels.look
    step = box.height / len(ways)
    for n, way in enumerate(ways):
        y = box.y1 - step * (n + (0.5 if len(ways) > MOST_IN_TWO_LINES else 0.38))
        best = way.key == found.recommendation.way
        name = labels.wrapped(way.title, look.text * 1.05, box.x0 - 0.045, 2)
        if len(ways) > MOST_IN_TWO_LINES:
            name = labels.cut(way.title, look.text * 1.05, box.x0 - 0.045)
        fails = way.status is Status.FAILS
        words = STATUS_WORDS[way.status]
        roomy = len(ways) <= MOST_WITH_WORDS
        write(0.03, y, name, size=look.text, weight="bold" if best else "normal", va="bottom" if roomy else "center")
        if roomy:
            write(0.03, y - 0.008, words, colour=look.palette.bad if fails else look.palette.quiet, va="top")


def year_words(ways: Sequence[SpeedWayResult], panels: Sequence[Panel]) -> str:
    """What the bars show, from the numbers."""
    parts: list[str] = []
    for panel in panels:
        told = ["not known" if bar is None else bar.words for bar in panel.bars]
        rows = [f"{way.title} {words}" for way, words in zip(ways, told, strict=True)]
        parts.append(f"{panel.title}, {panel.unit}: {'; '.join(rows)}.")
    parts.append("; ".join(f"{way.title} {STATUS_WORDS[way.status]}" for way in ways) + ".")
    return " ".join(parts)

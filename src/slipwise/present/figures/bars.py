"""Bars of all ways side by side: the dip at every busbar and the use of heat, each against its limit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slipwise.present import tables
from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import Look
from slipwise.present.figures.scale import divide
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_PANELS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One bar: pieces laid end to end with their names, in `unit` (SI); words shown behind it; broken limits stand out."""

    pieces: tuple[tuple[str, float], ...]
    words: str
    bad: bool = False

    @property
    def total(self) -> float:
        return sum(value for _, value in self.pieces)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """One panel: its name, the unit, a bar (or the reason for none) per way, the limit if there is one."""

    title: str
    unit: str
    bars: tuple[Bar, ...]
    limit: float | None = None
    limit_words: str = ""


def drawn_ways(result: StudyResult) -> tuple[WayResult, ...]:
    """The ways that were computed at all, the recommended one first."""
    return tuple(way for way in tables.ranked(result) if way.run_ups)


def dip(result: StudyResult, look: Look) -> Figure:
    """The greatest dip at every busbar in every way, against that busbar's own limit."""
    rows = dip_rows(result)
    groups = [_criterion_group(result, key, title) for key, title in rows[:MOST_PANELS]]
    title = "Voltage dip at each busbar"
    with canvas.drawing():
        figure = _draw(
            result, look, (title, f"{result.title}. Dip from the voltage before switching on, worst case."), groups
        )
        canvas.describe(figure, title, group_words(result, groups))
        return figure


def dip_rows(result: StudyResult) -> list[tuple[str, str]]:
    """Key and name of every busbar with a dip criterion, in their order."""
    found = {row.key: row.title for way in result.ways for row in way.verdict.criteria if row.key.startswith("dip:")}
    return [(key, key.partition(":")[2] or title) for key, title in found.items()]


def heat(result: StudyResult, look: Look) -> Figure:
    """Where the heat of one start goes, and how much of each heat limit it uses."""
    keys = {row.key: row.title for way in result.ways for row in way.verdict.criteria if row.key.startswith("heat")}
    groups = [
        _start_heat(result),
        *(_criterion_group(result, key, name) for key, name in list(keys.items())[: MOST_PANELS - 1]),
    ]
    title = "Heat of one start"
    with canvas.drawing():
        figure = _draw(result, look, (title, result.title), groups)
        canvas.describe(figure, title, group_words(result, groups))
        return figure


def _start_heat(result: StudyResult) -> Group:
    """Stator and rotor heat of the nominal start."""
    bars = []
    for way in drawn_ways(result):
        run = way.run_ups[0]
        words = show(run.stator_heat + run.rotor_heat, "J")
        bars.append(Bar(pieces=(("stator", run.stator_heat), ("rotor", run.rotor_heat)), words=words))
    case = drawn_ways(result)[0].run_ups[0].case
    return Group(title=f"Heat, {case} case", unit="J", bars=tuple(bars))


def _criterion_group(result: StudyResult, key: str, title: str) -> Group:
    rows = [next((row for row in way.verdict.criteria if row.key == key), None) for way in drawn_ways(result)]
    bars = tuple(_bar(row) for row in rows)
    known = next((row for row in rows if row is not None and row.limit is not None), None)
    unit = next((row.unit for row in rows if row is not None), "pu")
    words = "" if known is None or known.limit is None else f"limit {show(known.limit, known.unit)}"
    return Group(title=title, unit=unit, bars=bars, limit=known.limit if known else None, limit_words=words)


def _bar(row: Criterion | None) -> Bar:
    if row is None or row.value is None:
        return Bar(pieces=(), words="not judged")
    broken = row.status is Status.FAILS
    words = f"{show(row.value, row.unit)}{', too high' if broken and row.sense is Sense.AT_MOST else ''}"
    return Bar(pieces=(("", row.value),), words=words, bad=broken)


def _draw(result: StudyResult, look: Look, heading: tuple[str, str], groups: Sequence[Group]) -> Figure:
    figure = canvas.sheet(look, *heading)
    ways = drawn_ways(result)
    labels = Labels(figure, look)
    names = max(labels.width(way.title, look.text) for way in ways)
    left = 0.03 + names + 0.015
    gap = 0.03
    width = (0.97 - left - gap * (len(groups) - 1)) / len(groups)
    for number, group in enumerate(groups):
        axes = canvas.panel(figure, look, (left + number * (width + gap), 0.12, width, 0.64))
        _panel(axes, look, group, labels)
        if number == 0:
            _way_names(axes, look, ways)
    return figure


def _way_names(axes: Axes, look: Look, ways: Sequence[WayResult]) -> None:
    box = axes.get_position()
    for n, way in enumerate(ways):
        y = box.y1 - box.height * (n + 0.5) / len(ways)
        axes.figure.text(box.x0 - 0.012, y, way.title, size=look.text, color=look.palette.ink, ha="right", va="center")


def _panel(axes: Axes, look: Look, group: Group, labels: Labels) -> None:
    """Bars from the top down, words behind them, the limit as an upright rule with its value at the top."""
    palette, count = look.palette, len(group.bars)
    share = axes.get_position().width
    longest = max((bar.total for bar in group.bars), default=0.0)
    reach = max([longest, group.limit or 0.0]) or 1.0
    words = max(labels.width(bar.words, look.small) for bar in group.bars) / share
    scale = divide(0.0, reach, 2, 4)
    axes.set_xlim(0, max(scale.high, (reach) / max(0.25, 0.95 - words)))
    axes.set_ylim(count, 0)
    unit = display_unit([scale.high], group.unit)
    ticks = [t for t in scale.ticks if t <= reach * 1.0001 or t == scale.high]
    axes.set_xticks(ticks, [canvas.tick_text(round(in_display(float(t), group.unit, unit), 9)) for t in ticks])
    axes.set_yticks([])
    axes.grid(visible=False, axis="y")
    axes.spines["left"].set_color(palette.ink)
    axes.set_xlabel(unit, size=look.text, color=palette.ink)
    name = labels.wrapped(group.title, look.text, share, 2)
    axes.annotate(
        name, (0, 1), xycoords="axes fraction", xytext=(0, 34 * look.scale), textcoords="offset points",
        size=look.text, color=palette.ink, ha="left", va="bottom", annotation_clip=False,
    )  # fmt: skip
    for n, bar in enumerate(group.bars):
        _one(axes, look, (n, bar), group.limit)
    _name_pieces(axes, look, group)
    if group.limit is not None:
        axes.plot([group.limit] * 2, [0, count], color=palette.ink, linewidth=look.line, zorder=4, clip_on=False)
        axes.annotate(
            group.limit_words, (group.limit, 0), xytext=(0, 6 * look.scale), textcoords="offset points", size=look.small,
            color=palette.ink, ha="center" if group.limit < 0.8 * axes.get_xlim()[1] else "right", va="bottom",
        )  # fmt: skip


def _one(axes: Axes, look: Look, row: tuple[int, Bar], limit: float | None) -> None:
    n, bar = row
    palette, left = look.palette, 0.0
    for piece, (_, value) in enumerate(bar.pieces):
        colour = palette.bad if bar.bad else look.colour(0 if piece == 0 else 2)
        box = axes.barh(n + 0.5, value, left=left, height=0.42, color=colour, edgecolor=palette.paper, zorder=3)
        box[0].set_hatch("//" if bar.bad else "")
        left += value
    right = axes.get_xlim()[1]
    beside = left + 0.02 * right
    if limit is not None and left <= limit * 1.02:  # words begin behind the limit so that the rule does not cross them
        beside = limit + 0.03 * right
    axes.text(
        beside, n + 0.5, bar.words, size=look.small, va="center", ha="left", clip_on=False,
        color=palette.bad if bar.bad else palette.ink,
    )  # fmt: skip


def _name_pieces(axes: Axes, look: Look, group: Group) -> None:
    """Names of the pieces under the first bar that has several, each under the middle of its piece."""
    several = next(((n, bar) for n, bar in enumerate(group.bars) if len(bar.pieces) > 1), None)
    if several is None:
        return
    n, bar = several
    left = 0.0
    for piece, (name, value) in enumerate(bar.pieces):
        share = f"{name} {show(value, group.unit)}"
        first = piece == 0
        x, y = (0.0, n + 0.78) if first else (left + value, n + 0.22)
        axes.text(
            x, y, share, size=look.small, color=look.colour(0 if first else 2), ha="left" if first else "right",
            va="top" if first else "bottom",
        )  # fmt: skip
        left += value


def group_words(result: StudyResult, groups: Sequence[Group]) -> str:
    """What the bars show, from the numbers."""
    parts = []
    for group in groups:
        rows = [f"{way.title} {bar.words}" for way, bar in zip(drawn_ways(result), group.bars, strict=True)]
        parts.append(f"{group.title}{f', {group.limit_words}' if group.limit_words else ''}: {'; '.join(rows)}.")
    return " ".join(parts)

"""All ways on one page: a small torque figure for each, and the margin of every criterion, the tightest first."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from slipwise.present import tables
from slipwise.present.figures import canvas
from slipwise.present.figures.characteristics import r_min
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import SOLID, Look, dash_of
from slipwise.present.figures.scale import span
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Status
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST_ROWS = 9
LEFT = 0.255  # where the columns of the ways begin
TOP, SMALL_HIGH = 0.80, 0.15  # top and height of the small torque figures
ROWS_TOP, BOTTOM = 0.585, 0.075
FULL = 1.0  # margins beyond this are drawn at the full length of a bar


def comparison(result: StudyResult, look: Look) -> Figure:
    """Columns are ways, the recommended one first; rows are criteria, the tightest over all ways first."""
    title = "All ways compared"
    with canvas.drawing():
        ways = tables.ranked(result)
        figure = canvas.sheet(
            look, title, f"{result.title}. Bars: share of the limit in hand (right) or missing (left)."
        )
        rows = ordered_rows(ways)
        width = (0.985 - LEFT) / len(ways)
        labels = Labels(figure, look)
        for number, way in enumerate(ways):
            x = LEFT + number * width
            _head(figure, look, labels, (way, tables.place(result, way)), (x, width))
            _small(figure, look, way, (x, width), _tallest(ways))
        _margins(figure, look, ways, rows, width)
        canvas.describe(figure, title, comparison_words(result))
        return figure


def ordered_rows(ways: Sequence[WayResult]) -> list[tuple[str, str]]:
    """Key and title of the judged criteria, the least margin over all ways first, as many as the page holds."""
    least: dict[str, float] = {}
    titles: dict[str, str] = {}
    for way in ways:
        for row in way.verdict.criteria:
            if row.margin is not None:
                least[row.key] = min(row.margin, least.get(row.key, row.margin))
                titles.setdefault(row.key, row.title)
    return [(key, titles[key]) for key in sorted(least, key=lambda k: least[k])][:MOST_ROWS]


def _tallest(ways: Sequence[WayResult]) -> float:
    return span([curve.torque for way in ways for curve in way.curves])[1] * 1.06 or 1.0


def _head(figure: Figure, look: Look, labels: Labels, about: tuple[WayResult, str], place: tuple[float, float]) -> None:
    """Name of the way, its standing, its verdict in words."""
    (way, standing), (x, width) = about, place
    size = look.text
    broken = way.verdict.status is Status.FAILS
    name = _fitted(labels, way.title, size, width - 0.012)
    figure.text(
        x + 0.006,
        TOP + 0.055,
        name,
        size=size,
        color=look.palette.ink,
        weight="bold",
        va="bottom",
        ha="left",
        linespacing=1.0,
    )
    word = "with a condition" if way.verdict.status is Status.CONDITION else tables.STATUS_WORDS[way.verdict.status]
    words = (
        f"{word}, {standing}" if standing and labels.width(f"{word}, {standing}", look.small) < width - 0.012 else word
    )
    words = _fitted(labels, words, look.small, width - 0.012)
    figure.text(
        x + 0.006,
        TOP + 0.012,
        words,
        size=look.small,
        color=look.palette.bad if broken else look.palette.ink,
        va="bottom",
        ha="left",
    )


def _fitted(labels: Labels, words: str, size: float, width: float) -> str:
    """Words cut short with a dot where the column is too narrow for them."""
    if labels.width(words, size) * 1.12 <= width:
        return words
    while len(words) > 3 and labels.width(f"{words}.", size) * 1.12 > width:
        words = words[:-1]
    return f"{words}."


def _small(figure: Figure, look: Look, way: WayResult, place: tuple[float, float], tallest: float) -> None:
    """Torque of each stage and the load on one scale for all ways, without ticks."""
    x, width = place
    axes = canvas.panel(figure, look, (x + 0.006, TOP - SMALL_HIGH, width - 0.018, SMALL_HIGH))
    axes.set_xticks([])
    axes.set_yticks([])
    for number, curve in enumerate(way.curves):
        axes.plot(
            r_min(curve.speed),
            curve.torque,
            color=look.colour(number),
            linestyle=dash_of(number),
            linewidth=look.line * 0.7,
        )
    axes.plot(
        r_min(way.curves[0].speed),
        way.curves[0].load,
        color=look.palette.ink,
        linestyle=SOLID,
        linewidth=look.line * 0.5,
    )
    axes.set_ylim(0, tallest)
    axes.set_xlim(float(r_min(way.curves[0].speed[0])), float(r_min(way.curves[0].speed[-1])))


def _margins(
    figure: Figure, look: Look, ways: Sequence[WayResult], rows: Sequence[tuple[str, str]], width: float
) -> None:
    """One bar per way and criterion from a common zero line, its margin in figures, and a frame around what binds."""
    palette = look.palette
    step = (ROWS_TOP - BOTTOM) / max(len(rows), 5)
    caption = "torque against speed\nof each stage; load black"
    figure.text(0.03, TOP - SMALL_HIGH / 2, caption, size=look.small, color=palette.quiet, va="center", ha="left")
    for n, (key, title) in enumerate(rows):
        y = ROWS_TOP - (n + 0.5) * step
        words = "\n".join(textwrap.wrap(title, 23)[:2])
        figure.text(0.03, y, words, size=look.small, color=palette.ink, va="center", ha="left", linespacing=0.95)
    from matplotlib.lines import Line2D

    for number, way in enumerate(ways):
        x = LEFT + number * width
        zero = x + 0.006 + (width - 0.018) * 0.30
        ends = [ROWS_TOP, ROWS_TOP - len(rows) * step]
        figure.add_artist(Line2D([zero, zero], ends, color=palette.quiet, linewidth=look.hair))
        for n, (key, _) in enumerate(rows):
            row = next((r for r in way.verdict.criteria if r.key == key), None)
            binds = way.verdict.binding is not None and way.verdict.binding.key == key
            _cell(figure, look, (row, binds), (x, width, zero), (ROWS_TOP - (n + 0.5) * step, step))
    figure.text(
        LEFT + 0.006,
        0.025,
        "framed: the limit that binds",
        size=look.small,
        color=palette.quiet,
        va="bottom",
        ha="left",
    )


def _cell(
    figure: Figure, look: Look, item: tuple[Criterion | None, bool], across: tuple[float, float, float],
    down: tuple[float, float],
) -> None:  # fmt: skip
    from matplotlib.patches import Rectangle

    (row, binds), (x, width, zero), (y, step) = item, across, down
    palette = look.palette
    right = x + width - 0.012
    if row is None or row.margin is None:
        figure.text(
            right - 0.004,
            y,
            "not judged" if width > 0.12 else "–",
            size=look.small,
            color=palette.quiet,
            va="center",
            ha="right",
        )
        return
    broken = row.margin < 0
    colour = palette.bad if broken else look.colour(0)
    room = (zero - x - 0.01) if broken else (width - 0.018) * 0.30
    length = room * min(abs(row.margin), FULL) / FULL
    place = (zero - length, y - step * 0.2) if broken else (zero, y - step * 0.2)
    hatch = "//" if broken else ""
    figure.add_artist(
        Rectangle(place, length, step * 0.4, facecolor=colour, edgecolor=palette.paper, linewidth=0, hatch=hatch)
    )
    figure.text(
        right - 0.004, y, tables.signed(row.margin), size=look.small, color=colour if broken else palette.ink, va="center",
        ha="right", weight="bold" if binds else "normal",
    )  # fmt: skip
    if binds:
        frame = ((x + 0.003, y - step * 0.44), width - 0.013, step * 0.88)
        figure.add_artist(Rectangle(*frame, fill=False, edgecolor=palette.ink, linewidth=look.hair * 1.6))


def comparison_words(result: StudyResult) -> str:
    """What the comparison shows, from the numbers."""
    parts = [tables.verdict_sentence(result)]
    for way in tables.ranked(result):
        row = way.verdict.binding
        bound = (
            ""
            if row is None
            else f", bound by {row.title}: {show(row.value, row.unit)}, {tables.limit_text(row)}, margin {tables.signed(row.margin)}"
        )
        parts.append(f"{way.title} {tables.STATUS_WORDS[way.verdict.status]}{bound}.")
    return " ".join(parts)

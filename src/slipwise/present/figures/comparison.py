"""All ways on one page: a small torque figure for each, and the margin of every criterion, the tightest first."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from slipwise.present import tables
from slipwise.present.figures import canvas
from slipwise.present.figures.comparison_many import comparison_many
from slipwise.present.figures.comparison_parts import (
    FULL,
    cell_words,
    comparison_words,
    key_words,
    ordered_rows,
    small,
    tallest,
)
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import Look
from slipwise.results.criteria import Criterion, Status
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST_COLUMNS = 4  # with more ways each gets a row instead
LEFT = 0.255  # where the columns of the ways begin
TOP, SMALL_HIGH = 0.755, 0.135  # top and height of the small torque figures
ROWS_TOP, BOTTOM = 0.585, 0.075
SHORT = {Status.CONDITION: "with a condition"}


def comparison(result: StudyResult, look: Look) -> Figure:
    """Columns are ways, the recommended one first; rows are criteria, the tightest over all ways first."""
    if len(result.ways) > MOST_COLUMNS:
        return comparison_many(result, look)
    title = "All ways compared"
    with canvas.drawing():
        ways = tables.ranked(result)
        note = f"{result.title}. Bars: margin in hand (right) or missing (left)."
        figure = canvas.sheet(look, title, note)
        rows = ordered_rows(ways)
        width = (0.985 - LEFT) / len(ways)
        labels = Labels(figure, look)
        write = canvas.writer(figure, look)
        write(0.03, TOP - SMALL_HIGH / 2, "torque against speed\nof each stage; load thin", colour=look.palette.quiet)
        for number, way in enumerate(ways):
            place = (LEFT + number * width, width)
            _head(write, look, labels, (way, tables.place(result, way)), place)
            small(figure, look, way, (place[0] + 0.006, TOP - SMALL_HIGH, place[1] - 0.018, SMALL_HIGH), tallest(ways))
        _margins(figure, look, ways, rows, width)
        write(0.03, 0.025, key_words(ways), colour=look.palette.quiet, va="bottom")
        canvas.describe(figure, title, comparison_words(result))
        return figure


def _head(
    write: canvas.Writer, look: Look, labels: Labels, about: tuple[WayResult, str], place: tuple[float, float]
) -> None:  # fmt: skip
    """Name of the way, its standing, its verdict in words."""
    (way, standing), (x, width) = about, place
    broken = way.verdict.status is Status.FAILS
    left, room = x + 0.006, width - 0.016
    word = SHORT.get(way.verdict.status, tables.STATUS_WORDS[way.verdict.status])
    full = f"{word}, {standing}" if standing else word
    words = full if labels.width(full, look.small) < room else _fitted(labels, word, look.small, room)
    name = _fitted(labels, way.title, look.text * 1.1, room)  # bold runs wider
    write(left, TOP + 0.048, name, size=look.text, weight="bold", va="bottom", linespacing=0.95)
    write(left, TOP + 0.010, words, colour=look.palette.bad if broken else look.palette.ink, va="bottom")


def _fitted(labels: Labels, words: str, size: float, width: float) -> str:
    """Words over two lines, or cut short with a dot, where the column is too narrow for them."""
    if labels.width(words, size) <= width:
        return words
    for mark in (" ", "-"):
        first, found, rest = words.partition(mark)
        halves = (f"{first}{found.strip()}", rest)
        if found and max(labels.width(half, size) for half in halves) <= width:
            return "\n".join(halves)
    while len(words) > 3 and labels.width(f"{words}.", size) > width:
        words = words[:-1]
    return f"{words.rstrip()}."


def _margins(
    figure: Figure, look: Look, ways: Sequence[WayResult], rows: Sequence[tuple[str, str]], width: float
) -> None:  # fmt: skip
    """One bar per way and criterion from a common zero line, its margin in figures, and a frame around what binds."""
    from matplotlib.lines import Line2D

    write = canvas.writer(figure, look)
    step = (ROWS_TOP - BOTTOM) / max(len(rows), 5)
    for n, (_, title) in enumerate(rows):
        write(0.03, ROWS_TOP - (n + 0.5) * step, "\n".join(textwrap.wrap(title, 23)[:2]), linespacing=0.95)
    for number, way in enumerate(ways):
        x = LEFT + number * width
        zero = x + 0.006 + (width - 0.018) * 0.30
        ends = [ROWS_TOP, ROWS_TOP - len(rows) * step]
        figure.add_artist(Line2D([zero, zero], ends, color=look.palette.quiet, linewidth=look.hair))
        for n, (key, _) in enumerate(rows):
            row = next((r for r in way.verdict.criteria if r.key == key), None)
            binds = way.verdict.binding is not None and way.verdict.binding.key == key
            _cell(figure, look, (row, binds), (x, width, zero), (ROWS_TOP - (n + 0.5) * step, step))


def _cell(
    figure: Figure, look: Look, item: tuple[Criterion | None, bool], across: tuple[float, float, float],
    down: tuple[float, float],
) -> None:  # fmt: skip
    """One margin: a bar from the zero line and its figures; words where there is no number."""
    from matplotlib.patches import Rectangle

    (row, binds), (x, width, zero), (y, step) = item, across, down
    broken = row is not None and row.status is Status.FAILS
    colour = look.palette.bad if broken else look.colour(0)
    if row is not None and row.margin is not None:
        room = (zero - x - 0.01) if row.margin < 0 else (width - 0.018) * 0.30
        length = room * min(abs(row.margin), FULL) / FULL
        corner = (zero - length if row.margin < 0 else zero, y - step * 0.2)
        bar = Rectangle(corner, length, step * 0.4, facecolor=colour, edgecolor=look.palette.paper, linewidth=0)
        bar.set_hatch("//" if broken else "")
        figure.add_artist(bar)
    words, ink = cell_words(row, look, width)
    weight = "bold" if binds else "normal"
    canvas.writer(figure, look)(x + width - 0.016, y, words, colour=ink, ha="right", weight=weight)
    if binds:
        frame = Rectangle(
            (x + 0.003, y - step * 0.44), width - 0.013, step * 0.88, fill=False, edgecolor=look.palette.ink
        )
        frame.set_linewidth(look.hair * 1.6)
        figure.add_artist(frame)

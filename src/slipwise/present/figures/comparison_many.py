"""The comparison of many ways on one page: a row for each, a column for each criterion, the tightest first."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from slipwise.present import tables
from slipwise.present.figures import canvas
from slipwise.present.figures.comparison_parts import (
    FULL,
    cell_words,
    comparison_words,
    key_words,
    ordered_rows,
    small,
    tallest,
)
from slipwise.present.figures.look import Look
from slipwise.results.criteria import Criterion, Status
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

COLUMNS = 7  # criteria the page holds
FROM, WIDTH = 0.29, 0.695 / COLUMNS  # where the criteria begin, and the width of each
TOP, BOTTOM = 0.775, 0.075


def comparison_many(result: StudyResult, look: Look) -> Figure:
    """Rows are ways, the recommended one first; columns are criteria, the tightest over all ways first."""
    title = "All ways compared"
    with canvas.drawing():
        ways = tables.ranked(result)
        note = f"{result.title}. Bars: margin in hand (right) or missing (left)."
        figure = canvas.sheet(look, title, note)
        write = canvas.writer(figure, look)
        columns = ordered_rows(ways)[:COLUMNS]
        for n, (_, name) in enumerate(columns):
            words = "\n".join(textwrap.wrap(name, 11)[:3])
            write(FROM + (n + 1) * WIDTH - 0.012, TOP + 0.012, words, va="bottom", ha="right", linespacing=0.95)
        step = min((TOP - BOTTOM) / len(ways), 0.1)
        for n, way in enumerate(ways):
            _row(figure, look, (way, tables.place(result, way)), columns, (TOP - (n + 0.5) * step, step, tallest(ways)))
        write(0.03, 0.025, f"{key_words(ways)} Small: torque against speed.", colour=look.palette.quiet, va="bottom")
        canvas.describe(figure, title, comparison_words(result))
        return figure


def _row(
    figure: Figure, look: Look, about: tuple[WayResult, str], columns: list[tuple[str, str]],
    place: tuple[float, float, float],
) -> None:  # fmt: skip
    """Name and standing of a way, its small torque figure, its margins."""
    (way, standing), (y, step, highest) = about, place
    write, palette = canvas.writer(figure, look), look.palette
    broken = way.verdict.status is Status.FAILS
    write(0.03, y + step * 0.24, way.title, weight="bold")
    word = standing or tables.STATUS_WORDS[way.verdict.status].replace("passes with a condition", "with a condition")
    write(0.03, y - step * 0.24, word, colour=palette.bad if broken else palette.ink)
    small(figure, look, way, (0.215, y - step * 0.38, 0.06, step * 0.76), highest)
    for n, (key, _) in enumerate(columns):
        row = next((r for r in way.verdict.criteria if r.key == key), None)
        binds = way.verdict.binding is not None and way.verdict.binding.key == key
        _cell(figure, look, (row, binds), (FROM + n * WIDTH, y, step))


def _cell(figure: Figure, look: Look, item: tuple[Criterion | None, bool], place: tuple[float, float, float]) -> None:
    """The margin in figures, a thin bar under it from a zero line at the left third, a frame if it binds."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    (row, binds), (x, y, step) = item, place
    broken = row is not None and row.status is Status.FAILS
    words, ink = cell_words(row, look, WIDTH)
    canvas.writer(figure, look)(
        x + WIDTH - 0.012, y + step * 0.14, words, colour=ink, ha="right", weight="bold" if binds else "normal"
    )  # fmt: skip
    if row is not None and row.margin is not None:
        zero, low = x + WIDTH * 0.33, y - step * 0.36
        room = (WIDTH * 0.33 - 0.006) if row.margin < 0 else (WIDTH * 0.67 - 0.012)
        length = room * min(abs(row.margin), FULL) / FULL
        corner = (zero - length if row.margin < 0 else zero, low)
        bar = Rectangle(
            corner, length, step * 0.16, facecolor=look.palette.bad if broken else look.colour(0), linewidth=0
        )
        bar.set_edgecolor(look.palette.paper)
        bar.set_hatch("//" if broken else "")
        figure.add_artist(bar)
        line = Line2D(
            [zero, zero], [low - step * 0.04, low + step * 0.20], color=look.palette.quiet, linewidth=look.hair
        )
        figure.add_artist(line)
    if binds:
        frame = Rectangle(
            (x + 0.002, y - step * 0.46), WIDTH - 0.006, step * 0.92, fill=False, edgecolor=look.palette.ink
        )
        frame.set_linewidth(look.hair * 1.6)
        figure.add_artist(frame)

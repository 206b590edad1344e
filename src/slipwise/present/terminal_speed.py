"""Speed control in the terminal: the choice and why, the ways side by side, the chosen way demand by demand."""

from __future__ import annotations

import textwrap
from collections.abc import Callable

from slipwise.present import tables, tables_speed, tables_speed_way
from slipwise.present.tables import STATUS_WORDS
from slipwise.results.criteria import Status
from slipwise.results.speed import SpeedResult, SpeedWayResult
from slipwise.results.table import Table

Draw = Callable[[Table], str]
GUTTER = 2  # between the columns of a table


def speed_text(result: SpeedResult, width: int, draw: Draw, clean: Callable[[str], str]) -> str:
    """Everything about speed control, short. draw: a table as text; clean: words as the stream can show them."""
    chosen = [way for way in tables_speed.ranked(result) if way.key == result.recommendation.way]
    parts = [
        clean(_answer(result, width)),
        draw(tables_speed.comparison(result)),
        *(part for way in chosen for part in _detail(way, width, draw)),
        clean(_block("Why not", [f"{w.title}: {w.verdict.reason}" for w in result.ways if _out(w)], width)),
        clean(_block("Notes", [*(note for way in chosen for note in way.notes), *result.notes], width)),
    ]
    return "\n".join(part for part in parts if part)


def way_text(result: SpeedResult, key: str, width: int, draw: Draw, clean: Callable[[str], str]) -> str:
    """Everything about one way.

    Raises:
        KeyError: there is no such way.
    """
    way = next((way for way in result.ways if way.key == key), None)
    if way is None:
        raise KeyError(key)
    head = f"{way.title}: {STATUS_WORDS[way.status]}; {way.verdict.reason}"
    others = [tables.criteria(way), tables.settings(way), *tables_speed_way.further(way), tables.contacts(way)]
    drawn = [draw(part) for table in others if table.rows for part in fitting(table, width)]
    parts = [
        clean(_wrapped(head, width, "")),
        *_detail(way, width, draw),
        *drawn,
        clean(_block("Notes", way.notes, width)),
    ]
    return "\n".join(part for part in parts if part)


def _answer(result: SpeedResult, width: int) -> str:
    best = next((way for way in result.ways if way.key == result.recommendation.way), None)
    head = f"Speed control: {best.title}" if best else "Speed control: no way passes"
    if best and best.status is not Status.PASSES:
        head += f" ({STATUS_WORDS[best.status]})"
    return _wrapped(head, width, "") + _wrapped(f"Why: {result.recommendation.reason}", width, "  ")


def _out(way: SpeedWayResult) -> bool:
    return way.status in (Status.FAILS, Status.NOT_APPLICABLE)


def _detail(way: SpeedWayResult, width: int, draw: Draw) -> list[str]:
    """Demand by demand, losses, changes of speed, what to buy."""
    return [draw(part) for table in tables_speed_way.chief(way) for part in fitting(table, width)]


def fitting(table: Table, width: int) -> list[Table]:
    """The table, or if demands stand side by side and do not fit, several with as many of them as do."""
    cells = [[column.title, *(row[n] for row in table.rows)] for n, column in enumerate(table.columns)]
    widths = [max(map(len, column)) + GUTTER for column in cells]
    if not all(column.numeric for column in table.columns[1:]) or sum(widths) <= width:
        return [table]
    pages: list[list[int]] = [[]]
    for n in range(1, len(widths)):
        if pages[-1] and widths[0] + sum(widths[k] for k in (*pages[-1], n)) > width:
            pages.append([])
        pages[-1].append(n)
    return [_part(table, page, last=page is pages[-1]) for page in pages]


def _part(table: Table, page: list[int], last: bool) -> Table:
    """The first column and some others; the note stands under the last part."""
    kept = (0, *page)
    return Table(
        title=table.title if page[0] == 1 else f"{table.title}, continued",
        columns=tuple(table.columns[n] for n in kept),
        rows=tuple(tuple(row[n] for n in kept) for row in table.rows),
        note=table.note if last else "",
    )


def _block(title: str, lines: list[str] | tuple[str, ...], width: int) -> str:
    return "" if not lines else f"{title}\n" + "".join(_wrapped(line, width, "  ") for line in lines)


def _wrapped(words: str, width: int, indent: str) -> str:
    lines = textwrap.wrap(words, width, initial_indent=indent, subsequent_indent=indent + "  " * bool(indent))
    return "\n".join(lines) + "\n"

"""Stopping in the terminal: the choice and why, the ways side by side, heat, the chosen way in full."""

from __future__ import annotations

import textwrap
from collections.abc import Callable

from slipwise.present import tables, tables_stopping
from slipwise.results.criteria import Status
from slipwise.results.stopping import StoppingResult, StopWayResult
from slipwise.results.table import Table

Draw = Callable[[Table], str]
_OUT = (Status.FAILS, Status.NOT_APPLICABLE)


def stopping_text(result: StoppingResult, width: int, draw: Draw, clean: Callable[[str], str]) -> str:
    """Everything about stopping, short. draw: a table as text; clean: words as the stream can show them."""
    chosen = [way for way in result.ways if way.key == result.recommendation.way]
    parts = [
        clean(_answer(result, chosen, width)),
        draw(tables_stopping.comparison(result)),
        draw(tables_stopping.heat(result)),
        *(draw(table) for way in chosen for table in (tables_stopping.parts(way),) if table.rows),
        clean(_block("Why not", [f"{w.title}: {w.verdict.reason}" for w in result.ways if _out(w)], width)),
        clean(_block("Notes", [*(_remarks(way) for way in chosen), *result.notes], width)),
    ]
    return "\n".join(part for part in parts if part)


def way_text(result: StoppingResult, key: str, width: int, draw: Draw, clean: Callable[[str], str]) -> str:
    """Everything about one way.

    Raises:
        KeyError: there is no such way.
    """
    way = next((way for way in result.ways if way.key == key), None)
    if way is None:
        raise KeyError(key)
    head = f"{way.title}: {tables.STATUS_WORDS[way.verdict.status]}; {way.verdict.reason}"
    drawn = [draw(table) for _, table in tables_stopping.of_way(way) if table.rows or table.note]
    return "\n".join([clean(_wrapped(head, width, "")), *drawn, clean(_block("Notes", result.notes, width))])


def _answer(result: StoppingResult, chosen: list[StopWayResult], width: int) -> str:
    lines = _wrapped(f"Stopping. {tables_stopping.verdict_sentence(result)}", width, "")
    lines += _wrapped(f"Why: {result.recommendation.reason}", width, "  ")
    for way in chosen:
        set_to = ", ".join(f"{s.title} {tables.setting_text(s)}" for s in way.settings)
        lines += _wrapped(f"Set: {set_to}", width, "  ") if set_to else ""
    return lines


def _remarks(way: StopWayResult) -> str:
    return tables_stopping.stops(way).note


def _out(way: StopWayResult) -> bool:
    return way.verdict.status in _OUT


def _block(title: str, lines: list[str] | tuple[str, ...], width: int) -> str:
    kept = [line for line in lines if line]
    return f"{title}\n" + "".join(_wrapped(line, width, "  ") for line in kept) if kept else ""


def _wrapped(words: str, width: int, indent: str) -> str:
    after = indent + "  " * bool(indent)
    return "\n".join(textwrap.wrap(words, width, initial_indent=indent, subsequent_indent=after)) + "\n"

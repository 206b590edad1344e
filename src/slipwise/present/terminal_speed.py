"""Speed control in the terminal: the choice and why, the ways side by side, the chosen way demand by demand."""

from __future__ import annotations

import textwrap
from collections.abc import Callable

from slipwise.present import tables_speed
from slipwise.present.tables import STATUS_WORDS
from slipwise.results.criteria import Status
from slipwise.results.speed import SpeedResult, SpeedWayResult
from slipwise.results.table import Table

Draw = Callable[[Table], str]


def speed_text(result: SpeedResult, width: int, draw: Draw, clean: Callable[[str], str]) -> str:
    """Everything about speed control, short. draw: a table as text; clean: words as the stream can show them."""
    chosen = [way for way in tables_speed.ranked(result) if way.key == result.recommendation.way]
    parts = [
        clean(_answer(result, width)),
        draw(tables_speed.comparison(result)),
        *(part for way in chosen for part in _detail(way, draw)),
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
    parts = [clean(_wrapped(head, width, "")), *_detail(way, draw), clean(_block("Notes", way.notes, width))]
    return "\n".join(part for part in parts if part)


def _answer(result: SpeedResult, width: int) -> str:
    best = next((way for way in result.ways if way.key == result.recommendation.way), None)
    head = f"Speed control: {best.title}" if best else "Speed control: no way passes"
    if best and best.status is not Status.PASSES:
        head += f" ({STATUS_WORDS[best.status]})"
    return _wrapped(head, width, "") + _wrapped(f"Why: {result.recommendation.reason}", width, "  ")


def _out(way: SpeedWayResult) -> bool:
    return way.status in (Status.FAILS, Status.NOT_APPLICABLE)


def _detail(way: SpeedWayResult, draw: Draw) -> list[str]:
    found = [tables_speed.points(way), tables_speed.losses(way)] if way.points else []
    if way.ratings:
        found.append(tables_speed.ratings(way))
    return [draw(table) for table in found]


def _block(title: str, lines: list[str] | tuple[str, ...], width: int) -> str:
    return "" if not lines else f"{title}\n" + "".join(_wrapped(line, width, "  ") for line in lines)


def _wrapped(words: str, width: int, indent: str) -> str:
    lines = textwrap.wrap(words, width, initial_indent=indent, subsequent_indent=indent + "  " * bool(indent))
    return "\n".join(lines) + "\n"

"""Results show themselves in a notebook: the verdict, the comparison and what was not given, as HTML with one figure.

Results know nothing of this; `register` hands the formatters to a running IPython.
"""

from __future__ import annotations

import base64
import sys
from html import escape
from typing import TYPE_CHECKING, Any

from slipwise.present import tables, tables_speed
from slipwise.results.table import Column, Table

if TYPE_CHECKING:
    from slipwise.results.speed import SpeedResult
    from slipwise.results.study import StudyResult, WayResult

LINE = "border-bottom:1px solid #bbb;padding:2px 10px 2px 0"


def register(shell: Any = None) -> bool:
    """Lets results show themselves in IPython. shell: the running one when None. False when none is running."""
    if shell is None:
        ipython = sys.modules.get("IPython")
        shell = ipython.get_ipython() if ipython is not None else None
    if shell is None:
        return False
    formatter = shell.display_formatter.formatters["text/html"]
    formatter.for_type_by_name("slipwise.results.study", "StudyResult", study_html)
    formatter.for_type_by_name("slipwise.results.study", "WayResult", way_html)
    formatter.for_type_by_name("slipwise.results.table", "Table", table_html)
    return True


def study_html(result: StudyResult) -> str:
    """The answer, the comparison as a figure and a table, what was not given, the cautions."""
    cautions = "".join(f"<li>{escape(words)}</li>" for words in result.cautions)
    parts = _starting(result) if result.ways or result.speed is None else ""
    if result.speed is not None:
        parts += _speed(result, result.speed)
    return f"<div><h3>{escape(result.title)}</h3>{parts}{table_html(tables.not_given(result))}<ul>{cautions}</ul></div>"


def _starting(result: StudyResult) -> str:
    return (
        f"<p><b>{escape(tables.verdict_sentence(result))}</b> {escape(result.recommendation.reason)}</p>"
        f"{_picture(result, 'comparison')}{table_html(tables.comparison(result))}"
    )


def _speed(result: StudyResult, found: SpeedResult) -> str:
    """The choice of speed control with a year of it as a figure and the comparison as a table."""
    return (
        f"<p><b>{escape(tables_speed.verdict_sentence(found))}</b> {escape(found.recommendation.reason)}</p>"
        f"{_picture(result, 'speed_year')}{table_html(tables_speed.comparison(found))}"
    )


def way_html(way: WayResult) -> str:
    """Verdict, settings and criteria of one way."""
    verdict = f"{way.title}: {tables.STATUS_WORDS[way.verdict.status]}"
    rest = table_html(tables.settings(way)) if way.settings else ""
    return f"<div><p><b>{escape(verdict)}</b> {escape(way.verdict.reason)}</p>{rest}{table_html(tables.criteria(way))}</div>"


def table_html(table: Table) -> str:
    """A table with thin rules under its rows."""
    note = f"<p>{escape(table.note)}</p>" if table.note else ""
    if not table.rows:
        return note
    names = [f"{c.title} ({c.unit})" if c.unit else c.title for c in table.columns]
    pairs = [zip(table.columns, cells, strict=True) for cells in (names, *table.rows)]
    head, *rows = ["".join(_cell(column, words) for column, words in pair) for pair in pairs]
    caption = f"<caption style='text-align:left'><b>{escape(table.title)}</b></caption>"
    body = "".join(f"<tr>{row}</tr>" for row in rows)
    return f"<table>{caption}<tr style='font-weight:bold'>{head}</tr>{body}</table>{note}"


def _cell(column: Column, words: str) -> str:
    return f"<td style='{_side(column)};{LINE}'>{escape(words)}</td>"


def _side(column: Column) -> str:
    return f"text-align:{'right' if column.numeric else 'left'}"


def _picture(result: StudyResult, key: str) -> str:
    """A figure as an image of its own, so that names inside one drawing cannot clash with those of another."""
    from slipwise.present.figures import Look, catalogue
    from slipwise.present.figures.canvas import alternative_text, render

    entry = next((entry for entry in catalogue(result) if entry.key == key), None)
    if entry is None:
        return ""
    figure = entry.function(Look())
    data = base64.b64encode(render(figure, "svg")).decode("ascii")
    words = escape(alternative_text(figure))
    return f"<img style='max-width:60em;width:100%' alt='{words}' src='data:image/svg+xml;base64,{data}'/>"

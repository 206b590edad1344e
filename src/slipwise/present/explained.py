"""Why a number is what it is: its inputs as a table, and the way from them to it line by line."""

from __future__ import annotations

from slipwise.present.tables import plain
from slipwise.quantity.formula import substituted, symbolic, typeset_symbol
from slipwise.quantity.show import show
from slipwise.results.study import Explanation, Input, StudyResult
from slipwise.results.table import Column, Table


def explained(result: StudyResult) -> Table:
    """Every number that can be explained, by the name to ask for."""
    columns = (Column(title="Name"), Column(title="What it is"), Column(title="Value", numeric=True))
    rows = tuple((item.name, item.title, show(item.value, item.unit)) for item in result.explanations)
    return Table(title="What can be explained", columns=columns, rows=rows)


def inputs(item: Explanation) -> Table:
    """The inputs behind one number; the number itself stands in the title."""
    titles = ("Symbol", "Quantity", "Value", "Origin")
    columns = tuple(Column(title=title, numeric=title == "Value") for title in titles)
    rows = tuple((typeset_symbol(i.symbol), i.name, _shown(i), origin(i)) for i in item.inputs)
    return Table(title=f"{item.title}: {show(item.value, item.unit, digits=4)}", columns=columns, rows=rows)


def steps(item: Explanation) -> tuple[str, ...]:
    """The formula, the same with its numbers and what comes of it; how it was computed; the source."""
    lines = []
    if item.expression:
        numbers = substituted("", item.expression, item.inputs)
        result = show(item.value, item.unit, digits=4)
        lines = [symbolic(item.symbol, item.expression), f"{numbers} = {result}"]
    first = item.method.partition(" ")[0]
    begin = item.method[:1].upper() if first.isalpha() else item.method[:1]  # a symbol, as t_e, keeps its letter
    how = f"{begin}{item.method[1:]}."
    return (*lines, *([how] if item.method else []), *([f"Source: {item.source}."] if item.source else []))


def origin(given: Input) -> str:
    """Where an input came from; a given one as it was written, where that is not how it is shown."""
    if not given.text or given.text in {plain(_shown(given)), given.origin}:
        return given.origin
    return f"{given.origin} as {given.text}"


def _shown(given: Input) -> str:
    return show(given.value, given.unit, digits=4)

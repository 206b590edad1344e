"""The equations of a study: each formula once, with the numbers put in for every place where it was used."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence

from slipwise.present.report.blocks import Block
from slipwise.quantity.formula import substituted, symbolic, typeset_symbol
from slipwise.quantity.show import MISSING, show
from slipwise.results.study import Explanation
from slipwise.results.table import Column, Table

Names = Mapping[str, str]
"""Titles of the ways by their keys."""


def formulas(explanations: Iterable[Explanation], ways: Names) -> Iterator[tuple[Block, Table | None]]:
    """Each formula with the numbers of its first use, its source and the meaning of its symbols; and a table of the
    numbers of the other uses. In the order of first use."""
    groups: dict[tuple[str, str], list[Explanation]] = {}
    for item in explanations:
        if item.expression:
            groups.setdefault((item.symbol, item.expression), []).append(item)
    for first, *others in groups.values():
        yield _formula(first, ways), _elsewhere(others, ways) if others else None


def _formula(item: Explanation, ways: Names) -> Block:
    result = show(item.value, item.unit, digits=4)
    return {
        "kind": "formula",
        "title": item.title,
        "symbolic": {
            "code": symbolic(item.symbol, item.expression, "typst"),
            "alt": symbolic(item.symbol, item.expression),
        },
        "numbers": {
            "code": substituted("", item.expression, item.inputs, "typst"),
            "alt": substituted("", item.expression, item.inputs),
        },
        "place": _place(item, ways),
        "result": result,
        "method": item.method,
        "note": f"Where {_where(item)}. Source: {item.source}.",
    }


def _place(item: Explanation, ways: Names) -> str:
    """Whose number it is: `direct.dip:main board` -> Direct, main board."""
    owner, _, rest = item.name.partition(".")
    part = rest.partition(":")[2]
    return ", ".join(word for word in (ways.get(owner, owner.capitalize()), part) if word)


def _where(item: Explanation) -> str:
    """The symbols with their names and origins."""
    return ", ".join(f"{typeset_symbol(i.symbol)}: {i.name} ({i.origin})" for i in item.inputs)


def _elsewhere(uses: Sequence[Explanation], ways: Names) -> Table:
    """The same formula with other numbers: one row a use, one column a symbol."""
    symbols = tuple(dict.fromkeys(i.symbol for item in uses for i in item.inputs))
    columns = (
        Column(title="For"),
        *(Column(title=typeset_symbol(symbol), numeric=True) for symbol in symbols),
        Column(title="Result", numeric=True),
    )
    rows = []
    for item in uses:
        values = {i.symbol: show(i.value, i.unit, digits=4) for i in item.inputs}
        numbers = (values.get(symbol, MISSING) for symbol in symbols)
        rows.append((_place(item, ways), *numbers, show(item.value, item.unit, digits=4)))
    return Table(title="", columns=columns, rows=tuple(rows))


def computed(explanations: Iterable[Explanation], ways: Names, known: Container[str]) -> Table:
    """Numbers that come from an integration or a search, not from a closed formula: one row for what was found alike.

    known: names left out, because the report says elsewhere how they came about.
    """
    columns = (
        Column(title="Number"),
        Column(title="How it was found"),
        Column(title="Source"),
        Column(title="Values"),
    )
    groups: dict[tuple[str, str, str], list[str]] = {}
    for item in explanations:
        if item.method and not item.expression and item.name not in known:
            value = f"{_place(item, ways)}: {show(item.value, item.unit)}"
            groups.setdefault((item.title, item.method, item.source), []).append(value)
    rows = tuple((*key, "; ".join(values)) for key, values in groups.items())
    return Table(title="Numbers from an integration or a search", columns=columns, rows=rows)

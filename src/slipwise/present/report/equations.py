"""The equations of a study: each formula once, with the numbers put in for every place where it was used."""

from __future__ import annotations

from collections.abc import Iterable

from slipwise.present.report.blocks import Block
from slipwise.quantity.formula import substituted, symbolic, typeset_symbol
from slipwise.quantity.show import show
from slipwise.results.study import Explanation
from slipwise.results.table import Column, Table


def formulas(explanations: Iterable[Explanation]) -> list[Block]:
    """One block a formula, in the order of first use, with its source and the meaning of its symbols."""
    groups: dict[tuple[str, str], list[Explanation]] = {}
    for item in explanations:
        if item.expression:
            groups.setdefault((item.symbol, item.expression), []).append(item)
    return [_formula(uses) for uses in groups.values()]


def _formula(uses: list[Explanation]) -> Block:
    first = uses[0]
    return {
        "kind": "formula",
        "title": first.title,
        "symbolic": _set(symbolic, first.symbol, first.expression),
        "uses": [
            {
                "title": use.name,
                "numbers": _set(substituted, use.symbol, use.expression, use.inputs),
                "result": f"= {show(use.value, use.unit, digits=4)}" + (f"  ({use.method})" if use.method else ""),
            }
            for use in uses
        ],
        "note": f"Where {_where(first)}. Source: {first.source}.",
    }


def _set(write: object, *arguments: object) -> dict[str, str]:
    """The typst code, and the same in plain text for those who do not see it."""
    assert callable(write)
    return {"code": str(write(*arguments, form="typst")), "alt": str(write(*arguments, form="text"))}


def _where(item: Explanation) -> str:
    """The symbols with their names and origins."""
    return ", ".join(f"{typeset_symbol(i.symbol)}: {i.name} ({i.origin})" for i in item.inputs)


def computed(explanations: Iterable[Explanation]) -> Table:
    """Numbers that come from an integration or a search, not from a closed formula."""
    columns = (
        Column(title="Number"),
        Column(title="Value", numeric=True),
        Column(title="How it was found"),
        Column(title="Source"),
    )
    rows = tuple(
        (item.title, show(item.value, item.unit), item.method, item.source)
        for item in explanations
        if not item.expression and item.method
    )
    return Table(title="Numbers from an integration or a search", columns=columns, rows=_once(rows))


def _once(rows: Iterable[tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    return tuple(dict.fromkeys(rows))

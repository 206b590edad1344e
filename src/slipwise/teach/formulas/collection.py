"""The collection of formulas on paper and as a page: for the desk in an exam, or to paste from."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence

from slipwise.present.report.blocks import Block, heading
from slipwise.quantity.formula import Formula, typeset_symbol
from slipwise.quantity.notation import unit_text
from slipwise.teach.formulas import Topic

HEADS = ("key", "title", "text", "latex", "typst", "units", "holds for", "source")


def blocks(topics: Sequence[Topic]) -> Iterator[Block]:
    """Each topic with its formulas, numbered through within the topic."""
    for topic in topics:
        yield heading(topic.title)
        for number, formula in enumerate(topic.formulas, 1):
            yield {
                "kind": "step",
                "number": f"{number}",
                "title": formula.title,
                "symbolic": {"code": formula.typst(), "alt": formula.text(), "mathml": formula.mathml()},
                "numbers": {"code": "", "alt": ""},
                "result": "",
                "note": f"{units(formula).removesuffix('.')}. Holds for: {formula.validity}. Source: {formula.source}.",
            }


def units(formula: Formula) -> str:
    """Which symbol is in which unit, in words."""
    return ", ".join(
        f"{typeset_symbol(name)} in {unit_text(unit)}" if unit_text(unit) else f"{typeset_symbol(name)} plain"
        for name, unit in formula.units.items()
    )


def csv_of(topics: Sequence[Topic]) -> str:
    """One row a formula, in every form that can be pasted."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEADS)
    for topic in topics:
        for one in topic.formulas:
            writer.writerow(
                (one.key, one.title, one.text(), one.latex(), one.typst(), units(one), one.validity, one.source)
            )
    return out.getvalue()

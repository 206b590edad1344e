"""The formulas as lists for a terminal: topics in a table, one formula in a few lines."""

from __future__ import annotations

from slipwise.quantity.formula import Formula, symbolic
from slipwise.results.table import Column, Table
from slipwise.teach.formulas import TOPICS
from slipwise.teach.formulas.collection import units


def topics() -> Table:
    """One row a topic: key, title, number of formulas."""
    columns = (Column(title="Topic"), Column(title="Title"), Column(title="Formulas", numeric=True))
    rows = tuple((topic.key, topic.title, str(len(topic.formulas))) for topic in TOPICS)
    return Table(title="Topics", columns=columns, rows=rows, note="slipwise teach formulas TOPIC lists one in full.")


def listed(formula: Formula, form: str = "text") -> tuple[str, ...]:
    """Title and key, the formula in a form of writing, units, validity, source. Raises InputError for an unknown form."""
    return (
        f"{formula.title} ({formula.key})",
        f"  {symbolic(formula.symbol, formula.expression, form)}",
        f"  {units(formula).removesuffix('.')}. Holds for: {formula.validity}.",
        f"  Source: {formula.source}.",
    )

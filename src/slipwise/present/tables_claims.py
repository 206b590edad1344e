"""Shorthands as neutral tables: one row a shorthand, and the cases of one."""

from __future__ import annotations

from slipwise.quantity.show import MISSING, show
from slipwise.results.claims import Claim, Claims
from slipwise.results.table import Column, Table


def answers(found: Claims) -> Table:
    """Every shorthand with its answer and its greatest error."""
    columns = (Column(title="Shorthand"), Column(title="For this motor"), Column(title="Off by at most", numeric=True))
    rows = []
    for claim in found.claims:
        errors = [abs(row.error) for row in claim.rows if row.error is not None]
        rows.append((claim.title, claim.answer.value, show(max(errors), "pu", 2) if errors else MISSING))
    return Table(title="Is it true for this motor?", columns=columns, rows=tuple(rows))


def cases(claim: Claim) -> Table:
    """The cases of one shorthand: by the rule, computed, error."""
    columns = (
        Column(title="Case"), Column(title="By the rule", numeric=True), Column(title="Computed", numeric=True),
        Column(title="Rule is off by", numeric=True),
    )  # fmt: skip
    rows = tuple(
        (row.case, show(row.rule, row.unit), show(row.computed, row.unit), _error(row.error)) for row in claim.rows
    )
    return Table(title=claim.title, columns=columns, rows=rows)


def every_case(found: Claims) -> Table:
    """All cases of all shorthands, for a file."""
    columns = (Column(title="Shorthand"), *cases(found.claims[0]).columns)
    rows = tuple((claim.title, *row) for claim in found.claims for row in cases(claim).rows)
    return Table(title="Cases", columns=columns, rows=rows)


def _error(error: float | None) -> str:
    if error is None:
        return MISSING
    return "0" if abs(error) < 5e-4 else ("+" if error > 0 else "") + show(error, "pu", 2)

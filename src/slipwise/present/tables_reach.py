"""Tables of how far an answer carries: the edges of each way, and the verdict over motors that agree with the plate."""

from __future__ import annotations

from slipwise.quantity.show import MISSING, display_unit, show, show_number
from slipwise.results.boundary import Edge
from slipwise.results.study import StudyResult
from slipwise.results.table import Column, Table


def edge_text(edge: Edge | None) -> str:
    """The edge in its unit; that none was found within the range searched; or that the way fails as stated."""
    if edge is None:
        return MISSING
    if edge.edge is None:
        return "fails as stated"
    value = show(edge.edge, edge.unit)
    return f"beyond {value}" if edge.open else value


def boundaries(result: StudyResult) -> Table:
    """For each way looked at: one quantity moved alone until the way no longer passes, and what stops it there."""
    columns = (
        Column(title="Way"),
        Column(title="Moved alone"),
        Column(title="Stated", numeric=True),
        Column(title="Passes up to", numeric=True),
        Column(title="What stops it"),
    )
    rows = tuple(
        (row.title, edge.title, show(edge.stated, edge.unit), edge_text(edge), edge.binding or MISSING)
        for row in result.boundaries
        for edge in row.edges
    )
    return Table(title="How far each way carries", columns=columns, rows=rows)


def verdict_ranges(result: StudyResult) -> Table:
    """How the ways come out over every motor that agrees with the plate."""
    columns = (
        Column(title="Way"),
        Column(title="Motors by verdict"),
        Column(title="Tightest margin from", numeric=True),
        Column(title="to", numeric=True),
    )
    found = result.ranking
    if found is None:
        return Table(title="Verdict over motors that agree with the plate", columns=columns, rows=())
    rows = tuple(
        (
            row.title,
            ", ".join(f"{count} {status.value}" for status, count in row.statuses if count),
            show(row.low, "pu", digits=2),
            show(row.high, "pu", digits=2),
        )
        for row in found.ranges
    )
    title = f"Verdict over {found.members} motors that agree with the plate"
    return Table(title=title, columns=columns, rows=rows, note=found.words)


def spreads(result: StudyResult) -> Table:
    """Each criterion's range over the ensemble, beside its limit."""
    columns = (
        Column(title="Way"),
        Column(title="Criterion"),
        Column(title="from", numeric=True),
        Column(title="to", numeric=True),
        Column(title="Limit", numeric=True),
        Column(title="Unit"),
    )
    rows = []
    for way in result.ranking.ranges if result.ranking else ():
        for row in way.spreads:
            unit = display_unit((row.low, row.high), row.unit)
            values = (show_number(value, row.unit, unit) for value in (row.low, row.high, row.limit))
            rows.append((way.title, row.title, *values, unit))
    return Table(title="Criteria over the ensemble", columns=columns, rows=tuple(rows))


def missing(result: StudyResult) -> Table:
    """Data not given, the one that would narrow the verdict most first."""
    columns = (Column(title="Not given"), Column(title="Share of the spread", numeric=True))
    found = result.ranking.missing if result.ranking else ()
    rows = tuple((row.name, show(row.share, "pu", digits=2)) for row in found)
    return Table(title="What would narrow the verdict most", columns=columns, rows=rows)

"""Table of what a plate leaves open: ranges over the motors that agree with it."""

from __future__ import annotations

from slipwise.quantity.show import display_unit, show_number
from slipwise.results.plate_ranges import PlateRanges
from slipwise.results.table import Column, Table


def plate_ranges(ranges: PlateRanges) -> Table:
    """Every value with its middle and the range of nine motors in ten; what the plate gives has its rounding alone."""
    columns = (
        Column(title="Value"),
        Column(title="from", numeric=True),
        Column(title="middle", numeric=True),
        Column(title="to", numeric=True),
        Column(title="Unit"),
        Column(title="On the plate"),
    )
    rows = []
    for row in ranges.rows:
        unit = display_unit((row.low, row.middle, row.high), row.unit)
        values = (show_number(value, row.unit, unit) for value in (row.low, row.middle, row.high))
        rows.append((row.title, *values, unit, "yes" if row.given else "no"))
    title = f"Over {ranges.members} motors that agree with the plate (seed {ranges.seed}), nine in ten between"
    return Table(title=title, columns=columns, rows=tuple(rows))

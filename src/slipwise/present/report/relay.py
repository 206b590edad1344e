"""What the overload relay makes of a start, and what the starter's parts bear, as tables."""

from __future__ import annotations

from collections.abc import Iterator

from slipwise.present.report.blocks import Block, paragraph, table
from slipwise.quantity.show import MISSING, show
from slipwise.results.protection import Protection, RelayCheck, StarterDuty
from slipwise.results.study import WayResult
from slipwise.results.table import Column, Table

SAVES = {True: "yes", False: "no", None: "stall time not known"}


def blocks(way: WayResult) -> Iterator[Block]:
    """Both tables of one way, or what there is of them."""
    if way.protection is not None:
        words = way.protection.words
        yield paragraph(f"{words[:1].upper()}{words[1:].rstrip('.')}.", leads_in=True)
        yield table(relay_table(way.protection))
    if way.duty is not None:
        yield table(duty_table(way.duty))


def relay_table(protection: Protection) -> Table:
    """One row for each trip class and place: heat during the start, and seconds to trip when stalled."""
    columns = (
        Column(title="Relay in the"),
        Column(title="Class"),
        Column(title="Setting", numeric=True),
        Column(title="Heat, from cold", numeric=True),
        Column(title="Heat, from hot", numeric=True),
        Column(title="Lets it start"),
        Column(title="Stalled, cold", numeric=True),
        Column(title="Stalled, hot", numeric=True),
        Column(title="Saves it"),
    )
    rows = tuple(_cells(check, check == protection.proposed) for check in protection.checks)
    note = (
        "Heat: greatest during the start, of that at which the quickest relay of the class trips. Stalled: when the slowest "
        f"relay of the class trips at standstill. Source of the classes: {protection.source}."
    )
    return Table(title="Trip classes", columns=columns, rows=rows, note=note)


def _cells(check: RelayCheck, proposed: bool) -> tuple[str, ...]:
    return (
        check.place,
        check.trip_class + (" (proposed)" if proposed else ""),
        show(check.setting, "A"),
        show(check.cold, "pu"),
        show(check.hot, "pu"),
        {"hot": "also from hot", "cold": "from cold only"}.get(check.lets_start, "no"),
        show(check.stalled_cold, "s"),
        show(check.stalled_hot, "s"),
        SAVES[check.saves],
    )


def duty_table(duty: StarterDuty) -> Table:
    """One start as contactors, thyristors, taps and cables see it."""
    starts = MISSING if duty.starts_per_hour is None else show(duty.starts_per_hour, "")
    rows = (
        ("Line current over the start, rms", show(duty.rms, "A")),
        ("Greatest rms line current", show(duty.greatest, "A")),
        ("Length of the start", show(duty.seconds, "s")),
        ("Integral of line current squared", show(duty.current_squared_time, "A2 s")),
        ("Starts an hour asked for", starts),
    )
    columns = (Column(title="Duty of the starter"), Column(title="Value", numeric=True))
    return Table(title="", columns=columns, rows=rows)

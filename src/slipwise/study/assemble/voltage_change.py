"""Limits of voltage changes by a standard, from how often a motor starts and how it starts again after an interruption."""

from __future__ import annotations

from typing import Any

from slipwise.data import Row, table
from slipwise.model.supply.path import ChangeLimits
from slipwise.quantity.show import show
from slipwise.study.assemble.book import Book

LOW_VOLTAGE = 1000.0  # V, above which a network is not a low-voltage one
AT_ONCE = "at once"


def limits_by_starts(starting: Any, nominal: float, path: str, book: Book) -> tuple[float, ChangeLimits]:
    """The greatest change for these starts (pu), and what is asked of its course.

    Args:
        starting: validated `[starting]`. nominal: line voltage of the busbar that asks [V]. path: of its element.

    Source: IEC 61000-3-3, clause 5, as in the table of that name.
    """
    if nominal > LOW_VOLTAGE:
        book.fault(
            f"{path}.change_limits",
            "IEC 61000-3-3",
            f"the standard is one of low-voltage networks, and this busbar has {show(nominal, 'V')}",
            "give `dip_limit` as agreed with the network operator",
        )
    found = table("voltage_change_limits")
    restart = starting.restart or book.assumed_word(
        "starting.restart",
        AT_ONCE,
        "not given: the least favourable for the limit of voltage changes, 4 % instead of 6 or 7 %",
    )
    daily = None if starting.starts_per_day is None else starting.starts_per_day.value
    said = "more than twice a day" if daily is None else f"{daily:g} a day"
    if daily is None and restart != AT_ONCE:
        why = "not given: the less favourable for the limit of voltage changes, 6 % instead of 7 %"
        book.assumed_word("starting.starts_per_day", "more than 2", why)
    row = _row(found.where(quantity="greatest change"), restart != AT_ONCE, daily)
    steady, seconds = found.find(quantity="steady change"), found.find(quantity="time above the steady change")
    assert steady is not None
    assert seconds is not None
    source = f"{row.cited}, restart {restart}, {said}; written for up to 16 A a phase"
    limit = book.derived(f"{path}.dip_limit", row["percent"] / 100, "pu", source)
    return limit, ChangeLimits(steady=steady["percent"] / 100, seconds=seconds["seconds"], source=source)


def _row(rows: tuple[Row, ...], restart: bool, daily: float | None) -> Row:
    """The row for how it restarts, of those the one whose number of starts a day is passed."""
    often = 1e9 if daily is None else daily
    suited = [row for row in rows if row["restart"] == restart and often > row["starts_per_day"]]
    return max(suited, key=lambda row: float(row["starts_per_day"]))

"""From a section that names ways (`[starting]`, `[speed]`, `[stopping]`) to requests, and their order of preference."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from slipwise.methods.way import dials
from slipwise.model.machine.motor import Rating
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book
from slipwise.study.request import WayRequest
from slipwise.study.schema.fields import Section


def requests(name: str, section: Any, ways: Sequence[Any], rating: Rating, book: Book) -> tuple[WayRequest, ...]:
    """The ways asked for, with their given settings in SI; all ways when none are named.

    name: of the section. ways: those on offer, in their published order.
    """
    keys = tuple(way.key for way in ways)
    if section.ways is None:
        book.assumed_word(f"{name}.ways", ", ".join(keys), "not given: all ways on offer")
    chosen = section.ways or keys
    for key in keys:
        if getattr(section, key) is not None and key not in chosen:
            reason = "settings are given for a way that `ways` does not name"
            book.fault(f"{name}.{key}", "", reason, f'add "{key}" to ways')
    by_key = {way.key: way for way in ways}
    return tuple(
        WayRequest(key=key, given=_settings(f"{name}.{key}", by_key[key], getattr(section, key), rating, book))
        for key in chosen
    )


def _settings(where: str, way: Any, table: Section | None, rating: Rating, book: Book) -> dict[str, float | str]:
    """The given settings of one way, in the units of its dials."""
    given: dict[str, float | str] = {}
    for name, dial in dials(way).items():
        value = None if table is None else getattr(table, name)
        if isinstance(value, Parsed):
            given[name] = _in_si(value, dial.unit, f"{where}.{name}", rating, book)
        elif value is not None:
            given[name] = value
    return given


def _in_si(value: Parsed, unit: str, name: str, rating: Rating, book: Book) -> float:
    """A share of synchronous speed becomes a speed; everything else is in SI already."""
    if unit == "rad/s" and value.unit == "pu":
        return book.derived(name, value.value * rating.synchronous_speed, "rad/s", f"{value.text} of synchronous speed")
    return value.value


def order(name: str, section: Any, ways: Sequence[Any], book: Book) -> tuple[str, ...]:
    """The order of preference: the user's first, then the others in the published order."""
    keys = tuple(way.key for way in ways)
    if section.order is None:
        book.assumed_word(f"{name}.order", ", ".join(keys), "published order, simplest first")
        return keys
    return (*section.order, *(key for key in keys if key not in section.order))

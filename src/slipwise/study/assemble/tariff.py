"""From `[tariff]` to prices with their ranges."""

from __future__ import annotations

from typing import Any

from slipwise.methods.speed import SPEED
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book
from slipwise.study.speed.model import Span, Tariff

_PRACTICE = "common practice, no source"
_BUDGET = 0.25  # a budget price without a quotation
_YEARS, _FEW, _MANY = 10.0, 5.0, 15.0


def build_tariff(section: Any, book: Book) -> Tariff | None:
    """Prices with their ranges; None when the file has no `[tariff]`."""
    if section is None:
        return None
    return Tariff(
        currency=_currency(section, book),
        price=_price(section, book),
        co2=None if section.co2_kg_per_kwh is None else section.co2_kg_per_kwh.value,
        years=_years(section, book),
        investment=_investment(section.investment, book),
    )


def _currency(section: Any, book: Book) -> str:
    if section.currency is not None or (section.price_per_kwh is None and section.investment is None):
        return section.currency or ""
    return book.assumed_word("tariff.currency", "units of money", "no name of a currency given")


def _price(section: Any, book: Book) -> Span | None:
    """The price of a kWh; without a range it is taken as exact."""
    price: Parsed | None = section.price_per_kwh
    if price is None:
        for name in ("price_low", "price_high"):
            if getattr(section, name) is not None:
                book.fault(f"tariff.{name}", getattr(section, name), "there is no price", "add price_per_kwh")
        return None
    return _span(price, section.price_low, section.price_high, "tariff.price", book)


def _span(value: Parsed, low: Parsed | None, high: Parsed | None, name: str, book: Book) -> Span:
    found = Span(
        value=value.value,
        low=value.value if low is None else low.value,
        high=value.value if high is None else high.value,
    )
    if not found.low <= found.value <= found.high:
        book.fault(name, value, "it does not lie in its own range", "check low and high")
    return found


def _years(section: Any, book: Book) -> Span:
    """Years over which a purchase is spread, in equal parts and without interest."""
    if section.years is not None:
        return Span(value=section.years.value, low=section.years.value, high=section.years.value)
    why = f"a purchase spread evenly, without interest; {_PRACTICE}"
    return Span(value=book.assumed("tariff.years", _YEARS, "", (_FEW, _MANY), why), low=_FEW, high=_MANY)


def _investment(section: Any, book: Book) -> dict[str, Span]:
    """What each way costs to buy, with its range."""
    found: dict[str, Span] = {}
    if section is None:
        return found
    for way in SPEED:
        row = getattr(section, way.key)
        if row is None:
            continue
        name = f"tariff.investment.{way.key}"
        if row.low is not None or row.high is not None:
            found[way.key] = _span(row.cost, row.low, row.high, name, book)
            continue
        cost = row.cost.value
        low, high = (1 - _BUDGET) * cost, (1 + _BUDGET) * cost
        book.assumed(f"{name}.range", cost, "", (low, high), f"range of a budget price; {_PRACTICE}")
        found[way.key] = Span(value=cost, low=low, high=high)
    return found

"""Which way of speed control to take: of those that pass the one that costs least a year, and among equals the simplest."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from slipwise.quantity.show import show
from slipwise.results.criteria import Recommendation, Status
from slipwise.results.speed import SpeedWayResult, Year

EQUAL = 0.05  # a year's cost within this share of the least counts as equal: prices are not better known
_RANK = {Status.PASSES: 0, Status.CONDITION: 1, Status.UNKNOWN: 1}
Money = Callable[[Year], float | None]


def recommend(ways: Sequence[SpeedWayResult], order: Sequence[str]) -> Recommendation:
    """Among the ways that pass, with or without a condition: the least cost a year; equals by verdict, then by `order`.

    Cost: energy and the purchase spread over its years where every way has a price to buy, else energy alone, else
    (without a tariff) energy in kWh. Within EQUAL of the least, a way that passes goes before one with a condition, and
    then the first of the published order is taken.
    """
    standing = [way for way in ways if way.status in _RANK]
    money = _measure(standing)
    ranked = _ranked(standing, order, money)
    best = ranked[0] if ranked else None
    second = ranked[1] if len(ranked) > 1 else None
    return Recommendation(
        way=best.key if best else None,
        runner_up=second.key if second else None,
        reason=_reason(ways, ranked, money),
        order=tuple(order),
    )


def _measure(ways: Sequence[SpeedWayResult]) -> Money:
    """What the ways are compared by: the richest measure that all of them have."""
    if ways and all(way.year.total is not None for way in ways):
        return lambda row: row.total
    if ways and all(way.year.cost is not None for way in ways):
        return lambda row: row.cost
    return lambda row: row.energy


def _ranked(ways: Sequence[SpeedWayResult], order: Sequence[str], money: Money) -> list[SpeedWayResult]:
    """By cost in steps of EQUAL above the least one left, within a step by verdict and then by order."""
    left, ranked = list(ways), []
    while left:
        least = min(money(way.year) or 0.0 for way in left)
        near = [way for way in left if (money(way.year) or 0.0) <= least * (1 + EQUAL)]
        first = min(near, key=lambda way: (_RANK[way.status], _place(way, order), money(way.year) or 0.0))
        ranked.append(first)
        left.remove(first)
    return ranked


def _place(way: SpeedWayResult, order: Sequence[str]) -> int:
    return order.index(way.key) if way.key in order else len(order)


def _reason(ways: Sequence[SpeedWayResult], ranked: Sequence[SpeedWayResult], money: Money) -> str:
    """The choice in plain words, with numbers, and why not the others."""
    failed = [f"{way.title} fails: {_short(way)}." for way in ways if way.status is Status.FAILS]
    if not ranked:
        return " ".join(["None of the ways passes.", *failed])
    best, *others = ranked
    words = [f"{best.title} {best.verdict.status.value} and takes {_amount(best.year, money)}."]
    if best.status is Status.CONDITION:
        words.append(f"Its condition: {best.verdict.reason}.")
        words += _not_lowered(best, others, money)
    if others:
        words.append(_beside(best, others[0], money))
    words += [f"{way.title} would take {_amount(way.year, money)}." for way in others[1:]]
    return " ".join([*words, *_unpriced(ranked), *failed])


def _not_lowered(best: SpeedWayResult, others: Sequence[SpeedWayResult], money: Money) -> list[str]:
    """Why a way with a condition stands before one that passes without; nothing where there is none."""
    without = [way.title for way in others if way.status is Status.PASSES]
    if not without:
        return []
    what = "energy" if money(best.year) == best.year.energy else "cost"
    pass_, take, they = ("pass", "take", "they") if len(without) > 1 else ("passes", "takes", "it")
    return [
        f"A condition is something to see to, and does not lower the rank here: the {what} of a year decides, and "
        f"{' and '.join(without)}, which {pass_} without one, {take} over {show(EQUAL, 'pu')} more; within that {they} would "
        "go first."
    ]


def _unpriced(ranked: Sequence[SpeedWayResult]) -> list[str]:
    """Which prices are missing for a whole comparison."""
    if all(way.year.cost is None for way in ranked):
        return ["No price of energy was given, so energy alone is compared."]
    lacking = [way.title for way in ranked if way.year.investment is None]
    if not lacking:
        return []
    named = " and ".join([", ".join(lacking[:-1]), lacking[-1]] if lacking[1:] else lacking)
    return [f"What it costs to buy was not given for {named}, so purchases are left out."]


def _short(way: SpeedWayResult) -> str:
    """What a way fails by, the numbers without their sources; its own reason when nothing was computed."""
    rows = [row for row in way.verdict.criteria if row.status is Status.FAILS]
    said = []
    for row in rows:
        name = row.title[0].lower() + row.title[1:]
        if row.value is None:
            said.append(row.condition)
            continue
        against = f" against {show(row.limit, row.unit)}" if row.limit is not None else ""
        said.append(f"{name} {show(row.value, row.unit)}{against}" + (f" ({row.case})" if row.case else ""))
    return "; ".join(said) or way.verdict.reason


def _beside(best: SpeedWayResult, second: SpeedWayResult, money: Money) -> str:
    text = f"Runner-up: {second.title}, which {second.verdict.status.value} and takes {_amount(second.year, money)}"
    first, other = money(best.year) or 0.0, money(second.year) or 0.0
    if first > other * (1 + EQUAL) or other > first * (1 + EQUAL):
        return f"{text}."
    settles = "the one without a condition" if best.status is not second.status else "the simpler"
    return f"{text}; the two lie within {show(EQUAL, 'pu')}, and {settles} is taken."


def _amount(row: Year, money: Money) -> str:
    """A year in the measure compared by, with its range."""
    value = money(row)
    if value is None or value == row.energy:
        return f"{_kwh(row.energy)} ({_kwh(row.energy_low)} to {_kwh(row.energy_high)}) a year"
    if value == row.total:
        low, high, what = row.total_low, row.total_high, "a year, purchase included"
    else:
        low, high, what = row.cost_low, row.cost_high, "a year for energy"
    return f"{_round(value)} ({_round(low or 0.0)} to {_round(high or 0.0)}) {row.currency} {what}"


def _kwh(joules: float) -> str:
    return f"{show(joules / 3.6e6, '')} kWh"


def _round(value: float) -> str:
    return show(value, "")

"""A year of the duty: energy, cost and CO2 with the ranges of what was assumed, and what a purchase pays back in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, sqrt

from slipwise.model.machine.motor import Rating
from slipwise.results.criteria import Status
from slipwise.results.speed import OperatingPoint, Part, SpeedWayResult, Year
from slipwise.study.speed.model import Span, Tariff

HOUR = 3600.0
KWH = 3.6e6  # J
# Losses of a motor may be that much above the stated ones: 15 % of (1 - efficiency) up to 150 kW, 10 % above it.
MOTOR_TOLERANCE, LARGE_TOLERANCE, LARGE = 0.15, 0.10, 150e3
MOTOR_SOURCE = "IEC 60034-1, table of tolerances (from memory)"
# Losses of converters, links, transformers and of harmonics in the motor come from typical coefficients.
CONVERTER_TOLERANCE = 0.25
CONVERTER_SOURCE = "typical coefficients (common practice, no source)"

_MOTOR = frozenset({Part.STATOR, Part.CORE, Part.ROTOR, Part.STRAY, Part.FRICTION})
_CONVERTER = frozenset({Part.TRANSFORMER, Part.RECTIFIER, Part.LINK, Part.INVERTER, Part.CONVERTER, Part.HARMONIC})


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Energy of a year with its range. [J]"""

    value: float
    low: float
    high: float


def energy(points: Sequence[OperatingPoint]) -> float:
    """Energy drawn from the line in a year at the demands that are reached. [J]

    Source: sum of line power x hours.
    """
    return sum(point.line_power * point.duty.hours * HOUR for point in points if point.feasible)


def spread(points: Sequence[OperatingPoint], rating: Rating, variants: Sequence[tuple[float, float]]) -> Spread:
    """Energy with the range from what was assumed: independent causes, added as squares.

    variants: energy of the year with each assumed value at the low and at the high end of its range. [J]
    Source: propagation of independent uncertainties (JCGM 100, from memory).
    """
    value = energy(points)
    tolerance = MOTOR_TOLERANCE if rating.power <= LARGE else LARGE_TOLERANCE
    converter = CONVERTER_TOLERANCE * _lost(points, _CONVERTER)
    down, up = converter**2, converter**2 + (tolerance * _lost(points, _MOTOR)) ** 2
    for ends in variants:
        down += max(value - min(ends), 0.0) ** 2
        up += max(max(ends) - value, 0.0) ** 2
    return Spread(value=value, low=value - sqrt(down), high=value + sqrt(up))


def _lost(points: Sequence[OperatingPoint], parts: frozenset[Part]) -> float:
    """Energy lost in some parts in a year. [J]"""
    rows = ((point, loss) for point in points if point.feasible for loss in point.losses if loss.part in parts)
    return sum(loss.power * point.duty.hours * HOUR for point, loss in rows)


def year(points: Sequence[OperatingPoint], found: Spread, tariff: Tariff | None, key: str) -> Year:
    """A year of one way, without payback. key: of the way, under which its purchase is priced."""
    unserved = sum(point.duty.hours for point in points if not point.feasible)
    plain = Year(
        energy=found.value,
        energy_low=found.low,
        energy_high=found.high,
        cost=None,
        currency="",
        carbon=None,
        payback=None,
        payback_low=None,
        payback_high=None,
        hours_infeasible=unserved,
    )
    return plain if tariff is None else _priced(plain, tariff, tariff.investment.get(key))


def _priced(plain: Year, tariff: Tariff, bought: Span | None) -> Year:
    """The same with what it costs; price and energy at the same ends of their ranges together."""
    carbon = None if tariff.co2 is None else tariff.co2 * plain.energy / KWH
    priced = replace(plain, currency=tariff.currency, carbon=carbon)
    if bought is not None:
        priced = replace(priced, investment=bought.value, investment_low=bought.low, investment_high=bought.high)
    if tariff.price is None:
        return priced
    cost = tariff.price.value * plain.energy / KWH
    low, high = tariff.price.low * plain.energy_low / KWH, tariff.price.high * plain.energy_high / KWH
    priced = replace(priced, cost=cost, cost_low=low, cost_high=high)
    if bought is None:
        return priced
    years = tariff.years
    return replace(
        priced,
        years=years.value,
        total=cost + bought.value / years.value,
        total_low=low + bought.low / years.high,
        total_high=high + bought.high / years.low,
    )


def standing(ways: Sequence[SpeedWayResult]) -> dict[str, Year]:
    """The years of the ways that pass, with or without a condition, by key."""
    return {way.key: way.year for way in ways if way.status in (Status.PASSES, Status.CONDITION)}


def reference(years: Mapping[str, Year]) -> str | None:
    """Key of the cheapest to buy among the ways that serve every hour; None when fewer than two can be compared."""
    served = {
        key: row.investment
        for key, row in years.items()
        if not row.hours_infeasible and row.investment is not None and row.cost is not None
    }
    return min(served, key=lambda key: served[key] or 0.0) if len(served) > 1 else None


def with_payback(row: Year, base: Year, tariff: Tariff) -> Year:
    """The year with the time in which the dearer purchase comes back by the energy it saves.

    Purchase difference / saving a year, without interest; infinite when nothing is saved. The range: the least purchase
    difference over the greatest saving, and the other way round. Errors that both ways share (the price, the demand)
    move together; the energies' own ranges are taken as shares of each difference.
    Source: simple payback (common practice, no source).
    """
    price = tariff.price
    if price is None or None in (row.investment_low, row.investment_high, base.investment_low, base.investment_high):
        return row
    more = (row.investment or 0.0) - (base.investment or 0.0)
    least = max((row.investment_low or 0.0) - (base.investment_high or 0.0), 0.0)
    most = (row.investment_high or 0.0) - (base.investment_low or 0.0)
    saved = (base.energy - row.energy) / KWH
    fewest = saved - (row.energy_high - row.energy) / KWH
    greatest = saved + (row.energy - row.energy_low) / KWH
    return replace(
        row,
        payback=_years(more, saved * price.value),
        payback_low=_years(least, greatest * price.high),
        payback_high=_years(most, fewest * price.low),
    )


def _years(purchase: float, saving: float) -> float:
    """Years to earn a purchase back; 0 when there is nothing to earn back, infinite when nothing is saved."""
    if purchase <= 0:
        return 0.0 if saving >= 0 else inf
    return purchase / saving if saving > 0 else inf

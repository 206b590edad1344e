"""Why the numbers of speed control are what they are: energy, cost, payback, and every criterion of every way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isfinite

from slipwise.quantity.formula import Formula
from slipwise.quantity.provenance import Origin
from slipwise.results.criteria import Criterion
from slipwise.results.speed import OperatingPoint, SpeedResult, SpeedWayResult
from slipwise.results.study import Explanation
from slipwise.study.explain import Speaker
from slipwise.study.model import Study
from slipwise.study.speed.model import Tariff
from slipwise.study.speed.year import KWH, reference, standing

COST = Formula(
    key="study.energy_cost",
    title="Energy cost of a year",
    symbol="C",
    expression="W * p",
    units={"W": "", "p": ""},
    source="definition",
    validity="W in kWh, p the price of a kWh",
    result_unit="",
)
TOTAL = Formula(
    key="study.yearly_cost",
    title="Cost of a year with the purchase spread evenly",
    symbol="C_a",
    expression="C + K / n",
    units={"C": "", "K": "", "n": ""},
    source="straight-line spread without interest (common practice, no source)",
    validity="K to buy, n years",
    result_unit="",
)
PAYBACK = Formula(
    key="study.payback",
    title="Years in which the dearer purchase comes back",
    symbol="t_p",
    expression="(K - K_0) / ((W_0 - W) * p)",
    units={"K": "", "K_0": "", "W_0": "", "W": "", "p": ""},
    source="simple payback (common practice, no source)",
    validity="against the cheapest to buy that serves the duty, marked 0; without interest",
    result_unit="",
)
COMPUTED = "computed with the setting designed for the demand; worst demand"


def explain_speed(study: Study, result: SpeedResult) -> tuple[Explanation, ...]:
    """One explanation for each number of each way, named `speed.way.number`."""
    tariff = None if study.speed is None else study.speed.tariff
    base = reference(standing(result.ways))
    against = next((way for way in result.ways if way.key == base), None)
    say = Speaker(study.inputs)
    return tuple(row for way in result.ways if way.points for row in _way(say, way, against, tariff))


def _way(
    say: Speaker, way: SpeedWayResult, against: SpeedWayResult | None, tariff: Tariff | None
) -> Iterator[Explanation]:
    name = f"speed.{way.key}"
    served = [point for point in way.points if point.feasible]
    if served:
        yield say.by(_energy(served), f"{name}.energy", _powers(served), "demands that are reached")
    if tariff is not None and tariff.price is not None:
        yield from _money(say, name, way, against, tariff)
    for row in way.verdict.criteria:
        if row.value is not None:
            yield _criterion(name, row)


def _energy(points: list[OperatingPoint]) -> Formula:
    """The sum over the demands, written out."""
    places = range(1, len(points) + 1)
    units = {f"P_{k}": "W" for k in places} | {f"t_{k}": "s" for k in places}
    return Formula(
        key="study.energy",
        title="Energy drawn from the line in a year",
        symbol="W",
        expression=" + ".join(f"P_{k} * t_{k}" for k in places),
        units=units,
        source="definition",
        validity="line power held through each demand",
        result_unit="J",
    )


def _powers(points: list[OperatingPoint]) -> Mapping[str, tuple[str, float]]:
    found: dict[str, tuple[str, float]] = {}
    for k, point in enumerate(points, 1):
        found[f"P_{k}"] = (f"line power, {point.duty.name}", point.line_power)
        found[f"t_{k}"] = (f"time a year, {point.duty.name}", point.duty.hours * 3600)
    return found


def _money(
    say: Speaker, name: str, way: SpeedWayResult, against: SpeedWayResult | None, tariff: Tariff
) -> Iterator[Explanation]:
    """Cost, cost with the purchase, payback: as far as prices were given."""
    year = way.year
    assert tariff.price is not None
    price = ("tariff.price_per_kwh", tariff.price.value)
    energy = (f"energy of {way.title}, kWh", year.energy / KWH)
    yield say.by(COST, f"{name}.cost", {"W": energy, "p": price}, f"in {year.currency}")
    if year.investment is None or year.cost is None:
        return
    bought = (f"tariff.investment.{way.key}.cost", year.investment)
    spread = {"C": ("energy cost of a year", year.cost), "K": bought, "n": ("tariff.years", tariff.years.value)}
    yield say.by(TOTAL, f"{name}.total", spread, f"in {year.currency}")
    if against is None or not year.payback or not isfinite(year.payback):
        return
    inputs = {
        "K": bought,
        "K_0": (f"tariff.investment.{against.key}.cost", against.year.investment or 0.0),
        "W_0": (f"energy of {against.title}, kWh", against.year.energy / KWH),
        "W": energy,
        "p": price,
    }
    yield say.by(PAYBACK, f"{name}.payback", inputs, "in years")


def _criterion(name: str, row: Criterion) -> Explanation:
    return Explanation(
        name=f"{name}.{row.key}",
        title=row.title,
        value=float(row.value or 0.0),
        unit=row.unit,
        formula="",
        expression="",
        inputs=(),
        source=row.source if row.source != "not given" else Origin.DERIVED.value,
        method=f"{COMPUTED}: {row.case}" if row.case else COMPUTED,
    )

"""Speed control as neutral tables: the duty, and the ways side by side over it."""

from __future__ import annotations

from math import isinf

from slipwise.present import tables
from slipwise.present.tables import STATUS_WORDS
from slipwise.quantity.show import MISSING, THIN, show, show_range
from slipwise.results.criteria import Status
from slipwise.results.speed import DutyPoint, SpeedResult, SpeedWayResult, Year
from slipwise.results.study import StudyResult
from slipwise.results.table import Column, Table

KWH = 3.6e6  # J
THOUSANDS = 1e4  # from here on money is shown in thousands


def ranked(result: SpeedResult) -> tuple[SpeedWayResult, ...]:
    """The recommended way, the runner-up, the others as listed, those that fail, and last those that do not apply."""
    chosen = (result.recommendation.way, result.recommendation.runner_up)
    rank = {Status.FAILS: len(chosen) + 1, Status.NOT_APPLICABLE: len(chosen) + 2}

    def place_of(way: SpeedWayResult) -> int:
        return chosen.index(way.key) if way.key in chosen else rank.get(way.status, len(chosen))

    return tuple(sorted(result.ways, key=place_of))


def verdict_sentence(result: SpeedResult) -> str:
    """The answer in one sentence."""
    best = next((way for way in result.ways if way.key == result.recommendation.way), None)
    if best is None:
        return "None of the ways of speed control compared passes."
    return f"Control its speed by: {best.title} ({STATUS_WORDS[best.status]})."


def answer(result: StudyResult) -> str:
    """What the study answers in one sentence for each of its parts, starting and speed control."""
    starting = [tables.verdict_sentence(result)] if result.ways or result.speed is None else []
    return " ".join([*starting, *([verdict_sentence(result.speed)] if result.speed is not None else [])])


def duty(result: SpeedResult) -> Table:
    """What is asked for: speed, torque and hours of every demand, flow where it is given by flow."""
    columns = (
        Column(title="Demand"),
        Column(title="Flow", numeric=True),
        Column(title="Speed", numeric=True),
        Column(title="Torque", numeric=True),
        Column(title="Power", numeric=True),
        Column(title="Hours a year", numeric=True),
    )
    rows = tuple(_demand(result, point) for point in result.duty)
    kept = [n for n in range(len(columns)) if n != 1 or any(row[1] != MISSING for row in rows)]
    return Table(
        title="The duty",
        columns=tuple(columns[n] for n in kept),
        rows=tuple(tuple(row[n] for n in kept) for row in rows),
        note="Power: what the process needs at the shaft." if result.process is not None else "",
    )


def _demand(result: SpeedResult, point: DutyPoint) -> tuple[str, ...]:
    flow = MISSING if point.flow is None else show(point.flow, "pu")
    rated = None if result.process is None else result.process.rated_flow
    if point.flow is not None and rated is not None:
        flow = show(point.flow * rated, "m3/s")
    power = point.speed * point.torque if point.useful is None else point.useful
    speed, torque = show(point.speed, "rad/s"), show(point.torque, "N m")
    return (point.name, flow, speed, torque, show(power, "W"), show(point.hours, ""))


def comparison(result: SpeedResult) -> Table:
    """All ways on one view: verdict, hours reached, energy, cost and payback of a year."""
    size = _money_size(result)
    money = (f"1000{THIN}" if size > 1 else "") + _currency(result)
    columns = (
        Column(title="Way"),
        Column(title="Verdict"),
        Column(title="Reached", numeric=True),
        Column(title="Energy a year", unit="MWh", numeric=True),
        Column(title="Energy cost", unit=money, numeric=True),
        Column(title="With purchase", unit=money, numeric=True),
        Column(title="Pays back", unit="years", numeric=True),
        Column(title="CO2 a year", unit="t", numeric=True),
    )
    rows = [_row(way, size) for way in ranked(result)]
    everywhere = show(1.0, "pu")
    blank = {2: (MISSING, everywhere)}  # hours reached are worth a column when a way misses some
    kept = [i for i in range(len(columns)) if i < 2 or any(row[i] not in blank.get(i, (MISSING,)) for row in rows)]
    return Table(
        title="Ways of speed control compared",
        columns=tuple(columns[i] for i in kept),
        rows=tuple(tuple(row[i] for i in kept) for row in rows),
        note="A year of the duty. In brackets the range from what was assumed; energy of the demands that are reached.",
    )


def _money_size(result: SpeedResult) -> float:
    """Of what money is shown in: one, or a thousand where amounts are large."""
    most = max((way.year.total or way.year.cost or 0.0 for way in result.ways), default=0.0)
    return 1e3 if most >= THOUSANDS else 1.0


def _currency(result: SpeedResult) -> str:
    return next((way.year.currency for way in result.ways if way.year.currency), "")


def _row(way: SpeedWayResult, size: float) -> tuple[str, ...]:
    year, hours = way.year, sum(point.duty.hours for point in way.points)
    verdict = STATUS_WORDS[way.status]
    if not way.points:
        return (way.title, verdict, *([MISSING] * 6))
    served = 1 - year.hours_infeasible / hours if hours else 0.0
    return (
        way.title,
        verdict,
        show(served, "pu"),
        energy_text(year),
        _money(size, year.cost, year.cost_low, year.cost_high),
        _money(size, year.total, year.total_low, year.total_high),
        payback_text(year).removesuffix(" years"),
        MISSING if year.carbon is None else show(year.carbon / 1e3, ""),
    )


def energy_text(year: Year) -> str:
    """Energy of the year with its range, in MWh, as in "437 (434 to 442)"."""
    energy, low, high = (value / KWH / 1e3 for value in (year.energy, year.energy_low, year.energy_high))
    return show_range(energy, low, high, "")


def _money(size: float, *amounts: float | None) -> str:
    value, low, high = (None if amount is None else amount / size for amount in amounts)
    return show_range(value, low, high, "")


def payback_text(year: Year) -> str:
    """ "3.1 (2.2 to 5.0) years", "never", or a dash."""
    if year.payback is None:
        return MISSING
    if isinf(year.payback):
        return "never" if year.payback_low is None or isinf(year.payback_low) else f"from {_years(year.payback_low)}"
    return f"{_years(year.payback)} ({_years(year.payback_low)} to {_years(year.payback_high)}) years"


def _years(value: float | None) -> str:
    if value is None:
        return MISSING
    return "never" if isinf(value) else show(value, "")

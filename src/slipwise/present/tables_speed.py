"""Speed control as neutral tables: the ways side by side, one way demand by demand, losses, what to buy."""

from __future__ import annotations

from math import isinf

from slipwise.present.tables import STATUS_WORDS
from slipwise.quantity.show import MISSING, show, show_range
from slipwise.results.criteria import Status
from slipwise.results.speed import OperatingPoint, Part, SpeedResult, SpeedWayResult, Year
from slipwise.results.table import Column, Table

KWH = 3.6e6  # J


def ranked(result: SpeedResult) -> tuple[SpeedWayResult, ...]:
    """The recommended way, the runner-up, the others as listed, those that fail, and last those that do not apply."""
    chosen = (result.recommendation.way, result.recommendation.runner_up)
    rank = {Status.FAILS: len(chosen) + 1, Status.NOT_APPLICABLE: len(chosen) + 2}

    def place_of(way: SpeedWayResult) -> int:
        return chosen.index(way.key) if way.key in chosen else rank.get(way.status, len(chosen))

    return tuple(sorted(result.ways, key=place_of))


def comparison(result: SpeedResult) -> Table:
    """All ways on one view: verdict, hours reached, energy, cost and payback of a year."""
    columns = (
        Column(title="Way"),
        Column(title="Verdict"),
        Column(title="Reached", numeric=True),
        Column(title="Energy a year", unit="MWh", numeric=True),
        Column(title="Energy cost a year", unit=_currency(result), numeric=True),
        Column(title="With purchase", unit=_currency(result), numeric=True),
        Column(title="Pays back", numeric=True),
        Column(title="CO2 a year", numeric=True),
    )
    rows = [_row(way) for way in ranked(result)]
    kept = [i for i in range(len(columns)) if i < 4 or any(row[i] != MISSING for row in rows)]
    return Table(
        title="Ways of speed control compared",
        columns=tuple(columns[i] for i in kept),
        rows=tuple(tuple(row[i] for i in kept) for row in rows),
        note="In brackets the range from what was assumed. Energy counts the demands that are reached.",
    )


def _currency(result: SpeedResult) -> str:
    return next((way.year.currency for way in result.ways if way.year.currency), "")


def _row(way: SpeedWayResult) -> tuple[str, ...]:
    year, hours = way.year, sum(point.duty.hours for point in way.points)
    verdict = STATUS_WORDS[way.status]
    if not way.points:
        return (way.title, verdict, *([MISSING] * 6))
    served = 1 - year.hours_infeasible / hours if hours else 0.0
    energy = [value / KWH / 1e3 for value in (year.energy, year.energy_low, year.energy_high)]
    return (
        way.title,
        verdict,
        show(served, "pu"),
        show_range(energy[0], energy[1], energy[2], ""),
        show_range(year.cost, year.cost_low, year.cost_high, ""),
        show_range(year.total, year.total_low, year.total_high, ""),
        payback_text(year),
        MISSING if year.carbon is None else show(year.carbon, "kg"),
    )


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


def points(way: SpeedWayResult) -> Table:
    """One way, demand by demand."""
    columns = (
        Column(title="Demand"),
        Column(title="Speed", numeric=True),
        Column(title="Torque", numeric=True),
        Column(title="Set"),
        Column(title="Line power", numeric=True),
        Column(title="Efficiency", numeric=True),
        Column(title="Line current", numeric=True),
        Column(title="Power factor", numeric=True),
        Column(title="Winding heat", numeric=True),
        Column(title="Holds"),
    )
    rows = tuple(_point(point) for point in way.points)
    note = "Winding heat: of what the cooling carries away at this speed; 100 % is the thermal limit."
    return Table(title=f"{way.title}, demand by demand", columns=columns, rows=rows, note=note)


def _point(point: OperatingPoint) -> tuple[str, ...]:
    set_to = ", ".join(f"{s.title} {s.text or show(s.value, s.unit)}" for s in point.settings) or MISSING
    holds = "stable" if point.stable else "needs a speed loop"
    if not point.feasible:
        holds = f"no: {point.reason}"
    elif point.reason:
        holds = f"{holds}; {point.reason}"
    return (
        point.duty.name,
        show(point.speed, "rad/s"),
        show(point.torque, "N m"),
        set_to,
        show(point.line_power, "W"),
        show(point.efficiency, "pu"),
        show(point.line_current, "A"),
        show(point.power_factor, ""),
        show(point.winding_heat, "pu"),
        holds,
    )


def losses(way: SpeedWayResult) -> Table:
    """Where the power goes at each demand, from the line to what the process needs."""
    parts = [part for part in Part if any(point.loss(part) for point in way.points)]
    columns = (
        Column(title="Demand"),
        Column(title="Line power", numeric=True),
        *(Column(title=part.value.capitalize(), numeric=True) for part in parts),
        Column(title="Shaft power", numeric=True),
    )
    rows = tuple(
        (
            point.duty.name,
            show(point.line_power, "W"),
            *(show(point.loss(part), "W") for part in parts),
            show(point.shaft_power, "W"),
        )
        for point in way.points
    )
    throttled = Part.THROTTLE in parts
    note = "What a valve or damper takes is part of the shaft power, not of the losses before it." if throttled else ""
    return Table(title=f"{way.title}, where the power goes", columns=columns, rows=rows, note=note)


def ratings(way: SpeedWayResult) -> Table:
    """What must be bought."""
    columns = (Column(title="To buy"), Column(title="Rating", numeric=True), Column(title="Why"))
    rows = tuple((s.title, s.text or show(s.value, s.unit), s.why) for s in way.ratings)
    return Table(title=f"{way.title}, what must be bought", columns=columns, rows=rows)

"""What is asked of a way of speed control over its duty, one criterion each, judged at the worst demand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from slipwise.limits.judge import conditional, failing, judge
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.speed import OperatingPoint

_HEAT = "heat balance: copper loss at rated load against cooling at this speed (common practice, no source)"


def reached(points: Sequence[OperatingPoint]) -> Criterion:
    """Share of the hours whose demand the way reaches; it fails when it is not all of them."""
    hours = sum(point.duty.hours for point in points)
    served = sum(point.duty.hours for point in points if point.feasible)
    lost = [point for point in points if not point.feasible]
    share = served / hours if hours else (0.0 if lost else 1.0)
    base = Criterion(
        key="reached",
        title="Hours whose demand is reached",
        value=share,
        limit=1.0,
        unit="pu",
        sense=Sense.AT_LEAST,
        status=Status.PASSES,
        margin=share - 1.0 if lost else None,
        case=lost[0].duty.name if lost else "",
        source="definition",
    )
    if not lost:
        return base
    return failing(base, "; ".join(f"{point.duty.name}: {point.reason}" for point in lost))


def conditions(points: Sequence[OperatingPoint]) -> tuple[Criterion, ...]:
    """What a demand that is reached asks for besides, one row for each different condition."""
    named: dict[str, list[str]] = {}
    for point in points:
        if point.feasible and point.reason:
            named.setdefault(point.reason, []).append(point.duty.name)
    return tuple(
        Criterion(
            key=f"asks:{place}",
            title="Asks for",
            value=None,
            limit=None,
            unit="",
            sense=Sense.AT_LEAST,
            status=Status.CONDITION,
            margin=None,
            case=", ".join(names),
            source="definition",
            condition=reason,
        )
        for place, (reason, names) in enumerate(named.items())
    )


def stable(points: Sequence[OperatingPoint]) -> Criterion | None:
    """Whether each demand holds itself at a constant setting; where it does not, a speed control loop has to hold it."""
    found = [point for point in points if point.feasible]
    if not found:
        return None
    worst = min(found, key=lambda point: point.stability)
    base = Criterion(
        key="stable",
        title="Slope of load less slope of motor torque",
        value=worst.stability,
        limit=0.0,
        unit="N m s",
        sense=Sense.AT_LEAST,
        status=Status.PASSES,
        margin=None,
        case=worst.duty.name,
        source="definition: positive is stable",
    )
    loose = [point.duty.name for point in found if not point.stable]
    if not loose:
        return base
    return conditional(
        base, f"unstable at a constant setting at {', '.join(loose)}: a speed control loop has to hold it"
    )


def winding_heat(points: Sequence[OperatingPoint]) -> Criterion | None:
    """Heat of the windings against what the cooling carries away, at the worst demand; 1 is the thermal limit."""
    found = {point.duty.name: point.winding_heat for point in points if point.feasible}
    if not found:
        return None
    name = max(found, key=lambda key: found[key])
    row = judge(
        "winding_heat",
        "Winding heat of what the cooling carries away",
        {name: found[name]},
        1.0,
        unit="pu",
        sense=Sense.AT_MOST,
        source=_HEAT,
    )
    hours = {point.duty.name: point.duty.hours for point in points}
    if row.status is Status.FAILS:
        over = [key for key, value in found.items() if value > 1]
        return replace(
            row, condition=f"too hot for good at {', '.join(over)} ({hours[name]:.0f} h a year at the worst)"
        )
    return row


def line_current(points: Sequence[OperatingPoint], limit: float | None) -> Criterion | None:
    """Greatest rms line current over the duty, harmonics included; shown, and judged when a limit is set. [A]"""
    return _extreme(points, "line_current", "Line current", limit, unit="A", sense=Sense.AT_MOST)


def power_factor(points: Sequence[OperatingPoint], limit: float | None) -> Criterion | None:
    """Least true power factor over the duty; shown, and judged when a limit is set."""
    return _extreme(points, "power_factor", "True power factor", limit, unit="pu", sense=Sense.AT_LEAST)


def _extreme(
    points: Sequence[OperatingPoint], name: str, title: str, limit: float | None, *, unit: str, sense: Sense
) -> Criterion | None:
    values = {point.duty.name: float(getattr(point, name)) for point in points if point.feasible}
    if not values:
        return None
    pick = max if sense is Sense.AT_MOST else min
    worst = pick(values, key=lambda key: values[key])
    source = "given by user" if limit is not None else "not given"
    return judge(name, title, {worst: values[worst]}, limit, unit=unit, sense=sense, source=source)


def started(statuses: Mapping[str, Status]) -> Criterion | None:
    """Whether a way of starting that suits this motor so controlled passes in the same study; None when none was judged.

    statuses: by title of the way of starting.
    """
    if not statuses:
        return None
    good = [title for title, status in statuses.items() if status is Status.PASSES]
    with_condition = [title for title, status in statuses.items() if status is Status.CONDITION]
    base = Criterion(
        key="started",
        title="Started by",
        value=None,
        limit=None,
        unit="",
        sense=Sense.AT_LEAST,
        status=Status.PASSES,
        margin=None,
        case="",
        source="the ways of starting judged in this study",
        condition=", ".join(good),
    )
    if good:
        return base
    if with_condition:
        return conditional(replace(base, condition=""), f"starts with a condition by {', '.join(with_condition)}")
    named = ", ".join(f"{title} {status.value}" for title, status in statuses.items())
    return failing(replace(base, condition=""), f"none of its ways of starting passes: {named}")

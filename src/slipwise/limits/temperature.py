"""Temperatures of starts and duties against what the bodies of the motor bear, and starts against those asked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from slipwise.limits.judge import conditional, failing, judge, unjudged
from slipwise.model.thermal.parameters import CAGE
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.thermal import DutyHeat, WayHeat

GIVEN = "given by user"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatTask:
    """What temperatures are held against.

    ambient, permitted: degC, the latter of the winding in steady duty with its source. sources: of each body's limit, by
    name. rotor_known: whether a stall time of the maker stands behind the rotor's heat capacity.
    starts_per_hour, starts_in_a_row: as asked for; None when not stated.
    """

    ambient: float
    permitted: float
    permitted_source: str
    sources: dict[str, str]
    rotor_known: bool
    starts_per_hour: float | None
    starts_in_a_row: int | None


def heat_rows(heat: WayHeat, task: HeatTask) -> tuple[Criterion, ...]:
    """Rows on each body in one start, on starts an hour and in a row where asked for, and on every duty."""
    return (*_bodies(heat, task), *_starts(heat, task), *(_duty(duty, task) for duty in heat.duties))


def _bodies(heat: WayHeat, task: HeatTask) -> Iterator[Criterion]:
    """Highest temperature of each body with a limit, start from rated temperature; from cold only is a condition. [degC]"""
    for body, limit in zip(heat.starts.bodies, heat.starts.limits, strict=True):
        if limit is None:
            continue
        rows = {state: _row(heat, task, body, state, limit) for state in ("hot", "cold")}
        hot, cold = rows["hot"], rows["cold"]
        if hot.status is Status.FAILS and cold.status is not Status.FAILS:
            hot = conditional(hot, f"start from cold only, up to {show(cold.value, 'degC')}")
        if body == CAGE and not task.rotor_known:
            hot = unjudged(replace(hot, condition=""), "no stall time is given, ask the maker for it")
        yield hot


def _row(heat: WayHeat, task: HeatTask, body: str, state: str, limit: float) -> Criterion:
    values = {p.case: p.temperature for p in heat.peaks if p.body == body and p.state == state}
    return judge(
        f"temperature:{body}",
        f"Temperature of the {body}, start from hot",
        values,
        limit,
        unit="degC",
        sense=Sense.AT_MOST,
        source=task.sources.get(body, "common practice, no source"),
        span=limit - task.ambient,
    )


def _starts(heat: WayHeat, task: HeatTask) -> Iterator[Criterion]:
    if task.starts_per_hour is not None:
        yield judge(
            "starts_per_hour",
            "Starts an hour that the motor bears",
            {"nominal": heat.rate},
            task.starts_per_hour,
            unit="1/h",
            sense=Sense.AT_LEAST,
            source=GIVEN,
            note="rated load between the starts",
        )
    if task.starts_in_a_row is not None:
        count = float(heat.cold_starts)
        row = judge(
            "starts_in_a_row",
            "Starts in a row from cold that the motor bears",
            {"nominal": count},
            float(task.starts_in_a_row),
            unit="",
            sense=Sense.AT_LEAST,
            source=GIVEN,
            note=f"{show(heat.rest, 's')} at rest between them" if heat.rest else "without rest between them",
        )
        # A count is exact: there is no thin margin between three and three.
        yield replace(row, status=Status.PASSES if count >= task.starts_in_a_row else Status.FAILS)


def _duty(duty: DutyHeat, task: HeatTask) -> Criterion:
    """Highest winding temperature of a duty against the permitted one; fails too when another body passes its limit."""
    row = judge(
        f"duty:{duty.label}",
        f"Winding in duty {duty.label}",
        {"nominal": duty.highest},
        task.permitted,
        unit="degC",
        sense=Sense.AT_MOST,
        source=task.permitted_source,
        span=task.permitted - task.ambient,
    )
    return row if duty.within or duty.highest > task.permitted else failing(row, "another body passes its limit")

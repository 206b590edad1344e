"""The speed part of a study: every way over the whole duty, priced, judged and compared; one of them recommended."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np

from slipwise.limits.efficiency_class import efficiency_class
from slipwise.model.load.system import Process, machine_head, speed_for, system_head
from slipwise.model.machine.motor import Motor
from slipwise.quantity.show import show
from slipwise.results.speed import DutyPoint, HeadCurve, ProcessChart, SpeedResult, SpeedWayResult
from slipwise.results.study import WayResult
from slipwise.solve.steady import solve
from slipwise.study.model import Study
from slipwise.study.speed.choice import recommend
from slipwise.study.speed.model import SpeedStudy
from slipwise.study.speed.way import answer, asked_of, way_of
from slipwise.study.speed.year import (
    CONVERTER_SOURCE,
    CONVERTER_TOLERANCE,
    LARGE,
    LARGE_TOLERANCE,
    MOTOR_SOURCE,
    MOTOR_TOLERANCE,
    reference,
    standing,
    with_payback,
)

Progress = Callable[[str, float], None]
_POINTS = 61  # of a head curve


def run_speed(
    study: Study, starting: tuple[WayResult, ...] = (), progress: Progress | None = None
) -> SpeedResult | None:
    """Every way of speed control asked for, over the whole duty; None when the study asks for none.

    Args:
        study: as the reader builds it.
        starting: the ways of starting judged in the same study; each way of speed control says how it stands with them.
        progress: called with what is being done and the share that is done (0 to 1).

    Raises:
        InputError: a way has an unknown name.
    """
    speed = study.speed
    if speed is None:
        return None
    tell = progress or (lambda _words, _share: None)
    about = asked_of(study, speed, starting)
    found = []
    for place, request in enumerate(speed.ways):
        share = place / len(speed.ways)
        tell(way_of(request.key).title, share)
        found.append(answer(about, request, partial(_share, tell, share)))
    ways = _paid_back(tuple(found), speed)
    return SpeedResult(
        duty=speed.duty,
        ways=ways,
        recommendation=recommend(ways, speed.order),
        notes=_notes(study, speed),
        process=None if speed.process is None else chart(speed.process, speed.duty),
    )


def _share(tell: Progress, share: float, words: str) -> None:
    tell(words, share)


def _paid_back(ways: tuple[SpeedWayResult, ...], speed: SpeedStudy) -> tuple[SpeedWayResult, ...]:
    """The same with the time in which each purchase comes back, against the cheapest to buy that serves the duty."""
    years = {way.key: way.year for way in ways if way.points}
    base = reference(standing(ways))
    if base is None or speed.tariff is None:
        return ways
    tariff = speed.tariff
    return tuple(
        replace(way, year=with_payback(way.year, years[base], tariff))
        if way.key in years and way.key != base and not way.year.hours_infeasible
        else way
        for way in ways
    )


def _notes(study: Study, speed: SpeedStudy) -> tuple[str, ...]:
    """The motor's efficiency class, what the ranges hold, and what the comparison leaves out."""
    tolerance = MOTOR_TOLERANCE if study.motor.rating.power <= LARGE else LARGE_TOLERANCE
    notes = [
        f"Motor: {_class(study.motor, study)}.",
        f"Range of the energy: losses of the motor up to {show(tolerance, 'pu')} higher ({MOTOR_SOURCE}), of converters "
        f"{show(CONVERTER_TOLERANCE, 'pu')} either way ({CONVERTER_SOURCE}), and the assumed values of the process.",
        "Computed on the supply as stated, nominal case, windings at the temperature of the study.",
    ]
    if speed.process is not None and speed.process.static_head > 0:
        notes.append(
            "The cube of the flow is not used: with static head the power at part flow is higher than it promises."
        )
    return tuple(notes)


def _class(motor: Motor, study: Study) -> str:
    """The efficiency class by the plate where it states the efficiency, else by the model at rated speed."""
    rating = motor.rating
    if rating.efficiency is not None:
        return efficiency_class(rating, rating.efficiency)
    from slipwise.methods.speed.line_fed import RUNNING
    from slipwise.solve.plan import Drive

    at = solve(Drive(motor=motor, load=study.load, supply=study.supply.nominal), RUNNING, rating.speed)
    return f"{efficiency_class(rating, float(at.torque * at.speed / at.power))}, efficiency by the model"


def chart(process: Process, duty: tuple[DutyPoint, ...]) -> ProcessChart:
    """Head of the machine at rated speed and at the speed of each demand by flow, head of the system, and the cube law."""
    flow = np.linspace(0.0, 1.25, _POINTS)
    demands = [point for point in duty if point.flow is not None]
    speeds = {1.0: "rated speed"}
    speeds |= {float(speed_for(process, point.flow)): point.name for point in demands}
    curves = [
        HeadCurve(
            label=label,
            speed=n * process.machine.speed,
            flow=flow,
            head=np.asarray(machine_head(process, n, flow)),
        )
        for n, label in speeds.items()
    ]
    system = HeadCurve(label="system", speed=None, flow=flow, head=np.asarray(system_head(process, flow)))
    rated = process.machine.torque * process.machine.speed
    return ProcessChart(
        machine=process.kind,
        static_head=process.static_head,
        rated_flow=process.rated_flow,
        rated_head=process.rated_head,
        curves=(*curves, system),
        cube_law=tuple(float("nan") if point.flow is None else rated * point.flow**3 for point in duty),
    )

"""Run a study: design every way asked for, compute it in its cases, judge it, and recommend."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from slipwise import __version__
from slipwise.limits.judge import THIN
from slipwise.limits.protection import starter_duty
from slipwise.methods.starting import STARTING
from slipwise.methods.way import Designed, StartingWay, Task
from slipwise.quantity.errors import InputError
from slipwise.results.criteria import Criterion
from slipwise.results.start import TransientBand
from slipwise.results.study import SCHEMA_VERSION, Explanation, StudyResult, WayResult
from slipwise.results.wiring import Wiring
from slipwise.solve.plan import Plan
from slipwise.study.cases import NOMINAL, STRONG, WORST, Case, cases_of
from slipwise.study.cautions import cautions_for
from slipwise.study.comparison import compare_twins
from slipwise.study.explain import explain_motor, explain_way
from slipwise.study.judging import Evidence, criteria
from slipwise.study.model import Study, WayRequest
from slipwise.study.rated import rated_values
from slipwise.study.verdict import impossible, recommend, verdict

Answer = tuple[WayResult, tuple[Explanation, ...]]
Progress = Callable[[str, float], None]
IN_HAND = 1.01 + THIN  # a design aims beyond the limit by what counts as thin, and a little for its own grid
NO_CIRCUIT = "no electrical transient: the motor is known by its steady curves only"
NOT_ASKED = "no electrical transient was asked for"


def run(study: Study, *, transients: bool = True, progress: Progress | None = None) -> StudyResult:
    """The whole answer to a study.

    transients: also compute the electrical transient of each way, as a band over the switching angle.
    progress: called with what is being done and the share that is done (0 to 1).

    A way that this motor cannot have, or a setting that cannot stand, is a failing verdict with its reason.
    """
    tell = progress or (lambda _words, _share: None)
    cases = cases_of(study)
    found = []
    for place, request in enumerate(study.ways):
        tell(way_of(request.key).title, place / len(study.ways))
        found.append(_judged(study, cases, request, transients))
    tell("judged", 1.0)
    ways = tuple(way for way, _ in found)
    said = (row for _, rows in found for row in rows)
    rating = study.motor.rating
    return StudyResult(
        title=study.title,
        slipwise_version=__version__,
        schema_version=SCHEMA_VERSION,
        inputs=study.inputs,
        rated=rated_values(study),
        plate=study.plate,
        ways=ways,
        recommendation=recommend(ways, study.order),
        cautions=cautions_for(study),
        explanations=(*explain_motor(study), *said),
        synchronous_speed=rating.synchronous_speed,
        rated_torque=rating.torque,
        rated_current=rating.current,
        file=study.file.name if study.file is not None else "",
    )


def way_of(key: str) -> type[StartingWay]:
    """The way of starting of that name.

    Raises:
        InputError: there is none.
    """
    for way in STARTING:
        if way.key == key:
            return way
    known = ", ".join(way.key for way in STARTING)
    raise InputError.of("starting.ways", key, "no way of starting has this name", f"write one of {known}")


def task_of(study: Study, cases: Mapping[str, Case]) -> Task:
    """What a design is made for: the torque reserve with enough in hand not to be kept on paper only."""
    asked = study.limits.torque_margin
    reserve = replace(asked, value=None if asked.value is None else asked.value * IN_HAND)
    return Task(
        nominal=cases[NOMINAL].drive,
        worst=cases[WORST].drive,
        limits=replace(study.limits, torque_margin=reserve),
        starts_per_hour=study.starts_per_hour,
    )


def _judged(study: Study, cases: Mapping[str, Case], request: WayRequest, transients: bool) -> Answer:
    way = way_of(request.key)
    try:
        designed = way.designed_for(task_of(study, cases), request.given)
        plans = {name: designed.way.stages(case.drive) for name, case in cases.items()}
    except InputError as error:
        return _cannot_be(way, error), ()
    run_ups = {name: case.run_up(plans[name]) for name, case in cases.items()}
    bands = _bands(study, cases, plans) if transients and study.motor.circuit is not None else {}
    evidence = Evidence(study=study, cases=cases, plans=plans, run_ups=run_ups, bands=bands)
    rows = criteria(evidence)
    note = "" if bands else (NO_CIRCUIT if transients else NOT_ASKED)
    return _answer(designed, evidence, rows, note), explain_way(way.key, evidence, rows, designed.settings)


def _answer(designed: Designed[Any], evidence: Evidence, rows: tuple[Criterion, ...], note: str) -> WayResult:
    way, nominal = designed.way, evidence.cases[NOMINAL]
    band = evidence.bands.get(NOMINAL)
    return WayResult(
        key=way.key,
        title=way.title,
        settings=designed.settings,
        designed=designed.words,
        curves=tuple(nominal.curves(stage) for stage in evidence.plans[NOMINAL]),
        run_ups=tuple(evidence.run_ups.values()),
        band=band,
        transient_note=note,
        verdict=verdict(rows),
        wiring=way.wiring(),
        protection=evidence.protection,
        duty=starter_duty(evidence.run_ups[STRONG], evidence.study.starts_per_hour),
        comparisons=compare_twins(evidence.study, way, nominal, band),
    )


def _bands(study: Study, cases: Mapping[str, Case], plans: Mapping[str, Plan]) -> dict[str, TransientBand]:
    return {name: cases[name].band(plans[name], study.switching_angles) for name in (NOMINAL, STRONG)}


def _cannot_be(way: type[StartingWay], error: InputError) -> WayResult:
    reason = "; ".join(f"{fault.value}: {fault.reason}" if fault.value else fault.reason for fault in error.faults)
    return WayResult(
        key=way.key,
        title=way.title,
        settings=(),
        designed="",
        curves=(),
        run_ups=(),
        band=None,
        transient_note="",
        verdict=impossible(reason),
        wiring=Wiring(devices=(), stages=(), closed=()),
    )

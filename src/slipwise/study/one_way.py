"""One way of starting from request to judgement: designed, computed in its cases, judged, explained."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from slipwise.limits.judge import THIN
from slipwise.limits.protection import starter_duty
from slipwise.limits.thresholds import Threshold
from slipwise.methods.starting import STARTING
from slipwise.methods.way import Designed, StartingWay, Task
from slipwise.quantity.errors import InputError
from slipwise.results.criteria import Criterion
from slipwise.results.start import TransientBand
from slipwise.results.study import Explanation, LoadCase, Setting, WayResult
from slipwise.results.wiring import Wiring
from slipwise.study.cases import NOMINAL, STRONG, WORST, Case, cases_of
from slipwise.study.comparison import compare_twins
from slipwise.study.explain import explain_way
from slipwise.study.judging import Evidence, criteria
from slipwise.study.load_cases import binding, each_load, heaviest, named, worst
from slipwise.study.model import Study
from slipwise.study.protection.way import guarded
from slipwise.study.request import WayRequest, way_named
from slipwise.study.verdict import impossible, verdict

IN_HAND = 1.01 + THIN  # a design aims beyond the limit by what counts as thin, and a little for its own grid
NO_CIRCUIT = "no electrical transient: the motor is known by its steady curves only"
NOT_ASKED = "no electrical transient was asked for"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One way answered. way: with its settings; None when this motor cannot have it."""

    result: WayResult
    explanations: tuple[Explanation, ...]
    way: StartingWay | None


def way_of(key: str) -> type[StartingWay]:
    """The way of starting of that name.

    Raises:
        InputError: there is none.
    """
    return way_named("starting", key, STARTING, "way of starting")


def task_of(study: Study, cases: Mapping[str, Case]) -> Task:
    """What a design is made for: reserve and current limit with enough in hand not to be kept on paper only."""
    limits = study.limits
    return Task(
        nominal=cases[NOMINAL].drive,
        worst=cases[WORST].drive,
        limits=replace(
            limits,
            torque_margin=_scaled(limits.torque_margin, IN_HAND),
            line_current=_scaled(limits.line_current, 1 / IN_HAND),
        ),
        starts_per_hour=study.starts_per_hour,
    )


def _scaled(limit: Threshold, factor: float) -> Threshold:
    return replace(limit, value=None if limit.value is None else limit.value * factor)


def answer(
    study: Study,
    cases: Mapping[str, Case],
    request: WayRequest,
    transients: bool,
    tell: Callable[[str], None] | None = None,
) -> Answer:
    """Designs what was not given, computes every case, and judges; `tell` is told before the solver must be prepared.

    A load found in several states is started in each; the settings are designed for the heaviest, the transient is that
    of the state that binds. A way that this motor cannot have does not apply; a setting that cannot stand fails; each with
    its reason.
    """
    way = way_of(request.key)
    states = (
        {name: (found, cases_of(found)) for name, found in each_load(study).items()}
        if study.loads
        else {"": (study, cases)}
    )
    heavy = heaviest(study)
    try:
        designed = way.designed_for(task_of(*states[heavy]), request.given)
        known = {name: _started(designed.way, *state, tell) for name, state in states.items()}
    except InputError as error:
        return Answer(result=_cannot_be(way, error), explanations=(), way=None)
    none: tuple[Criterion, ...] = ()
    rows = {name: criteria(evidence) if study.loads else none for name, evidence in known.items()}
    binds = binding(rows, heavy)
    bands, note = _bands(study, known[binds], tell) if transients else ({}, NOT_ASKED)
    known[binds] = replace(known[binds], bands=bands)
    guard = guarded(known[binds], designed.way, designed.settings)
    rows[binds] = (*criteria(known[binds]), *designed.conditions, *guard.rows)
    found = worst({binds: rows[binds], **rows})  # where several are alike, the one that binds
    designed = _worded(designed, heavy)
    return Answer(
        result=replace(
            _result(designed, known[binds], named(found), note),
            protection=guard.protection,
            load_case=binds,
            load_cases=_load_cases(study, known, rows),
        ),
        explanations=_explained(way.key, known, found, designed.settings),
        way=designed.way,
    )


def _started(
    way: StartingWay, study: Study, cases: Mapping[str, Case], tell: Callable[[str], None] | None = None
) -> Evidence:
    """The run-ups of one state of the load in every case."""
    plans = {name: way.stages(case.drive) for name, case in cases.items()}
    run_ups = {}
    for name, case in cases.items():
        if tell is not None:
            tell(f"{way.title}: {name} case")
        run_ups[name] = case.run_up(plans[name])
    return Evidence(study=study, cases=cases, plans=plans, run_ups=run_ups, bands={})


def _worded(designed: Designed[Any], heavy: str) -> Designed[Any]:
    """Says for which state of the load the settings were chosen."""
    if not heavy or not designed.words:
        return designed
    return replace(designed, words=f"{designed.words} Chosen for the heaviest load: {heavy}.")


def _load_cases(
    study: Study, known: Mapping[str, Evidence], rows: Mapping[str, Sequence[Criterion]]
) -> tuple[LoadCase, ...]:
    if not study.loads:
        return ()
    found = []
    for name, evidence in known.items():
        judged, nominal = verdict(rows[name]), evidence.run_ups[NOMINAL]
        found.append(
            LoadCase(
                name=name,
                status=judged.status,
                binding=judged.binding,
                outcome=nominal.outcome,
                run_up_time=nominal.run_up_time,
            )
        )
    return tuple(found)


def _explained(
    key: str, known: Mapping[str, Evidence], rows: Sequence[tuple[str, Criterion]], settings: Sequence[Setting]
) -> tuple[Explanation, ...]:
    """Each row explained by what was computed with the load in the state it comes from."""
    words = list(explain_way(key, known[rows[0][0]], (), settings))
    for name, row in rows:
        words += explain_way(key, known[name], (row,), ())
    return tuple(words)


def _result(designed: Designed[Any], evidence: Evidence, rows: tuple[Criterion, ...], note: str) -> WayResult:
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
        duty=starter_duty(evidence.run_ups[STRONG], evidence.study.starts_per_hour),
        comparisons=compare_twins(evidence.study, way, nominal, band),
    )


def _bands(study: Study, known: Evidence, tell: Callable[[str], None] | None) -> tuple[dict[str, TransientBand], str]:
    """The transient in the nominal and the strong case, or none and why."""
    if study.motor.circuit is None:
        return {}, NO_CIRCUIT
    cases, plans = known.cases, known.plans
    try:
        return {name: cases[name].band(plans[name], study, tell) for name in (NOMINAL, STRONG)}, ""
    except InputError as error:
        return {}, f"no electrical transient: {'; '.join(fault.reason for fault in error.faults)}"


def _cannot_be(way: type[StartingWay], error: InputError) -> WayResult:
    return WayResult(
        key=way.key,
        title=way.title,
        settings=(),
        designed="",
        curves=(),
        run_ups=(),
        band=None,
        transient_note="",
        verdict=impossible(error, f"starting.{way.key}"),
        wiring=Wiring(devices=(), stages=(), closed=()),
    )

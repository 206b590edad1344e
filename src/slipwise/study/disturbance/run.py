"""Every disturbance asked for, answered and judged."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from slipwise.quantity.errors import DomainError, InputError
from slipwise.results.criteria import Criterion, Status, Verdict
from slipwise.results.disturbance import DisturbanceResult
from slipwise.results.study import Explanation
from slipwise.study.disturbance.dip import dip
from slipwise.study.disturbance.model import (
    Answered,
    DisturbanceRequest,
    Effort,
    OffNominal,
    OpenLine,
    ReversedPhases,
    SupplyReturn,
    Unbalance,
    VoltageDip,
)
from slipwise.study.disturbance.off_nominal import off_nominal
from slipwise.study.disturbance.open_line import open_line
from slipwise.study.disturbance.reversed import reversed_phases
from slipwise.study.disturbance.supply_back import supply_return
from slipwise.study.disturbance.unbalance import unbalance
from slipwise.study.model import Study
from slipwise.study.verdict import verdict

_ANSWERS: dict[type, Callable[[Study, str, Any, Effort], Answered]] = {
    Unbalance: unbalance,
    OpenLine: open_line,
    VoltageDip: dip,
    SupplyReturn: supply_return,
    ReversedPhases: reversed_phases,
    OffNominal: off_nominal,
}


def disturbances(
    study: Study, *, transients: bool = True, note: Callable[[str], None] | None = None
) -> tuple[tuple[DisturbanceResult, ...], tuple[Explanation, ...]]:
    """The answers in the order of the file, and why their numbers are what they are.

    transients: also the electrical transients. note: is told what is being done. A case that has no answer, such as a motor
    that does not run on its load to begin with, fails with its reason.
    """
    answers, words = [], []
    for request in study.disturbances:
        if note is not None:
            note(request.title)
        try:
            found = _ANSWERS[type(request.asked)](
                study, request.key, request.asked, Effort(transients=transients, note=note)
            )
        except (DomainError, InputError) as error:
            answers.append(_none(request, "; ".join(f"{f.field}: {f.reason}" for f in error.faults)))
            continue
        answers.append(_result(study, request, found))
        words += [*found.explanations, *_computed(request, found)]
    return tuple(answers), tuple(words)


def _result(study: Study, request: DisturbanceRequest, found: Answered) -> DisturbanceResult:
    return DisturbanceResult(
        key=request.key,
        kind=request.kind,
        title=request.title,
        summary=found.summary,
        findings=found.findings,
        verdict=verdict(found.rows),
        actions=found.actions,
        panels=found.panels,
        notes=(*found.notes, *(f"Load of the case {name}." for name, _ in study.loads[:1])),
    )


def _none(request: DisturbanceRequest, reason: str) -> DisturbanceResult:
    rows: tuple[Criterion, ...] = ()
    return DisturbanceResult(
        key=request.key,
        kind=request.kind,
        title=request.title,
        summary=f"No answer: {reason}.",
        findings=(),
        verdict=Verdict(status=Status.FAILS, binding=None, criteria=rows, reason=reason),
        actions=(),
        panels=(),
    )


def _computed(request: DisturbanceRequest, found: Answered) -> Iterator[Explanation]:
    """Numbers without a formula of their own: how they were found."""
    known = {row.name for row in found.explanations}
    numbers = [(row.key, row.title, row.value, row.unit) for row in found.findings]
    numbers += [(row.key, row.title, row.value, row.unit) for row in found.rows]
    for key, title, value, unit in numbers:
        name = f"{request.key}.{key}"
        if value is None or name in known:
            continue
        known.add(name)
        yield Explanation(
            name=name, title=title, value=value, unit=unit, formula="", expression="", inputs=(), source=found.source,
            method=found.method,
        )  # fmt: skip

"""One value, one limit, one judgement: the arithmetic that every criterion shares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense, Status

# A limit kept by less than this share of itself is kept on paper only: readings, catalogue rounding and the network
# operator's own figures are not better known than that (common practice, no source).
THIN = 0.05

Values = Mapping[str, float]


def worst_case(values: Values, sense: Sense) -> str:
    """The case with the value nearest to breaking the limit, the first of equals."""
    pick = max if sense is Sense.AT_MOST else min
    return pick(values, key=lambda case: values[case])


def margin_of(value: float, limit: float, sense: Sense, span: float | None = None) -> float:
    """How far `value` keeps from `limit`, per unit of `span` (default: of the limit); negative when it is broken.

    A limit of exactly zero has no size to measure by: the margin is then the distance itself.
    """
    room = limit - value if sense is Sense.AT_MOST else value - limit
    return room / (span or abs(limit) or 1.0)


def judge(
    key: str,
    title: str,
    values: Values,
    limit: float | None,
    *,
    unit: str,
    sense: Sense,
    source: str,
    span: float | None = None,
    note: str = "",
) -> Criterion:
    """Judges the worst of `values` (one per case, the nominal first) against `limit`.

    Passes when the worst case keeps the limit by at least THIN of it; passes with a condition when it keeps it by
    less, or when the nominal case keeps it and a worse one does not; fails when the nominal case breaks it. Without a
    limit the value is shown and not judged.
    """
    case = worst_case(values, sense)
    base = Criterion(
        key=key,
        title=title,
        value=values[case],
        limit=limit,
        unit=unit,
        sense=sense,
        status=Status.UNKNOWN,
        margin=None,
        case=case,
        source=source,
        condition=note,
    )
    if limit is None:
        return replace(base, condition=_join("no limit is set", note))
    nominal = next(iter(values))
    margin = margin_of(values[case], limit, sense, span)
    ordinary = margin_of(values[nominal], limit, sense, span)
    status, words = _status(margin, ordinary, case, nominal, show(values[nominal], unit))
    return replace(base, status=status, margin=margin, condition=_join(words, note))


def _status(margin: float, nominal_margin: float, case: str, nominal: str, shown: str) -> tuple[Status, str]:
    if margin >= THIN:
        return Status.PASSES, ""
    if margin >= 0:
        return Status.CONDITION, f"the limit is kept by less than {show(THIN, 'pu')} of itself"
    if nominal_margin >= 0 and case != nominal:
        return Status.CONDITION, f"kept in the {nominal} case ({shown}), not in the {case} case"
    return Status.FAILS, ""


def unjudged(base: Criterion, why: str) -> Criterion:
    """The same row, not judged, and why."""
    return replace(base, status=Status.UNKNOWN, margin=None, condition=_join(why, base.condition))


def conditional(base: Criterion, words: str) -> Criterion:
    """The same row, passing with a condition."""
    return replace(base, status=Status.CONDITION, condition=_join(words, base.condition))


def failing(base: Criterion, words: str) -> Criterion:
    """The same row, failing."""
    return replace(base, status=Status.FAILS, condition=_join(words, base.condition))


def _join(*words: str) -> str:
    return "; ".join(word for word in words if word)

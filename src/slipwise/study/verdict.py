"""From criteria to the judgement of one way, and from judgements to a recommendation in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Recommendation, Sense, Status, Verdict

_RANK = {Status.PASSES: 0, Status.UNKNOWN: 1, Status.CONDITION: 1, Status.FAILS: 2, Status.NOT_APPLICABLE: 3}


class Judged(Protocol):
    """A way of starting or stopping with its judgement."""

    @property
    def key(self) -> str:
        """As in the study file."""
        ...

    @property
    def title(self) -> str:
        """As shown."""
        ...

    @property
    def verdict(self) -> Verdict:
        """How it stands."""
        ...


def rank(status: Status) -> int:
    """The greater, the worse."""
    return _RANK[status]


def verdict(criteria: Sequence[Criterion]) -> Verdict:
    """The worst status over the criteria, the criterion that binds, and why in words.

    A row without a limit is shown and does not count. A row with a limit that could not be judged, because a datum is
    missing, makes the way pass with that condition at best. The binding criterion is the one with the least margin
    among those of the worst status; where none of them has a margin, among all that were judged.
    """
    counted = [row for row in criteria if not ignored(row)]
    status = overall(counted)
    deciding = [row for row in counted if _RANK[row.status] == _RANK[status]]
    with_margin = [row for row in deciding if row.margin is not None] or counted
    return Verdict(
        status=status, binding=tightest(with_margin), criteria=tuple(criteria), reason=_reason(status, counted)
    )


def ignored(row: Criterion) -> bool:
    """Whether a row is for information only: not judged, because no limit is set."""
    return row.status is Status.UNKNOWN and row.limit is None


def overall(criteria: Sequence[Criterion]) -> Status:
    """The worst status; a row that lacks a datum counts as a condition."""
    worst = max((_RANK[row.status] for row in criteria), default=0)
    return (Status.PASSES, Status.CONDITION, Status.FAILS)[worst]


def tightest(criteria: Sequence[Criterion]) -> Criterion | None:
    """The row with the least margin; a row without one only when no other is left."""
    known = [row for row in criteria if row.margin is not None]
    return min(known, key=lambda row: row.margin or 0.0) if known else next(iter(criteria), None)


def _reason(status: Status, criteria: Sequence[Criterion]) -> str:
    rows = [row for row in criteria if _RANK[row.status] == _RANK[status]]
    if status is Status.FAILS:
        return "; ".join(against(row) for row in _one_of_each(_by_margin(rows)))
    if status is Status.CONDITION:
        return "; ".join(_condition(row) for row in _one_of_each(_by_margin(rows)))
    narrow = tightest([row for row in rows if row.limit is not None])
    return "no limit is set" if narrow is None else f"its tightest limit is {against(narrow)}"


def _by_margin(rows: Sequence[Criterion]) -> list[Criterion]:
    """Cause before consequence: a start that does not arrive first, then the least margin."""
    return sorted(rows, key=lambda row: (row.key != "arrives", row.margin is None, row.margin or 0.0))


def _one_of_each(rows: Sequence[Criterion]) -> list[Criterion]:
    """The first row of each kind: one torque margin, the worse case; but every busbar's dip."""
    first = {row.key if row.key.startswith("dip:") else row.key.partition(":")[0]: row for row in reversed(rows)}
    return sorted(first.values(), key=list(rows).index)


def against(row: Criterion) -> str:
    """One row in words: what, how much, against which limit of whose."""
    name = row.title[0].lower() + row.title[1:]
    if row.limit is None:
        return row.condition or f"{name}: {show(row.value, row.unit)}"
    word = "against" if row.sense is Sense.AT_MOST else "where at least"
    tail = "" if row.sense is Sense.AT_MOST else " is asked"
    limit = show(row.limit, row.unit)
    case = f"in the {row.case} case" + (f" (load: {row.load_case})" if row.load_case else "")
    return f"{name}, {show(row.value, row.unit)} {case} {word} {limit}{tail} ({row.source})"


def _condition(row: Criterion) -> str:
    if row.status is Status.UNKNOWN:
        return f"{row.title[0].lower()}{row.title[1:]} is not judged: {row.condition}"
    if row.limit is None:
        return against(row)
    return f"{against(row)}: {row.condition}"


def impossible(error: InputError, field: str) -> Verdict:
    """The verdict of a way that this motor cannot have at all, where every fault is of `field`, the way's own section; it
    fails where a setting or a datum stands against it."""
    applies = any(fault.field != field for fault in error.faults)
    reason = "; ".join(f"{fault.value}: {fault.reason}" if fault.value else fault.reason for fault in error.faults)
    status = Status.FAILS if applies else Status.NOT_APPLICABLE
    return Verdict(status=status, binding=None, criteria=(), reason=reason)


def recommend(ways: Sequence[Judged], order: Sequence[str]) -> Recommendation:
    """The simplest way that passes, then the simplest that passes with a condition; equals by margin.

    Among those with a condition, one that misses a limit in the worst case comes after those that miss none.
    order: keys, simplest first; ways it does not name come after it, by margin. Runner-up: the next in the same list.
    """
    standing = sorted(
        (way for way in ways if _RANK[way.verdict.status] < _RANK[Status.FAILS]), key=lambda w: _preference(w, order)
    )
    best = standing[0] if standing else None
    second = standing[1] if len(standing) > 1 else None
    return Recommendation(
        way=best.key if best else None,
        runner_up=second.key if second else None,
        reason=_recommended(ways, order, best, second),
        order=tuple(order),
    )


def _preference(way: Judged, order: Sequence[str]) -> tuple[int, bool, int, float]:
    place = order.index(way.key) if way.key in order else len(order)
    binding = way.verdict.binding
    margin = binding.margin if binding is not None and binding.margin is not None else 0.0
    missed = any(row.margin is not None and row.margin < 0 for row in way.verdict.criteria)
    return _RANK[way.verdict.status], missed, place, -margin


def _recommended(ways: Sequence[Judged], order: Sequence[str], best: Judged | None, second: Judged | None) -> str:
    said = [way for way in sorted(ways, key=lambda w: _preference(w, order)) if way not in (best, second)]
    failed = _failed([way for way in said if way.verdict.status is Status.FAILS])
    if best is None:
        return " ".join(["None of the ways passes.", *failed])
    words = [*failed, f"{best.title} {_judged(best)}."]
    if second is not None:
        words.append(f"Runner-up: {second.title}, which {_in_short(second)}.")
    return " ".join(words)


def _failed(ways: Sequence[Judged]) -> list[str]:
    """A sentence for each reason, with all the ways that fail by it."""
    by_reason: dict[str, list[str]] = {}
    for way in ways:
        by_reason.setdefault(_in_short(way), []).append(way.title)
    return [
        f"{', '.join(names[:-1])} and {names[-1]} fail{reason.removeprefix('fails')}."
        if len(names) > 1
        else f"{names[0]} {reason}."
        for reason, names in by_reason.items()
    ]


def _in_short(way: Judged) -> str:
    """The judgement with its first reason only, and how many more there are; all of them stand with the way itself."""
    status = way.verdict.status
    counted = [row for row in way.verdict.criteria if not ignored(row) and _RANK[row.status] == _RANK[status]]
    rows = _one_of_each(_by_margin(counted))
    if status is Status.PASSES or len(rows) < 2:
        return _judged(way)
    first = against(rows[0]) if rows[0].limit is not None and rows[0].value is not None else _condition(rows[0])
    others = len(rows) - 1
    return f"{status.value}: {first}, and for {others} more reason{'s' if others > 1 else ''}"


def _judged(way: Judged) -> str:
    status, reason = way.verdict.status, way.verdict.reason
    return f"{status.value}; {reason}" if status is Status.PASSES else f"{status.value}: {reason}"

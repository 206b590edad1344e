"""The verdict over an ensemble of motors that all agree with the plate, and the datum to ask for next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from slipwise.identify.ensemble import Ensemble
from slipwise.methods.way import StartingWay
from slipwise.results.criteria import Criterion, Status, Verdict
from slipwise.results.ranking import Missing, Ranking, Spread, VerdictRange
from slipwise.results.series import Array
from slipwise.study.boundary import judged
from slipwise.study.model import Study
from slipwise.study.verdict import ignored

# Margins beyond this say "far from any limit" or "hopeless" alike: larger ones would drown the ranking.
CLIP = 1.0
NEGLIGIBLE = 0.05  # a share below this is not worth a question


def ranking(
    study: Study, ways: Sequence[StartingWay], ensemble: Ensemble, note: Callable[[str], None] | None = None
) -> Ranking:
    """Judges each way, settings as they are, with every motor of the ensemble in the place of the study's own.

    The first way is the one whose tightest margin the missing data are ranked by: the share of a datum is the square of
    its rank correlation with that margin over the ensemble (Spearman), a measure for one-sided influence that needs no
    model of it. A limit that could not be judged at all for want of a datum comes before every other question. `note` is
    told how many motors are done.
    """
    tell = note or (lambda _words: None)
    verdicts: dict[StartingWay, list[Verdict]] = {way: [] for way in ways}
    for place, member in enumerate(ensemble.members, start=1):
        tell(f"motors that agree with the plate: {place} of {len(ensemble.members)}")
        for way, found in verdicts.items():
            found.append(judged(replace(study, motor=member.motor), way))
    first = ways[0]
    margins = _margins(verdicts[first])
    missing = _ranked([member.drawn for member in ensemble.members], ensemble.missing, margins)
    return Ranking(
        members=len(ensemble.members),
        ranges=tuple(_range(way, found) for way, found in verdicts.items()),
        way=first.key,
        missing=missing,
        words=_words(first, verdicts[first], missing),
    )


def _margins(verdicts: Sequence[Verdict]) -> Array:
    """Tightest margin of each verdict, held within CLIP; shape (motors,)."""
    return np.clip([_tightest(verdict) for verdict in verdicts], -CLIP, CLIP)


def _tightest(verdict: Verdict) -> float:
    return min((row.margin for row in verdict.criteria if row.margin is not None), default=0.0)


def _ranked(drawn: Sequence[Mapping[str, float]], names: Sequence[str], margins: Array) -> tuple[Missing, ...]:
    found = [
        Missing(name=n, share=rank_share(np.array([d[n] for d in drawn]), margins)) for n in names if n in drawn[0]
    ]
    return tuple(sorted(found, key=lambda item: -item.share))


def rank_share(x: Array, y: Array) -> float:
    """Square of Spearman's rank correlation of two samples of equal length; 0 when one of them does not vary.

    Source: Spearman, American Journal of Psychology 15 (1904) 72 (from memory).
    """
    if np.ptp(x) == 0 or np.ptp(y) == 0:
        return 0.0
    return float(np.corrcoef(_ranks(x), _ranks(y))[0, 1] ** 2)


def _ranks(values: Array) -> Array:
    """Rank of each value, equals sharing the mean of theirs."""
    _, place, count = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(count)
    mean: Array = last - (count - 1) / 2.0
    return mean[place]


def _range(way: StartingWay, verdicts: Sequence[Verdict]) -> VerdictRange:
    count = Counter(verdict.status for verdict in verdicts)
    margins = _margins(verdicts)
    return VerdictRange(
        way=way.key,
        title=way.title,
        statuses=tuple((status, count[status]) for status in Status if count[status]),
        low=float(margins.min()),
        high=float(margins.max()),
        spreads=_spreads(verdicts),
    )


def _spreads(verdicts: Sequence[Verdict]) -> tuple[Spread, ...]:
    rows: dict[str, list[Criterion]] = {}
    for verdict in verdicts:
        for row in verdict.criteria:
            if row.value is not None:
                rows.setdefault(row.key, []).append(row)
    return tuple(_spread(found) for found in rows.values())


def _spread(rows: Sequence[Criterion]) -> Spread:
    values = [row.value for row in rows if row.value is not None]
    first = rows[0]
    return Spread(
        key=first.key, title=first.title, unit=first.unit, low=min(values), high=max(values), limit=first.limit
    )


def _words(way: StartingWay, verdicts: Sequence[Verdict], missing: Sequence[Missing]) -> str:
    """What to ask for next, for the way ranked."""
    passing = sum(verdict.status is not Status.FAILS for verdict in verdicts)
    said = f"{way.title} holds with {passing} of {len(verdicts)} motors that agree with the plate."
    blind = {row.title for v in verdicts for row in v.criteria if row.status is Status.UNKNOWN and not ignored(row)}
    asks = [f"Ask first for what is missing to judge: {', '.join(sorted(blind))}."] if blind else []
    weighty = [item for item in missing if item.share >= NEGLIGIBLE]
    settled = len({verdict.status for verdict in verdicts}) == 1
    if settled and missing:
        asks.append("What is missing does not change the verdict.")
    if weighty:
        name = weighty[0].name.removeprefix("motor.").replace("_", " ")
        narrowed = "its tightest margin" if settled else "the verdict"
        asks.append(f"Of the data not given, {name} would narrow {narrowed} most.")
    return " ".join([said, *asks])

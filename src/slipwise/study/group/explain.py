"""Why the numbers of a group are what they are: every dip by its formula, voltages and arrivals in words."""

from __future__ import annotations

from collections.abc import Iterator

from slipwise.limits.voltage import DIP
from slipwise.results.criteria import Criterion
from slipwise.results.group import GroupResult, SwitchingSequence
from slipwise.results.study import Explanation
from slipwise.study.explain import Speaker
from slipwise.study.model import Study

_SOURCE = "equation of motion of every motor on the steady network common to them"


def explain_group(study: Study, group: GroupResult | None) -> tuple[Explanation, ...]:
    """Explanations named `group.sequence.criterion`; none when the study has no group."""
    if group is None:
        return ()
    say = Speaker(study.inputs)
    rows = [row for order in group.sequences for row in _order(say, order)]
    if group.dip is not None:
        rows += [_told(f"group.dip.{row.key}", row) for row in group.dip.verdict.criteria if row.value is not None]
    return tuple(rows)


def _order(say: Speaker, order: SwitchingSequence) -> Iterator[Explanation]:
    runs = {run.case: run for run in order.runs}
    for row in order.verdict.criteria:
        name = f"group.{order.key}.{row.key}"
        kind, _, bar = row.key.partition(":")
        if kind == "dip":
            run = runs[row.case]
            place = run.busbars.index(bar)
            before = float(run.before[place])
            lowest = before * (1 - float(run.dips[place]))
            inputs = {"U_0": (f"{bar} before", before), "U_min": (f"{bar} lowest", lowest)}
            yield say.by(DIP, name, inputs, f"{row.case} case, from the voltage before the switching that caused it")
        elif row.value is not None:
            yield _told(name, row)


def _told(name: str, row: Criterion) -> Explanation:
    return Explanation(
        name=name,
        title=row.title,
        value=row.value or 0.0,
        unit=row.unit,
        formula="",
        expression="",
        inputs=(),
        source=_SOURCE,
        method=f"{row.case} case" + (f"; {row.condition}" if row.condition else ""),
    )

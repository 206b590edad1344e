"""Tables of bad supplies: all of them at a glance, then the numbers and criteria of each."""

from __future__ import annotations

from slipwise.present import tables
from slipwise.quantity.show import show
from slipwise.results.criteria import Status
from slipwise.results.disturbance import DisturbanceResult
from slipwise.results.study import StudyResult
from slipwise.results.table import Column, Table


def overview(result: StudyResult) -> Table:
    """Every disturbance with its judgement and its answer in a sentence or two."""
    columns = (Column(title="Supply"), Column(title="Judged"), Column(title="What happens"))
    rows = tuple((d.title, tables.STATUS_WORDS[d.verdict.status], d.summary) for d in result.disturbances)
    return Table(title="Bad supplies", columns=columns, rows=rows)


def headline(result: StudyResult) -> str:
    """One line for the head of an answer: how many bad supplies fail, and which; "" where none was asked about."""
    total = len(result.disturbances)
    if not total:
        return ""
    failed, conditions = _titles(result, Status.FAILS), _titles(result, Status.CONDITION)
    words = [f"{len(failed)} of {total} fail{'s' if len(failed) == 1 else ''}: {', '.join(failed)}" if failed else ""]
    if conditions:
        passing = "passes" if len(conditions) == 1 else "pass"
        words.append(f"{len(conditions)} of {total} {passing} with a condition: {', '.join(conditions)}")
    others = _titles(result, Status.UNKNOWN)
    if others:
        words.append(f"{len(others)} of {total} not judged: {', '.join(others)}")
    return f"Bad supplies: {'; '.join(part for part in words if part) or f'all {total} pass'}."


def _titles(result: StudyResult, status: Status) -> list[str]:
    return [f"{d.title[0].lower()}{d.title[1:]}" for d in result.disturbances if d.verdict.status is status]


def numbers(found: DisturbanceResult) -> Table:
    """Every number of one disturbance."""
    columns = (Column(title="Number"), Column(title="Value", numeric=True))
    rows = tuple((row.title, show(row.value, row.unit)) for row in found.findings)
    return Table(title=found.title, columns=columns, rows=rows, note=" ".join(found.notes))


def all_disturbances(result: StudyResult) -> tuple[tuple[str, Table], ...]:
    """The tables of bad supplies under their keys, those of one disturbance as `key/table`."""
    rows: list[tuple[str, Table]] = [("disturbances", overview(result))]
    for found in result.disturbances:
        rows += [(f"{found.key}/numbers", numbers(found)), (f"{found.key}/criteria", tables.criteria(found))]
    return tuple((key, table) for key, table in rows if table.rows)


def reason(found: DisturbanceResult) -> str:
    """Judgement and reason of one disturbance in a sentence."""
    words = f"{tables.STATUS_WORDS[found.verdict.status]}: {found.verdict.reason}"
    return f"{words[0].upper()}{words[1:]}."

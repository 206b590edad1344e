"""Answer table and answer form as CSV, and the whole sheet as JSON from which answers are marked later."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from slipwise import __version__
from slipwise.quantity.notation import significant
from slipwise.teach.problems.draw import in_unit
from slipwise.teach.problems.model import Variant
from slipwise.teach.sheet import Paper, Sheet, letter, tolerance_of
from slipwise.teach.sheet_pdf import INVENTED, limits
from slipwise.teach.sheet_words import pieces, text_of

VERSION = 1
"""Of the form of answers.json."""
ANSWERS = (
    "student", "problem", "name", "part", "symbol", "answer", "unit", "lowest", "highest", "tolerance", "marks",
    "full_computation",
)  # fmt: skip
FORM = ("student", "name", "problem", "part", "unit", "answer")


def answers_csv(sheet: Sheet, chosen: Sequence[Paper]) -> str:
    """One row for each student and part: the answer in the unit asked for, what is accepted, the marks."""
    return _csv(ANSWERS, (row for paper in chosen for row in _answer_rows(sheet, paper)))


def form_csv(chosen: Sequence[Paper]) -> str:
    """The same rows without answers, to be filled in from the students' papers and marked."""
    rows = (
        (paper.student.key, paper.student.name, number, letter(place), part.unit, "")
        for paper in chosen
        for number, found in enumerate(paper.variants, 1)
        for place, part in enumerate(found.problem.parts)
    )
    return _csv(FORM, rows)


def _csv(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows(rows)
    return out.getvalue()


def _answer_rows(sheet: Sheet, paper: Paper) -> Iterator[tuple[object, ...]]:
    for number, found in enumerate(paper.variants, 1):
        for place, part in enumerate(found.problem.parts):
            value, tolerance = found.answer(part), tolerance_of(part, sheet.marking)
            low, high = (in_unit(end, part.unit) for end in limits(value, tolerance, part))
            full = found.exact.get(part.find)
            yield (
                *(paper.student.key, number, found.problem.key, letter(place), part.find),
                *(_figure(in_unit(value, part.unit), 6), part.unit, _figure(low, 6), _figure(high, 6)),
                *(_figure(tolerance, 6), part.marks, "" if full is None else _figure(in_unit(full, part.unit), 6)),
            )


def _figure(value: float, digits: int) -> str:
    """Plain digits for a table that machines read."""
    return significant(value, digits).replace("\u2212", "-")


def answers_json(sheet: Sheet, chosen: Sequence[Paper]) -> str:
    """Everything the sheet was made of: stated values, steps as expressions, answers; enough to mark by, years later."""
    marking = sheet.marking
    content = {
        "format": "slipwise answers",
        "version": VERSION,
        "slipwise_version": __version__,
        "title": sheet.title,
        "course": sheet.course,
        "date": sheet.day.isoformat() if sheet.day else None,
        "seed": sheet.seed,
        "note": INVENTED,
        "assumed": list(sheet.assumed),
        "marking": {
            "tolerance": marking.tolerance,
            "follow_through": marking.follow_through,
            "unit_slip": marking.unit_slip,
            "coarse": marking.coarse,
        },
        "students": [
            {
                "student": paper.student.key,
                "name": paper.student.name,
                "problems": [_problem(sheet, found) for found in paper.variants],
            }
            for paper in chosen
        ],
    }
    return json.dumps(content, indent=1, ensure_ascii=False) + "\n"


def _problem(sheet: Sheet, found: Variant) -> dict[str, Any]:
    """Values in SI; units by their SI names."""
    problem = found.problem
    return {
        "name": problem.key,
        "title": problem.title,
        "topic": problem.topic,
        "difficulty": problem.difficulty,
        "text": text_of(pieces(problem.text, found)),
        "given": [
            {"symbol": item.symbol, "value": item.value, "unit": item.unit, "text": item.text}
            for item in found.given.values()
        ],
        "steps": [
            {
                "symbol": step.symbol,
                "formula": step.key,
                "title": step.title,
                "expression": step.expression,
                "unit": step.result_unit,
                "source": step.source,
                "value": _plain(found.values[step.symbol]),
            }
            for step in problem.steps
        ],
        "parts": [
            {
                "part": letter(place),
                "ask": text_of(pieces(part.ask, found)),
                "symbol": part.find,
                "unit": part.unit,
                "answer": found.answer(part),
                "tolerance": tolerance_of(part, sheet.marking),
                "marks": part.marks,
                "full_computation": found.exact.get(part.find),
            }
            for place, part in enumerate(problem.parts)
        ],
    }


def _plain(value: float | complex) -> Any:
    """A complex number as real and imaginary part."""
    return {"re": value.real, "im": value.imag} if isinstance(value, complex) else value

"""Question sheets and keys as PDF: one paper a student, each from a fresh page."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files
from typing import Any

from slipwise import __version__
from slipwise.present.report.blocks import Images
from slipwise.present.report.build import typeset
from slipwise.quantity.formula import typeset_symbol
from slipwise.teach.problems.draw import from_unit, gap_of, in_unit
from slipwise.teach.problems.model import Part, Variant
from slipwise.teach.sheet import Paper, Sheet, letter, tolerance_of
from slipwise.teach.sheet_words import answer_text, asked_in, pieces, printed, typst_of
from slipwise.teach.steps import Known, Step

INVENTED = "Machines, plants and numbers of this sheet are invented."
RESULTS = "Results rest on the stated data. On a real plant, maker's data, local codes and a licensed engineer decide."
WHOLE = (
    "Values are carried whole from step to step; what is printed is rounded to four figures, givens stand as stated."
)


def questions(sheet: Sheet, chosen: Sequence[Paper]) -> bytes:
    """The questions of one or more students as PDF; the same bytes for the same sheet on one machine.

    Raises:
        RuntimeError: the typesetting failed.
    """
    return _pdf(sheet, chosen, "Questions", key=False)


def keys(sheet: Sheet, chosen: Sequence[Paper]) -> bytes:
    """The worked keys of one or more students as PDF: every step with its numbers, every answer with what is accepted.

    Raises:
        RuntimeError: the typesetting failed.
    """
    return _pdf(sheet, chosen, "Key", key=True)


def _pdf(sheet: Sheet, chosen: Sequence[Paper], kind: str, *, key: bool) -> bytes:
    day = sheet.day
    data = {
        "title": sheet.title,
        "kind": kind,
        "course": sheet.course,
        "description": f"{kind}: {sheet.title}, {len(sheet.problems)} problems, {sheet.marks} marks",
        "version": f"slipwise {__version__}",
        "date": [day.year, day.month, day.day] if day else None,
        "printed-date": f"{day.day} {day:%B %Y}" if day else "",
        "footer": f"{INVENTED} {RESULTS}",
        "notes": [WHOLE, *sheet.assumed] if key else [],
        "papers": [_paper(sheet, paper, key) for paper in chosen],
    }
    return typeset(data, Images(), day, (files("slipwise.teach") / "sheet.typ").read_bytes())


def _paper(sheet: Sheet, paper: Paper, key: bool) -> dict[str, Any]:
    who = paper.student
    shown = " · ".join(word for word in (who.name, who.key) if word)
    return {
        "student": "" if who.key == "all" and not who.name else shown,
        "marks": sheet.marks,
        "problems": [_problem(sheet, found, key) for found in paper.variants],
    }


def _problem(sheet: Sheet, found: Variant, key: bool) -> dict[str, Any]:
    problem = found.problem
    return {
        "title": problem.title,
        "marks": problem.marks,
        "text": typst_of(pieces(problem.text, found)),
        "parts": [_question(place, part, found) for place, part in enumerate(problem.parts)],
        "steps": [_step(sheet, number, step, found) for number, step in enumerate(worked(found), 1)] if key else [],
    }


def _question(place: int, part: Part, found: Variant) -> dict[str, Any]:
    words = [*pieces(part.ask, found)]
    return {
        "letter": letter(place),
        "text": typst_of(iter(words)),
        "marks": part.marks,
        "unit": printed(f"? {part.unit}").removeprefix("?").strip() if part.unit else "",
        "wanted": asked_in(part),
    }


def worked(found: Variant) -> tuple[Step, ...]:
    """The worked solution of a variant: every step with its inputs, as stated or carried whole."""
    known = {
        item.symbol: Known(symbol=item.symbol, value=item.value, unit=item.unit, text=item.text)
        for item in found.given.values()
    }
    steps = []
    for formula in found.problem.steps:
        result = Known(
            symbol=formula.symbol, value=found.values[formula.symbol], unit=formula.result_unit, name=formula.title
        )
        inputs = tuple(known[name] for name in formula.names)
        steps.append(Step(title=formula.title, formula=formula, inputs=inputs, result=result))
        known[formula.symbol] = result
    return tuple(steps)


def _step(sheet: Sheet, number: int, step: Step, found: Variant) -> dict[str, Any]:
    symbol = step.formula.symbol
    asked = (place for place, part in enumerate(found.problem.parts) if part.find == symbol)
    place = next(asked, None)
    same = step.symbolic() == f"{typeset_symbol(symbol)} = {step.numbers()}"  # nothing to put in
    return {
        "number": str(number),
        "title": step.title,
        "symbolic": {"code": step.symbolic("typst"), "alt": step.symbolic()},
        "numbers": {"code": "" if same else f"= {step.numbers('typst')}", "alt": "" if same else f"= {step.numbers()}"},
        "result": step.outcome(),
        "note": _source(step),
        "answer": None if place is None else _answer(sheet, place, found.problem.parts[place], found),
    }


def _source(step: Step) -> str:
    holds = step.formula.validity
    return f"Source: {step.formula.source}." + ("" if holds.startswith("as stated") else f" Holds for: {holds}.")


def _answer(sheet: Sheet, place: int, part: Part, found: Variant) -> dict[str, Any]:
    value, tolerance = found.answer(part), tolerance_of(part, sheet.marking)
    ends = sorted(limits(value, tolerance, part))
    accepted = " to ".join(answer_text(end, part.unit).split("\u202f")[0] for end in ends)
    return {
        "letter": letter(place),
        "code": typeset_symbol(part.find, "typst"),
        "alt": typeset_symbol(part.find),
        "value": answer_text(value, part.unit),
        "accepted": f"accepted {accepted}",
        "marks": part.marks,
        "gap": gap_words(part, found),
    }


def limits(value: float, tolerance: float, part: Part) -> tuple[float, float]:
    """The lowest and highest SI value accepted; the tolerance is a share of the figure in the unit asked for."""
    figure = in_unit(value, part.unit)
    ends = (figure * (1 - tolerance), figure * (1 + tolerance))
    return from_unit(min(ends), part.unit), from_unit(max(ends), part.unit)


def gap_words(part: Part, found: Variant) -> str:
    """How far the short formula stands from the full computation, in words; "" for an exact one."""
    if part.gap is None:
        return ""
    gap = gap_of(found, part.find)
    side = "above" if (gap > 0) == (found.exact[part.find] > 0) else "below"
    return (
        f"The full computation gives {answer_text(found.exact[part.find], part.unit)}; the short formula is "
        f"{abs(gap) * 100:.2g} % {side} it, and keeps within {part.gap.within * 100:g} % on every variant."
    )

"""The sheet file: TOML with a title, a seed, and problems of the bank by name or by topic, or the lecturer's own."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field

from slipwise.quantity.errors import InputError
from slipwise.quantity.units import Parsed
from slipwise.study.reader import read, text_of
from slipwise.study.schema.fields import Leaf, Line, Quantity, Section, Whole, refuse
from slipwise.teach.formulas import formula
from slipwise.teach.problems.bank import bank
from slipwise.teach.problems.build import problem
from slipwise.teach.problems.draw import choice
from slipwise.teach.problems.model import Problem
from slipwise.teach.problems.schema import ProblemSection
from slipwise.teach.sheet import LETTERS, Marking, Sheet

MOST_PROBLEMS = 40
WORDS = {
    "tolerance": "an answer may be {} off where the problem states no tolerance",
    "follow_through": "a right way from a wrong value before it earns {} of the marks",
    "unit_slip": "the right figure with a wrong unit earns {} of the marks",
    "coarse": "the right value rounded too far earns {} of the marks",
}


class Day(Leaf):
    """A date."""

    def read(self, value: object) -> datetime.date:
        if isinstance(value, datetime.datetime) or not isinstance(value, datetime.date):
            return refuse(value, "a date is needed, without quotes", f"write it as {self.example}")
        return value

    def describe(self) -> dict[str, Any]:
        return {"type": "string", "format": "date"}


def _share(doc: str, example: str) -> Quantity:
    return Quantity(doc, example, unit="pu", low=0.0, high=1.0)


class MarkingSection(Section):
    """How answers are marked; what is left out is assumed, and said on the answer table."""

    tolerance: Annotated[
        Parsed | None,
        Quantity(
            "How far an answer may be off, where the problem does not say.", '"1 %"', unit="pu", above=0.0, high=0.2
        ),
    ] = None
    follow_through: Annotated[
        Parsed | None, _share("Share of the marks for a right way from a wrong value before it.", '"100 %"')
    ] = None
    unit_slip: Annotated[Parsed | None, _share("Share for the right figure with a wrong unit.", '"50 %"')] = None
    coarse: Annotated[Parsed | None, _share("Share for the right value rounded too far.", '"50 %"')] = None


class SheetFile(Section):
    """A problem sheet."""

    title: Annotated[str, Line("Printed at the head of every paper.", '"Starting of cage motors, sheet 3"')]
    course: Annotated[str, Line("Printed under the title.", '"Electrical machines, second year"')] = ""
    date: Annotated[datetime.date | None, Day("Printed, and the date inside the PDF.", "2026-11-30")] = None
    seed: Annotated[int, Whole("Of all numbers on the sheet.", "20261130", low=0, high=999_999_999_999)]
    marking: MarkingSection = Field(default=MarkingSection(), description="How answers are marked.")
    problem: tuple[ProblemSection, ...] = Field(description="The problems, in the order of the sheet.")


def load_sheet(path: Path) -> Sheet:
    """Reads a sheet file.

    Raises:
        InputError: it cannot be read, or anything in it is wrong; each fault with file, line, field, reason and remedy.
    """
    try:
        return read(text_of(path), path, SheetFile, _sheet, SheetFile)
    except InputError as error:
        faults = (
            replace(fault, field=fault.field.replace("study file", "sheet file"), remedy=_remedy(fault.remedy))
            for fault in error.faults
        )
        raise InputError(*faults) from None


def _remedy(text: str) -> str:
    return (
        "see the page on problem sheets"
        if text.startswith("see the schema")
        else text.replace("name a study file, as in pump.toml", "name a sheet file, as in sheet.toml")
    )


def _sheet(found: SheetFile) -> Sheet:
    if not 1 <= len(found.problem) <= MOST_PROBLEMS:
        raise InputError.of(
            "problem", len(found.problem), f"a sheet has 1 to {MOST_PROBLEMS} problems", "add [[problem]]"
        )
    chosen: list[Problem] = []
    for place, entry in enumerate(found.problem, 1):
        chosen.append(_problem(entry, f"problem[{place}]", found.seed, chosen))
    marking, assumed = _marking(found.marking)
    return Sheet(
        title=found.title,
        course=found.course,
        day=found.date,
        seed=found.seed,
        problems=tuple(chosen),
        marking=marking,
        assumed=assumed,
    )


def _marking(found: MarkingSection) -> tuple[Marking, tuple[str, ...]]:
    given = {name: value.value for name in WORDS if (value := getattr(found, name)) is not None}
    marking = Marking(**given)
    assumed = (text.format(f"{100 * getattr(marking, name):g} %") for name, text in WORDS.items() if name not in given)
    return marking, tuple(f"Assumed: {text}." for text in assumed)


def _problem(entry: ProblemSection, field: str, seed: int, before: Sequence[Problem]) -> Problem:
    """The problem an entry means: its own, one by name, or one drawn by topic and difficulty."""
    taken = {done.key for done in before}
    if entry.text or entry.given or entry.step or entry.part:
        made = problem(entry, field, "own", formula)
        if made.key in bank():
            raise InputError.of(f"{field}.name", made.key, "a problem of the bank is called so", "choose another name")
    elif entry.name:
        made = _by_name(entry, field, bank())
    elif entry.topic:
        made = _by_topic(entry, field, seed, taken)
    else:
        remedy = (
            "give name (of the bank), or topic and difficulty, or a problem of your own with text, given, step, part"
        )
        raise InputError.of(field, "", "it names no problem", remedy)
    if made.key in taken:
        raise InputError.of(f"{field}.name", made.key, "the problem stands twice on the sheet", "remove one")
    if len(made.parts) > len(LETTERS):
        raise InputError.of(f"{field}.part", len(made.parts), "more than 26 parts", "split the problem")
    return made


def _by_name(entry: ProblemSection, field: str, known: Mapping[str, Problem]) -> Problem:
    assert entry.name
    if entry.name not in known:
        near = get_close_matches(entry.name, known, n=1, cutoff=0.5)
        remedy = f"did you mean {near[0]}?" if near else "list them with slipwise teach problems"
        raise InputError.of(f"{field}.name", entry.name, "the bank has no such problem", remedy)
    found = known[entry.name]
    for name in ("topic", "difficulty"):
        wanted = getattr(entry, name)
        if wanted is not None and wanted != getattr(found, name):
            raise InputError.of(
                f"{field}.{name}", wanted, f"{found.key} has {getattr(found, name)}", f"leave {name} out"
            )
    return found


def _by_topic(entry: ProblemSection, field: str, seed: int, taken: set[str]) -> Problem:
    """One drawn by the seed of the sheet, the same for the whole class."""
    topics = dict.fromkeys(found.topic for found in bank().values())
    if entry.topic not in topics:
        raise InputError.of(
            f"{field}.topic", entry.topic, "there is no such topic", f"choose one of {', '.join(topics)}"
        )
    fits = [
        found
        for found in bank().values()
        if found.topic == entry.topic and found.key not in taken and entry.difficulty in (None, found.difficulty)
    ]
    if not fits:
        reason = f"the bank has no (other) problem of difficulty {entry.difficulty or 'any'} there"
        raise InputError.of(f"{field}.difficulty", entry.difficulty or "", reason, "see slipwise teach problems")
    return fits[choice(str(seed), field, 0, entry.topic, len(fits))]

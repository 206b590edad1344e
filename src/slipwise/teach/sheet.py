"""A problem sheet: which problems, marked how, and the papers of a class; the same sheet from the same seed anywhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from slipwise.quantity.errors import InputError
from slipwise.teach.problems.draw import variant
from slipwise.teach.problems.model import Part, Problem, Variant

LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True, slots=True, kw_only=True)
class Marking:
    """How answers are marked; shares of the marks of a part.

    tolerance: ratio, where the problem states none. follow_through: for a right way from a wrong value before it.
    unit_slip: for the right figure with a wrong unit. coarse: for the right value rounded too far.
    """

    tolerance: float = 0.01
    follow_through: float = 1.0
    unit_slip: float = 0.5
    coarse: float = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Student:
    """key: as in lists and file names; name: printed, may be "" """

    key: str
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """title, course, day: printed. seed: of all numbers. assumed: what the file did not say, in words."""

    title: str
    seed: int
    problems: tuple[Problem, ...]
    marking: Marking
    course: str = ""
    day: date | None = None
    assumed: tuple[str, ...] = ()

    @property
    def marks(self) -> int:
        return sum(problem.marks for problem in self.problems)


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """What one student gets: a variant of every problem, in the order of the sheet."""

    student: Student
    variants: tuple[Variant, ...]


EVERYONE = Student(key="all", name="")
"""Stands for the class when there is no list of students: one paper for all."""


def papers(sheet: Sheet, students: Sequence[Student]) -> Iterator[Paper]:
    """The paper of every student; nobody's numbers depend on who else is on the list.

    Raises:
        InputError: a problem has no variant that meets its requirements.
    """
    for student in students:
        seed = f"{sheet.seed}/{student.key}"
        yield Paper(student=student, variants=tuple(variant(problem, seed) for problem in sheet.problems))


def tolerance_of(part: Part, marking: Marking) -> float:
    """Ratio by which an answer may be off."""
    return marking.tolerance if part.tolerance is None else part.tolerance


def letter(place: int) -> str:
    """a, b, c for the parts of a problem."""
    if place >= len(LETTERS):
        raise InputError.of("part", place + 1, "more than 26 parts", "split the problem")
    return LETTERS[place]

"""Marks of answers: right, in another unit, rounded too far, or the right way from a wrong value before it.

An answer is compared with the key; with the full computation, where the key is a short formula; and with what follows from
the student's own earlier answers. The best of these counts.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from slipwise.quantity.notation import significant
from slipwise.quantity.unit_table import UNITS, lookup
from slipwise.teach.marking_key import Key, KeyPaper, KeyPart, KeyProblem
from slipwise.teach.problems.draw import from_unit, in_unit
from slipwise.teach.sheet import Marking

_ANSWER = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s,.;:'+/*-].*)?")
_SAME = str.maketrans({"\u2212": "-", "\u2013": "-", "\u202f": " ", "\u00a0": " ", "\u03a9": "ohm", "\u2126": "ohm"})


class Verdict(StrEnum):
    """What an answer is, in the order of worth."""

    RIGHT = "right"
    FOLLOWS = "follows from an earlier slip"
    UNIT = "right figure, wrong unit"
    COARSE = "rounded too far"
    WRONG = "wrong"
    UNREADABLE = "cannot be read"
    MISSING = "missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """An answer taken apart. figure, unit: as written; digits: figures written, without leading and trailing zeros."""

    figure: float
    unit: str
    digits: int

    def value(self, asked: str) -> float | None:
        """In SI, read in its own unit or else in the one asked for; None when its unit is unknown or of another kind."""
        if not self.unit:
            return from_unit(self.figure, asked)
        own = lookup(self.unit)
        if own is None or _kind(self.unit) != _kind(asked):
            return None
        return from_unit(self.figure, self.unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One part of one paper, marked. marks of `most`; note: why."""

    student: str
    problem: int
    part: str
    answer: str
    verdict: Verdict
    marks: float
    most: int
    note: str


def read_answer(text: str) -> Answer | None:
    """An answer as written on the form; None when it is no number with or without a unit."""
    found = _ANSWER.fullmatch(text.translate(_SAME).strip())
    if found is None or not isfinite(float(found[1])) or re.search(r"\s\d", found[2] or ""):
        return None
    mantissa = re.split("[eE]", found[1].lstrip("+-"), maxsplit=1)[0]
    digits = mantissa.replace(".", "").lstrip("0")
    digits = digits if "." in mantissa else digits.rstrip("0")
    return Answer(figure=float(found[1]), unit=(found[2] or "").strip(), digits=max(len(digits), 1))


def mark_paper(paper: KeyPaper, answers: Mapping[tuple[int, str], str], marking: Marking) -> Iterator[Mark]:
    """Every part of a paper. answers: text by number of the problem and letter of the part; what is not there is missing."""
    for problem in paper.problems:
        yield from _mark_problem(paper.student, problem, answers, marking)


def mark_all(key: Key, answers: Mapping[str, Mapping[tuple[int, str], str]]) -> tuple[Mark, ...]:
    """Every paper of the class, in the order of the key."""
    return tuple(
        mark for paper in key.papers for mark in mark_paper(paper, answers.get(paper.student, {}), key.marking)
    )


def _mark_problem(
    student: str, problem: KeyProblem, answers: Mapping[tuple[int, str], str], marking: Marking
) -> Iterator[Mark]:
    order = [symbol for symbol, _ in problem.steps]
    given_so_far: dict[str, tuple[float, Verdict]] = {}
    marks: dict[str, Mark] = {}
    for part in sorted(problem.parts, key=lambda part: order.index(part.symbol)):
        text = answers.get((problem.number, part.part), "").strip()
        answer = read_answer(text) if text else None
        verdict, share, note = _judge(problem, part, text, answer, given_so_far, marking)
        value = None if answer is None else answer.value(part.unit)
        if value is not None:
            given_so_far[part.symbol] = (value, verdict)
        marks[part.part] = Mark(
            student=student, problem=problem.number, part=part.part, answer=text, verdict=verdict,
            marks=round(share * part.marks, 4), most=part.marks, note=note,
        )  # fmt: skip
    for part in problem.parts:
        yield marks[part.part]


def _judge(
    problem: KeyProblem,
    part: KeyPart,
    text: str,
    answer: Answer | None,
    earlier: Mapping[str, tuple[float, Verdict]],
    marking: Marking,
) -> tuple[Verdict, float, str]:
    """Verdict, share of the marks, and why."""
    if not text:
        return Verdict.MISSING, 0.0, ""
    if answer is None:
        return Verdict.UNREADABLE, 0.0, "no number with or without a unit: look at the paper"
    best: tuple[Verdict, float, str] = (Verdict.WRONG, 0.0, f"the key has {_shown(part.answer, part)}")
    for target, share, verdict, why in _targets(problem, part, earlier, marking):
        how, worth, words = _compare(answer, target, part, marking)
        if how is None or share * worth <= best[1]:
            continue
        best = (
            how if verdict is Verdict.RIGHT else verdict,
            share * worth,
            "; ".join(word for word in (why, words) if word),
        )
    return best


def _targets(
    problem: KeyProblem, part: KeyPart, earlier: Mapping[str, tuple[float, Verdict]], marking: Marking
) -> Iterator[tuple[float, float, Verdict, str]]:
    """What an answer may be: value, share of the marks, verdict, why."""
    yield part.answer, 1.0, Verdict.RIGHT, ""
    if part.full is not None:
        yield part.full, 1.0, Verdict.RIGHT, "by the full computation"
    slips = {symbol: value for symbol, (value, verdict) in earlier.items() if verdict is not Verdict.RIGHT}
    without_units = {s: v for s, v in slips.items() if earlier[s][1] is not Verdict.UNIT}
    for instead in (slips, without_units):
        value = problem.follow(instead).get(part.symbol) if instead else None
        if isinstance(value, float | int):
            names = ", ".join(p.part for p in problem.parts if p.symbol in instead)
            yield float(value), marking.follow_through, Verdict.FOLLOWS, f"from the answer to {names}"
    carried = {symbol: value for symbol, (value, verdict) in earlier.items() if verdict is not Verdict.UNIT}
    value = problem.follow(carried).get(part.symbol) if carried else None
    if isinstance(value, float | int):
        right = not slips
        verdict = Verdict.RIGHT if right else Verdict.FOLLOWS
        words = "from the rounded answers before it" if right else "from the answers before it"
        yield float(value), 1.0 if right else marking.follow_through, verdict, words


def _compare(answer: Answer, target: float, part: KeyPart, marking: Marking) -> tuple[Verdict | None, float, str]:
    """How an answer stands to one value: verdict (None: not at all), share of the marks, words."""
    value = answer.value(part.unit)
    wanted = in_unit(target, part.unit)
    if value is not None and _near(in_unit(value, part.unit), wanted, part.tolerance):
        return Verdict.RIGHT, 1.0, ""
    if value is not None and _rounded(answer, target, part):
        return Verdict.COARSE, marking.coarse, f"figures written: {answer.digits}; the value is {_shown(target, part)}"
    other = _other_unit(answer, target, part)
    if other is not None:
        written = answer.unit or "no unit"
        return (
            Verdict.UNIT,
            marking.unit_slip,
            f"the figure is right in {other or 'plain numbers'}, written was {written}",
        )
    return None, 0.0, ""


def _near(figure: float, wanted: float, tolerance: float) -> bool:
    return abs(figure - wanted) <= tolerance * abs(wanted) * (1 + 1e-9)


def _rounded(answer: Answer, target: float, part: KeyPart) -> bool:
    """Whether the figure is the right value, rounded to the figures that were written, two at least."""
    if answer.digits < 2:
        return False
    wanted = in_unit(target, answer.unit or part.unit)
    return float(f"{wanted:.{answer.digits - 1}e}") == answer.figure


def _other_unit(answer: Answer, target: float, part: KeyPart) -> str | None:
    """A unit of the kind asked for in which the figure would be right: first that asked for, then any other."""
    if _near(answer.figure, in_unit(target, part.unit), part.tolerance):
        return part.unit
    same_kind = (name for name, unit in UNITS.items() if (unit.si or "pu") == _kind(part.unit))
    return next((name for name in same_kind if _near(answer.figure, in_unit(target, name), part.tolerance)), None)


def _kind(unit: str) -> str:
    """SI unit of a printed one; ratios and plain numbers are one kind."""
    known = lookup(unit) if unit else None
    si = known.si if known else unit
    return "pu" if si == "" else si


def _shown(value: float, part: KeyPart) -> str:
    digits = significant(in_unit(value, part.unit), 4).replace("\u2212", "-")
    return f"{digits} {part.unit}".strip()

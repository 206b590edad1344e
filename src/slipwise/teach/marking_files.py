"""Answers in, marks out: the filled answer form as CSV, and tables of marks."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from slipwise.present.export import whole_folder
from slipwise.quantity.errors import Fault, InputError
from slipwise.results.table import Column, Table
from slipwise.teach.marking import Mark, Verdict
from slipwise.teach.marking_key import Key, KeyPaper
from slipwise.teach.sheet_students import rows_of
from slipwise.teach.sheet_tables import FORM

Answers = dict[str, dict[tuple[int, str], str]]
NO_STUDENT = "there is no such student on the sheet"
MARKS = ("student", "name", "problem", "part", "answer", "verdict", "marks", "of", "note")


def load_answers(path: Path, key: Key) -> tuple[Answers, tuple[Fault, ...]]:
    """Reads the filled form.

    Returns:
        By student, text by number of the problem and letter of the part; and the lines of students that are not on the sheet,
        which are not marked and need a look.

    Raises:
        InputError: it cannot be read, no line is of a student on the sheet, or a problem or part is not on it or stands twice.
    """
    papers = {paper.student: paper for paper in key.papers}
    found: Answers = {}
    faults: list[Fault] = []
    strays: list[Fault] = []
    for line, row in rows_of(path, "answers", ("student", "problem", "part", "answer"), FORM):
        reason, remedy, field = _misplaced(row, papers, found)
        if reason:
            fault = Fault(field=field, value=row[field][:80], reason=reason, remedy=remedy, file=path, line=line)
            (strays if reason == NO_STUDENT else faults).append(fault)
            continue
        place = (int(row["problem"]), row["part"].lower())
        found.setdefault(row["student"], {})[place] = _with_unit(row, papers[row["student"]], place)
    if faults or (strays and not found):
        raise InputError(*faults, *strays)
    return found, tuple(strays)


def _misplaced(row: dict[str, str], papers: dict[str, KeyPaper], found: Answers) -> tuple[str, str, str]:
    """What is wrong with the place of an answer: reason, remedy, column; empty when nothing is."""
    student, number, part = row["student"], row["problem"], row["part"].lower()
    if student not in papers:
        return NO_STUDENT, "write the key as in answer_form.csv", "student"
    problems = papers[student].problems
    if not number.isdecimal() or not 1 <= int(number) <= len(problems):
        return f"the sheet has problems 1 to {len(problems)}", "write the number of the problem", "problem"
    letters = [item.part for item in problems[int(number) - 1].parts]
    if part not in letters:
        return f"problem {number} has parts {', '.join(letters)}", "write the letter of the part", "part"
    if (int(number), part) in found.get(student, {}):
        return "this part is answered twice", "keep one row", "part"
    if len(row["answer"]) > 80:
        return "the answer is longer than 80 characters", "write a number and a unit", "answer"
    return "", "", ""


def _with_unit(row: dict[str, str], paper: KeyPaper, place: tuple[int, str]) -> str:
    """The answer, with the unit of its column where that is another than was asked for."""
    answer, unit = row["answer"].strip(), row.get("unit", "").strip()
    asked = next(item.unit for item in paper.problems[place[0] - 1].parts if item.part == place[1])
    bare = answer and answer[-1].isdigit()
    return f"{answer} {unit}" if bare and unit and unit != asked else answer


def marks_csv(key: Key, marks: Iterable[Mark]) -> str:
    """One row a part."""
    names = {paper.student: paper.name for paper in key.papers}
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(MARKS)
    for mark in marks:
        rows.writerow(
            (
                *(mark.student, names[mark.student], mark.problem, mark.part, _harmless(mark.answer)),
                *(mark.verdict.value, f"{mark.marks:g}", mark.most, mark.note),
            )
        )
    return out.getvalue()


def _harmless(answer: str) -> str:
    """An answer that a spreadsheet would take for a formula, marked as text."""
    return f"'{answer}" if answer.startswith(("=", "@")) else answer


def totals(key: Key, marks: Sequence[Mark], *, most_problems: int = 100) -> Table:
    """One row a student: marks of each problem, their sum, and how many answers need a look.

    most_problems: of more than these the sum alone is shown, as suits a terminal.
    """
    numbers = [problem.number for problem in key.papers[0].problems] if key.papers else []
    most = {number: sum(m.most for m in marks if m.problem == number) // max(len(key.papers), 1) for number in numbers}
    shown = numbers if len(numbers) <= most_problems else []
    columns = (
        Column(title="Student"),
        Column(title="Name"),
        *(Column(title=f"{number} (of {most[number]})", numeric=True) for number in shown),
        Column(title=f"Marks (of {sum(most.values())})", numeric=True),
        Column(title="To look at", numeric=True),
    )
    rows = []
    for paper in key.papers:
        own = [mark for mark in marks if mark.student == paper.student]
        each = [f"{sum(mark.marks for mark in own if mark.problem == number):g}" for number in shown]
        look = sum(mark.verdict is Verdict.UNREADABLE for mark in own)
        rows.append((paper.student, paper.name, *each, f"{sum(mark.marks for mark in own):g}", str(look)))
    note = "To look at: answers that are no number with or without a unit; they have no marks yet."
    return Table(title=f"Marks: {key.title}", columns=columns, rows=tuple(rows), note=note)


def verdicts(marks: Sequence[Mark]) -> Table:
    """How many answers got which verdict."""
    columns = (Column(title="Verdict"), Column(title="Answers", numeric=True), Column(title="Marks", numeric=True))
    rows = []
    for verdict in Verdict:
        own = [mark for mark in marks if mark.verdict is verdict]
        rows.append((verdict.value, str(len(own)), f"{sum(mark.marks for mark in own):g}"))
    return Table(title="Answers", columns=columns, rows=tuple(rows))


def unmarked(strays: Sequence[Fault]) -> Table:
    """Lines of the form that belong to no student of the sheet, for a look."""
    columns = (Column(title="Line", numeric=True), Column(title="Student"), Column(title="Why it is not marked"))
    rows = tuple((str(one.line), _harmless(one.value), f"{one.reason}; {one.remedy}") for one in strays)
    return Table(title="To look at: lines that are not marked", columns=columns, rows=rows)


def write_marks(key: Key, marks: Sequence[Mark], folder: Path, strays: Sequence[Fault] = ()) -> Path:
    """Writes marks.csv (one row a part) and totals.csv (one row a student); the folder appears whole or not at all.

    Raises:
        InputError: as `present.export.whole_folder`.
    """
    from slipwise.present.export import csv_text

    with whole_folder(folder) as fresh:
        (fresh / "marks.csv").write_text(marks_csv(key, marks), encoding="utf-8", newline="\n")
        (fresh / "totals.csv").write_text(csv_text(totals(key, marks)), encoding="utf-8", newline="\n")
        if strays:
            (fresh / "unmarked.csv").write_text(csv_text(unmarked(strays)), encoding="utf-8", newline="\n")
    return folder

"""`slipwise teach sheet`, `mark`, `problems`: papers of a class, their marks, and the bank of problems."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from slipwise.doors.cli.options import Out

SheetFile = Annotated[Path, Parameter(help="The sheet: a TOML file with a title, a seed and problems.")]
Students = Annotated[
    Path | None, Parameter(help="CSV with a column student (a key) and, if wanted, name; without it one paper for all.")
]
Each = Annotated[bool, Parameter(help="Also one PDF a student, in folders of their own.")]
Platforms = Annotated[
    tuple[Literal["2.1", "2.2", "none"], ...],
    Parameter(help="Versions of the question exchange format QTI; both without it. May be repeated."),
]
Folder = Annotated[Path, Parameter(help="The folder that `slipwise teach sheet` wrote, or the answers.json in it.")]
Answers = Annotated[
    Path, Parameter(help="CSV with the columns student, problem, part, answer: the answer form, filled in.")
]
MarksOut = Annotated[
    Path | None, Parameter(help="Folder to be made, whole or not at all; marks are only printed without it.")
]
Topic = Annotated[str | None, Parameter(help="Only those of one topic.")]


def sheet(
    file: SheetFile,
    /,
    *,
    students: Students = None,
    out: Out = None,
    each: Each = False,
    qti: Platforms = ("2.1", "2.2"),
) -> None:
    """Write question papers, worked keys, answer table, answer form and learning-platform files for the sheet in FILE.

    Every student gets their own numbers, drawn by the seed of the sheet and the student's key: the same on any machine,
    whoever else is on the list.
    """
    from slipwise.doors.cli.session import folder_for, working
    from slipwise.present.export import require_replaceable
    from slipwise.teach.sheet import EVERYONE, papers
    from slipwise.teach.sheet_file import load_sheet
    from slipwise.teach.sheet_students import load_students
    from slipwise.teach.sheet_write import write_sheet

    folder = folder_for(file, out, "sheet")
    require_replaceable(folder)
    found = load_sheet(file)
    listed = (EVERYONE,) if students is None else load_students(students)
    versions = tuple(dict.fromkeys(version for version in qti if version != "none"))
    with working("writing") as progress:
        progress("numbers", None)
        chosen = list(papers(found, listed))
        write_sheet(found, chosen, folder, each=each, qti=versions, progress=progress)
    print(f"{len(found.problems)} problems, {found.marks} marks, {len(chosen)} paper{'' if len(chosen) == 1 else 's'}.")
    for words in found.assumed:
        print(words)
    also = ", qti_*.zip" if versions else ""
    print(f"\nWritten to {folder}: questions.pdf, keys.pdf, answers.csv, answers.json, answer_form.csv{also}.")


def mark(folder: Folder, answers: Answers, /, *, out: MarksOut = None) -> None:
    """Mark the answers of a class against the key in FOLDER, as it was handed out.

    Units are read; a right way from an earlier slip earns its marks; answers that are no numbers are counted for a look.
    Lines of a student that is not on the sheet are not marked, and listed.
    """
    from slipwise.present.terminal import print_table
    from slipwise.teach.marking import mark_all
    from slipwise.teach.marking_files import load_answers, totals, unmarked, verdicts, write_marks
    from slipwise.teach.marking_key import load_key

    key = load_key(folder)
    placed, strays = load_answers(answers, key)
    marks = mark_all(key, placed)
    print_table(totals(key, marks, most_problems=5))
    print()
    print_table(verdicts(marks))
    if strays:
        print()
        print_table(unmarked(strays))
    for words in key.assumed:
        print(words)
    if out is not None:
        write_marks(key, marks, out, strays)
        print(f"\nWritten to {out}: marks.csv, totals.csv{', unmarked.csv' if strays else ''}.")


def problems(*, topic: Topic = None) -> None:
    """List the bank by topic: name, difficulty (1 to 3), marks and title of every problem."""
    from itertools import groupby

    from slipwise.quantity.errors import InputError
    from slipwise.teach.problems.bank import bank

    topics = dict.fromkeys(problem.topic for problem in bank().values())
    if topic is not None and topic not in topics:
        raise InputError.of("--topic", topic, "there is no such topic", f"choose one of {', '.join(topics)}")
    found = [problem for problem in bank().values() if topic in (None, problem.topic)]
    for name, group in groupby(found, key=lambda problem: problem.topic):
        print(name)
        for one in group:
            print(f"  {one.key}\n      {one.title}; difficulty {one.difficulty}, {one.marks} marks")
    print(f"{len(found)} problems.")

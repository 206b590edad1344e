"""Marking: the committed table of answers, the files that go in and out, and what is refused."""

from __future__ import annotations

import csv
from itertools import groupby
from math import pi, sqrt
from pathlib import Path

import pytest

from slipwise.doors.cli.app import Exit, main
from slipwise.quantity.errors import InputError
from slipwise.teach.marking import mark_paper, read_answer
from slipwise.teach.marking_files import load_answers, marks_csv, totals
from slipwise.teach.marking_key import load_key
from slipwise.teach.problems.bank import bank
from slipwise.teach.problems.draw import in_unit
from slipwise.teach.sheet import EVERYONE, Marking, Sheet, papers
from slipwise.teach.sheet_file import load_sheet
from slipwise.teach.sheet_tables import answers_json

HERE = Path(__file__).parent
FIXED = HERE / "teach_sheet_fixed.toml"
TABLE = list(csv.DictReader((HERE / "teach_marks.csv").read_text(encoding="utf-8").splitlines()))
CASES = {name: list(rows) for name, rows in groupby(TABLE, key=lambda row: row["case"])}


@pytest.fixture(scope="module")
def key(tmp_path_factory):
    """The key of the sheet with fixed values, read back from its file."""
    sheet = load_sheet(FIXED)
    file = tmp_path_factory.mktemp("key") / "answers.json"
    file.write_text(answers_json(sheet, list(papers(sheet, [EVERYONE]))), encoding="utf-8")
    return load_key(file)


def test_the_key_is_what_one_finds_by_hand(key):
    """400 V, 50 A, 0.85, 90 %, 1450 r/min: by the definitions of power, torque and slip."""
    power = sqrt(3) * 400 * 50 * 0.85
    answers = [part.answer for part in key.papers[0].problems[0].parts]
    assert answers == pytest.approx([power, 0.9 * power, 0.9 * power / (1450 * pi / 30), 50 / 1500], rel=1e-12)


@pytest.mark.parametrize("case", CASES)
def test_answers_earn_what_the_table_says(key, case):
    """Right, wrong unit, rounded, following, missing: verdict and marks of every row of the committed table."""
    rows = CASES[case]
    given = {(1, row["part"]): row["answer"] for row in rows}
    found = list(mark_paper(key.papers[0], given, key.marking))
    got = [(mark.part, mark.verdict.value, mark.marks) for mark in found]
    assert got == [(row["part"], row["verdict"], float(row["marks"])) for row in rows]


@pytest.mark.parametrize("name", list(bank()))
def test_one_slip_costs_the_marks_of_one_part(tmp_path, name):
    """Whoever is wrong once and right from there on, on any problem of the bank, loses what that part is worth and no more."""
    sheet = Sheet(
        title="T", seed=3, problems=(bank()[name],), marking=Marking(follow_through=1.0, unit_slip=0, coarse=0)
    )
    file = tmp_path / "answers.json"
    file.write_text(answers_json(sheet, list(papers(sheet, [EVERYONE]))), encoding="utf-8")
    key = load_key(file)
    (problem,) = key.papers[0].problems
    found = problem.follow({})
    for slipped in problem.parts:
        carried = problem.follow({slipped.symbol: found[slipped.symbol] * 1.1})
        answers = {
            (1, part.part): f"{in_unit(carried[part.symbol], part.unit):.6g}"
            for part in problem.parts
            if part.symbol in carried
        }
        for mark in mark_paper(key.papers[0], answers, key.marking):
            if (1, mark.part) in answers:
                assert mark.marks == (0 if mark.part == slipped.part else mark.most), mark


def test_every_verdict_stands_in_the_table():
    """The table leaves no kind of answer out."""
    from slipwise.teach.marking import Verdict

    assert {row["verdict"] for row in TABLE} == {verdict.value for verdict in Verdict}


@pytest.mark.parametrize(
    ("text", "figure", "unit", "digits"),
    [
        ("29.40 kW", 29.40, "kW", 4),
        ("-1.5e3 N m", -1500, "N m", 2),
        ("1500", 1500, "", 2),
        ("0.0333", 0.0333, "", 3),
        ("\u22123.3\u202f%", -3.3, "%", 2),
    ],
)
def test_answers_are_taken_apart(text, figure, unit, digits):
    """Figure, unit and significant figures as a marker would count them."""
    found = read_answer(text)
    assert (found.figure, found.unit, found.digits) == (figure, unit, digits)


@pytest.mark.parametrize("text", ["about 3", "3,33", "1 000 W", "3 or 4", "--3", "1e9999", "nan", "inf W", "3.3.3"])
def test_what_is_no_number_is_left_for_a_look(text):
    """Nothing is guessed: such an answer is shown to the marker."""
    assert read_answer(text) is None


FORM = "student,name,problem,part,unit,answer\n"


@pytest.mark.parametrize(
    ("rows", "field", "reason"),
    [
        ("x,,1,a,kW,3\n", "student", "no such student"),
        ("all,,9,a,kW,3\n", "problem", "problems 1 to 1"),
        ("all,,one,a,kW,3\n", "problem", "problems 1 to 1"),
        ("all,,1,z,kW,3\n", "part", "parts a, b, c, d"),
        ("all,,1,a,kW,3\nall,,1,A,kW,4\n", "part", "answered twice"),
        (f"all,,1,a,kW,{'3' * 90}\n", "answer", "longer than 80"),
        ("all,,1,a,kW,3,4,5\n", "answers", "8 cells under 6 headings"),
    ],
)
def test_answers_out_of_place_are_refused_by_line(key, tmp_path, rows, field, reason):
    """Each names file, line, column, value, reason and remedy."""
    file = tmp_path / "answers.csv"
    file.write_text(FORM + rows, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_answers(file, key)
    fault = caught.value.faults[0]
    assert fault.field == field
    assert reason in fault.reason
    assert (fault.file, fault.line) == (file, rows.count("\n") + 1)
    assert fault.remedy


def test_a_unit_column_of_its_own_counts(key, tmp_path):
    """Where the form says kW and the marker wrote W into the column, the answer is in W."""
    file = tmp_path / "answers.csv"
    file.write_text(FORM + "all,,1,a,W,29440\nall,,1,b,kW,26.5\n", encoding="utf-8")
    assert load_answers(file, key) == ({"all": {(1, "a"): "29440 W", (1, "b"): "26.5"}}, ())


def test_a_line_of_an_unknown_student_leaves_the_others_marked(tmp_path, capsys):
    """It is listed by its line and key, on the terminal and in a file of its own; the marks are those without it."""
    folder, out, file = tmp_path / "sheet", tmp_path / "marks", tmp_path / "answers.csv"
    assert main(["teach", "sheet", str(FIXED), "--out", str(folder), "--qti", "none"]) == 0
    file.write_text(FORM + "all,,1,a,kW,29.44\nt9,,1,a,kW,3\n", encoding="utf-8")
    capsys.readouterr()
    assert main(["teach", "mark", str(folder), str(file), "--out", str(out)]) == Exit.COMPUTED
    shown = capsys.readouterr().out
    assert "lines that are not marked" in shown
    listed = list(csv.DictReader((out / "unmarked.csv").read_text(encoding="utf-8").splitlines()))
    assert [(row["Line"], row["Student"]) for row in listed] == [("3", "t9")]
    marked = list(csv.DictReader((out / "marks.csv").read_text(encoding="utf-8").splitlines()))
    assert {row["student"] for row in marked} == {"all"}
    assert marked[0]["verdict"] == "right"


def test_marks_by_command(tmp_path, capsys):
    """The form of a sheet, filled in, comes back as a table of marks and a sum for each student."""
    students = tmp_path / "class.csv"
    students.write_text("student,name\nt01,Ada\nt02,Bo\n", encoding="utf-8")
    folder, out = tmp_path / "sheet", tmp_path / "marks"
    assert main(["teach", "sheet", str(FIXED), "--students", str(students), "--out", str(folder), "--qti", "none"]) == 0
    form = folder / "answer_form.csv"
    right = {"a": "29.44", "b": "26.5", "c": "174.5", "d": "3.33"}
    lines = [
        line + right[line.split(",")[3]] if line.startswith("t01") else line
        for line in form.read_text(encoding="utf-8").splitlines()
    ]
    filled = tmp_path / "filled.csv"
    filled.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert main(["teach", "mark", str(folder), str(filled), "--out", str(out)]) == Exit.COMPUTED
    totals = list(csv.reader((out / "totals.csv").read_text(encoding="utf-8").splitlines()))
    assert totals[1:] == [["t01", "Ada", "12", "12", "0"], ["t02", "Bo", "0", "0", "0"]]
    assert len(list(csv.DictReader((out / "marks.csv").read_text(encoding="utf-8").splitlines()))) == 8
    assert "missing" in capsys.readouterr().out


def test_an_answer_is_no_formula_of_a_spreadsheet(key):
    """What a student wrote is not run where the marks are opened."""
    marks = list(mark_paper(key.papers[0], {(1, "a"): "=1+1"}, key.marking))
    assert marks_csv(key, marks).splitlines()[1].split(",")[4] == "'=1+1"


def test_many_problems_are_summed_up_on_the_terminal(key):
    """The sum alone, where the marks of each would not fit; the file has them all."""
    marks = list(mark_paper(key.papers[0], {(1, "a"): "29.44"}, key.marking))
    assert totals(key, marks).rows == (("all", "", "2", "2", "0"),)
    assert totals(key, marks, most_problems=0).rows == (("all", "", "2", "0"),)


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"format": "slipwise answers", "version": 99}', "no json"])
def test_another_file_is_no_key(tmp_path, text):
    """One clear error, whatever the file holds."""
    file = tmp_path / "answers.json"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_key(file)
    assert caught.value.faults[0].field == "answers"


def test_a_key_that_was_tampered_with_is_refused(tmp_path):
    """A step that is no arithmetic is not run."""
    sheet = load_sheet(FIXED)
    text = answers_json(sheet, list(papers(sheet, [EVERYONE])))
    for old, new in (
        ("eta * P_1", '__import__(\\"os\\")'),
        ("eta * P_1", "eta.real"),
        ('"symbol": "P_2"', '"symbol": "P_9"'),
        ('"unit": "kW"', '"unit": "cubits"'),
        ('"tolerance": 0.01', '"tolerance": NaN'),
    ):
        assert old in text
        file = tmp_path / "answers.json"
        file.write_text(text.replace(old, new, 1), encoding="utf-8")
        with pytest.raises(InputError):
            load_key(file)

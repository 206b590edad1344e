"""Problem sheets: the bank, seeded variants, question and key, files by command, and what is refused."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import re
import sys
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest

from slipwise.doors.cli.app import Exit, main
from slipwise.quantity.errors import InputError
from slipwise.quantity.formula import Formula, names_in
from slipwise.quantity.notation import significant
from slipwise.quantity.units import parse
from slipwise.teach.problems.bank import bank
from slipwise.teach.problems.chain import follow
from slipwise.teach.problems.draw import choice, in_unit, rounded, variant
from slipwise.teach.problems.schema import TOPICS
from slipwise.teach.sheet import EVERYONE, Marking, Sheet, Student, papers
from slipwise.teach.sheet_file import load_sheet
from slipwise.teach.sheet_pdf import keys, questions
from slipwise.teach.sheet_students import load_students
from slipwise.teach.sheet_tables import answers_csv, answers_json
from tests.behaviour.test_formula import check_dimensions

EXAMPLES = Path(__file__).parent.parent.parent / "examples" / "teach"
FIXED = Path(__file__).parent / "teach_sheet_fixed.toml"
SEEDS = 100  # 500 of each stand in the evidence


def words_of(pdf: bytes) -> str:
    """The text of a PDF with plain spaces."""
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).replace("\u202f", " ").split())


def sheet_of(*names: str) -> Sheet:
    """A sheet with problems of the bank."""
    return Sheet(title="A sheet", seed=11, problems=tuple(bank()[name] for name in names), marking=Marking())


def test_the_bank_covers_every_topic_in_three_difficulties():
    """At least forty problems; every topic has some; every difficulty has ten; most ask for several things."""
    found = bank().values()
    assert len(found) >= 40
    assert {problem.topic for problem in found} == set(TOPICS)
    for difficulty in (1, 2, 3):
        assert sum(problem.difficulty == difficulty for problem in found) >= 10
    assert sum(len(problem.parts) > 1 for problem in found) >= 40
    assert len({problem.title for problem in found}) == len(found)


@pytest.mark.parametrize("name", list(bank()))
def test_every_problem_has_a_variant_for_every_seed(name):
    """Each of many seeds gives a variant that meets the requirements, and they are not all the same."""
    found = [variant(bank()[name], f"seed/{number}") for number in range(SEEDS)]
    assert len({tuple(item.text for item in one.given.values()) for one in found}) > SEEDS // 10


@pytest.mark.parametrize("name", list(bank()))
def test_stated_values_are_exact_and_formulas_have_their_dimensions(name):
    """The key is computed from what is printed, not from what was drawn; every step agrees with its unit."""
    problem = bank()[name]
    found = variant(problem, "print")
    read = {s: parse(i.text, i.unit, s).value if i.text else i.value for s, i in found.given.items()}
    assert follow(problem.steps, read) == dict(found.values)
    units = {item.symbol: item.si for item in problem.given} | {step.symbol: step.result_unit for step in problem.steps}
    for step in problem.steps:
        check_dimensions(step)
        assert step.source
    for part in problem.parts:
        if part.gap is None:
            continue
        result = next(step.result_unit for step in problem.steps if step.symbol == part.find)
        used = {symbol: units[symbol] for symbol in names_in(part.gap.exact)}
        text = part.gap.exact
        full = Formula(
            key=name, title="", symbol="x", expression=text, units=used, source="", validity="", result_unit=result
        )
        check_dimensions(full)


def test_choices_are_those_of_the_published_rule():
    """SHA-256 of "seed/problem/round/symbol", most significant byte first, modulo the count: computed here by hashlib."""
    digest = hashlib.sha256(b"5/t01/slip/0/f").hexdigest()
    assert choice("5/t01", "slip", 0, "f", 7) == int(digest, 16) % 7


def test_a_sheet_is_the_same_everywhere():
    """Numbers that any machine must draw for this seed and student."""
    (paper,) = papers(sheet_of("slip_and_rotor_frequency"), [Student(key="t01")])
    texts = {symbol: item.text for symbol, item in paper.variants[0].given.items() if symbol != "omega"}
    problem = bank()["slip_and_rotor_frequency"]
    for item in problem.given:
        if item.texts:
            digest = hashlib.sha256(f"11/t01/{problem.key}/0/{item.symbol}".encode()).hexdigest()
            assert texts[item.symbol] == item.texts[int(digest, 16) % len(item.texts)]


def test_nobody_depends_on_the_rest_of_the_list():
    """A student's paper is the same alone, in company, and when the problems stand in another order."""
    alone = next(papers(sheet_of("tap_currents"), [Student(key="b")]))
    among = list(papers(sheet_of("dip_at_a_busbar", "tap_currents"), [Student(key=k) for k in "abc"]))[1]
    assert alone.variants[0] == among.variants[1]
    assert among.variants[1].given != next(papers(sheet_of("tap_currents"), [Student(key="a")])).variants[0].given


def test_computed_values_are_rounded_to_their_step():
    """To the nearest multiple in the printed unit, halves to even, decimals as the step has them."""
    assert rounded(0.123449, "mohm", "0.5") == "123.5 mohm"
    assert rounded(0.0265, "%", "0.1") == "2.6 %"
    assert rounded(2345.0, "kW", "0.01") == "2.34 kW"
    assert rounded(1234.0, "N m", "5") == "1235 N m"


def test_questions_state_the_values_and_keep_the_answers():
    """Every stated value and every part stands in the question; answers stand in the key alone."""
    sheet = sheet_of("star_delta_winding", "source_seen_by_the_rotor", "torque_at_rest_short")
    chosen = list(papers(sheet, [Student(key="t01", name="Ada Invented")]))
    asked, solved = words_of(questions(sheet, chosen)), words_of(keys(sheet, chosen))
    for found in chosen[0].variants:
        for part in found.problem.parts:
            answer = significant(in_unit(found.answer(part), part.unit), 4)
            assert answer in solved
            assert answer not in asked
            assert part.ask.split("{")[0].strip() in asked
        for item in found.given.values():
            if item.text and not item.text.startswith("0."):
                assert item.text.split()[0] in asked
    for text in ("Ada Invented", "t01", "A sheet", "invented", "licensed engineer"):
        assert text in asked
    assert "the short formula is" in solved
    assert "Source: Chapman" in solved


def test_pdf_is_tagged_and_the_same_every_time():
    """The same sheet gives the same bytes; the file names its language and its title."""
    sheet = replace(sheet_of("tap_currents", "heat_of_a_start"), day=None)
    chosen = list(papers(sheet, [EVERYONE]))
    first = keys(sheet, chosen)
    assert first == keys(sheet, list(papers(sheet, [EVERYONE])))
    reader = pypdf.PdfReader(io.BytesIO(first))
    assert reader.trailer["/Root"]["/Lang"] == "en-GB"
    assert reader.metadata is not None
    assert reader.metadata.title == "A sheet"


def test_every_student_begins_on_a_page_of_their_own():
    """Two students: each key and each question starts afresh with page 1."""
    sheet = sheet_of("tap_currents")
    chosen = list(papers(sheet, [Student(key="t01"), Student(key="t02")]))
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(questions(sheet, chosen))).pages]
    assert len(pages) == 2
    for key, page in zip(("t01", "t02"), pages, strict=True):
        assert key in page
        assert "page 1" in page


def test_a_statement_stays_with_what_follows_it():
    """The example's questions take one page a student; in keys no page ends with a question whose first step is overleaf."""
    sheet = load_sheet(EXAMPLES / "sheet_3.toml")
    chosen = list(papers(sheet, load_students(EXAMPLES / "students.csv")))
    assert len(pypdf.PdfReader(io.BytesIO(questions(sheet, chosen))).pages) == len(chosen)
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(keys(sheet, chosen))).pages]
    first = {variant.problem.parts[-1].ask: variant.problem.steps[0].title for variant in chosen[0].variants}
    for ask, step in first.items():
        plain = " ".join(ask.partition("{")[0].split())
        asked = [page for page in (" ".join(page.split()) for page in pages) if plain in page]
        assert len(asked) == len(chosen)
        assert all(step in page for page in asked), ask


def test_whole_bank_can_be_set():
    """Every problem of the bank has a question and a key that can be typeset."""
    sheet = sheet_of(*bank())
    (paper,) = papers(sheet, [EVERYONE])
    text = words_of(keys(sheet, [paper]))
    for problem in bank().values():
        assert problem.title in text


def test_answer_tables_agree_with_each_other():
    """Table and file hold the same answers, limits around them, and the seed."""
    sheet = sheet_of("tap_currents", "dip_at_a_busbar")
    chosen = list(papers(sheet, [Student(key="t01"), Student(key="t02")]))
    rows = list(csv.DictReader(answers_csv(sheet, chosen).splitlines()))
    held = json.loads(answers_json(sheet, chosen))
    assert held["seed"] == 11
    parts = [
        (s["student"], n, p["part"], in_unit(p["answer"], p["unit"]), p["full_computation"])
        for s in held["students"]
        for n, problem in enumerate(s["problems"], 1)
        for p in problem["parts"]
    ]
    assert len(rows) == len(parts) == 2 * 5
    for row, (student, number, part, answer, full) in zip(rows, parts, strict=True):
        assert (row["student"], int(row["problem"]), row["part"]) == (student, number, part)
        assert float(row["answer"]) == pytest.approx(answer, rel=1e-5)
        assert float(row["lowest"]) < answer < float(row["highest"])
        assert bool(row["full_computation"]) == (full is not None)


def test_example_by_command(tmp_path, capsys):
    """The shipped sheet for the shipped class: every file appears, twice the same to the byte."""
    runs = []
    for name in ("one", "two"):
        command = ["teach", "sheet", str(EXAMPLES / "sheet_3.toml"), "--students", str(EXAMPLES / "students.csv")]
        assert main([*command, "--out", str(tmp_path / name), "--each"]) == Exit.COMPUTED
        runs.append(
            {p.relative_to(tmp_path / name): p.read_bytes() for p in (tmp_path / name).rglob("*") if p.is_file()}
        )
    assert runs[0] == runs[1]
    names = {str(path) for path in runs[0]}
    assert {"questions.pdf", "keys.pdf", "answers.csv", "answers.json", "answer_form.csv", "qti_2_1.zip"} <= names
    assert {"questions/t01.pdf", "keys/t03.pdf"} <= names
    assert "4 problems, 16 marks, 3 papers" in capsys.readouterr().out


def test_the_page_on_sheets_shows_what_works(tmp_path):
    """The sheet and the own problem of the documentation are read and drawn."""
    page = (EXAMPLES.parent.parent / "docs" / "teaching.md").read_text(encoding="utf-8")
    sheet, own = re.findall(r"```toml\n(.*?)```", page.partition("## Problem sheets")[2], re.DOTALL)[:2]
    file = tmp_path / "page.toml"
    file.write_text(f"{sheet}\n{own}", encoding="utf-8")
    found = load_sheet(file)
    assert [problem.topic for problem in found.problems] == ["starting", "dip", "own"]
    assert found.assumed == ()
    assert len(next(papers(found, [EVERYONE])).variants) == 3
    assert f"the bank: {len(bank())} problems" in page


def test_without_lxml_nothing_is_written(tmp_path, monkeypatch, capsys):
    """The extra that is missing is named, with the way round it."""
    monkeypatch.setitem(sys.modules, "lxml", None)
    assert main(["teach", "sheet", str(FIXED), "--out", str(tmp_path / "out")]) == Exit.BAD_INPUT
    assert "install slipwise[teach]" in capsys.readouterr().err
    assert os.listdir(tmp_path) == []
    assert main(["teach", "sheet", str(FIXED), "--out", str(tmp_path / "out"), "--qti", "none"]) == Exit.COMPUTED


def test_a_folder_with_other_files_is_left_alone(tmp_path, capsys):
    """Before anything is computed: a folder that is not ours is refused; one of ours is replaced."""
    out = tmp_path / "out"
    command = ["teach", "sheet", str(FIXED), "--out", str(out), "--qti", "none"]
    assert main(command) == Exit.COMPUTED
    assert main(command) == Exit.COMPUTED
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    assert main(command) == Exit.BAD_INPUT
    assert "notes.txt" in capsys.readouterr().err
    assert (out / "notes.txt").read_text(encoding="utf-8") == "mine"


def test_what_the_sheet_does_not_say_is_told(tmp_path, capsys):
    """Without [marking] every share is assumed, and said on the terminal, in the key and in the file."""
    file = tmp_path / "s.toml"
    file.write_text('title = "T"\nseed = 1\n[[problem]]\nname = "tap_currents"\n', encoding="utf-8")
    assert main(["teach", "sheet", str(file), "--out", str(tmp_path / "o"), "--qti", "none"]) == Exit.COMPUTED
    out = capsys.readouterr().out
    assert out.count("Assumed:") == 4
    assert "1 % off" in out
    assert "Assumed" in words_of((tmp_path / "o" / "keys.pdf").read_bytes())
    assert len(json.loads((tmp_path / "o" / "answers.json").read_text(encoding="utf-8"))["assumed"]) == 4


def test_a_topic_draws_the_same_problem_for_the_whole_class(tmp_path):
    """By topic and difficulty: of that kind, by the seed, none twice; a sheet that asks for too many is refused."""
    file = tmp_path / "s.toml"
    entry = '[[problem]]\ntopic = "starting"\ndifficulty = 2\n'
    file.write_text(f'title = "T"\nseed = 1\n{entry * 3}', encoding="utf-8")
    found = load_sheet(file).problems
    assert len({problem.key for problem in found}) == 3
    assert {(problem.topic, problem.difficulty) for problem in found} == {("starting", 2)}
    file.write_text(f'title = "T"\nseed = 1\n{entry * 9}', encoding="utf-8")
    with pytest.raises(InputError, match="no \\(other\\) problem"):
        load_sheet(file)


GOOD = FIXED.read_text(encoding="utf-8")
U = '{ symbol = "U", unit = "V", of = [400] }'
GIVEN = "problem[1].given"
ANY = '{ symbol = "U", unit = "V", '
BROKEN = [
    ("seed = 1", "", "seed", "missing"),
    ("seed = 1", "seed = -4", "seed", "between"),
    ("seed = 1", 'seed = 1\nsede = "x"', "sede", "no such key"),
    ('title = "Marking by hand"', "title = 3", "title", "text"),
    ('tolerance = "1 %"', 'tolerance = "30 %"', "marking.tolerance", "at most"),
    ('follow_through = "75 %"', 'follow_through = "75 V"', "marking.follow_through", "ratio"),
    ('name = "fixed_motor"', 'name = "tap_currents"', "problem[1].name", "bank is called so"),
    ('name = "fixed_motor"', 'name = "Fixed motor"', "problem[1].name", "no name"),
    ('name = "fixed_motor"', "", "problem[1].name", "missing"),
    (U, '{ symbol = "U", unit = "volts", of = [400] }', GIVEN + "[1].unit", "not known"),
    (U, '{ symbol = "U", unit = "V" }', GIVEN + "[1]", "not clear"),
    (U, ANY + 'low = 9, high = 1, step = 1 }', GIVEN + "[1].high", "below low"),
    (U, ANY + 'low = 1, high = 9, step = 0 }', GIVEN + "[1].step", "above zero"),
    (U, ANY + 'low = 0, high = 9e9, step = 1e-3 }', GIVEN + "[1].step", "values"),
    (U, ANY + 'expression = "2 * I" , step = 1 }', GIVEN + "[1]", "no value here"),
    (U, '{ symbol = "I", unit = "A", of = [400] }', GIVEN + "[2]", "stands twice"),
    (U, '{ symbol = "U", unit = "A", of = [400] }', "problem[1].step[1]", "wants V"),
    ('formula = "power.line"', 'formula = "power.lien"', "problem[1].step[1].formula", "no such formula"),
    ('expression = "eta * P_1"', 'expression = "eta * P_9"', "problem[1].step[2]", "P_9 has no value"),
    ('expression = "eta * P_1"', 'expression = "eta.P_1"', "expression", "not allowed"),
    ('find = "P_2", unit = "kW"', 'find = "P_2", unit = "A"', "problem[1].part[2].unit", "computed in W"),
    ('find = "P_2", unit = "kW"', 'find = "P_7", unit = "kW"', "problem[1].part[2].find", "no step gives it"),
    ("draws {I} at", "draws {J} at", "problem[1].text", "nothing stated"),
    ("Find the torque.", "Find the torque at {W}.", "problem[1].part[3].ask", "nothing stated"),
    ('symbol = "eta"', 'symbol = "j"', GIVEN + "[4].symbol", "meaning of its own"),
    (U, ANY + 'expression = "100", step = 0 }', GIVEN + "[1].step", "above zero"),
    ("step = [", 'require = ["U"]\nstep = [', "require", "no comparison"),
    ("step = [", 'require = ["U > 500"]\nstep = [', "problem fixed_motor", "none of"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "field", "reason"), BROKEN, ids=[f"{b[2]}-{b[3]}" for b in BROKEN])
def test_a_broken_sheet_is_one_clear_error(tmp_path, capsys, old, new, field, reason):
    """Field, reason and remedy; exit code 2; nothing is written."""
    assert old in GOOD
    file = tmp_path / "broken.toml"
    file.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    assert main(["teach", "sheet", str(file), "--out", str(tmp_path / "out")]) == Exit.BAD_INPUT
    said = capsys.readouterr().err
    assert field in said
    assert reason in said
    if field.startswith("problem["):
        assert re.search(r"broken\.toml:\d+: problem", said), "the line is named"
    assert "Traceback" not in said
    assert sorted(os.listdir(tmp_path)) == ["broken.toml"]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "no column student"),
        ("name\nAda\n", "no column student"),
        ("student,mail\nt01,x\n", "not known"),
        ("student,student\nt01,x\n", "twice"),
        ("student\n", "1 to 2000 rows"),
        ("student\nt01\nT01\n", "twice"),
        ("student\n../t01\n", "no key"),
        ("student,name\n,Ada\n", "no key"),
        ("student,name\nt01," + "x" * 99 + "\n", "longer than 80"),
        ('student,name\nt01,"Ada\n', "no CSV"),
    ],
)
def test_a_broken_list_of_students_is_refused(tmp_path, text, reason):
    """Each names the file and what is wrong."""
    file = tmp_path / "class.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=reason) as caught:
        load_students(file)
    assert all(fault.file == file and fault.remedy for fault in caught.value.faults)


def test_lists_of_other_programs_are_read(tmp_path):
    """Semicolons, a byte-order mark, capital headings, empty lines."""
    file = tmp_path / "class.csv"
    file.write_bytes("\ufeffStudent;Name\r\nt01;Ada\r\n\r\nt02;Bo, Co\r\n".encode())
    assert load_students(file) == (Student(key="t01", name="Ada"), Student(key="t02", name="Bo, Co"))


@pytest.mark.parametrize("place", ["nowhere.toml", "."])
def test_a_missing_sheet_is_named(tmp_path, place):
    """The error speaks of a sheet file."""
    with pytest.raises(InputError, match="sheet file"):
        load_sheet(tmp_path / place)


def test_the_bank_is_listed(capsys):
    """Every name on the terminal can be copied into a sheet."""
    assert main(["teach", "problems"]) == Exit.COMPUTED
    lines = [line.strip() for line in capsys.readouterr().out.splitlines()]
    assert set(bank()) <= set(lines)
    assert main(["teach", "problems", "--topic", "cooking"]) == Exit.BAD_INPUT

"""The package for learning platforms: its shape, its references, and the marks its rules give."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from lxml import etree

from slipwise.teach.problems.bank import bank
from slipwise.teach.problems.draw import in_unit
from slipwise.teach.qti import EDITIONS, PACKAGING, package
from slipwise.teach.sheet import Marking, Sheet, Student, papers, tolerance_of

SHAPE = (Path(__file__).parent / "qti_shape.xsd").read_text(encoding="utf-8")
CLASS = (Student(key="t01", name="Ada"), Student(key="2026-02.b", name="Bo & <Co>"))


@pytest.fixture(scope="module")
def sheet():
    """Every problem of the bank on one sheet."""
    return Sheet(title="All & every", seed=7, problems=tuple(bank().values()), marking=Marking())


@pytest.fixture(scope="module")
def chosen(sheet):
    """The papers of two students."""
    return list(papers(sheet, CLASS))


@pytest.fixture(scope="module", params=EDITIONS)
def held(request, sheet, chosen):
    """Version and parsed files of a package."""
    with zipfile.ZipFile(io.BytesIO(package(sheet, chosen, request.param))) as archive:
        assert archive.testzip() is None
        return request.param, {name: etree.fromstring(archive.read(name)) for name in archive.namelist()}


def test_every_file_has_the_shape_of_the_public_schema(held):
    """Items and tests validate against a schema of the elements in use, with the order and attributes of the public one."""
    version, files = held
    text = SHAPE.replace("NAMESPACE", EDITIONS[version].space)
    shape = etree.XMLSchema(etree.fromstring(text.encode()))
    for name, root in files.items():
        if name != "imsmanifest.xml":
            shape.assertValid(root)


def test_the_shape_can_be_missed(held):
    """A misplaced element, a missing attribute or a word for a number is found."""
    version, files = held
    text = SHAPE.replace("NAMESPACE", EDITIONS[version].space)
    shape = etree.XMLSchema(etree.fromstring(text.encode()))
    for damage in ("order", "attribute", "number"):
        root = etree.fromstring(etree.tostring(files["item_t01_1.xml"]))
        if damage == "order":
            root.insert(0, root[-1])
        elif damage == "attribute":
            del root.attrib["adaptive"]
        else:
            next(root.iter("{*}value")).text = "many"
        assert not shape.validate(root)


def test_the_manifest_names_every_file_once(held):
    """Each resource is there, of the kind of its version; tests depend on their items."""
    version, files = held
    space = {"p": PACKAGING}
    found = files["imsmanifest.xml"].findall(".//p:resource", space)
    assert {one.get("href") for one in found} == set(files) - {"imsmanifest.xml"}
    assert len({one.get("identifier") for one in found}) == len(found)
    assert {one.get("type") for one in found} == {
        f"imsqti_{kind}_{EDITIONS[version].kind}" for kind in ("test", "item")
    }
    known = {one.get("identifier") for one in found}
    needed = {one.get("identifierref") for one in files["imsmanifest.xml"].findall(".//p:dependency", space)}
    assert needed <= known
    assert len(needed) == 2 * len(bank())


def score(item: etree._Element, entered: dict[str, float]) -> float:
    """What the rules of an item give for numbers entered: the semantics of the standard, written down for the rules in use."""
    total = 0.0
    right = {
        d.get("identifier"): float(d.findtext("{*}correctResponse/{*}value"))
        for d in item.iterfind("{*}responseDeclaration")
    }
    for condition in item.iterfind("{*}responseProcessing/{*}responseCondition"):
        for branch in condition:
            near = branch[0]
            known, given = near
            target = right[known.get("identifier")] if etree.QName(known).localname == "correct" else float(known.text)
            value = entered.get(given.get("identifier"))
            below, above = (float(word) for word in near.get("tolerance").split())
            if value is not None and target - below <= value <= target + above:
                total += float(branch.findtext("{*}setOutcomeValue/{*}sum/{*}baseValue"))
                break
    return total


def test_rules_give_full_marks_to_the_key_and_none_to_a_slip(held, sheet, chosen):
    """At the key, at nine tenths of the tolerance, and at twice the tolerance; with nothing entered; by the full computation."""
    _, files = held
    for paper in chosen:
        for number, found in enumerate(paper.variants, 1):
            item = files[f"item_{paper.student.key.replace('.', '_d')}_{number}.xml"]
            parts = found.problem.parts
            names = [one.get("responseIdentifier") for one in item.iter("{*}textEntryInteraction")]
            assert len(names) == len(parts)
            key = dict(zip(names, (in_unit(found.answer(part), part.unit) for part in parts), strict=True))
            width = dict(zip(names, (tolerance_of(part, sheet.marking) for part in parts), strict=True))
            assert score(item, key) == found.problem.marks
            assert (
                score(item, {name: value * (1 - 0.9 * width[name]) for name, value in key.items()})
                == found.problem.marks
            )
            assert score(item, {}) == 0
            away = {name: value * (1 + 2 * width[name]) for name, value in key.items()}
            exact = [part for part in parts if part.gap is None]
            assert score(item, away) <= found.problem.marks - sum(part.marks for part in exact)
            full = {n: in_unit(found.exact[p.find], p.unit) for n, p in zip(names, parts, strict=True) if p.gap}
            assert score(item, full) == sum(part.marks for part in parts if part.gap)


def test_the_question_stands_in_the_item(held):
    """Text, symbols and units are there, and no answer is."""
    _, files = held
    body = files["item_t01_3.xml"].find("{*}itemBody")
    words = "".join(body.itertext())
    assert "Per phase of its star equivalent" in words
    assert [one.text for one in body.iter("{*}i")][:2] == ["R", "X"]
    answer = files["item_t01_3.xml"].findtext(".//{*}correctResponse/{*}value")
    assert answer not in words


def test_the_same_sheet_gives_the_same_bytes(sheet, chosen):
    """No clock and no order of chance is in the package."""
    assert package(sheet, chosen, "2.1") == package(sheet, list(papers(sheet, CLASS)), "2.1")


def test_no_two_students_share_a_file(sheet):
    """Keys that differ by a stop and a stroke alone stay apart."""
    like = [Student(key=key) for key in ("a.b", "a_b", "a_db", "a_ub")]
    with zipfile.ZipFile(io.BytesIO(package(sheet, list(papers(sheet, like)), "2.1"))) as archive:
        names = archive.namelist()
    assert len(set(names)) == len(names) == 1 + 4 * (1 + len(bank()))


def test_another_version_is_unknown(sheet, chosen):
    """Only what can be written is accepted."""
    with pytest.raises(ValueError, match="not one of"):
        package(sheet, chosen, "3.0")

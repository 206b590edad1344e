"""Published examples as full worked solutions: the printed answers come out, and stand in the PDF."""

from __future__ import annotations

import re
from io import BytesIO

import pytest

from slipwise.quantity.formula import names_in
from slipwise.teach.worked import solutions_pdf
from tests.published.worked import examples
from tests.reference import compare, reference

EXAMPLES = examples()


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda one: one.key)
def test_worked_answers_are_the_published_ones(example):
    """Every answer asked for comes out at the tolerance of the print."""
    compare(example.key, example.computed())


def test_there_are_enough_examples_from_texts_beyond_memory():
    """At least 25, and most of them confirmed by a text in the open."""
    confirmed = [one for one in EXAMPLES if not reference(one.key)["confirmation"].startswith("from memory")]
    assert len(confirmed) >= 25
    assert len({one.key for one in EXAMPLES}) == len(EXAMPLES)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda one: one.key)
def test_every_step_uses_only_what_stands_above_it(example):
    """Givens and earlier results, and every given is used: a solution that can be followed by hand."""
    known = {item.symbol for item in example.solution.givens}
    used: set[str] = set()
    for step in example.solution.steps:
        needed = set(names_in(step.formula.expression))
        assert needed <= known
        used |= needed
        known.add(step.result.symbol)
    assert {item.symbol for item in example.solution.givens} <= used


@pytest.fixture(scope="module")
def pages() -> str:
    """The text of all worked solutions as one PDF."""
    from pypdf import PdfReader

    made = solutions_pdf("Published examples", [one.solution for one in EXAMPLES])
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(BytesIO(made)).pages))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda one: one.key)
def test_final_numbers_stand_in_the_pdf(pages, example):
    """Title, every given as entered and every result asked for are found in the text of the PDF."""
    assert example.solution.title in pages
    for item in (*example.solution.givens, *(s.result for s in example.solution.steps)):
        if item.text or item.symbol in example.solution.answers:
            assert re.sub(r"\s+", " ", item.shown()) in pages

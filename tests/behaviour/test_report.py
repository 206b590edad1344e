"""The PDF report: what it says and in which order, the same numbers as elsewhere, accessible, the same bytes again."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date
from functools import cache

import pytest
from pypdf import PdfReader
from pypdf.generic import IndirectObject

from slipwise.present import tables
from slipwise.present.report import report
from slipwise.present.report.blocks import Images, table
from slipwise.present.report.build import FOOTER, document
from slipwise.present.tables_all import all_tables
from slipwise.quantity.formula import Formula
from slipwise.quantity.show import show
from slipwise.results.study import Explanation, Input, StudyResult
from slipwise.results.table import Column, Table
from tests.behaviour.sample_result import sample

DAY = date(2025, 3, 1)
FIGURE = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 480 270" width="480pt" height="270pt">'
    b"<title>Drawn</title><desc>Spoken words &amp; more</desc><path d='M 10 10 L 470 260' stroke='black'/></svg>"
)
SLIP = Formula(
    key="example.slip",
    title="Slip",
    symbol="s",
    expression="(omega_s - omega) / omega_s",
    units={"omega_s": "rad/s", "omega": "rad/s"},
    source="definition",
    validity="any speed",
    result_unit="pu",
)


def explained(name: str, omega: float) -> Explanation:
    """The slip at one speed, as a study explains it."""
    inputs = (
        Input(symbol="omega_s", name="synchronous speed", value=157.08, unit="rad/s", origin="derived"),
        Input(symbol="omega", name="speed", value=omega, unit="rad/s", origin="given", text="153 rad/s"),
    )
    return Explanation(
        name=name,
        title=SLIP.title,
        symbol=SLIP.symbol,
        value=float(SLIP.evaluate(omega_s=157.08, omega=omega).real),
        unit="pu",
        formula=SLIP.key,
        expression=SLIP.expression,
        inputs=inputs,
        source=SLIP.source,
    )


@cache
def study() -> StudyResult:
    """The sample with two uses of one formula."""
    base = sample()
    return replace(
        base, explanations=(*base.explanations, explained("direct.slip", 153.0), explained("star_delta.slip", 150.0))
    )


@cache
def made() -> bytes:
    return report(study(), {"comparison": FIGURE, "direct.run_up": FIGURE}, day=DAY)


@cache
def pages() -> tuple[str, ...]:
    """The text of each page, spaces made plain."""
    return tuple(plain(page.extract_text()) for page in PdfReader(io.BytesIO(made())).pages)


def plain(text: str) -> str:
    return re.sub(r"\s+", "", tables.plain(text))


def test_answer_stands_first():
    """The verdict sentence and the comparison are on the first page, before the inputs."""
    first = pages()[0]
    assert plain(tables.verdict_sentence(study())) in first
    assert first.index(plain("The ways compared")) < first.index(plain("What was given"))
    for way in study().ways:
        assert plain(way.title) in first


def test_what_to_set_and_how_to_protect_stand_with_the_answer():
    """The line of settings and that of the protection, as in the terminal, come before the comparison."""
    best = next(way for way in study().ways if way.key == study().recommendation.way)
    first, set_to = pages()[0], plain(tables.set_text(best))
    assert set_to
    assert first.index(plain("Set: ") + set_to) < first.index(plain("The ways compared"))


def test_figures_are_numbered_in_the_order_of_the_pages():
    """1, 2, 3 from the first page on, whatever the order in which the figures were handed over."""
    handed = dict.fromkeys(("direct.run_up", "star_delta.run_up", "comparison", "direct.current_speed"), FIGURE)
    captions = [block["caption"] for block in document(study(), handed, Images(), DAY)["blocks"] if "caption" in block]
    assert [words for words in captions if words.startswith("Figure")] == [f"Figure {n}" for n in (1, 2, 3, 4)]


def test_sections_in_order():
    """Inputs, ways, equations, assumptions, cautions, signatures."""
    text = "".join(pages())
    found = PdfReader(io.BytesIO(made())).outline
    titles = [item.title for item in found if not isinstance(item, list)]
    ways = [way.title for way in tables.ranked(study())]
    assert len(titles) == len(ways) + 5
    order = ["What was given", *ways, "Equations used", "Assumptions", "Cautions", "Signatures"]
    assert all(wanted in title for wanted, title in zip(order, titles, strict=True))
    for word in ("Prepared", "Checked", "Approved", "Licence"):
        assert word in text


def test_every_page_carries_head_and_foot():
    """Title, version, date, page of pages, and the line on what the results rest on."""
    for number, text in enumerate(pages(), start=1):
        assert plain(study().title) in text
        assert plain("slipwise 0.1.0 · 1 March 2025") in text
        assert plain(f"page {number} of {len(pages())}") in text
        assert plain(FOOTER) in text


def test_the_same_numbers_as_in_the_tables():
    """Each cell of each table of the study is in the report, as the tables print it."""
    text = "".join(pages())
    for key, found in all_tables(study()):
        for cells in found.rows:
            for cell in cells:
                assert plain(cell) in text, f"{key}: {cell}"


def test_cautions_and_assumptions_are_complete():
    """Every caution, and every value not given with its range."""
    text = "".join(pages())
    for caution in study().cautions:
        assert plain(caution) in text
    for item in study().inputs:
        assert plain(tables.value_text(item)) in text


def test_equations_with_numbers_and_sources():
    """The formula once, the numbers of the first use as entered, the other uses in a table."""
    images = Images()
    blocks = document(study(), {}, images, DAY)["blocks"]
    (formula,) = [block for block in blocks if block["kind"] == "formula"]
    assert formula["symbolic"]["alt"] == "s = (ω_s − ω) / ω_s"
    assert formula["numbers"]["alt"] == "(157.1 rad/s − 153 rad/s) / (157.1 rad/s)"
    assert formula["result"] == show(study().explanations[1].value, "pu", digits=4)
    assert "Source: definition" in formula["note"]
    assert plain("Star-delta") + plain(show(157.08, "rad/s", digits=4)) in "".join(pages())


def test_same_input_same_bytes():
    """Twice the same."""
    assert report(study(), {"comparison": FIGURE, "direct.run_up": FIGURE}, day=DAY) == made()


def test_without_a_date_nothing_is_printed_or_kept():
    """No date in the head, none in the file; still the same bytes."""
    undated = report(study(), {})
    assert undated == report(study(), {})
    assert "2025" not in PdfReader(io.BytesIO(undated)).pages[0].extract_text()
    assert b"/CreationDate" not in undated


def test_archive_and_accessibility_standards_are_declared():
    """PDF/A-2a and PDF/UA-1 in the metadata, language and title in the catalogue, tagged."""
    reader = PdfReader(io.BytesIO(made()))
    xmp = reader.trailer["/Root"]["/Metadata"].get_object().get_data().decode()
    assert "<pdfaid:part>2</pdfaid:part>" in xmp
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in xmp
    assert "<pdfuaid:part>1</pdfuaid:part>" in xmp
    assert reader.trailer["/Root"]["/Lang"] == "en-GB"
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.metadata is not None
    assert reader.metadata.title == study().title


def alternatives(node: object, found: list[str]) -> list[str]:
    """Every alternative text below a node of the structure tree."""
    node = node.get_object() if isinstance(node, IndirectObject) else node
    if isinstance(node, list):
        for child in node:
            alternatives(child, found)
    elif isinstance(node, dict):
        if "/Alt" in node:
            found.append(str(node["/Alt"]))
        if "/K" in node:
            alternatives(node["/K"], found)
    return found


def test_pictures_and_formulas_have_words():
    """Figures speak the description they carry, diagrams what is closed, formulas their plain text."""
    spoken = alternatives(PdfReader(io.BytesIO(made())).trailer["/Root"]["/StructTreeRoot"], [])
    assert spoken.count("Spoken words & more") == 2
    assert any(words.startswith("Three-phase power circuit in stage star") for words in spoken)
    assert "s = (ω_s − ω) / ω_s" in spoken


def test_a_figure_stands_in_the_section_of_its_way():
    """`direct.run_up` after the heading of Direct, `comparison` before the inputs."""
    blocks = document(study(), {"direct.run_up": FIGURE, "comparison": FIGURE}, Images(), DAY)["blocks"]
    where = {b["file"]: i for i, b in enumerate(blocks) if b["kind"] == "figure"}
    heads = {b["text"]: i for i, b in enumerate(blocks) if b["kind"] == "heading"}
    assert where["comparison.svg"] < heads["What was given, and what follows from it"]
    assert heads["Direct"] < where["direct_run_up.svg"]


def test_only_embedded_fonts():
    """Every font travels with the file, so that it looks the same elsewhere."""
    for page in PdfReader(io.BytesIO(made())).pages:
        for font in page["/Resources"].get("/Font", {}).values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(inner)


def test_content_is_never_read_as_code():
    """Marks that mean something to the typesetter are printed as they are."""
    odd = '#read("/etc/passwd") $x$ *b* \\ <a> "q" [c] @d = e'
    text = "".join(
        page.extract_text() for page in PdfReader(io.BytesIO(report(replace(sample(), title=odd), {}))).pages
    )
    assert plain(odd) in plain(text)


def test_a_long_table_goes_over_pages_with_its_header_again():
    """Eighty assumed values: the column titles stand on each page that has a part of them."""
    base = sample()
    loose = next(item for item in base.inputs if item.origin.value == "assumed")
    many = tuple(replace(loose, name=f"{loose.name}.{number}") for number in range(80))
    found = PdfReader(io.BytesIO(report(replace(base, inputs=(*base.inputs, *many)), {}))).pages
    texts = [page.extract_text() for page in found]
    holding = [text for text in texts if f"{loose.name}." in text]
    assert len(holding) > 1
    assert all(plain("As entered, or why") in plain(text) for text in holding)


def test_a_way_that_was_not_computed_has_no_empty_sections():
    """No run-up, no circuit, no transient: the verdict and nothing else."""
    base = sample()
    bare = replace(
        base.ways[0],
        curves=(),
        run_ups=(),
        band=None,
        verdict=replace(base.ways[0].verdict, criteria=(), binding=None),
        wiring=replace(base.ways[0].wiring, devices=(), stages=(), closed=()),
    )
    blocks = document(replace(base, ways=(bare, *base.ways[1:])), {}, Images(), DAY)["blocks"]
    start = next(i for i, b in enumerate(blocks) if b["kind"] == "heading" and b["text"].startswith(bare.title))
    following = next(b for b in blocks[start + 1 :] if b["kind"] == "heading")
    assert following["level"] == 1
    assert report(replace(base, ways=(bare, *base.ways[1:])), {})


def test_a_broken_figure_is_an_error():
    """Not SVG: said so, no half-made file."""
    with pytest.raises(RuntimeError):
        report(sample(), {"comparison": b"not a drawing"})


def test_wide_tables_share_the_page():
    """Columns that fit keep their width, the wordy ones share the rest; a narrow table stays narrow."""
    columns = (Column(title="A"), Column(title="B", numeric=True), Column(title="C"))
    narrow = table(Table(title="", columns=columns, rows=(("a", "1", "c"),)))
    assert [c["share"] for c in narrow["columns"]] == [None, None, None]
    wide = table(Table(title="", columns=columns, rows=(("a", "1", "word " * 60),)))
    assert [c["share"] is None for c in wide["columns"]] == [True, True, False]

"""Handouts: two pages at most, numbers of the motor at hand, and the steps against the whole computation."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from slipwise.doors.cli.app import main
from slipwise.present.report import html
from slipwise.present.report.blocks import Images, bullets, heading, new_page, note, paragraph, table, verdict
from slipwise.quantity.errors import InputError
from slipwise.results.table import Column, Table
from slipwise.study.reader import load
from slipwise.teach import formulas as registry
from slipwise.teach.claims import EVERY
from slipwise.teach.handout import TOPICS, fits, handout, handout_html, recipe_of, solution
from slipwise.teach.handout.recipes import recipes
from slipwise.teach.handout.values import values, whole
from slipwise.teach.paper import document

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
WOUND, CAGE = EXAMPLES / "crusher_k1.toml", EXAMPLES / "pump_p3.toml"


@pytest.fixture(scope="module")
def crusher():
    """A wound-rotor motor, to which every topic applies, and its values."""
    study = load(WOUND)
    return study, values(study)


@pytest.fixture(scope="module")
def pages(crusher):
    """The pages of every topic as text."""
    read = {topic: PdfReader(BytesIO(handout(crusher[0], topic))) for topic in TOPICS}
    return {topic: [page.extract_text() for page in reader.pages] for topic, reader in read.items()}


@pytest.mark.parametrize("topic", TOPICS)
def test_a_handout_has_two_pages_at_most_and_the_results_of_its_steps(crusher, pages, topic):
    """Every result stands on the page as it is printed, and so does the last step's formula in words of its title."""
    text = " ".join(" ".join(pages[topic]).split())
    assert len(pages[topic]) <= 2
    for step in solution(recipe_of(topic), crusher[1]).steps:
        assert step.title in text
        whole_text, numbers = "".join(text.split()), re.findall(r"\d[\d.]*", step.outcome())
        assert numbers
        assert all(number in whole_text for number in numbers)
        if not isinstance(step.result.value, complex):
            assert "".join(step.outcome().split()) in whole_text
    assert "licensed engineer" in text


def test_single_cage_steps_agree_with_the_whole_computation(crusher):
    """One cage and constant reactances: current, breakdown and star are the same by hand and by solver."""
    study, known = crusher
    full = whole(study, known)
    for topic, symbols in (
        ("circuit", ["I_1"]),
        ("torque", ["s_b", "T_b"]),
        ("starting", ["I_Y", "T_Y"]),
        ("power", ["P_2"]),
    ):
        found = solution(recipe_of(topic), known)
        for symbol in symbols:
            assert abs(found.value(symbol)) == pytest.approx(full[symbol], rel=2e-4), symbol


def test_power_reaches_the_plate(crusher):
    """The steps from the stator current end at the rated power of the plate, which the circuit was fitted to."""
    study, known = crusher
    assert solution(recipe_of("power"), known).value("P_2") == pytest.approx(study.motor.rating.power, rel=0.02)


def test_a_resistance_is_carried_between_two_temperatures(crusher):
    """Copper at 120 degC has (235 + 120) / (235 + 20) times the resistance it has at 20 degC (IEC 60034-1, from memory)."""
    found = solution(recipe_of("heat"), crusher[1])
    assert found.value("R_h") / found.value("R_20") == pytest.approx(355 / 255, rel=1e-9)


def test_braking_speaks_of_unbalance(crusher):
    """The negative-sequence current at rated slip is that of two less the slip (Fitzgerald, symmetrical components)."""
    _, known = crusher
    found = solution(recipe_of("braking"), known)
    slip, volts = 2 - known["s_n"].value.real, 0.02 * known["U_p"].value.real
    r1, r2, x = (float(known[n].value.real) for n in ("R1", "R2_l", "X1_l"))
    x += float(known["X2_l"].value.real)
    assert found.value("I_22") == pytest.approx(volts / ((r1 + r2 / slip) ** 2 + x**2) ** 0.5, rel=1e-9)


def test_values_entered_keep_their_text(crusher):
    """400 V stands as 400 V; a derived value has no text."""
    known = crusher[1]
    assert known["U"].text == "400 V"
    assert known["s_n"].text == ""


def test_recipes_name_what_exists():
    """Topics of the registry, shorthands of the page, formulas by key: a recipe that names anything else would fail late."""
    assert len(TOPICS) == len(set(TOPICS)) >= 13
    for recipe in recipes():
        registry.topic(recipe.topic)
        assert set(recipe.claims) <= set(EVERY)
        assert recipe.words
        assert len(recipe.steps) >= 4


def test_a_cage_has_no_chopper():
    """The topic is left out with its reason, or refused by name when asked for."""
    study = load(CAGE)
    assert "wound rotor" in fits(recipe_of("rotor_chopper"), values(study))
    with pytest.raises(InputError, match=r"rotor_chopper: it needs a wound rotor.*leave this topic out"):
        handout(study, "rotor_chopper")


def test_handout_by_command(tmp_path, capsys):
    """One file a topic asked for; an unknown topic writes nothing."""
    out = tmp_path / "sheets"
    assert main(["teach", "handout", str(CAGE), "--topic", "dip", "--topic", "heat", "--html", "--out", str(out)]) == 0
    assert sorted(path.name for path in out.glob("*.*l")) == ["dip.html", "heat.html"]
    assert sorted(path.name for path in out.glob("*.pdf")) == ["dip.pdf", "heat.pdf"]
    assert main(["teach", "handout", str(CAGE), "--topic", "dips", "--out", str(tmp_path / "none")]) == 2
    assert "there is no handout on it; choose one of" in capsys.readouterr().err
    assert not (tmp_path / "none").exists()


def test_html_page_is_well_formed_and_whole(crusher):
    """XML by lxml's reader; every step is set twice as MathML with its plain text beside it; the picture is within."""
    from lxml import etree

    made = handout_html(crusher[0], "torque")
    tree = etree.fromstring(made.partition("\n")[2].encode())
    formulas = list(tree.iter("{http://www.w3.org/1998/Math/MathML}math"))
    steps = solution(recipe_of("torque"), crusher[1]).steps
    spoken = [one.get("alttext") for one in formulas]
    assert all(spoken)
    for step in steps:
        assert step.symbolic() in spoken
        assert f"= {step.numbers()} = {step.outcome()}" in spoken
    pictures = list(tree.iter("{http://www.w3.org/1999/xhtml}img"))
    assert [one.get("src")[:26] for one in pictures] == ["data:image/svg+xml;base64,"]
    assert all(one.get("alt") for one in pictures)
    assert "http" not in re.sub(r"http://www\.w3\.org/\S+", "", made)


def test_html_page_knows_every_kind_of_block():
    """Title, text with signs that are markup, lists, tables, forms, lines, verdict, break."""
    from lxml import etree

    blocks = [
        heading("A < B", 2), paragraph("5 % & more"), note("small"), bullets(["one", "two"]), new_page(),
        verdict("Passes", ["line"]), {"kind": "lines", "labels": ["Group"]},
        {"kind": "form", "title": "F", "columns": [{"title": "U", "unit": "V", "share": 1}], "rows": [["400 V"]]},
        table(Table(title="T", columns=(Column(title="x", unit="A", numeric=True),), rows=(("1",), ("fails",)), note="n")),
    ]  # fmt: skip
    made = html.page(document("Page", "Kind", blocks), Images())
    text = " ".join(etree.fromstring(made.partition("\n")[2].encode()).itertext())
    for words in ("A < B", "5 % & more", "small", "two", "Passes", "Group", "400 V", "fails"):
        assert words in text

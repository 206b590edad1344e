"""Sheets with power circuits: every way has one for each stage, the table tells the stage, words lie apart and on the sheet."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from functools import cache
from itertools import pairwise

import pytest
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath

from slipwise.methods.speed import SPEED
from slipwise.methods.starting import STARTING
from slipwise.methods.stopping import STOPPING
from slipwise.present.diagrams import diagram
from slipwise.present.figures.lecture_circuit import HEIGHT, LETTERING, WIDTH, Sheet, contacts_of
from slipwise.present.figures.look import PALETTES, Look
from slipwise.results.lecture import CircuitPicture, WindingPicture
from tests.behaviour.lecture_drawn import CAGE, DARK, DRAWN, LIGHT, RINGS, of, sheets
from tests.behaviour.test_diagrams import texts

SVG = "{http://www.w3.org/2000/svg}"
EACH = pytest.mark.parametrize(("name", "look"), DRAWN, ids=lambda v: v if isinstance(v, str) else v.mode)
Box = tuple[float, float, float, float]


def pictures(name: str) -> list[CircuitPicture]:
    return [p for topic in of(name).topics for p in topic.pictures if isinstance(p, CircuitPicture)]


@cache
def ink(words: str, bold: bool) -> Box:
    """Extents of words at size 1 as the font itself has them: left, right, below and above the baseline."""
    found = TextPath(
        (0, 0), words, size=100, prop=FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal")
    )
    box = found.get_extents()
    return (box.x0 / 100, box.x1 / 100, -box.y0 / 100, box.y1 / 100)


def words_of(sheet: Sheet) -> list[tuple[str, Box, float]]:
    """Every text of a sheet with its box and type size, in units of the sheet."""
    found: list[tuple[str, Box, float]] = []

    def walk(element: ET.Element, scale: float, left: float, top: float) -> None:
        for child in element:
            if child.tag == f"{SVG}svg":
                vx, vy, vw, vh = (float(v) for v in child.attrib["viewBox"].split())
                x, y, w, h = (float(child.attrib[k]) for k in ("x", "y", "width", "height"))
                inner = min(w / vw, h / vh)
                walk(child, inner, x + (w - vw * inner) / 2 - vx * inner, y + (h - vh * inner) / 2 - vy * inner)
            if child.tag == f"{SVG}text" and child.text and child.text.strip():
                found.append(_box(child, scale, left, top))

    walk(ET.fromstring(sheet.svg), 1.0, 0.0, 0.0)
    return found


def _box(text: ET.Element, scale: float, left: float, top: float) -> tuple[str, Box, float]:
    size, words = float(text.attrib["font-size"]) * scale, text.text or ""
    x0, x1, below, above = (v * size for v in ink(words, text.attrib.get("font-weight") == "bold"))
    x, y = left + float(text.attrib["x"]) * scale, top + float(text.attrib["y"]) * scale
    shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.attrib["text-anchor"]] * (x1 + x0)
    return words, (x + x0 - shift, x + x1 - shift, y - above, y + below), size


@pytest.mark.parametrize("name", [CAGE, RINGS])
def test_every_way_has_its_circuit(name: str) -> None:
    """Each way of starting, of speed control and of stopping is drawn, with every stage of its plan."""
    keys = [picture.key for picture in pictures(name)]
    lists = {"starting": STARTING, "speed": SPEED, "stopping": STOPPING}
    assert keys == [f"{kind}_{way.key}" for kind, ways in lists.items() for way in ways]
    drawn = [sheet.key for sheet in sheets(name, LIGHT if name == CAGE else DARK)]
    for picture in pictures(name):
        assert sum(key.startswith(f"{picture.key}.") for key in drawn) == len(picture.wiring.stages)


def test_companions_are_named() -> None:
    """A cage study shows slip rings for a companion that says so; a slip-ring study shows its own."""
    notes = {picture.key: picture.note for picture in pictures(CAGE)}
    assert "Companion with slip rings, typical" in notes["starting_rotor_resistor"]
    assert notes["starting_star_delta"] == notes["stopping_plugging"] == "The study's own motor."
    assert "Companion" in notes["stopping_more_poles"]
    assert {p.key: p.note for p in pictures(RINGS)}["starting_rotor_resistor"] == "The study's own motor."


@EACH
def test_no_word_overlaps_another(name: str, look: Look) -> None:
    """No two texts of a sheet share room, by the extents of the font itself."""
    for sheet in sheets(name, look):
        boxes = words_of(sheet)
        for n, (words, box, _) in enumerate(boxes):
            for other, rival, _ in boxes[n + 1 :]:
                wide = min(box[1], rival[1]) - max(box[0], rival[0])
                high = min(box[3], rival[3]) - max(box[2], rival[2])
                assert wide <= 0.5 or high <= 0.5, (
                    f"{sheet.key}: {words!r} and {other!r} overlap by {wide:.1f} x {high:.1f}"
                )


@pytest.mark.parametrize("name", [CAGE, RINGS])
def test_no_conductor_runs_through_a_word(name: str) -> None:
    """With lettering for the wall, no full line of a circuit crosses the reserved box of a word."""
    for picture in pictures(name):
        for stage in picture.wiring.stages:
            svg = diagram(picture.wiring, stage, LETTERING)
            boxes = texts(svg)
            for node in ET.fromstring(svg).iter(f"{SVG}polyline"):
                if node.get("stroke-dasharray"):
                    continue
                points = [tuple(map(float, pair.split(","))) for pair in node.attrib["points"].split()]
                for (x, y), (u, v) in pairwise(points):
                    for text, left, top, right, bottom in boxes:
                        apart = max(x, u) < left or min(x, u) > right or max(y, v) < top or min(y, v) > bottom
                        assert apart, f"{picture.key}, {stage}: a line through {text!r}"


@EACH
def test_every_word_lies_on_the_sheet(name: str, look: Look) -> None:
    """No text leaves the sheet."""
    for sheet in sheets(name, look):
        for words, (x0, x1, y0, y1), _ in words_of(sheet):
            assert min(x0, WIDTH - x1, y0, HEIGHT - y1) >= 0, f"{sheet.key}: {words!r}"


@EACH
def test_title_and_table_can_be_read(name: str, look: Look) -> None:
    """Title, table and notes are at least 1/40 of the height; the circuit is drawn as large as the sheet allows."""
    for sheet in sheets(name, look):
        texts = ET.fromstring(sheet.svg).findall(f"{SVG}text")
        assert texts
        assert all(float(t.attrib["font-size"]) >= HEIGHT / 40 for t in texts), sheet.key


@pytest.mark.parametrize("name", [CAGE, RINGS])
def test_the_table_is_the_plan(name: str) -> None:
    """Beside each circuit, the dots of every row are the contacts closed in that stage; the present one is marked."""
    look = LIGHT if name == CAGE else DARK
    by_key = {sheet.key: sheet for sheet in sheets(name, look)}
    for picture in pictures(name):
        contacts = contacts_of(picture.wiring)
        first = next(sheet for key, sheet in by_key.items() if key.startswith(f"{picture.key}.1_"))
        dots = ET.fromstring(first.svg).findall(f"{SVG}circle")
        wanted = [label in closed for closed in picture.wiring.closed for label in contacts]
        assert [dot.attrib["fill"] != "none" for dot in dots] == wanted, picture.key


def test_dark_sheets_have_no_ink_of_white_paper() -> None:
    """On dark paper neither the paper nor the ink of the light drawings is left."""
    for sheet in sheets(RINGS, DARK):
        body = sheet.svg.decode().lower()
        left = [colour for colour in (PALETTES["light"].ink, "#111111", "#ffffff") if colour in body]
        assert not left, sheet.key


def test_windings_stand_in_series_and_in_parallel() -> None:
    """The three arrangements of the tapped winding are drawn at both speeds: series and double star or delta."""
    found = [p for topic in of(CAGE).topics for p in topic.pictures if isinstance(p, WindingPicture)]
    joined = [{speed.connection for speed in p.winding.speeds} for p in found]
    assert {"series delta", "double star"} in joined
    assert {"series star", "double star"} in joined
    assert sum(sheet.key.startswith("winding_") for sheet in sheets(CAGE, LIGHT)) == 2 * len(found) == 6

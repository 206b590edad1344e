"""The folder of a lecture: slides that can be read, edited and turned, moving starts, a contact sheet, refusals in one line."""

from __future__ import annotations

import csv
import json
import re
import subprocess
from dataclasses import replace
from functools import cache
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from matplotlib.image import imread
from pptx import Presentation
from pypdf import PdfReader

from slipwise.doors.cli.app import main
from slipwise.present.deck import movie
from slipwise.present.deck.document import deck_pdf
from slipwise.present.deck.folder import Wanted, write_lecture
from slipwise.present.deck.movie import require_writer
from slipwise.present.deck.slides import slides
from slipwise.present.figures.look import Look
from slipwise.quantity.errors import InputError
from slipwise.results.lecture import Lecture
from tests.behaviour.lecture_drawn import CAGE, EXAMPLES, chart_of, of

KEPT = {"operating_point", "power_flow", "star_delta", "starting_star_delta", "winding_constant_torque"}


@cache
def short() -> Lecture:
    """The lecture of the pump with one picture of each kind and one moving start."""
    whole = of(CAGE)
    topics = tuple(replace(t, pictures=tuple(p for p in t.pictures if p.key in KEPT)) for t in whole.topics)
    return replace(whole, topics=topics, motions=whole.motions[1:2])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Written once: light, SVG and PNG, a page that moves, editable slides."""
    wanted = Wanted(modes=("light",), formats=("svg", "png"), motions=("html",), editable=True)
    return write_lecture(short(), tmp_path_factory.mktemp("lecture") / "out", wanted)


def test_every_kind_of_file_is_there(folder: Path) -> None:
    """Figures, diagrams stage by stage, series, slides, moving start, contact sheet and the list of all of them."""
    names = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert names == {
        *(
            f"figures/light/{key}.{form}"
            for key in ("operating_point", "power_flow", "star_delta")
            for form in ("svg", "png")
        ),
        *(
            f"diagrams/light/starting_star_delta.{n}.{form}"
            for n in ("1_star", "2_pause", "3_delta")
            for form in ("svg", "png")
        ),
        *(f"diagrams/light/winding_constant_torque.{n}.{form}" for n in ("1_low", "2_high") for form in ("svg", "png")),
        *(f"series/{key}.csv" for key in ("operating_point", "star_delta")),
        "run-up/run_up_star_delta.html",
        *("deck-light.pdf", "deck-light.html", "deck.pptx", "contact-light-1.png", "pictures.json", "contents.json"),
    }


def test_contact_sheets_hold_twenty_five_pictures_with_their_names() -> None:
    """Thirty pictures stand on two sheets: five rows and one, no row parted from its names, ink under the last pictures."""
    from PIL import Image

    from slipwise.present.deck.folder import contact_sheets
    from slipwise.present.figures.look import Look

    svg = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1334 750"><rect width="1334" height="750" fill="#eef"/></svg>'
    made = [Image.open(BytesIO(one)).convert("L") for one in contact_sheets([("long_name", svg, "alt")] * 30, Look())]
    tall = [one.height for one in made]
    assert len(made) == 2
    assert tall[0] > 4 * tall[1]
    for one in made:
        strip = one.crop((0, one.height - 70, one.width, one.height))  # margin and names of the last row
        assert strip.getextrema()[0] < 60


def test_slides_are_16_to_9_and_carry_the_numbers(folder: Path) -> None:
    """Title, worked steps with the rated torque of the plate (90 kW at 1483 r/min is 579.5 N m), the table of ways."""
    pages = PdfReader(folder / "deck-light.pdf").pages
    assert {(float(p.mediabox.width), float(p.mediabox.height)) for p in pages} == {(960.0, 540.0)}
    words = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))
    for wanted in (
        "Raw-water pump P3",
        "worked steps",
        "579.5",
        "The ways of starting beside one another",
        "Star-delta",
    ):
        assert wanted in words
    assert "local codes and a licensed engineer decide" in words


def test_slides_are_tagged_with_alternative_texts(folder: Path) -> None:
    """The deck is a tagged PDF whose figures carry alternative texts (PDF/UA-1)."""
    root = PdfReader(folder / "deck-light.pdf").trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    raw = (folder / "deck-light.pdf").read_bytes()
    assert b"pdfuaid" in raw


def test_slides_carry_no_date() -> None:
    """Title and table set twice give the same bytes, with no date among them."""
    found = [slide for slide in slides(short(), {}, Look(mode="dark")) if slide.kind in {"title", "table"}]
    first, second = (deck_pdf(found, Look(mode="dark")) for _ in range(2))
    assert first == second
    assert "/CreationDate" not in (PdfReader(BytesIO(first)).metadata or {})


def test_editable_slides_have_text_tables_and_described_pictures(folder: Path) -> None:
    """Titles are text, the table of ways is a table, each picture has its alternative text, 16:9."""
    deck = Presentation(str(folder / "deck.pptx"))
    assert deck.slide_width * 9 == deck.slide_height * 16
    shapes = [shape for slide in deck.slides for shape in slide.shapes]
    tables = [shape.table for shape in shapes if shape.has_table]
    assert tables[0].cell(1, 0).text == "Direct"
    pictures = [shape for shape in shapes if shape.shape_type == 13]
    assert len(pictures) == 3 + 3 + 2
    assert all(len(shape._element._nvXxPr.cNvPr.get("descr")) > 40 for shape in pictures)


def test_pictures_have_the_size_of_a_projector(folder: Path) -> None:
    """PNG of figures and of sheets are 1920 by 1080; no sheet is empty."""
    for path in (*(folder / "figures").rglob("*.png"), *(folder / "diagrams").rglob("*.png")):
        image = imread(path)
        assert image.shape[:2] == (1080, 1920), path.name
        assert image[:, :, :3].std() > 0.02


def test_the_moving_picture_moves(folder: Path) -> None:
    """The page holds all its points, needs no other file, and tells the stage."""
    page = (folder / "run-up" / "run_up_star_delta.html").read_text(encoding="utf-8")
    data = json.loads(re.search(r'id="data">(.*?)</script>', page, re.DOTALL)[1])
    assert len(data["spots"]) == len(data["words"]) == movie.FRAMES["html"]
    assert not re.findall(r'(?:src|href)="(?!data:)', page)
    assert "star" in data["words"][0]
    assert "delta" in data["words"][-1]


def test_the_page_of_slides_stands_alone(folder: Path) -> None:
    """One section a slide of the PDF, pictures within the page, each with an alternative text."""
    page = (folder / "deck-light.html").read_text(encoding="utf-8")
    assert page.count("<section") == len(PdfReader(folder / "deck-light.pdf").pages)
    assert not re.findall(r'src="(?!data:)', page)
    assert all(len(words) > 40 for words in re.findall(r'alt="([^"]*)"', page))


def test_series_are_those_of_the_chart(folder: Path) -> None:
    """The CSV of star and delta holds the drawn lines to eight figures."""
    with (folder / "series" / "star_delta.csv").open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["line"] == "star" and row["panel"] == "1"]
    line = chart_of(CAGE, "star_delta").panels[0].lines[1]
    assert [float(row["y"]) for row in rows] == pytest.approx(list(line.y), rel=1e-7)
    assert rows[0]["ordinate unit"] == "N m"


def test_captions_stand_beside_the_pictures(folder: Path) -> None:
    """pictures.json names every figure with its caption and alternative text."""
    rows = json.loads((folder / "pictures.json").read_text(encoding="utf-8"))
    assert [row["key"] for row in rows] == ["operating_point", "power_flow", "star_delta"]
    assert all(row["caption"] and row["alternative_text"].startswith(row["caption"]) for row in rows)


@pytest.mark.parametrize(("kind", "width", "height"), [("mp4", 1280, 720), ("gif", 960, 540)])
def test_a_film_shows_the_run(kind: movie.Kind, width: int, height: int, tmp_path: Path) -> None:
    """Read back by ffmpeg, every frame is there and the points have moved; without the package it is refused with a remedy."""
    if find_spec("imageio_ffmpeg") is None:
        with pytest.raises(InputError, match=r"install slipwise\[video\]"):
            require_writer(kind)
        return
    import imageio_ffmpeg

    path = tmp_path / f"run.{kind}"
    path.write_bytes(movie.movie(short().motions[0], Look(mode="dark"), kind, 25))
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-i", str(path), "-f", "rawvideo", "-pix_fmt", "rgb24", "-"]
    raw = subprocess.run(command, capture_output=True, check=True).stdout
    seen = np.frombuffer(raw, np.uint8).reshape(-1, height, width, 3).astype(int)
    assert len(seen) == 25
    assert np.abs(seen[12] - seen[0]).max() > 100


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("--moves", "sideways"),
            r"moves: sideways: no start of this lecture that moves has this name; take one of direct",
        ),
        (("--mode", "grey"), r"grey"),
        (("--format", "bmp"), r"bmp"),
    ],
)
def test_refusals(words: tuple[str, ...], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A wrong option is answered in one paragraph that names it; nothing is written."""
    out = tmp_path / "out"
    assert main(["teach", "lecture", str(EXAMPLES / f"{CAGE}.toml"), "--out", str(out), *words]) == 2
    told = capsys.readouterr().err
    assert re.search(said, told)
    assert "Traceback" not in told
    assert not out.exists()

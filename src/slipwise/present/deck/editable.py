"""Slides to be edited: titles, captions and tables as text, pictures as pictures with their alternative text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib.util import find_spec
from io import BytesIO
from typing import Any

from slipwise.present.deck.slides import Slide
from slipwise.present.figures.look import Look
from slipwise.quantity.errors import InputError
from slipwise.results.table import Table

WIDTH, HEIGHT = 12192000, 6858000  # 16:9, in the file's own units of 1/914400 inch
UNIT = 12700  # of them in a point
CUT = 0.075  # of a figure's height: its own title, which stands as text on the slide


def require_writer() -> None:
    """Refuses editable slides where python-pptx is missing."""
    if find_spec("pptx") is None:
        raise InputError.of(
            "slides",
            "pptx",
            "python-pptx, which writes them, is not installed",
            "install slipwise[slides], or use the PDF",
        )


def deck_pptx(found: Sequence[Slide], images: Mapping[int, bytes], look: Look) -> bytes:
    """One file of editable slides. images: PNG of a slide's picture by the slide's place.

    Raises:
        InputError: the package that writes it is missing.
    """
    require_writer()
    from pptx import Presentation
    from pptx.util import Length

    deck = Presentation()
    deck.slide_width, deck.slide_height = Length(WIDTH), Length(HEIGHT)
    blank = deck.slide_layouts[6]
    for place, slide in enumerate(found):
        page = deck.slides.add_slide(blank)
        page.background.fill.solid()
        page.background.fill.fore_color.rgb = _rgb(look.palette.paper)
        _fill(page, slide, images.get(place), look)
        page.notes_slide.notes_text_frame.text = slide.words or " ".join(slide.lines)
    deck.core_properties.title = found[0].title
    out = BytesIO()
    deck.save(out)
    return out.getvalue()


def _fill(page: Any, slide: Slide, image: bytes | None, look: Look) -> None:
    if image is not None and slide.kind == "sheet":
        _picture(page, image, slide.words, (0, 0, WIDTH, HEIGHT), 0.0)
        return
    if image is not None:
        height = round(HEIGHT * (1 - CUT) * 0.9)
        _picture(page, image, slide.words, (0, round(HEIGHT * 0.085), round(WIDTH * 0.9), height), CUT)
        _text(page, look, slide.title, (24, 8, 912, 40), 24, bold=True)
        _text(page, look, " ".join(slide.lines), (24, 496, 912, 40), 13.5)
        return
    big = slide.kind in {"title", "topic"}
    _text(page, look, slide.title, (44, 170 if big else 30, 870, 60), 36 if big else 25, bold=True)
    if slide.lines:
        _text(page, look, "\n".join(slide.lines), (44, 250 if big else 90, 870, 240), 17)
    for number, block in enumerate(slide.steps):
        numbers = f"{block['symbolic']['alt']}\n{block['numbers']['alt']} = {block['result']}\n{block['note']}"
        _text(page, look, f"{block['title']}\n{numbers}", (44, 90 + 190 * number, 870, 180), 15)
    if slide.table is not None:
        _table(page, look, slide.table)


def _rgb(colour: str) -> Any:
    from pptx.dml.color import RGBColor

    make: Any = RGBColor  # without types
    return make(*bytes.fromhex(colour[1:]))


def _picture(page: Any, image: bytes, words: str, box: tuple[int, int, int, int], cut: float) -> None:
    picture = page.shapes.add_picture(BytesIO(image), *box)
    picture.crop_top = cut
    picture._element._nvXxPr.cNvPr.set("descr", words)


def _text(
    page: Any, look: Look, words: str, box: tuple[float, float, float, float], size: float, *, bold: bool = False
) -> None:  # fmt: skip
    frame = page.shapes.add_textbox(*(round(v * UNIT) for v in box)).text_frame
    frame.word_wrap = True
    frame.text = words
    for paragraph in frame.paragraphs:
        paragraph.font.size, paragraph.font.bold = round(size * UNIT), bold
        paragraph.font.color.rgb = _rgb(look.palette.ink)


def _table(page: Any, look: Look, table: Table) -> None:
    from pptx.enum.text import PP_ALIGN

    heads = [f"{c.title} [{c.unit}]" if c.unit else c.title for c in table.columns]
    box = (round(v * UNIT) for v in (44, 90, 870, 26 * (len(table.rows) + 1)))
    grid = page.shapes.add_table(len(table.rows) + 1, len(heads), *box).table
    for y, row in enumerate([heads, *table.rows]):
        for x, words in enumerate(row):
            cell = grid.cell(y, x)
            cell.text = words
            cell.fill.solid()
            cell.fill.fore_color.rgb = _rgb(look.palette.paper)
            paragraph = cell.text_frame.paragraphs[0]
            paragraph.alignment = PP_ALIGN.RIGHT if table.columns[x].numeric else PP_ALIGN.LEFT
            paragraph.font.size, paragraph.font.bold = 14 * UNIT, y == 0
            paragraph.font.color.rgb = _rgb(look.palette.ink)

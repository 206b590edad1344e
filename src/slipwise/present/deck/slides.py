"""A lecture as a row of slides: titles, figures with their captions, worked steps, tables, circuits; plain data."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from slipwise.present.figures.lecture_circuit import Sheet, circuit_sheets, winding_sheets
from slipwise.present.figures.look import Look
from slipwise.present.report.build import FOOTER
from slipwise.present.report.equations import formulas
from slipwise.quantity.show import show
from slipwise.results.lecture import CircuitPicture, Lecture, Topic, WindingPicture
from slipwise.results.table import Table

Kind = Literal["title", "topic", "figure", "sheet", "steps", "table", "notes"]
STEPS = 2  # formulas on one slide
LONG = 90  # letters of a formula: a longer one stands alone
ROWS = 11  # of a table on one slide


@dataclass(frozen=True, slots=True, kw_only=True)
class Slide:
    """One slide. svg: of a figure or a sheet, with its alternative text; lines: sentences; steps: blocks of formulas."""

    kind: Kind
    title: str
    lines: tuple[str, ...] = ()
    svg: bytes = b""
    words: str = ""
    table: Table | None = None
    steps: tuple[Mapping[str, Any], ...] = field(default=())


def slides(lecture: Lecture, figures: Mapping[str, tuple[bytes, str]], look: Look) -> Iterator[Slide]:
    """Every slide in order. figures: SVG and alternative text by key, in the mode of `look`."""
    parts = (
        lecture.motor,
        f"Study file: {lecture.file}" if lecture.file else "",
        f"slipwise {lecture.slipwise_version}",
    )
    yield Slide(kind="title", title=lecture.title, lines=tuple(part for part in parts if part))
    for topic in lecture.topics:
        yield Slide(kind="topic", title=topic.title, lines=topic.points)
        yield from _steps(topic)
        yield from _pictures(topic, figures, look)
        yield from _tables(topic)
    yield from _notes(lecture)


def _pictures(topic: Topic, figures: Mapping[str, tuple[bytes, str]], look: Look) -> Iterator[Slide]:
    for picture in topic.pictures:
        if isinstance(picture, CircuitPicture | WindingPicture):
            for sheet in sheets_of(picture, look):
                yield Slide(kind="sheet", title=sheet.title, svg=sheet.svg, words=sheet.words)
        elif picture.key in figures:
            svg, words = figures[picture.key]
            yield Slide(kind="figure", title=picture.title, lines=(picture.caption,), svg=svg, words=words)


def sheets_of(picture: CircuitPicture | WindingPicture, look: Look) -> Iterator[Sheet]:
    """The sheets of a circuit or of a winding."""
    return circuit_sheets(picture, look) if isinstance(picture, CircuitPicture) else winding_sheets(picture, look)


def all_sheets(lecture: Lecture, look: Look) -> list[Sheet]:
    """Every circuit and winding of a lecture."""
    pictures = (picture for topic in lecture.topics for picture in topic.pictures)
    return [
        sheet
        for picture in pictures
        if isinstance(picture, CircuitPicture | WindingPicture)
        for sheet in sheets_of(picture, look)
    ]


def _steps(topic: Topic) -> Iterator[Slide]:
    """Formulas with their numbers, a few on a slide, long ones alone."""
    found = [block for block, _ in formulas(topic.steps, {})]
    row: list[Mapping[str, Any]] = []
    for block in found:
        long = len(block["numbers"]["alt"]) > LONG
        if row and (long or len(row) == STEPS):
            yield Slide(kind="steps", title=f"{topic.title}: worked steps", steps=tuple(row))
            row = []
        row.append(block)
        if long:
            yield Slide(kind="steps", title=f"{topic.title}: worked steps", steps=tuple(row))
            row = []
    if row:
        yield Slide(kind="steps", title=f"{topic.title}: worked steps", steps=tuple(row))


def _tables(topic: Topic) -> Iterator[Slide]:
    for table in topic.tables:
        for begin in range(0, len(table.rows), ROWS):
            part = Table(
                title=table.title, columns=table.columns, rows=table.rows[begin : begin + ROWS], note=table.note
            )
            yield Slide(kind="table", title=table.title, table=part, words=table.note)


def _notes(lecture: Lecture) -> Iterator[Slide]:
    """What was left out and assumed, and what the results rest on."""
    lines = [FOOTER, *lecture.cautions[:3]]
    if lecture.assumed:
        lines.append(
            f"Assumed, not given: {show(float(len(lecture.assumed)), '')} values, listed in the study's report."
        )
    lines += [f"Not drawn: {words}." for words in lecture.left_out]
    yield Slide(kind="notes", title="What this rests on", lines=tuple(lines))

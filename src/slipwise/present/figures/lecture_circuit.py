"""A power circuit for the wall: one sheet a stage, the circuit at the left, the table of contacts beside it; and windings."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from typing import NamedTuple

from slipwise.present.diagrams import described, diagram, winding_described, winding_diagram
from slipwise.present.diagrams.pen import FONT, LETTER_WIDTH
from slipwise.present.diagrams.toned import toned
from slipwise.present.figures.look import Look
from slipwise.results.lecture import CircuitPicture, WindingPicture
from slipwise.results.wiring import Wiring

WIDTH, HEIGHT, MARGIN = 960.0, 540.0, 16.0
SMALL, TEXT, HEADING = 14.0, 15.0, 21.0  # type sizes on a height of 540
LETTERING = 1.25  # of the circuit's own words
MOST = 1.5  # by which a circuit is enlarged
SPLIT = 430.0  # the table begins here, or where a broad circuit ends


class Sheet(NamedTuple):
    """One sheet. key: as the file's name; words: alternative text; svg: 960 by 540."""

    key: str
    title: str
    words: str
    svg: bytes


@dataclass(slots=True)
class _Page:
    """Shapes and words of one sheet."""

    look: Look
    shapes: list[str]

    def words(
        self, x: float, y: float, text: str, size: float = SMALL, *, bold: bool = False, middle: bool = False,
        ink: str = "",
    ) -> None:  # fmt: skip
        weight = ' font-weight="bold"' if bold else ""
        anchor = "middle" if middle else "start"
        self.shapes.append(
            f'<text x="{x:.1f}" y="{y:.1f}" font-family="{FONT}" font-size="{size:g}" fill="{ink or self.look.palette.ink}"'
            f' text-anchor="{anchor}"{weight}>{escape(text)}</text>'
        )

    def rule(self, x: float, y: float, width: float) -> None:
        self.shapes.append(
            f'<path d="M {x:.1f},{y:.1f} h {width:.1f}" stroke="{self.look.palette.quiet}" stroke-width="0.8"/>'
        )

    def inlay(self, svg: bytes, box: tuple[float, float, float, float]) -> None:
        """A drawing in a box, as large as it fits, its upper left corner kept."""
        x, y, width, height = box
        head, _, body = svg.decode().partition("<svg ")
        head, _, rest = body.partition(">")
        view = re.search(r'viewBox="([^"]*)"', head)
        assert view is not None
        inner = re.sub(r"<(title|desc)>.*?</\1>", "", rest, flags=re.DOTALL)
        place = f'x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"'
        self.shapes.append(f'<svg {place} viewBox="{view[1]}" preserveAspectRatio="xMidYMid meet">{inner}')

    def svg(self, title: str, words: str) -> bytes:
        size = f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" width="{WIDTH:g}" height="{HEIGHT:g}"'
        paper = f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="{self.look.palette.paper}"/>'
        head = f'<svg xmlns="http://www.w3.org/2000/svg" role="img" {size}><title>{escape(title)}</title>'
        return "\n".join([f"{head}<desc>{escape(words)}</desc>{paper}", *self.shapes, "</svg>\n"]).encode()


def circuit_sheets(picture: CircuitPicture, look: Look) -> Iterator[Sheet]:
    """One sheet a stage."""
    for number, stage in enumerate(picture.wiring.stages, start=1):
        words = f"{described(picture.wiring, stage)} {sequence_words(picture.wiring)}"
        title = f"{picture.title}: {stage}"
        page = _Page(look, [])
        left = _circuit(page, picture.wiring, stage)
        _beside(page, picture, number, left)
        key = f"{picture.key}.{number}_{re.sub(r'[^A-Za-z0-9]+', '_', stage)}"
        yield Sheet(key, title, words, page.svg(title, words))


def _circuit(page: _Page, wiring: Wiring, stage: str) -> float:
    """The circuit at the left over the whole height; where the table may begin."""
    svg = toned(diagram(wiring, stage, LETTERING), page.look.palette)
    width, height = size_of(svg)
    scale = min(MOST, (HEIGHT - 2 * MARGIN) / height, 0.55 * WIDTH / width)
    room = max(SPLIT - 2 * MARGIN, width * scale)
    across, up = width * scale, height * scale
    page.inlay(svg, (MARGIN + (room - across) / 2, (HEIGHT - up) / 2, across, up))
    return MARGIN + room + 2 * MARGIN


def _beside(page: _Page, picture: CircuitPicture, number: int, left: float) -> None:
    """Title, sequence table with the present stage marked, notes."""
    quiet, width = page.look.palette.quiet, WIDTH - left - MARGIN
    y = 46.0
    for line in wrapped(picture.title, HEADING, width, bold=True):
        page.words(left, y, line, HEADING, bold=True)
        y += 1.2 * HEADING
    page.words(
        left, y + 4.0, f"{picture.kind.capitalize()}. Stage {number} of {len(picture.wiring.stages)}.", TEXT, ink=quiet
    )
    y = _table(page, picture.wiring, number, (left, y + 42.0, width))
    notes = [*picture.wiring.notes, picture.note]
    for note in notes:
        for line in wrapped(note, SMALL, width):
            if y < HEIGHT - MARGIN:
                page.words(left, y, line, SMALL, ink=quiet)
            y += 1.3 * SMALL
        y += 0.4 * SMALL


def contacts_of(wiring: Wiring) -> list[str]:
    """Every contact that closes in some stage, in the order of the devices."""
    used = {label for closed in wiring.closed for label in closed}
    devices = [d.label for d in wiring.devices if d.label in used or d.kind == "contactor"]
    return [*devices, *sorted(used - set(devices))]


def _table(page: _Page, wiring: Wiring, number: int, place: tuple[float, float, float]) -> float:
    """Stages down, contacts across: a full dot is closed, a ring open; gives the height below it."""
    left, y, width = place
    contacts = contacts_of(wiring)
    if not contacts:
        page.words(left, y, "No contact changes.", TEXT)
        return y + 34.0
    column = min(54.0, 0.55 * width / len(contacts))
    first = left + width - column * len(contacts)
    for n, label in enumerate(contacts):
        page.words(first + (n + 0.5) * column, y, label.partition(" ")[0], TEXT, bold=True, middle=True)
    page.rule(left, y + 8.0, width)
    y += 30.0
    for row, (stage, closed) in enumerate(zip(wiring.stages, wiring.closed, strict=True), start=1):
        lines = wrapped(f"{row} {stage}", TEXT, first - left - 12.0, bold=row == number)
        now = row == number
        if now:
            page.shapes.append(
                f'<rect x="{left - 8:.1f}" y="{y - 19:.1f}" width="{width + 8:.1f}" height="{12 + 18 * len(lines):.1f}"'
                f' fill="{page.look.palette.wash}"/>'
            )
        for n, label in enumerate(contacts):
            fill = page.look.palette.ink if label in closed else "none"
            x = first + (n + 0.5) * column
            page.shapes.append(
                f'<circle cx="{x:.1f}" cy="{y - 5:.1f}" r="6" fill="{fill}" stroke="{page.look.palette.ink}" stroke-width="1.4"/>'
            )
        for line in lines:
            page.words(left, y, line, TEXT, bold=now)
            y += 18.0
        y += 10.0
    page.rule(left, y - 14.0, width)
    page.words(left, y + 6.0, "Full dot: closed. Ring: open.", SMALL, ink=page.look.palette.quiet)
    return y + 38.0


def winding_sheets(picture: WindingPicture, look: Look) -> Iterator[Sheet]:
    """One sheet a speed."""
    for number, speed in enumerate(picture.winding.speeds, start=1):
        words = winding_described(picture.winding, speed.name)
        title = f"{picture.title}: {speed.poles} poles, {speed.connection}"
        page = _Page(look, [])
        svg = toned(winding_diagram(picture.winding, speed.name), look.palette)
        y = 36.0
        for line in wrapped(title, HEADING, WIDTH - 2 * MARGIN, bold=True):
            page.words(MARGIN + 4, y, line, HEADING, bold=True)
            y += 1.2 * HEADING
        page.inlay(svg, (MARGIN, y - 6.0, WIDTH - 2 * MARGIN, HEIGHT - y - MARGIN))
        key = f"{picture.key}.{number}_{speed.name.replace(' ', '_')}"
        yield Sheet(key, title, words, page.svg(title, words))


def size_of(svg: bytes) -> tuple[float, float]:
    """Width and height of a drawing in its own units."""
    found = re.search(rb'viewBox="([^"]*)"', svg)
    assert found is not None
    _, _, width, height = (float(v) for v in found[1].split())
    return width, height


def wrapped(text: str, size: float, width: float, *, bold: bool = False) -> list[str]:
    """Words over lines no wider than `width`, by the reserved width of a letter."""
    letter = LETTER_WIDTH * size * (1.1 if bold else 1.0)
    lines: list[str] = []
    for word in text.split():
        if lines and letter * len(f"{lines[-1]} {word}") <= width:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines


def sequence_words(wiring: Wiring) -> str:
    """The table of contacts in words."""
    rows = (
        f"{stage}: {', '.join(closed) or 'none'} closed"
        for stage, closed in zip(wiring.stages, wiring.closed, strict=True)
    )
    return f"Sequence: {'; '.join(rows)}."

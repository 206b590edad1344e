"""The folder of a lecture: figures, diagrams, slides, moving starts, a contact sheet; written whole or not at all."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from slipwise.present.deck import editable
from slipwise.present.deck.document import deck_pdf
from slipwise.present.deck.movie import Kind, movie, require_writer
from slipwise.present.deck.page import deck_html
from slipwise.present.deck.pages import compiled, page_document, page_images
from slipwise.present.deck.slides import all_sheets, slides
from slipwise.present.export import whole_folder
from slipwise.present.figures.apart import Drawn, draw_each, helper
from slipwise.present.figures.canvas import Format
from slipwise.present.figures.catalogue import Entry
from slipwise.present.figures.lecture_catalogue import lecture_figures
from slipwise.present.figures.lecture_circuit import Sheet
from slipwise.present.figures.look import Look, Mode, Size
from slipwise.present.report.pictures import told
from slipwise.results.lecture import Chart, Lecture, Motion

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What goes into the folder.

    modes: light, dark or both. formats: of figures and diagrams. size: projector or print. motions: kinds of moving
    pictures, as files; which: key of the start that moves, "" for the first one. editable: also slides to be edited.
    """

    modes: tuple[Mode, ...] = ("light", "dark")
    formats: tuple[Format, ...] = ("svg",)
    size: Size = "projector"
    motions: tuple[Kind, ...] = ("html",)
    which: str = ""
    editable: bool = False


def write_lecture(lecture: Lecture, folder: Path, wanted: Wanted, progress: Progress | None = None) -> Path:
    """Writes a lecture into `folder`, which appears whole or not at all.

    figures/MODE and diagrams/MODE in each format; deck-MODE.pdf and deck-MODE.html; run-up/ with moving starts; series/
    with the curves of every chart as CSV; contact-MODE-N.png; pictures.json with titles, captions and alternative texts;
    deck.pptx when editable slides are wanted.

    Raises:
        InputError: a package for the wanted kind is missing; the folder exists and is not ours, or cannot be written.
    """
    tell = progress or (lambda _: None)
    for kind in wanted.motions:
        require_writer(kind)
    if wanted.editable:
        editable.require_writer()
    with whole_folder(folder) as fresh:
        formats: tuple[Format, ...] = tuple(
            dict.fromkeys(("svg", *wanted.formats, *(("png",) if wanted.editable else ())))
        )
        entries = [entry for mode in wanted.modes for entry in _entries(lecture, Look(size=wanted.size, mode=mode))]
        with helper(entries, formats, Look(size=wanted.size)) as second:
            _moving(fresh / "run-up", lecture, wanted, tell)
            drawn = {e.key: d for e, d in draw_each(entries, formats, Look(size=wanted.size), tell, second)}
        for mode in wanted.modes:
            _mode(fresh, lecture, wanted, (mode, drawn), tell)
        _series(fresh / "series", lecture)
        _captions(fresh / "pictures.json", lecture, drawn, wanted.modes[0])
    return folder


def _entries(lecture: Lecture, look: Look) -> list[Entry]:
    """The figures of one mode; drawn in their own look, whatever the process is told."""
    return [Entry(f"{look.mode}/{e.key}", e.title, partial(_own, e, look)) for e in lecture_figures(lecture)]


def _own(entry: Entry, look: Look, _told: Look) -> Figure:
    return entry.function(look)


def _mode(fresh: Path, lecture: Lecture, wanted: Wanted, made: tuple[Mode, dict[str, Drawn]], tell: Progress) -> None:
    """Everything in one mode."""
    mode, drawn = made
    look = Look(mode=mode)
    figures = {key.partition("/")[2]: files for key, files in drawn.items() if key.startswith(f"{mode}/")}
    _write(fresh / "figures" / mode, {f"{k}.{f}": files[f] for k, files in figures.items() for f in wanted.formats})
    sheets = all_sheets(lecture, look)
    tell(f"diagrams: {mode}")
    _write(fresh / "diagrams" / mode, _sheet_files(sheets, wanted.formats))
    tell(f"slides: {mode}")
    pictures = {key: (files["svg"], told(files["svg"], "desc")) for key, files in figures.items()}
    found = list(slides(lecture, pictures, look))
    (fresh / f"deck-{mode}.pdf").write_bytes(deck_pdf(found, look))
    (fresh / f"deck-{mode}.html").write_text(deck_html(found, look), encoding="utf-8")
    if wanted.editable and mode == wanted.modes[0]:
        tell("editable slides")
        pages = iter(page_images([(s.svg, s.words) for s in found if s.kind == "sheet"]))
        by_svg = {files["svg"]: files["png"] for files in figures.values()}
        images = {n: by_svg[s.svg] if s.kind == "figure" else next(pages) for n, s in enumerate(found) if s.svg}
        (fresh / "deck.pptx").write_bytes(editable.deck_pptx(found, images, look))
    tell(f"contact sheet: {mode}")
    every = [(k, svg, words) for k, (svg, words) in pictures.items()] + [(s.key, s.svg, s.words) for s in sheets]
    for number, image in enumerate(contact_sheets(every, look), start=1):
        (fresh / f"contact-{mode}-{number}.png").write_bytes(image)


def contact_sheets(pictures: Sequence[tuple[str, bytes, str]], look: Look) -> list[bytes]:
    """Small pictures with their names, twenty-five on a PNG. pictures: key, SVG, alternative text."""
    sources = {f"images/{n}.svg": svg for n, (_, svg, _) in enumerate(pictures)}
    pages = [{"file": f, "name": key, "alt": words} for f, (key, _, words) in zip(sources, pictures, strict=True)]
    palette = look.palette
    data = {
        "title": "Contact sheet",
        "ink": palette.ink,
        "paper": palette.paper,
        "faint": palette.faint,
        "pages": pages,
    }
    return compiled("contact.typ", sources, data, "png")


def _sheet_files(sheets: Sequence[Sheet], formats: Sequence[Format]) -> dict[str, bytes]:
    files = {f"{s.key}.svg": s.svg for s in sheets if "svg" in formats}
    files |= {f"{s.key}.pdf": page_document(s.svg, s.words, s.title) for s in sheets if "pdf" in formats}
    if "png" in formats:
        images = page_images([(s.svg, s.words) for s in sheets])
        files |= {f"{s.key}.png": image for s, image in zip(sheets, images, strict=True)}
    return files


def _write(folder: Path, files: dict[str, bytes]) -> None:
    folder.mkdir(parents=True)
    for name, content in files.items():
        (folder / name).write_bytes(content)


def chosen(lecture: Lecture, which: str) -> tuple[Motion, ...]:
    """The starts that move: the one named, or the first."""
    found = tuple(m for m in lecture.motions if which in {"", m.key.removeprefix("run_up_")})
    return found[:1]


def _moving(folder: Path, lecture: Lecture, wanted: Wanted, tell: Progress) -> None:
    """One start in every kind wanted; as HTML, which is small, all of them."""
    files = {}
    for kind in wanted.motions:
        for found in lecture.motions if kind == "html" else chosen(lecture, wanted.which):
            tell(f"moving: {found.title} ({kind})")
            files[f"{found.key}.{kind}"] = movie(found, Look(mode=wanted.modes[0]), kind)
    if files:
        _write(folder, files)


def _series(folder: Path, lecture: Lecture) -> None:
    """The lines of every chart, one row a point, SI units in the heading."""
    files = {}
    for topic in lecture.topics:
        for chart in topic.pictures:
            if isinstance(chart, Chart):
                files[f"{chart.key}.csv"] = _csv(chart).encode()
    _write(folder, files)


def _csv(chart: Chart) -> str:
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(["panel", "abscissa", "abscissa unit", "ordinate", "ordinate unit", "line", "x", "y"])
    for number, panel in enumerate(chart.panels, start=1):
        for line in panel.lines:
            head = [number, panel.x.words, panel.x.unit, panel.y.words, panel.y.unit, line.label or line.role.value]
            rows.writerows([*head, f"{x:.8g}", f"{y:.8g}"] for x, y in zip(line.x, line.y, strict=True))
    return out.getvalue()


def _captions(path: Path, lecture: Lecture, drawn: dict[str, Drawn], mode: Mode) -> None:
    """Title, caption, note and alternative text of every figure."""
    rows = [
        {
            "topic": topic.title,
            "key": picture.key,
            "title": picture.title,
            "caption": getattr(picture, "caption", ""),
            "note": getattr(picture, "note", ""),
            "alternative_text": told(drawn[f"{mode}/{picture.key}"]["svg"], "desc"),
        }
        for topic in lecture.topics
        for picture in topic.pictures
        if f"{mode}/{picture.key}" in drawn
    ]
    path.write_text(json.dumps(rows, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")

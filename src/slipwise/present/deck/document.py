"""The slides as a PDF of 16:9 pages."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from slipwise.present.deck.pages import compiled
from slipwise.present.deck.slides import Slide
from slipwise.present.figures.look import Look


def deck_pdf(found: Sequence[Slide], look: Look) -> bytes:
    """Slides on 960 by 540 points, tagged for screen readers (PDF/UA-1); the same bytes for the same slides.

    Raises:
        RuntimeError: the typesetting failed (typst's own `TypstError`).
    """
    sources: dict[str, bytes] = {}
    rows = [_row(slide, sources) for slide in found]
    palette = look.palette
    data = {
        "title": found[0].title,
        "ink": palette.ink,
        "quiet": palette.quiet,
        "paper": palette.paper,
        "accent": look.colour(0),
        "slides": rows,
    }
    return compiled("deck.typ", sources, data, "pdf")[0]


def _row(slide: Slide, sources: dict[str, bytes]) -> dict[str, Any]:
    """One slide for the template; its picture goes among the sources."""
    row: dict[str, Any] = {
        "kind": slide.kind,
        "title": slide.title,
        "lines": list(slide.lines),
        "alt": slide.words,
        "steps": list(slide.steps),
    }
    if slide.svg:
        row["file"] = f"images/{len(sources)}.svg"
        sources[row["file"]] = slide.svg
    if slide.table is not None:
        columns = [{"title": c.title, "unit": c.unit, "numeric": c.numeric} for c in slide.table.columns]
        row["table"] = {"columns": columns, "rows": [list(cells) for cells in slide.table.rows]}
    return row

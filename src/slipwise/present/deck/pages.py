"""Drawings of 960 by 540 as PDF and PNG pages, set by typst in one go."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from importlib.resources import files
from typing import Any, Literal

from slipwise.present.report.build import font_folder

DOTS = 144.0  # an inch of 72 units: 960 units come out 1920 pixels wide


def compiled(
    template: str, sources: Mapping[str, bytes], data: Any, format: Literal["pdf", "png"], *, tagged: bool = True
) -> list[bytes]:
    """What typst makes of a template of this folder and named sources: one PDF, or one PNG a page.

    Raises:
        RuntimeError: the typesetting failed (typst's own `TypstError`).
    """
    import typst

    text = (files("slipwise.present.deck") / template).read_bytes()
    make: Callable[..., Any] = typst.compile  # its stub does not know that several files may be handed over as bytes
    how: dict[str, Any] = {"pdf_standards": ["ua-1"]} if format == "pdf" and tagged else {}
    made = make(
        {"main.typ": text, **sources},
        format=format,
        ppi=DOTS,
        font_paths=[str(font_folder())],
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
        **how,
    )
    return [made] if isinstance(made, bytes) else list(made)


def page_images(drawings: Sequence[tuple[bytes, str]]) -> list[bytes]:
    """Each SVG as a PNG of 1920 by 1080. drawings: SVG and alternative text."""
    if not drawings:
        return []
    return compiled("page.typ", *_sources(drawings), "png")


def page_document(svg: bytes, words: str, title: str) -> bytes:
    """One SVG as a PDF page of its size, tagged."""
    sources, data = _sources([(svg, words)])
    return compiled("page.typ", sources, {**data, "title": title}, "pdf")[0]


def _sources(drawings: Sequence[tuple[bytes, str]]) -> tuple[dict[str, bytes], dict[str, Any]]:
    named = {f"images/{n}.svg": svg for n, (svg, _) in enumerate(drawings)}
    pages = [{"file": name, "alt": words} for name, (_, words) in zip(named, drawings, strict=True)]
    return named, {"title": "slipwise", "pages": pages}

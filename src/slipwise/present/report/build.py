"""The typeset report: a PDF from a study's results and its figures."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import date
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from slipwise.present import tables_speed
from slipwise.present.report.blocks import Images
from slipwise.present.report.content import blocks
from slipwise.results.study import StudyResult

FOOTER = (
    "Results rest on the stated data. Maker's data, the network operator, local codes and a licensed engineer decide."
)


def report(result: StudyResult, figures: Mapping[str, bytes], *, day: date | None = None) -> bytes:
    """The report as PDF, tagged for screen readers (PDF/UA-1); with a date also fit for archives (PDF/A-2a).

    Args:
        result: of one study.
        figures: SVG by name; a name that begins with the key of a way stands in its section, others after the verdict.
        day: printed in the head of each page and kept in the file. None prints none; the archive standard needs one.

    Returns:
        The same bytes for the same arguments on one machine.

    Raises:
        RuntimeError: the typesetting failed (typst's own `TypstError`), for example on a figure that is not SVG.
    """
    images = Images()
    return typeset(document(result, figures, images, day), images, day)


def typeset(data: Mapping[str, Any], images: Images, day: date | None, template: bytes = b"") -> bytes:
    """The PDF of what a template is given (see `document`); the report's template if none. Raises RuntimeError as `report`."""
    import typst

    template = template or (files("slipwise.present.report") / "report.typ").read_bytes()
    sources = {"main.typ": template, **{f"images/{name}": svg for name, svg in images.files.items()}}
    compiled: Callable[..., Any] = (
        typst.compile
    )  # its stub does not know that several files may be handed over as bytes
    made = compiled(
        sources,
        format="pdf",
        font_paths=[str(font_folder())],
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
        pdf_standards=["a-2a", "ua-1"] if day else ["ua-1"],
    )
    if not isinstance(made, bytes):
        raise RuntimeError("the typesetting gave no single file")
    return made


def document(result: StudyResult, figures: Mapping[str, bytes], images: Images, day: date | None) -> dict[str, Any]:
    """All that the template is given; `images` is filled with the pictures it names."""
    version = f"slipwise {result.slipwise_version}"
    printed = f"{day.day} {day:%B %Y}" if day else ""
    parts = (f"Study file: {result.file}" if result.file else "", f"Computed by {version}", printed)
    return {
        "title": result.title,
        "description": tables_speed.answer(result),
        "subtitle": "   ·   ".join(part for part in parts if part),
        "version": version,
        "date": [day.year, day.month, day.day] if day else None,
        "printed-date": printed,
        "footer": FOOTER,
        "blocks": list(blocks(result, figures, images)),
    }


def font_folder() -> Path:
    """Where DejaVu Sans lies: matplotlib, which draws the figures with it, brings it along with its licence.

    Raises:
        RuntimeError: matplotlib is not installed.
    """
    found = find_spec("matplotlib")
    if found is None or found.origin is None:
        raise RuntimeError("DejaVu Sans comes with matplotlib, and matplotlib is not installed: install slipwise again")
    return Path(found.origin).parent / "mpl-data" / "fonts" / "ttf"

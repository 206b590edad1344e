"""What the overload relay makes of a start, what the starter's parts bear, and the sheet for the panel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from slipwise.present import tables, tables_protection
from slipwise.present.figures import canvas, time_current
from slipwise.present.figures.look import Look
from slipwise.present.report.blocks import (
    Block,
    Images,
    bullets,
    figure,
    heading,
    paragraph,
    signature,
    table,
)
from slipwise.results.study import StudyResult, WayResult

PANEL = ("dials", "expected")  # they stand on the sheet


def blocks(way: WayResult) -> Iterator[Block]:
    """Relay, trips, contactors and orders of one way, or what there is of them."""
    if way.protection is not None:
        words = way.protection.words
        yield paragraph(f"{words[:1].upper()}{words[1:].rstrip('.')}.", leads_in=True)
        for key, found in tables_protection.all_protection(way):
            if key not in PANEL and found.rows:
                yield table(found)
    if way.duty is not None:
        yield table(tables_protection.duty(way.duty))


def panel(way: WayResult) -> Iterator[Block]:
    """The settings and the expected measurements of one way."""
    for found in (tables_protection.dials(way), tables_protection.expected(way)):
        if found.rows:
            yield table(found)


def sheet(result: StudyResult, way: WayResult, *, day: date | None = None) -> bytes:
    """The settings sheet of one way as PDF, tagged for screen readers; with a date also fit for archives.

    Args:
        result: of one study.   way: one of its ways, with a protection.
        day: printed in the head of each page; None prints none.

    Raises:
        RuntimeError: the typesetting failed.
    """
    from slipwise.present.report.build import FOOTER, typeset

    images = Images()
    version = f"slipwise {result.slipwise_version}"
    printed = f"{day.day} {day:%B %Y}" if day else ""
    parts = (f"Study file: {result.file}" if result.file else "", f"Computed by {version}", printed)
    data: Mapping[str, Any] = {
        "title": f"{result.title}: settings sheet",
        "description": f"Every dial of the way {way.title} with its value, and what to expect when it is first started.",
        "subtitle": "   ·   ".join(part for part in parts if part),
        "version": version,
        "date": [day.year, day.month, day.day] if day else None,
        "printed-date": printed,
        "footer": FOOTER,
        "blocks": list(_sheet(result, way, images)),
    }
    return typeset(data, images, day)


def _sheet(result: StudyResult, way: WayResult, images: Images) -> Iterator[Block]:
    yield paragraph(f"Way of starting: {way.title}. {_motor(result)}")
    yield from panel(way)
    drawn = time_current.time_current(result, way, Look(size="print"))
    file = images.put("time_current", canvas.render(drawn, "svg"))
    yield figure(file, canvas.alternative_text(drawn), "Start, limits and trips, current against time.")
    yield heading("Cautions")
    yield bullets(result.cautions)
    yield heading("Signatures")
    yield signature()


def _motor(result: StudyResult) -> str:
    found = tables.rated(result)
    names = (row[0].removeprefix("motor.").replace("_", " ") for row in found.rows)
    return "Motor: " + "; ".join(f"{name} {row[1]}" for name, row in zip(names, found.rows[:6], strict=False)) + "."

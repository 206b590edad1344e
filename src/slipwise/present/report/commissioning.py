"""The commissioning sheet: a recorded start over its prediction, deviations and settings, as PDF; and that of a fit alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from slipwise.present import tables_recording
from slipwise.present.figures import canvas, recording
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
    verdict,
)
from slipwise.present.report.build import FOOTER, typeset
from slipwise.results.recording import Commissioning, RecordingResult


def commissioning_sheet(found: Commissioning, *, version: str, day: date | None = None) -> bytes:
    """The sheet as PDF, tagged for screen readers; with a date also fit for archives.

    Args:
        found: see `identify.commissioning.lay_over`.   version: of slipwise.
        day: printed in the head of each page; None prints none.

    Raises:
        RuntimeError: the typesetting failed.
    """
    images = Images()
    blocks = list(_commissioning(found, images))
    words = "A recorded start laid over the predicted band, deviations, and settings as found."
    return typeset(_document(f"{found.title}: commissioning", words, blocks, version, day), images, day)


def recording_sheet(found: RecordingResult, *, title: str, version: str, day: date | None = None) -> bytes:
    """The fit of a recorded start alone, as PDF. Arguments and errors as `commissioning_sheet`."""
    images = Images()
    blocks = [*_fit(found, images), heading("Cautions"), bullets(found.cautions)]
    words = "A recorded start: what was done to it, what it tells, and what it cannot."
    return typeset(_document(title, words, blocks, version, day), images, day)


def _document(title: str, words: str, blocks: list[Block], version: str, day: date | None) -> Mapping[str, Any]:
    made = f"slipwise {version}"
    printed = f"{day.day} {day:%B %Y}" if day else ""
    return {
        "title": title,
        "description": words,
        "subtitle": "   ·   ".join(part for part in (f"Computed by {made}", printed) if part),
        "version": made,
        "date": [day.year, day.month, day.day] if day else None,
        "printed-date": printed,
        "footer": FOOTER,
        "blocks": blocks,
    }


def _commissioning(found: Commissioning, images: Images) -> Iterator[Block]:
    outside = [row for row in found.deviations if row.status in ("above", "below")]
    other = [row for row in found.settings if row.same is False]
    if outside:
        head = f"{len(outside)} of {len(found.deviations)} figures lie outside the prediction."
    else:
        edge = " or at its edge" if any(row.status == "at the edge" for row in found.deviations) else ""
        head = f"All {len(found.deviations)} figures lie inside the prediction{edge}."
    lines = [f"{row.name}: recorded {row.status} the prediction; {row.meaning}." for row in outside]
    lines += [f"Setting {row.name}: proposed {row.proposed}, found {row.found}." for row in other]
    yield verdict(head, lines)
    yield _picture(images, "laid_over", recording.laid_over(found, Look(size="print")), "Recorded over predicted.")
    yield table(tables_recording.deviations(found))
    if found.settings:
        yield table(tables_recording.settings(found))
    yield from _fit(found.recording, images)
    yield heading("Cautions")
    yield bullets(found.cautions)
    yield heading("Signatures")
    yield signature()


def _fit(found: RecordingResult, images: Images) -> Iterator[Block]:
    look = Look(size="print")
    yield heading("What the recording tells")
    yield table(tables_recording.values(found))
    yield _picture(images, "joint_region", recording.joint_region(found, look), "Joint 95 % region.")
    yield _picture(images, "load_torque", recording.load_torque(found, look), "Resisting torque with its 95 % band.")
    yield heading("What it cannot tell", 2)
    if found.indistinct:
        yield bullets(found.indistinct)
    else:
        yield paragraph("Every value of the model is seen in this recording.")
    yield heading("How the model follows the recording", 2)
    yield _picture(images, "fit", recording.fit(found, look), "Recording, fit, and what is left.")
    yield table(tables_recording.misfit(found))
    yield heading("How it was found")
    yield table(tables_recording.steps(found))
    yield bullets(found.notes)


def _picture(images: Images, name: str, drawn: Any, caption: str) -> Block:
    file = images.put(name, canvas.render(drawn, "svg"))
    return figure(file, canvas.alternative_text(drawn), caption)

"""The part of the report on stopping: the choice, the ways side by side, then each way in full."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from slipwise.present import tables, tables_stopping
from slipwise.present.report.blocks import Block, Images, bullets, heading, new_page, note, paragraph, table, verdict
from slipwise.present.report.pictures import drawings, figures_of
from slipwise.results.stopping import StoppingResult, StopWayResult
from slipwise.results.table import Table

COMMON = "stopping"


def owns(name: str) -> bool:
    """Whether a figure of this name belongs to stopping: `stopping`, or `stop_plugging.stop`."""
    first = re.split(r"[./]", name)[0]
    return first == COMMON or first.startswith("stop_")


def blocks(
    result: StoppingResult | None, figures: Mapping[str, bytes], images: Images
) -> Iterator[Block]:  # fmt: skip
    """What to take and why, all ways compared, then way by way; nothing when stopping was not asked for."""
    if result is None:
        return
    yield new_page()
    yield heading("Stopping")
    yield verdict(tables_stopping.verdict_sentence(result), (result.recommendation.reason,))
    yield from _table(tables_stopping.comparison(result), "")
    yield from _table(tables_stopping.heat(result))
    yield from figures_of(figures, images, lambda name: re.split(r"[./]", name)[0] == COMMON)
    yield bullets(result.notes)
    for way in tables_stopping.ranked(result):
        yield from _way(result, way, figures, images)


def _way(
    result: StoppingResult, way: StopWayResult, figures: Mapping[str, bytes], images: Images
) -> Iterator[Block]:  # fmt: skip
    if way.stops:
        yield new_page()
    place = tables_stopping.place(result, way)
    yield heading(f"Stopping: {way.title}" + (f" ({place})" if place else ""))
    yield paragraph(f"{_sentence(tables.STATUS_WORDS[way.verdict.status])} {_sentence(way.verdict.reason)}")
    if way.settings:
        yield from _table(tables.settings(way), "Settings")
    yield from _table(tables_stopping.parts(way), "What it takes")
    if way.wiring.devices:
        yield heading("Power circuit", 2)
        yield from drawings(f"stop_{way.key}", way.wiring, images)
        yield from _table(tables.contacts(way), "Contacts")
        words = " ".join((*(f"{d.label}: {d.note}." for d in way.wiring.devices if d.note), *way.wiring.notes))
        yield from ((note(words),) if words else ())
    if not way.stops:
        return
    yield heading("The stop", 2)
    yield from figures_of(figures, images, lambda name: re.split(r"[./]", name)[0] == f"stop_{way.key}")
    yield from _table(tables.criteria(way), "Criteria")
    yield from _table(tables_stopping.stops(way), "The stop in each case")
    run = way.stops[0].run
    yield from _table(tables.stages(run.stages), f"Stages, {run.case} case")
    yield from _table(tables.ledger(run.energy), f"Where the energy went, {run.case} case")
    if way.band is None:
        yield paragraph(_sentence(way.transient_note))
        return
    yield from _table(tables.peaks(way, "the whole stop"), "Peaks of the electrical transient")
    yield from _table(tables.ledger(way.band.worst.energy), "Where the energy went, electrical transient")


def _table(found: Table, title: str | None = None) -> Iterator[Block]:
    if found.rows:
        yield table(found, title=title)


def _sentence(words: str) -> str:
    text = words.strip()
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '!', '?', ':')) else '.'}" if text else ""

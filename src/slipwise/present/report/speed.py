"""The part of the report on speed control: the choice, the ways side by side, then each way in full."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from slipwise.present import tables, tables_speed, tables_speed_way
from slipwise.present.report.blocks import Block, Images, bullets, heading, new_page, note, paragraph, table, verdict
from slipwise.present.report.pictures import drawings, figures_of, winding_drawings
from slipwise.results.speed import SpeedResult, SpeedWayResult
from slipwise.results.table import Table


def answer(result: SpeedResult, figures: Mapping[str, bytes], images: Images) -> Iterator[Block]:
    """What to take and why, the duty, all ways compared with the figures of all."""
    yield verdict(tables_speed.verdict_sentence(result), (_sentence(result.recommendation.reason),))
    yield from _table(tables_speed.comparison(result))
    yield from _table(tables_speed.duty(result))
    yield from figures_of(figures, images, is_common)
    if result.notes:
        yield bullets(result.notes)


def is_common(name: str) -> bool:
    """Whether a figure shows all ways of speed control."""
    return name.startswith("speed_") and "." not in name


def ways(result: SpeedResult, figures: Mapping[str, bytes], images: Images) -> Iterator[Block]:
    """Each way: verdict, settings, circuit, curves, demand by demand, criteria, what to buy."""
    for way in tables_speed.ranked(result):
        yield from _way(result, way, figures, images)


def _way(
    result: SpeedResult, way: SpeedWayResult, figures: Mapping[str, bytes], images: Images
) -> Iterator[Block]:  # fmt: skip
    if way.points:
        yield new_page()
    yield heading(way.title + _place(result, way))
    yield paragraph(f"{_sentence(tables.STATUS_WORDS[way.status])} {_sentence(way.verdict.reason)}")
    if way.settings:
        yield from _table(tables.settings(way), "Settings")
    elif way.designed:
        yield paragraph(_sentence(way.designed))
    if way.wiring.devices:
        yield heading("Power circuit", 2)
        yield from drawings(way.key, way.wiring, images)
        yield from _table(tables.contacts(way), "Contacts")
        yield note(" ".join((*(f"{d.label}: {d.note}." for d in way.wiring.devices if d.note), *way.wiring.notes)))
    if way.wiring.windings:
        yield heading("Winding", 2)
        yield from winding_drawings(way.key, way.wiring, images)
        yield from _table(tables_speed_way.windings(way), "")
    if way.points:
        yield heading("Curves and demands", 2)
        yield from figures_of(figures, images, lambda name: re.split(r"[./]", name)[0] == way.key)
        for found in (*tables_speed_way.chief(way), tables_speed_way.harmonics(way)):
            yield from _table(found)
        yield from _table(tables.criteria(way), "Criteria")
    if way.notes:
        yield bullets(way.notes)


def _place(result: SpeedResult, way: SpeedWayResult) -> str:
    chosen = {result.recommendation.runner_up: " (runner-up)", result.recommendation.way: " (recommended)"}
    return chosen.get(way.key, "")


def _table(found: Table, title: str | None = None) -> Iterator[Block]:
    if found.rows:
        yield table(found, title=title)


def _sentence(words: str) -> str:
    text = words.strip()
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '!', '?', ':')) else '.'}" if text else ""

"""What stands in the report and in which order. Every number comes out of a result through `quantity.show`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import chain

from slipwise.present import tables, tables_disturbance, tables_duty, tables_group, tables_heat, tables_protection
from slipwise.present.report import disturbances, equations, group, protection, speed, stopping
from slipwise.present.report.blocks import (
    Block,
    Images,
    bullets,
    heading,
    new_page,
    note,
    paragraph,
    signature,
    table,
    verdict,
)
from slipwise.present.report.pictures import drawings, figures_of, numbered, told
from slipwise.results.speed import SpeedWayResult
from slipwise.results.study import StudyResult, WayResult
from slipwise.results.table import Table

__all__ = ["blocks", "told"]


def blocks(result: StudyResult, figures: Mapping[str, bytes], images: Images) -> Iterator[Block]:
    """The whole report, top to bottom."""
    yield from numbered(_content(result, figures, images))


def _content(result: StudyResult, figures: Mapping[str, bytes], images: Images) -> Iterator[Block]:
    if result.ways or (result.speed is None and result.stopping is None):
        yield from _answer(result)
    elif result.disturbances:
        yield paragraph(tables_disturbance.headline(result))
    yield from figures_of(figures, images, lambda name: _owner(name, result) is None)
    if result.speed is not None:
        yield from speed.answer(result.speed, figures, images)
    yield from _table(tables_duty.duty(result))
    yield from _table(tables_duty.duty_energy(result))
    for _, found in tables_heat.all_heat(result):
        yield from _table(found)
    yield from _inputs(result)
    for way in tables.ranked(result):
        yield from _way(result, way, figures, images)
    if result.speed is not None:
        yield from speed.ways(result.speed, figures, images)
    yield from stopping.blocks(result.stopping, figures, images)
    yield from group.blocks(result, figures, images)
    yield from disturbances.blocks(result, figures, images)
    yield from _equations(result)
    yield from _assumptions(result)
    yield heading("Cautions")
    yield bullets(result.cautions)
    yield heading("Signatures")
    yield signature()


def _answer(result: StudyResult) -> Iterator[Block]:
    recommendation = result.recommendation
    compared = {way.key for way in result.ways}
    order = ", ".join(_title(result, key) for key in recommendation.order if key in compared)
    best = next((way for way in result.ways if way.key == recommendation.way), None)
    set_to, protect = ("", "") if best is None else (tables.set_text(best), tables_protection.protect_text(best))
    yield verdict(
        tables.verdict_sentence(result),
        (
            _sentence(recommendation.reason),
            f"Set: {set_to}." if set_to else "",
            f"Protect: {protect}." if protect else "",
            f"Order of preference: {order}." if order else "",
            tables_group.headline(result),
            tables_disturbance.headline(result),
        ),
    )
    yield from _table(tables.comparison(result))
    yield from _table(tables_duty.load_cases(result))
    loose = len(tables.not_given(result).rows)
    if loose:
        yield paragraph(f"{loose} values were not given; they stand with their ranges under Assumptions.")


def _inputs(result: StudyResult) -> Iterator[Block]:
    """Given and derived values by the section of the study file; then the motor's figures, and its plate."""
    yield heading("What was given, and what follows from it")
    found = tables.given(result)
    sections: dict[str, list[tuple[str, ...]]] = {}
    for cells in found.rows:
        sections.setdefault(re.split(r"[.\[]", cells[0])[0], []).append(cells)
    sections.pop("title", None)  # it stands at the head of the report
    for name, rows in sections.items():
        part = Table(title=_sentence(name.replace("_", " ")).rstrip("."), columns=found.columns, rows=tuple(rows))
        yield from _table(part)
    yield from _table(tables.rated(result), "Motor: rated and derived figures")
    yield from _table(tables.plate(result))


def _way(result: StudyResult, way: WayResult, figures: Mapping[str, bytes], images: Images) -> Iterator[Block]:
    if way.run_ups:
        yield new_page()
    place = tables.place(result, way)
    yield heading(way.title + (f" ({place})" if place else ""))
    yield paragraph(f"{_sentence(tables.STATUS_WORDS[way.verdict.status])} {_sentence(way.verdict.reason)}")
    yield from (paragraph(_sentence(words)) for words in way.comparisons)
    if way.settings:
        yield from _table(tables.settings(way), "Settings")
    elif way.designed:
        yield paragraph(_sentence(way.designed))
    yield from _under("Power circuit", _circuit(way, images))
    own = figures_of(figures, images, lambda name: _owner(name, result) == way.key)
    yield from _under("Curves, criteria and run-up", chain(own, _run_up(way)))
    yield from _under("Electrical transient", _transient(way))
    if place:
        yield from _under("Settings sheet", protection.panel(way))
    yield from _under("Protection and switchgear", protection.blocks(way))


def _under(title: str, found: Iterator[Block]) -> Iterator[Block]:
    """A heading with what stands below it, or nothing."""
    blocks_found = list(found)
    if blocks_found:
        yield heading(title, 2)
        yield from blocks_found


def _circuit(way: WayResult, images: Images) -> Iterator[Block]:
    if way.wiring.devices:
        yield from drawings(way.key, way.wiring, images)
        yield from _table(tables.contacts(way), "Contacts")
        yield note(" ".join((*(f"{d.label}: {d.note}." for d in way.wiring.devices if d.note), *way.wiring.notes)))


def _run_up(way: WayResult) -> Iterator[Block]:
    yield from _table(tables.criteria(way), "Criteria")
    yield from _table(tables.cases(way), "Run-up in each case")
    for run_up in way.run_ups[:1]:
        yield from _table(tables.ledger(run_up.energy), f"Where the energy went, run-up, {run_up.case} case")
        yield from _table(tables.stages(run_up.stages), f"Stages, {run_up.case} case")


def _transient(way: WayResult) -> Iterator[Block]:
    if way.band is None:
        yield from (paragraph(_sentence(words)) for words in (way.transient_note,) if words)
        return
    yield from _table(tables.peaks(way), "Peaks")
    yield from _table(tables.ledger(way.band.worst.energy), "Where the energy went, electrical transient")
    if way.transient_note:
        yield note(way.transient_note)


def _equations(result: StudyResult) -> Iterator[Block]:
    ways = {way.key: way.title for way in (*_every(result), *result.disturbances)}
    yield new_page()
    yield heading("Equations used")
    for formula, others in equations.formulas(result.explanations, ways):
        yield formula
        if others is not None:
            yield from _table(others)
    settings = {f"{way.key}.{setting.key}" for way in _every(result) for setting in way.settings}
    yield from _table(equations.computed(result.explanations, ways, settings))


def _every(result: StudyResult) -> tuple[WayResult | SpeedWayResult, ...]:
    """The ways of starting and of speed control."""
    return result.ways if result.speed is None else (*result.ways, *result.speed.ways)


def _assumptions(result: StudyResult) -> Iterator[Block]:
    yield heading("Assumptions")
    yield from _table(tables.not_given(result), "")


def _owner(name: str, result: StudyResult) -> str | None:
    """The way or the part a figure belongs to: `direct.run_up` to direct, `speed_year` to speed, `comparison` to none."""
    first = re.split(r"[./]", name)[0]
    if any(way.key == first for way in (*_every(result), *result.disturbances)):
        return first
    if first == group.OWNER:
        return first
    if stopping.owns(name):
        return "stopping"
    return "speed" if speed.is_common(name) else None


def _table(found: Table, title: str | None = None) -> Iterator[Block]:
    """A table with rows; an empty one gives its note or nothing."""
    if found.rows:
        yield table(found, title=title)
    elif found.note:
        yield note(found.note)


def _title(result: StudyResult, key: str | None) -> str:
    return next((way.title for way in result.ways if way.key == key), key or "")


def _sentence(words: str) -> str:
    """Capital first, full stop last."""
    text = words.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text.endswith((".", "!", "?", ":")) else ".")

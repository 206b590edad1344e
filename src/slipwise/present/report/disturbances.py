"""The part of the report on bad supplies: what happens, whether it is borne, what to do."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from slipwise.present import tables, tables_disturbance
from slipwise.present.report.blocks import Block, Images, bullets, heading, new_page, paragraph, table
from slipwise.present.report.pictures import figures_of
from slipwise.results.disturbance import DisturbanceResult
from slipwise.results.study import StudyResult


def blocks(result: StudyResult, figures: Mapping[str, bytes], images: Images) -> Iterator[Block]:
    """All disturbances at a glance, then each in full; nothing when none was asked for."""
    if not result.disturbances:
        return
    yield new_page()
    yield heading("Bad supplies")
    yield table(tables_disturbance.overview(result), title="")
    for found in result.disturbances:
        yield from _one(found, figures, images)


def _one(found: DisturbanceResult, figures: Mapping[str, bytes], images: Images) -> Iterator[Block]:
    yield heading(found.title, 2)
    yield paragraph(tables_disturbance.reason(found))
    yield from figures_of(figures, images, lambda name: re.split(r"[./]", name)[0] == found.key)
    if found.actions:
        yield bullets(found.actions)
    for shown, title in ((tables.criteria(found), "Criteria"), (tables_disturbance.numbers(found), "Numbers")):
        if shown.rows:
            yield table(shown, title=title)

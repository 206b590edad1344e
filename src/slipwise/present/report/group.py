"""The part of the report on several motors: which sequence to take, what each does, and a dip while all of them run."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from slipwise.present import tables_group
from slipwise.present.report.blocks import Block, Images, heading, new_page, table
from slipwise.present.report.pictures import figures_of
from slipwise.results.study import StudyResult

OWNER = "group"


def blocks(result: StudyResult, figures: Mapping[str, bytes], images: Images) -> Iterator[Block]:
    """The whole part; nothing when the study has no group."""
    if result.group is None:
        return
    yield new_page()
    yield heading("Several motors on one path")
    found = [shown for _, shown in tables_group.all_group(result) if shown.rows or shown.note]
    yield from (table(shown) for shown in found[:2])
    yield from figures_of(figures, images, lambda name: name.startswith(f"{OWNER}."))
    yield from (table(shown) for shown in found[2:])

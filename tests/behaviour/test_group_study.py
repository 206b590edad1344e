"""A group of motors in a study file: what is answered, shown, kept and explained."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from slipwise.present.figures.canvas import alternative_text
from slipwise.present.figures.catalogue import catalogue, draw
from slipwise.present.report.blocks import Images
from slipwise.present.report.content import blocks
from slipwise.present.tables_group import all_group
from slipwise.present.terminal import text
from slipwise.quantity.errors import InputError
from slipwise.results.codec import from_json, to_json
from slipwise.results.criteria import Status
from slipwise.results.start import Outcome
from slipwise.results.study import StudyResult
from slipwise.study.reader import load
from slipwise.study.run import run

EXAMPLE = Path(__file__).parents[2] / "examples" / "waterworks_w1.toml"


@cache
def answered() -> StudyResult:
    """The shipped example, the group alone."""
    return run(replace(load(EXAMPLE), ways=()), transients=False, boundaries=False, ensemble=0)


def test_the_proposed_sequence_keeps_every_limit() -> None:
    """In both cases, and it needs no more switchings than one a motor."""
    group = answered().group
    assert group is not None
    best = next(order for order in group.sequences if order.key == group.proposed)
    assert best.verdict.status is not Status.FAILS
    assert all(row.margin is None or row.margin >= 0 for row in best.verdict.criteria)
    assert sorted(name for batch in best.batches for name in batch) == ["P3", "W1", "W2"]
    for run_ in best.runs:
        assert all(track.outcome is Outcome.ARRIVED for track in run_.tracks)


def test_a_batch_waits_until_the_one_before_is_at_speed() -> None:
    """No switching falls into the run-up of another, in either case, and the pause is kept."""
    group = answered().group
    assert group is not None
    best = next(order for order in group.sequences if order.key == group.proposed)
    for run_ in best.runs:
        ends = {t.name: (t.switch_on or 0.0) + (t.run_up_time or np.inf) for t in run_.tracks}
        for batch, following in zip(best.batches, best.switch_on[1:], strict=False):
            assert following >= max(ends[name] for name in batch) + 2.9


def test_all_at_once_is_refused_with_its_reason() -> None:
    """The words of the proposal name what breaks first when all start together, and it is so in the run."""
    group = answered().group
    assert group is not None
    together = next(order for order in group.sequences if order.key == "together")
    assert together.verdict.status is Status.FAILS
    assert "dip at pump house" in group.words
    worst = min(together.verdict.criteria, key=lambda row: row.margin if row.margin is not None else 9.0)
    assert worst.key == "dip:pump house"


def test_a_contactor_that_does_not_hold_is_named() -> None:
    """P3 falls out in the dip, the two others come back."""
    found = answered().group
    assert found is not None
    assert found.dip is not None
    assert [t.name for t in found.dip.run.tracks if t.dropped is not None] == ["P3"]
    assert "P3" in found.dip.words


def test_it_is_shown_drawn_and_kept(tmp_path: Path) -> None:
    """Terminal text, every table, every figure with words, and the data file and back."""
    result = answered()
    assert "Switch the group on so" in text(result)
    found = list(blocks(result, {}, Images()))
    assert any("Several motors on one path" in str(block) for block in found)
    assert len([key for key, table in all_group(result) if table.rows]) >= 7
    keys = [entry.key for entry in catalogue(result) if entry.key.startswith("group.")]
    assert keys == ["group.proposed", "group.stated", "group.listed", "group.together", "group.dip"]
    assert "at 0" in alternative_text(draw(result, "group.proposed"))
    back = from_json(to_json(result, tmp_path / "series"), tmp_path)
    assert back.group is not None
    assert result.group is not None
    assert back.group.words == result.group.words
    assert back.group.sequences[0].runs[0].speed == pytest.approx(result.group.sequences[0].runs[0].speed, rel=1e-8)


def test_its_numbers_are_explained() -> None:
    """Each dip of the proposed sequence by the formula of the dip."""
    names = {row.name: row for row in answered().explanations}
    row = names["group.proposed.dip:pump house"]
    assert row.formula == "limits.dip"
    group = answered().group
    assert group is not None
    found = {r.key: r for r in group.sequences[0].verdict.criteria}
    assert row.value == pytest.approx(found["dip:pump house"].value, rel=1e-9)


def test_a_fault_in_the_other_file_is_told(tmp_path: Path) -> None:
    """A motor's own file that is missing or wrong is named at the motor."""
    file = tmp_path / "one.toml"
    file.write_text(EXAMPLE.read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(InputError, match=r'group\.motor\[3\]\.study: "pump_p3\.toml": .*no such file'):
        load(file)

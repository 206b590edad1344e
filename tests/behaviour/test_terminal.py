"""The answer in the terminal: verdict first, plain when piped, steady at 80 and 120 columns."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest

from slipwise.present import tables, terminal
from slipwise.present.tables_all import all_tables
from slipwise.quantity.show import show
from slipwise.results.criteria import Recommendation, Status
from slipwise.results.start import Outcome
from tests.behaviour.sample_result import sample

WIDTHS = (80, 120)


@pytest.mark.parametrize("width", WIDTHS)
def test_plain_text_keeps_its_width(width: int) -> None:
    """No line is longer than asked, for the study and for each way."""
    texts = [terminal.text(sample(), width), *(terminal.way_text(sample(), way.key, width) for way in sample().ways)]
    assert max(len(line) for text in texts for line in text.splitlines()) <= width


@pytest.mark.parametrize("width", WIDTHS)
def test_plain_text_has_no_codes_and_no_drawing_characters(width: int) -> None:
    """A pipe gets neither escape codes, nor box characters, nor odd spaces."""
    text = terminal.text(sample(), width) + terminal.way_text(sample(), "star_delta", width)
    assert not re.search("[\x1b\u2500-\u257f\u202f\u00a0\u2212]", text)


def test_printing_to_a_pipe_is_plain() -> None:
    """A stream that is no terminal gets plain text."""
    out = io.StringIO()
    terminal.print_result(sample(), out)
    assert out.getvalue().startswith(sample().title)
    assert "\x1b" not in out.getvalue()


def test_a_narrow_encoding_does_not_fail() -> None:
    """A stream that cannot write m² still gets the answer."""
    raw = io.BytesIO()
    out = io.TextIOWrapper(raw, encoding="ascii")
    terminal.print_result(sample(), out)
    out.flush()
    assert b"Start it by" in raw.getvalue()


def test_the_verdict_comes_first() -> None:
    """The recommended way stands before the reason, the table, what was not given, and the cautions."""
    text = terminal.text(sample(), 120)
    best = next(way.title for way in sample().ways if way.key == sample().recommendation.way)
    order = ["Start it by: " + best, sample().recommendation.reason, "The ways compared", "What was not given", "Mind"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_every_number_of_the_comparison_is_a_result() -> None:
    """Each row shows the binding value, its limit and the margin of that way's verdict."""
    rows = {row[0]: row for row in tables.comparison(sample()).rows}
    for way in sample().ways:
        binding = way.verdict.binding
        assert binding is not None
        assert rows[way.title][2] == binding.title
        assert rows[way.title][3] == show(binding.value, binding.unit)
        assert rows[way.title][5] == tables.signed(binding.margin)


def test_ways_that_fail_stand_below_those_that_pass() -> None:
    """Recommended and runner-up first, then by verdict, whatever the order in which the study lists them."""
    stands = (Status.FAILS, Status.NOT_APPLICABLE, Status.CONDITION, Status.PASSES, Status.FAILS)
    first = sample().ways[0]
    ways = tuple(
        replace(first, key=f"w{n}", title=f"W{n}", verdict=replace(first.verdict, status=status))
        for n, status in enumerate(stands)
    )
    chosen = Recommendation(way="w2", runner_up=None, reason="asked for", order=())
    result = replace(sample(), ways=ways, recommendation=chosen)
    assert [row[0] for row in tables.comparison(result).rows] == ["W2", "W3", "W0", "W4", "W1"]


def test_binding_criterion_leads_its_table() -> None:
    """Criteria stand tightest first, those not judged last."""
    for way in sample().ways:
        margins = [row.margin for row in tables.by_margin(way.verdict.criteria)]
        judged = [m for m in margins if m is not None]
        assert judged == sorted(judged)
        assert margins[: len(judged)] == judged


def test_assumed_and_given_stand_apart() -> None:
    """What was not given is listed on its own, with its range; what was given is not in it."""
    missing = {row[0] for row in tables.not_given(sample()).rows}
    stated = {row[0] for row in tables.given(sample()).rows}
    assert missing == {"motor.inertia", "load.breakaway", "supply.main_board.base_load"}
    assert not missing & stated
    assert len(missing | stated) == len(sample().inputs)


def test_when_nothing_passes_it_says_so() -> None:
    """Without a recommendation the first sentence says that no way passes."""
    none = replace(sample(), recommendation=Recommendation(way=None, runner_up=None, reason="all fail", order=()))
    assert "None of the ways compared passes." in terminal.text(none)


def test_a_start_that_hangs_shows_where() -> None:
    """A start that crawls shows the speed at which it hangs in place of a time."""
    run = next(r for w in sample().ways for r in w.run_ups if r.outcome is Outcome.HANGS)
    assert tables.run_up_text(run) == f"hangs at {show(run.hang_speed, 'rad/s')}"


def test_status_is_a_word() -> None:
    """Every status has its own word, so that colour carries nothing alone."""
    words = {tables.STATUS_WORDS[status] for status in Status}
    assert len(words) == len(Status)
    coloured = re.sub("\x1b\\[[0-9;]*m", "", terminal.text(sample(), 120, colour=True))
    assert "fails" in coloured
    assert "passes" in coloured


def test_ledger_rows_are_all_there() -> None:
    """Every energy of the ledger is shown once, in one unit."""
    energy = sample().ways[0].run_ups[0].energy
    table = tables.ledger(energy)
    assert sorted(row[0] for row in table.rows) == sorted(row.name for row in energy.rows)
    assert table.columns[-1].title == "kJ"


def test_tables_have_one_cell_per_column() -> None:
    """Every table is rectangular and has a title."""
    for key, table in all_tables(sample()):
        assert table.title, key
        assert all(len(row) == len(table.columns) for row in table.rows), key


def test_a_margin_far_out_is_put_in_words() -> None:
    """Eleven times the limit says no more than five times; the sign stays."""
    assert tables.signed(0.24) == f"+{show(0.24, 'pu')}"
    assert tables.signed(11.0) == f"over +{show(5.0, 'pu')}"
    assert tables.signed(-6.5) == f"under {show(-5.0, 'pu')}"
    assert tables.signed(11.0, short=True) == f">+{show(5.0, 'pu')}"

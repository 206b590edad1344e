"""From criteria to a verdict, from verdicts to a recommendation."""

from __future__ import annotations

from slipwise.results.criteria import Status, Verdict
from slipwise.study.verdict import recommend, verdict
from tests.hand_made import row, way

ORDER = ("direct", "star_delta", "autotransformer")


def _judged(status: Status, margin: float | None = 0.2) -> Verdict:
    return verdict((row("dip:board", status, margin), row("heat:hot", Status.PASSES, 0.5)))


def test_the_worst_status_rules_and_the_least_margin_binds() -> None:
    """One failing row fails the way; of two that pass, the tighter one binds."""
    passing = (row("a", Status.PASSES, 0.5), row("b", Status.PASSES, 0.1))
    assert (verdict(passing).status, verdict(passing).binding) == (Status.PASSES, passing[1])
    failing = (*passing, row("c", Status.FAILS, -0.7), row("d", Status.CONDITION, -0.9))
    assert (verdict(failing).status, verdict(failing).binding) == (Status.FAILS, failing[2])


def test_a_row_without_a_limit_is_information() -> None:
    """No limit, no part in the verdict."""
    assert verdict((row("a", Status.PASSES, 0.5), row("b", Status.UNKNOWN, None, None))).status is Status.PASSES


def test_a_limit_that_cannot_be_judged_is_a_condition() -> None:
    """A missing stall time leaves the way passing with that condition, in words."""
    missing = row("heat:hot", Status.UNKNOWN, None, 0.9, title="Heat", condition="no stall time is given")
    found = verdict((row("a", Status.PASSES, 0.5), missing))
    assert found.status is Status.CONDITION
    assert "heat is not judged: no stall time is given" in found.reason


def test_a_failing_reason_gives_value_limit_and_source() -> None:
    """Plain words: what, how much, against how much, whose."""
    dip = row("dip:Main board", Status.FAILS, -0.72, 0.10, title="Dip at Main board", value=0.172)
    reason = verdict((dip,)).reason.replace("\u202f", " ")
    assert reason == "dip at Main board, 17.2 % in the nominal case against 10 % (given by user)"


def test_the_simplest_way_that_passes_is_recommended() -> None:
    """Direct fails; star-delta comes before the autotransformer although its margin is smaller."""
    ways = (
        way("autotransformer", _judged(Status.PASSES, 0.6)),
        way("direct", _judged(Status.FAILS, -0.5)),
        way("star_delta", _judged(Status.PASSES, 0.1)),
    )
    found = recommend(ways, ORDER)
    assert (found.way, found.runner_up, found.order) == ("star_delta", "autotransformer", ORDER)
    assert found.reason.startswith("Direct fails: ")
    assert "Star-delta passes" in found.reason
    assert "Runner-up: Autotransformer" in found.reason


def test_the_user_may_change_the_order() -> None:
    """With the autotransformer first in the order, it is taken first."""
    ways = (way("star_delta", _judged(Status.PASSES)), way("autotransformer", _judged(Status.PASSES)))
    assert recommend(ways, ("autotransformer", "star_delta")).way == "autotransformer"


def test_a_clean_pass_goes_before_a_conditional_one() -> None:
    """A condition moves a simpler way behind one that passes outright."""
    ways = (way("direct", _judged(Status.CONDITION, 0.02)), way("star_delta", _judged(Status.PASSES)))
    assert (recommend(ways, ORDER).way, recommend(ways, ORDER).runner_up) == ("star_delta", "direct")


def test_outside_the_order_the_margin_decides() -> None:
    """Ways the order does not name come after it, the larger margin first."""
    ways = (way("one", _judged(Status.PASSES, 0.1)), way("two", _judged(Status.PASSES, 0.3)))
    assert recommend(ways, ("direct",)).way == "two"
    named = (*ways, way("direct", _judged(Status.PASSES, 0.05)))
    assert recommend(named, ("direct",)).way == "direct"


def test_when_none_passes_the_recommendation_says_so() -> None:
    """No way, no runner-up, every reason."""
    found = recommend(
        (way("direct", _judged(Status.FAILS, -0.5)), way("star_delta", _judged(Status.FAILS, -0.1))), ORDER
    )
    assert (found.way, found.runner_up) == (None, None)
    assert found.reason.startswith("None of the ways passes. ")
    assert "Direct and Star-delta fail: " in found.reason


def test_ways_that_fail_alike_share_a_sentence() -> None:
    """One reason is said once, with every way that has it; another way keeps its own."""
    dip = row("dip:Main board", Status.FAILS, -0.72, 0.10, title="Dip at Main board", value=0.172)
    ways = (
        *(way(key, verdict((dip,))) for key in ("direct", "part_winding", "soft_starter")),
        way("star_delta", verdict((row("arrives", Status.FAILS, None, None, title="Arrives", condition="it hangs"),))),
    )
    reason = recommend(ways, ("direct", "part_winding", "soft_starter", "star_delta")).reason.replace("\u202f", " ")
    assert "Direct, Part-winding and Soft-starter fail: dip at Main board, 17.2 % in the nominal case" in reason
    assert "Star-delta fails: it hangs." in reason
    assert reason.count("17.2 %") == 1

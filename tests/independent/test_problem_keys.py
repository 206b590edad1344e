"""Keys of the bank against second roads on the same stated quantities; ten variants a problem here, 500 in the evidence."""

from __future__ import annotations

import pytest

from slipwise.teach.problems.bank import bank
from tests.independent.problem_checks import EXACT, absurd, compared
from tests.independent.problem_routes import ROUTES

VARIANTS = 10


def test_every_problem_has_a_second_road():
    """At least forty problems, each solved twice; no road without a problem."""
    assert set(ROUTES) == set(bank())
    assert len(ROUTES) >= 40


@pytest.mark.parametrize("name", list(bank()))
def test_key_agrees_with_the_second_road(name):
    """Exact answers agree to 1e-6; of a short formula the full computation does, and the gap stays within what is stated."""
    for number in range(VARIANTS):
        found = compared(bank()[name], f"sample/{number}")
        assert found.worst <= EXACT, found.where
        assert found.gaps_hold, found.gaps


@pytest.mark.parametrize("name", list(bank()))
def test_variants_are_sensible(name):
    """No value of a variant is degenerate or beyond what a machine of the trade has."""
    for number in range(VARIANTS):
        assert absurd(bank()[name], f"sample/{number}") == []

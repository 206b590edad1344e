"""Overload relays against the trip classes of the standard."""

from __future__ import annotations

from math import inf, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.limits.heat import locked_rotor
from slipwise.limits.overload_relay import TripClass, relay_heat, time_constant, trip_classes, tripping_time
from slipwise.limits.protection import protection, protection_row, starter_duty
from slipwise.model.machine.motor import StallLimit
from slipwise.results.criteria import Status
from tests.hand_made import run_up
from tests.reference import from_reference, reference, sampled
from tests.studies import motor


@from_reference("C-60947-trip")
def test_the_table_is_the_standards() -> None:
    """Seconds at 7.2 times the setting, class by class."""
    published = reference("C-60947-trip")["expected"]["seconds_min_exclusive_max_inclusive"]
    assert {kind.name: [kind.low, kind.high] for kind in trip_classes()} == published


@from_reference("C-60947-trip")
@pytest.mark.parametrize("kind", trip_classes(), ids=lambda kind: kind.name)
def test_each_relay_trips_within_its_class(kind: TripClass) -> None:
    """The quickest and the slowest relay of a class trip at 7.2 times the setting exactly at the edges of the class."""
    for seconds in (kind.low, kind.high):
        constant = time_constant(seconds)
        assert tripping_time(7.2, constant) == pytest.approx(seconds)
        just = relay_heat(np.array([0.0, seconds * 0.999]), np.full(2, 7.2), constant)
        assert just < 1 < relay_heat(np.array([0.0, seconds * 1.001]), np.full(2, 7.2), constant)


@from_reference("C-60947-limits")
def test_limits_of_operation() -> None:
    """At 1.05 times the setting never, at 1.2 times within two hours, as the standard asks of any class."""
    for kind in trip_classes():
        constant = time_constant(kind.high)
        assert tripping_time(1.05, constant) == inf
        assert tripping_time(1.2, constant, warm=1.0) < 7200


@sampled(40)
@given(multiple=st.floats(1.3, 9.0), pieces=st.integers(2, 40), warm=st.sampled_from((0.0, 1.0)))
def test_a_steady_current_warms_alike_in_one_piece_or_many(multiple: float, pieces: int, warm: float) -> None:
    """The heat along a constant current does not depend on how finely time is cut."""
    constant = time_constant(10.0)
    fine = relay_heat(np.linspace(0, 5, pieces + 1), np.full(pieces + 1, multiple), constant, warm)
    assert fine == pytest.approx(relay_heat(np.array([0.0, 5.0]), np.full(2, multiple), constant, warm), rel=1e-9)


def test_a_relay_in_the_winding_is_set_to_058_and_sees_the_winding() -> None:
    """In delta both places see the same multiple; a motor in star has the line alone."""
    m = motor()
    line = 6 * m.rating.current
    start = run_up(seconds=3.0, winding=line / sqrt(3), line_current=np.full(51, line))
    checks = protection(start, m).checks
    by_place = {place: [c for c in checks if c.place == place] for place in ("line", "winding")}
    assert by_place["winding"][0].setting == pytest.approx(0.577 * m.rating.current, rel=1e-3)
    assert [c.cold for c in by_place["line"]] == pytest.approx([c.cold for c in by_place["winding"]])


def _proposed(seconds: float, stall: StallLimit) -> tuple[str | None, Status]:
    """The class proposed for a start at the full standstill current, and the status of its row."""
    m = motor(stall=stall)
    line = locked_rotor(m).winding_current * sqrt(3)
    found = protection(run_up(seconds=seconds, winding=line / sqrt(3), line_current=np.full(51, line)), m)
    return found.proposed.trip_class if found.proposed else None, protection_row(found).status


def test_a_longer_start_needs_a_slower_class() -> None:
    """Six times rated current: short starts pass class 10A, longer ones class 20 or 30, from cold only in the end."""
    ample = StallLimit(cold=60.0, hot=40.0)
    assert _proposed(0.2, ample) == ("10A", Status.PASSES)
    assert _proposed(6.0, ample) == ("20", Status.CONDITION)
    assert _proposed(9.0, ample) == ("30", Status.CONDITION)
    assert _proposed(20.0, ample) == (None, Status.CONDITION)


def test_a_class_that_cannot_save_the_stalled_motor_is_not_proposed() -> None:
    """With a short stall time no class serves a long start; without one the row is for information."""
    assert _proposed(6.0, StallLimit(cold=8.0, hot=5.0)) == (None, Status.CONDITION)
    assert _proposed(0.2, StallLimit()) == ("10A", Status.UNKNOWN)


def test_starter_duty_of_a_steady_current() -> None:
    """900 A for 5 s is 4.05 MA2 s, with that very rms value."""
    duty = starter_duty(run_up(seconds=5.0, winding=900.0), 4.0)
    assert duty.current_squared_time == pytest.approx(900.0**2 * 5)
    assert (duty.rms, duty.greatest, duty.seconds) == (pytest.approx(900.0), 900.0, 5.0)

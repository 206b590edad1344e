"""Axis divisions, thinning and keeping apart: identities over random numbers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.present.figures.scale import divide, matching, round_step, round_up, speed_ticks, thinned
from slipwise.present.figures.transient import kept_apart
from tests.reference import sampled

sizes = st.floats(1e-4, 1e7)


@sampled(200)
@given(low=st.floats(-1e6, 1e6), high=st.floats(-1e6, 1e6))
def test_divisions_cover_what_is_drawn(low: float, high: float) -> None:
    """Round divisions reach over both ends (but for a trace of 3 %), with zero among the ticks."""
    low, high = min(low, high), max(low, high)
    found = divide(low, high)
    reach = max(high, -low, 0.0)
    if reach < 1e-30:  # nothing to draw
        return
    assert found.high >= high - 0.03 * reach
    assert found.low <= low + 0.03 * reach
    assert 0.0 in found.ticks
    assert len(found.ticks) <= 9


@sampled(200)
@given(high=sizes, second=sizes, low=st.floats(0, 1e6))
def test_second_axis_has_the_same_divisions(high: float, second: float, low: float) -> None:
    """The second axis has as many steps on either side of zero, and covers its own values."""
    first = divide(-low, high)
    other = matching(first, second)
    assert (other.below, other.above) == (first.below, first.above)
    if first.above:
        assert other.high >= second * (1 - 1e-9)


@sampled(200)
@given(value=sizes)
def test_round_up_is_round_and_not_under(value: float) -> None:
    """The step is 1, 2, 2.5 or 5 times a power of ten, at least the value, at most 2.5 times it."""
    step = round_up(value)
    assert value * (1 - 1e-9) <= step <= 2.5 * value
    assert round_step(step)


@pytest.mark.parametrize("poles", range(2, 14, 2))
@pytest.mark.parametrize("frequency", [50, 60])
def test_speed_axis_ends_at_synchronous_speed(poles: int, frequency: int) -> None:
    """Ticks go from zero to synchronous speed (120 x frequency / poles, the definition) in equal or nearly equal steps."""
    synchronous = 120 * frequency / poles
    ticks = speed_ticks(synchronous)
    assert ticks[0] == 0
    assert ticks[-1] == pytest.approx(synchronous)
    assert 4 <= len(ticks) <= 8
    assert np.diff(ticks).min() > 0.4 * np.diff(ticks).max()


@sampled(60)
@given(seed=st.integers(0, 10_000), count=st.integers(10, 20_000))
def test_thinning_keeps_ends_and_extremes(seed: int, count: int) -> None:
    """A thinned curve keeps first and last point, the greatest and the least value, and the order."""
    random = np.random.default_rng(seed)
    x, y = np.linspace(0, 1, count), random.standard_normal(count)
    small_x, small_y = thinned(x, y, bins=100)
    assert (small_x[0], small_x[-1]) == (x[0], x[-1])
    assert (small_y.min(), small_y.max()) == (y.min(), y.max())
    assert (np.diff(small_x) > 0).all()
    assert len(small_x) <= 400 or len(small_x) == count <= 400


@sampled(200)
@given(places=st.lists(st.floats(0, 1), min_size=1, max_size=6), least=st.floats(0.01, 0.2))
def test_places_are_kept_apart_in_order(places: list[float], least: float) -> None:
    """Places come out at least so far apart, in the same order, their mean kept; those far enough apart stay."""
    moved = kept_apart(places, least)
    order = np.argsort(places, kind="stable")
    spread = np.asarray(moved)[order]
    assert (np.diff(spread) >= least - 1e-9).all()
    assert np.mean(moved) == pytest.approx(np.mean(places), abs=1e-9)
    if len(places) == 1:
        assert moved == places

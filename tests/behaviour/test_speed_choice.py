"""A year, its price, what is asked of a way, and which way is taken: each by hand."""

from __future__ import annotations

from math import inf, sqrt

import pytest

from slipwise.limits import speed as asked
from slipwise.limits.harmonics import coupling, harmonic_rows
from slipwise.results.criteria import Status
from slipwise.results.speed import Harmonic, Loss, Part
from slipwise.study.speed.choice import recommend
from slipwise.study.speed.model import Span
from slipwise.study.speed.year import energy, reference, spread, with_payback, year
from tests.speed_studies import exact, point, tariff, way
from tests.speed_studies import year as made_up
from tests.studies import motor, path

KWH = 3.6e6


def test_a_year_is_the_sum_of_power_and_hours():
    """50 kW for 1000 h and 20 kW for 4000 h are 130 MWh; a demand that is not reached is not counted."""
    points = [point("a", 50e3, 1000), point("b", 20e3, 4000), point("c", 99e3, 500, feasible=False)]
    assert energy(points) / KWH == pytest.approx(130e3)
    row = year(points, spread(points, motor().rating, ()), tariff(), "x")
    assert row.hours_infeasible == 500
    assert row.cost == pytest.approx(130e3 * 0.15)
    assert row.carbon == pytest.approx(130e3 * 0.3)
    assert row.investment is None
    assert row.total is None


def test_the_range_of_the_energy_is_that_of_its_causes():
    """4 kW of motor loss 15 % up, 2 kW of converter loss 25 % either way, an assumed value 3 kW up and 1 kW down; squares."""
    points = [point("a", 50e3, 1000, Loss(part=Part.STATOR, power=4e3), Loss(part=Part.INVERTER, power=2e3))]
    found = spread(points, motor().rating, [(49e3 * 1000 * 3600, 53e3 * 1000 * 3600)])
    assert (found.high - found.value) / KWH == pytest.approx(1000 * sqrt(0.6**2 + 0.5**2 + 3**2))
    assert (found.value - found.low) / KWH == pytest.approx(1000 * sqrt(0.5**2 + 1**2))


def test_a_purchase_pays_back_by_the_energy_it_saves():
    """40 MWh at 0.15 a kWh are 6000 a year: 9000 more to buy come back in 1.5 years; ranges from the far corners."""
    prices = tariff(cheap=Span(value=1000.0, low=500.0, high=1500.0), dear=Span(value=10e3, low=9e3, high=12e3))
    cheap = made_up(100e3, cost=15e3, buy=prices.investment["cheap"])
    dear = made_up(60e3, cost=9e3, buy=prices.investment["dear"], within=0.05)
    assert reference({"dear": dear, "cheap": cheap}) == "cheap"
    found = with_payback(dear, cheap, prices)
    assert found.payback == pytest.approx(9000 / 6000)
    assert found.payback_low == pytest.approx((9000 - 1500) / (43e3 * 0.20))
    assert found.payback_high == pytest.approx((12000 - 500) / (37e3 * 0.10))
    assert with_payback(cheap, dear, prices).payback == inf or with_payback(cheap, dear, prices).payback == 0


def test_what_saves_nothing_never_pays_back():
    """Dearer to buy and thirstier: infinite; cheaper to buy and thirstier than the reference cannot be."""
    prices = tariff(a=exact(1000.0), b=exact(2000.0))
    base = made_up(50e3, cost=7500.0, buy=exact(1000.0))
    worse = made_up(60e3, cost=9000.0, buy=exact(2000.0))
    found = with_payback(worse, base, prices)
    assert found.payback == found.payback_low == found.payback_high == inf


def test_a_way_that_misses_hours_is_no_reference():
    """The cheapest to buy counts only when it serves the whole duty."""
    served, lost = made_up(1.0, cost=1.0, buy=exact(5.0)), made_up(1.0, cost=1.0, buy=exact(1.0))
    short = {"lost": lost.__class__(**{**_fields(lost), "hours_infeasible": 10.0}), "served": served}
    assert reference(short) is None
    assert reference({**short, "other": served}) == "served"


def _fields(row):
    return {name: getattr(row, name) for name in row.__slots__}


def test_hours_that_are_not_reached_fail_a_way_and_say_where():
    """300 of 1000 h unreached: 70 %, with name and reason of the demand."""
    points = [point("day", 1e3, 700), point("storm", 1e3, 300, feasible=False, reason="too fast")]
    row = asked.reached(points)
    assert row.status is Status.FAILS
    assert row.value == pytest.approx(0.7)
    assert row.condition == "storm: too fast"
    assert asked.reached(points[:1]).status is Status.PASSES


def test_an_unstable_demand_is_a_condition_and_a_hot_one_fails():
    """Load slope below motor slope needs a speed loop; 120 % of the heat that is carried away fails, 97 % is thin."""
    loose = asked.stable([point("a", 1e3, 1), point("b", 1e3, 1, stability=-2.0)])
    assert loose is not None
    assert loose.status is Status.CONDITION
    assert "at b" in loose.condition
    for heat, status in ((0.8, Status.PASSES), (0.97, Status.CONDITION), (1.2, Status.FAILS)):
        row = asked.winding_heat([point("a", 1e3, 10, winding_heat=0.5), point("b", 1e3, 10, winding_heat=heat)])
        assert row is not None
        assert row.status is status
        assert row.case == "b"


def test_power_factor_is_judged_only_when_a_limit_is_set():
    """0.72 at the worst demand: shown alone, failing against 0.8."""
    points = [point("a", 1e3, 1, power_factor=0.9), point("b", 1e3, 1, power_factor=0.72)]
    shown, judged = asked.power_factor(points, None), asked.power_factor(points, 0.8)
    assert shown is not None
    assert judged is not None
    assert shown.status is Status.UNKNOWN
    assert judged.status is Status.FAILS
    assert judged.value == pytest.approx(0.72)


def test_harmonics_are_judged_by_order_and_in_total_at_the_coupling_point():
    """20 A of the 5th and 12 A of the 7th in a demand of 100 A: 20 % and sqrt(20^2 + 12^2) = 23.3 %; sub-harmonics apart."""
    drawn = (Harmonic(order=5, current=20.0), Harmonic(order=7, current=12.0), Harmonic(order=0.2, current=50.0))
    place = coupling(path(), 0, 100.0)
    assert place is not None
    single, total, *_ = harmonic_rows([point("a", 1e3, 1, harmonics=drawn), point("b", 1e3, 1)], place)
    assert single.value == pytest.approx(0.20)
    assert "order 5" in single.title
    assert total.value == pytest.approx(sqrt(0.2**2 + 0.12**2))
    assert single.status is total.status is Status.FAILS
    assert harmonic_rows([point("b", 1e3, 1)], place) == ()


def test_how_a_way_is_started_is_judged_by_the_ways_of_starting():
    """One that passes will do; one with a condition is a condition; none fails; none judged is no row."""
    assert asked.started({}) is None
    both = asked.started({"Direct": Status.FAILS, "Star-delta": Status.PASSES})
    thin = asked.started({"Direct": Status.CONDITION})
    none = asked.started({"Direct": Status.FAILS})
    assert both is not None
    assert thin is not None
    assert none is not None
    assert [both.status, thin.status, none.status] == [Status.PASSES, Status.CONDITION, Status.FAILS]


def test_the_cheapest_year_wins_and_equals_go_to_the_simplest():
    """8 % dearer loses to the dearest to buy; 3 % dearer but simpler wins; a failing way never."""
    valve = way("valve", Status.PASSES, made_up(100.0, cost=1080.0, buy=exact(0.0)))
    drive = way("drive", Status.PASSES, made_up(90.0, cost=1000.0, buy=exact(0.0)))
    simple = way("simple", Status.PASSES, made_up(95.0, cost=1030.0, buy=exact(0.0)))
    cheap = way("cheap", Status.FAILS, made_up(10.0, cost=100.0, buy=exact(0.0)))
    order = ("valve", "simple", "drive", "cheap")
    found = recommend([valve, drive, cheap], order)
    assert (found.way, found.runner_up) == ("drive", "valve")
    assert "Cheap fails" in found.reason
    found = recommend([valve, drive, simple, cheap], order)
    assert (found.way, found.runner_up) == ("simple", "drive")
    assert "within 5" in found.reason


def test_among_equals_a_way_without_a_condition_goes_first():
    """Equal cost: passing beats a condition although it stands later in the order; the reason names the condition's absence."""
    tied = way("tied", Status.CONDITION, made_up(100.0, cost=1000.0, buy=exact(0.0)))
    free = way("free", Status.PASSES, made_up(100.0, cost=1010.0, buy=exact(0.0)))
    found = recommend([tied, free], ("tied", "free"))
    assert found.way == "free"
    assert "without a condition" in found.reason
    alone = recommend([tied], ("tied",))
    assert alone.way == "tied"
    assert "reason of tied" in alone.reason


def test_a_condition_before_a_dearer_way_without_one_is_explained():
    """8 % dearer and free of conditions comes second, and the reason says that a condition does not lower the rank; else not."""
    tied = way("tied", Status.CONDITION, made_up(100.0, cost=1000.0, buy=exact(0.0)))
    free = way("free", Status.PASSES, made_up(110.0, cost=1080.0, buy=exact(0.0)))
    found = recommend([free, tied], ("free", "tied"))
    assert (found.way, found.runner_up) == ("tied", "free")
    assert (
        "does not lower the rank here: the cost of a year decides, and Free, which passes without one" in found.reason
    )
    other = way("other", Status.CONDITION, made_up(110.0, cost=1080.0, buy=exact(0.0)))
    assert "lower the rank" not in recommend([other, tied], ("other", "tied")).reason


def test_missing_prices_narrow_the_measure_and_are_said():
    """Without one purchase price energy cost decides; without any price energy itself; with no way left nothing does."""
    priced = way("priced", Status.PASSES, made_up(100.0, cost=15.0, buy=exact(0.0)))
    open_ = way("open", Status.PASSES, made_up(50.0, cost=7.5))
    found = recommend([priced, open_], ("priced", "open"))
    assert found.way == "open"
    assert "was not given for Open" in found.reason
    bare = [way(key, Status.PASSES, made_up(amount)) for key, amount in (("a", 100.0), ("b", 60.0))]
    found = recommend(bare, ("a", "b"))
    assert found.way == "b"
    assert "kWh" in found.reason
    assert recommend([way("x", Status.NOT_APPLICABLE, made_up(0.0))], ("x",)).way is None

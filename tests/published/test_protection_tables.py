"""Published values behind protection: limits of overload relays, first peak of the current, starts, duty types."""

from __future__ import annotations

from math import inf, sqrt
from pathlib import Path

import pytest

from slipwise.data import table
from slipwise.limits.instantaneous import first_peak_factors
from slipwise.limits.overload_relay import ULTIMATE, class_named, time_constant, tripping_time
from slipwise.limits.phase_loss import MUST_TRIP, pole_limits
from slipwise.model.thermal.ratings import insulation_life
from slipwise.study.cases import cases_of
from slipwise.study.one_way import way_of
from slipwise.study.reader import loads
from slipwise.study.run import run
from slipwise.study.schema.thermal import TYPES
from tests.reference import from_reference, published, reference
from tests.studies import study

LIMITS = reference("C-60947-limits")["expected"]


@from_reference("C-60947-limits")
@pytest.mark.parametrize("name", ["10A", "10", "20", "30"])
def test_a_warm_relay_trips_in_time_at_one_and_a_half(name: str) -> None:
    """From equilibrium at its setting the slowest relay of each class trips at 1.5 times it within the minutes asked."""
    minutes = LIMITS["1.5x_from_equilibrium_at_1.0x_max_min"][name]
    row = table("relay_limits").find(**{"class": name, "multiple": 1.5})
    assert row is not None
    assert row["minutes"] == minutes
    assert tripping_time(1.5, time_constant(class_named(name).high), warm=1.0) <= 60 * minutes


@from_reference("C-60947-limits")
def test_a_relay_that_watches_for_a_lost_phase_trips_at_115() -> None:
    """Two poles at 1.15 times the setting: the sensitive relay trips within two hours, the plain one never does."""
    plain, sensitive = pole_limits()
    assert sensitive == float(LIMITS["loss_of_phase_sensitive"].split()[2].removesuffix("x"))
    slow = time_constant(class_named("30").high)
    assert tripping_time(sensitive * MUST_TRIP / sensitive, slow, warm=1.0) < 7200
    assert tripping_time(sensitive * MUST_TRIP / plain, slow, warm=1.0) == inf
    assert ULTIMATE < MUST_TRIP


@from_reference("C-nema-starts")
def test_the_starts_the_table_permits() -> None:
    """Two from ambient, one from running temperature."""
    expected = reference("C-nema-starts")["expected"]
    assert [int(row["starts"]) for row in table("nema_starts").rows] == [
        expected["from_ambient"],
        expected["from_running_temperature"],
    ]


@from_reference("C-60034-1-duty")
def test_duty_types_are_those_of_the_standard() -> None:
    """S1 to S9 are on offer; S10 is S9 written otherwise and is not."""
    known = [key for key in reference("C-60034-1-duty")["expected"] if key.startswith("S")]
    assert [*TYPES, "S10"] == known


@published(
    "IEC 60034-12:2024, note on locked-rotor apparent power: first half-cycle peak 1.8 to 2.8 times the steady rms value"
)
def test_the_computed_first_peak_lies_where_the_standard_sees_it() -> None:
    """The electrical transient of a direct start, over the switching angle, against the steady current at standstill."""
    case = cases_of(study("direct"))["nominal"]
    plan = way_of("direct").designed_for(None, {}).way.stages(case.drive)
    band = case.band(plan, study("direct"))
    ratio = float(band.line_current.max()) / float(case.run_up(plan).line_current[0])
    low, high = first_peak_factors()
    assert (low, high) == (1.8, 2.8)
    assert low <= ratio <= high
    assert ratio < 2 * sqrt(2)


@from_reference("E10")
def test_starts_an_hour_of_a_motor_of_100_kw_lie_where_practice_sees_them() -> None:
    """The dust fan of 110 kW, direct, damper stuck open: the network permits 3 to 6 starts an hour."""
    assert "100 kW class 3 to 6" in reference("E10")["expected"]["statement"]
    file = Path(__file__).parent.parent.parent / "examples" / "fan_f2.toml"
    lines = file.read_text(encoding="utf-8").partition("[stopping]")[0]
    lines = lines.replace('[[load.case]]\nname = "damper shut"\ndamper = "shut"\n', "")
    lines = lines.replace('["direct", "star_delta", "autotransformer", "soft_starter"]', '["direct"]')
    found = run(loads(lines), transients=False, boundaries=False, ensemble=0)
    heat = found.ways[0].heat
    assert heat is not None
    assert 3 <= heat.rate <= 6


@from_reference("E11")
def test_insulation_life_halves_every_eight_to_twelve_kelvin() -> None:
    """Ten kelvin more halve the life, by the rule as it stands in the code; eight and twelve bracket it."""
    assert insulation_life(20.0, 10.0) == pytest.approx(10.0)
    assert insulation_life(20.0, 10.0, 8.0) < 10.0 < insulation_life(20.0, 10.0, 12.0)

"""A whole study through the runner: what is answered, how it is judged, and that every status can be reached."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest

from slipwise.model.machine.motor import CurvePoint, StallLimit
from slipwise.quantity.errors import InputError
from slipwise.quantity.formula import symbolic
from slipwise.results.criteria import Status
from slipwise.results.start import Outcome
from slipwise.results.study import StudyResult, WayResult
from slipwise.study.cautions import all_cautions
from slipwise.study.request import WayRequest
from slipwise.study.run import run
from tests.studies import limits, load, motor, study, supply


def _quick(*keys: str, **changes: object) -> StudyResult:
    """A study without transients and edges."""
    return run(study(*keys, **changes), transients=False, boundaries=False)


def _way(result: StudyResult, key: str) -> WayResult:
    return next(way for way in result.ways if way.key == key)


@pytest.fixture(scope="module")
def whole() -> StudyResult:
    """All three ways with transients, on a supply that direct starting strains."""
    return run(study(supply=supply(scale=3.0)), boundaries=False)


def test_every_way_is_answered_in_three_cases(whole: StudyResult) -> None:
    """Run-ups nominal first, curves per stage, a band, a wiring, and a duty for each way."""
    assert [way.key for way in whole.ways] == ["direct", "star_delta", "autotransformer"]
    for way in whole.ways:
        assert [r.case for r in way.run_ups] == ["nominal", "worst", "strong"]
        assert len(way.curves) == len(way.run_ups[0].stages) == len(way.wiring.stages)
        assert way.band is not None
        assert way.band.torque_max.shape == (4,)
        assert way.duty is not None
        assert way.protection is not None


def test_direct_fails_by_the_dip_and_the_reason_says_so(whole: StudyResult) -> None:
    """The dip of the main board beats its limit; the simplest way that does not is recommended, in words."""
    direct = _way(whole, "direct").verdict
    assert direct.status is Status.FAILS
    assert direct.binding is not None
    assert direct.binding.key == "dip:main board"
    assert whole.recommendation.way in ("star_delta", "autotransformer")
    assert whole.recommendation.reason.startswith("Direct fails: dip at main board, ")
    assert "(given by user)" in whole.recommendation.reason


def test_both_wirings_of_the_changeover_are_compared(whole: StudyResult) -> None:
    """Star-delta alone has a twin: one sentence for each wiring, then which is gentler."""
    said = _way(whole, "star_delta").comparisons
    assert len(said) == 4
    assert "leading" in said[0] + said[1]
    assert "lagging" in said[0] + said[1]
    assert not _way(whole, "direct").comparisons


def test_every_number_of_every_way_is_explained(whole: StudyResult) -> None:
    """Each criterion with a value has an explanation of the same value; a formula is evaluated from its own inputs."""
    said = {item.name: item for item in whole.explanations}
    for way in whole.ways:
        for row in way.verdict.criteria:
            if row.value is not None:
                assert said[f"{way.key}.{row.key}"].value == pytest.approx(row.value, rel=1e-9)
        for setting in way.settings:
            if setting.value is not None:
                assert said[f"{way.key}.{setting.key}"].method
    for item in whole.explanations:
        assert item.source
        assert item.formula or item.method
        if item.formula:
            assert symbolic("y", item.expression)
            assert all(f in item.expression for f in (i.symbol for i in item.inputs))


def test_the_motors_headline_numbers_are_explained(whole: StudyResult) -> None:
    """Synchronous speed 1500 r/min, rated torque 579.1 N m, and the standstill values of the circuit."""
    said = {item.name: item for item in whole.explanations}
    assert said["motor.synchronous_speed"].value == pytest.approx(50 * pi)
    assert said["motor.torque"].value == pytest.approx(90e3 / (1484 * pi / 30))
    rated = {row.name: row.value for row in whole.rated}
    ratio = said["motor.locked_rotor_current"].value / whole.rated_current
    assert rated["motor.locked_rotor_current_ratio"] == pytest.approx(ratio, rel=1e-9)
    ratio = said["motor.locked_rotor_torque"].value / whole.rated_torque
    assert rated["motor.locked_rotor_torque_ratio"] == pytest.approx(ratio, rel=1e-9)


def test_a_way_the_motor_cannot_have_does_not_apply_and_says_why() -> None:
    """Star-delta on a motor that runs in star is no crash: it does not apply, and the others are judged."""
    star = motor()
    star = replace(star, rating=replace(star.rating, connection="star"))
    result = _quick("direct", "star_delta", motor=star)
    refused = _way(result, "star_delta")
    assert refused.verdict.status is Status.NOT_APPLICABLE
    assert "star" in refused.verdict.reason
    assert (refused.run_ups, refused.curves) == ((), ())
    assert result.recommendation.way == "direct"


def test_an_unknown_way_is_bad_input() -> None:
    """A name that no way has is the user's fault, named."""
    with pytest.raises(InputError, match="no way of starting has this name"):
        _quick("rubber_band")


def test_a_given_setting_is_kept_and_judged() -> None:
    """A changeover far too early is simulated as given; the design says nothing."""
    early = WayRequest(key="star_delta", given={"changeover_speed": 60.0})
    result = run(study(ways=(early,)), transients=False, boundaries=False)
    way = result.ways[0]
    setting = next(s for s in way.settings if s.key == "changeover_speed")
    assert (setting.value, setting.origin) == (60.0, "given")
    assert way.run_ups[0].stages[0].end_speed == pytest.approx(60.0)


def test_a_motor_known_by_curves_has_no_transient_and_says_why() -> None:
    """Typed curves are judged on the run-up alone."""
    points = tuple(
        CurvePoint(speed=s, torque=t, current=i, power_factor=p)
        for s, t, i, p in ((0, 1200, 1050, 0.35), (0.8, 1300, 800, 0.5), (0.97, 900, 330, 0.85), (1.0, 0, 50, 0.1))
    )
    typed = motor(circuit=None, curves=points)
    result = run(study("direct", motor=typed), boundaries=False)
    assert result.ways[0].band is None
    assert "curves" in result.ways[0].transient_note
    assert any("curves only" in caution for caution in result.cautions)


@pytest.mark.parametrize(
    ("changes", "status"),
    [
        ({}, Status.PASSES),
        ({"limits": limits(terminal_voltage=0.865)}, Status.CONDITION),
        ({"motor": motor(stall=StallLimit())}, Status.CONDITION),
        ({"supply": supply(scale=3.0)}, Status.FAILS),
    ],
    ids=["passes", "worst case short of a limit", "stall time not known", "dip"],
)
def test_every_status_of_a_way_is_reached(changes: dict[str, object], status: Status) -> None:
    """A direct start passes, passes with a condition, or fails."""
    assert _quick("direct", **changes).ways[0].verdict.status is status


def test_an_assumed_stall_time_is_listed() -> None:
    """The estimate of the heat rests on a typical stall time, which stands among what was not given, with its range."""
    listed = {row.name: row for row in _quick("direct", motor=motor(stall=StallLimit())).inputs}
    stall = listed["motor.stall_time_hot"]
    assert stall.low is not None
    assert stall.high is not None
    assert stall.low < (stall.value or 0) < stall.high
    assert "motor.stall_time_hot" not in {row.name for row in _quick("direct").inputs}


def test_a_start_that_never_moves_is_a_result() -> None:
    """A load heavier than the standstill torque: never moved, fails, nothing recommended."""
    result = _quick("direct", load=load(share=2.5, exponent=0))
    assert result.ways[0].run_ups[0].outcome is Outcome.NEVER_MOVED
    assert result.ways[0].verdict.status is Status.FAILS
    assert result.recommendation.way is None


def test_the_users_order_decides() -> None:
    """With the autotransformer put first, it is recommended although direct passes too."""
    result = _quick("direct", "autotransformer", order=("autotransformer", "direct"))
    assert (result.recommendation.way, result.recommendation.runner_up) == ("autotransformer", "direct")


def test_progress_is_told() -> None:
    """Each way is named, and the share rises to one."""
    told: list[tuple[str, float]] = []
    run(study("direct"), transients=False, boundaries=False, progress=lambda words, share: told.append((words, share)))
    assert told[0] == ("Direct", 0.0)
    assert told[-1][1] == 1.0


def test_cautions_apply_where_they_belong() -> None:
    """The general ones always, the pump's for a pump, the hoist's for a load that can drive the motor."""
    plain, titled = _quick("direct", title="Bench"), _quick("direct")
    general = [c for c in all_cautions() if "always" in c.when]
    assert len(general) >= 4
    assert all(any(c.text in said for said in plain.cautions) for c in general)
    assert not any("pressure surge" in said for said in plain.cautions)
    assert any("pressure surge" in said for said in titled.cautions)
    hoist = load(share=0.3, exponent=0)
    hoist = replace(hoist, terms=tuple(replace(t, overhauling=True) for t in hoist.terms))
    assert any("brake" in said for said in _quick("direct", load=hoist).cautions)

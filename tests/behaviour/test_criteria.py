"""Criteria against numbers worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from slipwise.limits.arrival import arrival, run_up_time
from slipwise.limits.current import coupling_share, line_current, peak_current, shaft_torque
from slipwise.limits.heat import heat, locked_rotor
from slipwise.limits.judge import judge
from slipwise.limits.torque_margin import Gap, Span, least_gap, running_side, spans, torque_margin
from slipwise.limits.voltage import dip_criteria, terminal_voltage
from slipwise.model.load.load import Load
from slipwise.model.machine.motor import StallLimit
from slipwise.model.supply.path import Busbar
from slipwise.results.criteria import Sense, Status
from slipwise.results.start import Outcome, StageMark
from slipwise.solve.plan import Stage, settled, speed_reaches
from tests.hand_made import band, curves, run_up
from tests.studies import motor, threshold

BOARD = Busbar(name="board", nominal=400.0, dip_limit=0.10, dip_source="given by user")
FREE = Load(terms=(), base_speed=150.0, inertia=1.0)


@pytest.mark.parametrize(
    ("nominal", "worst", "status"),
    [
        (0.08, 0.09, Status.PASSES),
        (0.08, 0.097, Status.CONDITION),  # kept by 3 % of the limit only
        (0.08, 0.12, Status.CONDITION),  # kept in the nominal case alone
        (0.12, 0.15, Status.FAILS),
    ],
)
def test_a_limit_is_kept_thinly_kept_or_broken(nominal: float, worst: float, status: Status) -> None:
    """The four ways a value may stand to a limit of 0.10 in two cases."""
    found = judge(
        "k", "T", {"nominal": nominal, "worst": worst}, 0.10, unit="pu", sense=Sense.AT_MOST, source="given by user"
    )
    assert found.status is status
    assert found.case == "worst"
    assert found.margin == pytest.approx((0.10 - worst) / 0.10)


def test_without_a_limit_a_value_is_shown_and_not_judged() -> None:
    """A row without limit has its value, no margin, and says why."""
    found = judge("k", "T", {"nominal": 3.0}, None, unit="A", sense=Sense.AT_MOST, source="")
    assert (found.status, found.value, found.margin) == (Status.UNKNOWN, 3.0, None)
    assert "no limit" in found.condition


def test_dip_is_taken_from_the_voltage_before_the_start() -> None:
    """0.95 pu falling to 0.90 pu is a dip of 5.26 %, not of 10 %."""
    (found,) = dip_criteria({"nominal": run_up()}, (BOARD,))
    assert found.value == pytest.approx(0.05 / 0.95)
    assert (found.key, found.status) == ("dip:board", Status.PASSES)
    assert found.margin == pytest.approx((0.10 - 0.05 / 0.95) / 0.10)


def test_each_busbar_has_its_own_limit() -> None:
    """The same dip passes at one busbar and fails at another."""
    two = run_up(
        busbars=("board", "hall"), busbar_voltage=np.full((2, 51), 0.9), prestart_voltage=np.array([0.95, 0.95])
    )
    hall = replace(BOARD, name="hall", dip_limit=0.03)
    assert [row.status for row in dip_criteria({"nominal": two}, (BOARD, hall))] == [Status.PASSES, Status.FAILS]


def test_terminal_voltage_is_per_unit_of_the_motor_and_its_margin_of_the_permitted_drop() -> None:
    """0.90 of a 400 V busbar is 0.947 of a 380 V motor; against 0.80 that leaves 0.147 of a drop of 0.20."""
    found = terminal_voltage({"nominal": run_up()}, 400 / 380, threshold(0.80))
    assert found.value == pytest.approx(0.9 * 400 / 380)
    assert found.margin == pytest.approx((0.9 * 400 / 380 - 0.8) / 0.2)


def test_the_running_side_begins_at_the_last_torque_peak() -> None:
    """A double-humped curve is carried to its hump near synchronous speed, a falling one to twice the rated slip."""
    speed = [0, 50, 100, 140, 150]
    assert running_side(curves(speed, [900, 700, 800, 1000, 0], [0] * 5), 0.01) == 140
    assert running_side(curves(speed, [900, 800, 700, 600, 0], [0] * 5), 0.02) == pytest.approx(150 * 0.96)


def test_pull_up_against_load_is_what_counts() -> None:
    """The least surplus is in the saddle, although the torque at rest is lower than the load's demand elsewhere."""
    c = curves([0, 50, 100, 140, 150], [900, 700, 800, 1000, 0], [100, 650, 300, 200, 200])
    gap = least_gap([Span(curves=c, begin=0.0, end=140.0)], FREE)
    assert gap == Gap(motor=700.0, load=650.0, speed=50.0, stage="direct")


def test_breakaway_counts_at_rest_only() -> None:
    """A load that sticks with 850 N m leaves 50 N m at standstill."""
    c = curves([0, 50, 100, 140, 150], [900, 1000, 1000, 1000, 0], [100, 100, 100, 100, 100])
    gap = least_gap([Span(curves=c, begin=0.0, end=140.0)], replace(FREE, breakaway=850.0))
    assert gap is not None
    assert (gap.torque, gap.speed) == (50.0, 0.0)


def test_a_stage_is_judged_only_where_it_is_in_use() -> None:
    """Star is judged up to the changeover, delta from there to its breakdown; beyond, star may be as weak as it likes."""
    plan = (Stage(name="star", until=speed_reaches(100.0)), Stage(name="delta", until=settled()))
    marks = (
        StageMark(name="star", begin=0.0, end=3.0, end_speed=100.0, reason="reached"),
        StageMark(name="delta", begin=3.0, end=5.0, end_speed=148.0, reason="settled"),
    )
    star = curves([0, 50, 100, 140, 150], [300, 250, 280, 100, 0], [100, 150, 200, 250, 260], "star")
    delta = curves([0, 50, 100, 140, 150], [900, 750, 840, 1000, 0], [100, 150, 200, 250, 260], "delta")
    used = spans(plan, (star, delta), run_up(stages=marks), 0.01)
    assert [(s.curves.stage, s.begin, s.end) for s in used] == [("star", 0.0, 100.0), ("delta", 100.0, 140.0)]
    gap = least_gap(used, FREE)
    assert gap is not None
    assert (gap.torque, gap.speed) == (80.0, 100.0)


def _margins(nominal: float, worst: float) -> list[Status]:
    gaps = {
        case: Gap(motor=100 * value + 50, load=50.0, speed=80.0, stage="direct")
        for case, value in (("nominal", nominal), ("worst", worst))
    }
    return [row.status for row in torque_margin(gaps, 100.0, threshold(0.10))]


def test_torque_margin_in_the_worst_case() -> None:
    """Short of the limit only in the worst case is a condition; a load the motor cannot carry there fails."""
    assert _margins(0.5, 0.3) == [Status.PASSES, Status.PASSES]
    assert _margins(0.5, 0.05) == [Status.PASSES, Status.CONDITION]
    assert _margins(0.5, -0.05) == [Status.PASSES, Status.FAILS]
    assert _margins(0.05, 0.02) == [Status.FAILS, Status.FAILS]


@pytest.mark.parametrize("outcome", [Outcome.HANGS, Outcome.STALLED, Outcome.NEVER_MOVED])
def test_a_start_that_hangs_in_any_case_fails(outcome: Outcome) -> None:
    """Arriving in the nominal case does not save a start that hangs in the worst one; it lacks 60 % of the speed."""
    hung = run_up(case="worst", outcome=outcome, run_up_time=None, final_speed=60.0, hang_speed=60.0)
    found = arrival({"nominal": run_up(), "worst": hung}, 150.0)
    assert (found.status, found.case) == (Status.FAILS, "worst")
    assert found.margin == pytest.approx(-0.6)
    assert "573.0" in found.condition  # 60 rad/s in r/min


def test_a_start_still_gaining_speed_is_not_judged() -> None:
    """Unfinished is no failure: the time computed was too short to say."""
    slow = run_up(outcome=Outcome.UNFINISHED, run_up_time=None, final_speed=90.0)
    assert arrival({"nominal": slow}, 150.0).status is Status.UNKNOWN
    assert arrival({"nominal": run_up()}, 150.0).status is Status.PASSES


def test_a_start_lost_in_the_nominal_case_is_told_of_that_case() -> None:
    """A load that drives the motor backwards in the worst case does not hide that it never moves in the nominal one."""
    stuck = run_up(outcome=Outcome.NEVER_MOVED, run_up_time=None, final_speed=0.0)
    driven = run_up(case="worst", outcome=Outcome.HANGS, run_up_time=None, final_speed=-20.0)
    row = arrival({"nominal": stuck, "worst": driven}, 157.0)
    assert row.condition == "in the nominal case the start does not break away"
    assert (row.value, row.case) == (-20.0, "worst")
    unfinished = run_up(outcome=Outcome.UNFINISHED, run_up_time=None, final_speed=50.0)
    assert "in the worst case" in arrival({"nominal": unfinished, "worst": driven}, 157.0).condition


def test_run_up_time_of_a_start_that_does_not_arrive_is_not_judged() -> None:
    """No time, no judgement; the reason is in the row."""
    hung = run_up(outcome=Outcome.HANGS, run_up_time=None, final_speed=60.0)
    found = run_up_time({"nominal": hung}, threshold(10.0, "s"))
    assert (found.status, found.value) == (Status.UNKNOWN, None)
    assert run_up_time({"nominal": run_up()}, threshold(4.0, "s")).status is Status.FAILS


def _heat(share: float, stall: StallLimit, seconds: float = 6.0) -> dict[str, Status]:
    """Statuses of a start at `share` of the standstill current for `seconds`."""
    m = motor(stall=stall)
    current = locked_rotor(m).winding_current * share
    rows = heat({"nominal": run_up(seconds=seconds, winding=current)}, {"nominal": m}, threshold(0.9))
    return {row.key: row.status for row in rows}


def test_heat_scales_with_the_square_of_the_current() -> None:
    """Six seconds at 80 % of the standstill current are 3.84 s of a stall: 38.4 % of 10 s."""
    m = motor(stall=StallLimit(hot=10.0))
    current = locked_rotor(m).winding_current * 0.8
    (found,) = heat({"nominal": run_up(seconds=6.0, winding=current)}, {"nominal": m}, threshold(0.9))
    assert found.value == pytest.approx(0.384)
    assert "conservative" in found.condition


def test_heat_from_hot_and_from_cold() -> None:
    """Within the cold limit only: a condition. Within neither: fails. No stall time: an estimate that judges nothing."""
    assert _heat(1.0, StallLimit(hot=15.0, cold=25.0)) == {"heat:hot": Status.PASSES, "heat:cold": Status.PASSES}
    assert _heat(1.0, StallLimit(hot=5.0, cold=25.0)) == {"heat:hot": Status.CONDITION, "heat:cold": Status.PASSES}
    assert _heat(1.0, StallLimit(hot=4.0, cold=5.0)) == {"heat:hot": Status.FAILS, "heat:cold": Status.FAILS}
    assert _heat(1.0, StallLimit(cold=25.0)) == {"heat:cold": Status.CONDITION}
    assert _heat(1.0, StallLimit()) == {"heat:hot": Status.UNKNOWN}


def test_standstill_current_in_one_winding() -> None:
    """A delta winding carries 1/sqrt 3 of the line current that the circuit gives at rated voltage."""
    m = motor()
    assert m.circuit is not None
    c = m.circuit
    gap = c.magnetising_admittance(50.0) + c.rotor_admittance(1.0, 50.0)
    line = 400 / sqrt(3) / abs(c.stator_impedance(50.0) + 1 / gap)
    assert locked_rotor(m).winding_current == pytest.approx(line / sqrt(3))


def test_currents_and_torque_peaks_take_the_worst_angle_and_case() -> None:
    """The greatest of everything, either sign for torque, per unit of rated torque."""
    bands = {"nominal": band((900.0, 950.0), (-400.0, -380.0), (1800.0, 1900.0))}
    bands["strong"] = band((1000.0, 990.0), (-1200.0, -300.0), (2000.0, 2100.0))
    torque = shaft_torque(bands, 500.0, threshold(2.0), coupling_share(1.0, 3.0))
    assert (torque.value, torque.case, torque.status) == (pytest.approx(2.4), "strong", Status.CONDITION)
    assert "75" in torque.condition
    peak = peak_current(bands, threshold(1500.0, "A"))
    assert (peak.value, peak.status) == (2100.0, Status.FAILS)
    assert line_current({"nominal": run_up(winding=700.0)}, threshold(800.0, "A")).status is Status.PASSES


@pytest.mark.parametrize("outcome", [outcome for outcome in Outcome if outcome is not Outcome.ARRIVED])
@pytest.mark.parametrize("speed", [-300.0, 0.0, 100.0, 314.0])
def test_every_way_a_start_can_end_is_told(outcome: Outcome, speed: float) -> None:
    """Whatever becomes of a start but arriving, the row says so, fails or is not judged, and has no margin in hand."""
    ended = replace(run_up(outcome=outcome), final_speed=speed, run_up_time=None)
    row = arrival({"nominal": ended}, 157.0)
    assert row.status in {Status.FAILS, Status.UNKNOWN}
    assert row.margin is None or row.margin < 0
    assert "in the nominal case the start" in row.condition

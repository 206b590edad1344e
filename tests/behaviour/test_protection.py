"""Protection of one way: relay as set, stalls, trips, a lost line, contactors, orders, coils; against identities."""

from __future__ import annotations

from dataclasses import replace
from math import inf, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.limits.coil_voltage import coil_rows, coil_voltage
from slipwise.limits.contactor import contactor_rows, contactors, stage_currents
from slipwise.limits.heat import locked_rotor
from slipwise.limits.instantaneous import instantaneous, instantaneous_rows, least_fault
from slipwise.limits.overload_relay import ULTIMATE, relay_heat
from slipwise.limits.phase_loss import phase_loss
from slipwise.limits.protection import RelayRequest, protection, protection_row, time_in_hand
from slipwise.limits.resistor_bank import BankTask, temperatures
from slipwise.limits.stall import RUNNING, relay_rows, stalls
from slipwise.limits.starter_order import autotransformer, soft_starter, soft_starter_rows
from slipwise.model.machine.motor import StallLimit
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.results.criteria import Status
from slipwise.results.protection import RelayCheck
from slipwise.results.start import RunUp, StageMark
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive
from tests.drives import stiff, unloaded
from tests.hand_made import band, run_up
from tests.reference import sampled
from tests.studies import motor

AMPLE = StallLimit(cold=60.0, hot=40.0)


def start(seconds: float, case: str = "nominal") -> RunUp:
    """A start at the full standstill current over `seconds`, then running at half of rated current."""
    m = motor()
    line = locked_rotor(m).winding_current * sqrt(3)
    current = np.full(51, line)
    current[-1] = 0.5 * m.rating.current
    time = np.append(np.linspace(0.0, seconds, 50), seconds + 0.01)
    plain = run_up(seconds=seconds, case=case)
    return replace(plain, time=time, line_current=current, motor_current=current, winding_current=current / sqrt(3))


def judged(asked: RelayRequest, seconds: float = 3.0, stall: StallLimit = AMPLE) -> Status:
    """Status of the row of a stated relay."""
    m = motor(stall=stall)
    run = start(seconds)
    rows = relay_rows(protection(run, m, (), asked), {"nominal": run}, m)
    return rows[0].status


def test_a_stated_relay_is_judged_and_not_replaced() -> None:
    """A quick class trips in a long start and fails; a slow one that lets it start and saves it stands, from cold."""
    assert judged(RelayRequest(trip_class="10A"), 6.0) is Status.FAILS
    assert judged(RelayRequest(trip_class="20"), 0.3) is Status.PASSES
    assert judged(RelayRequest(trip_class="30"), 9.0) is Status.CONDITION
    assert judged(RelayRequest(trip_class="30"), 2.0, StallLimit(cold=20.0, hot=10.0)) is Status.FAILS
    found = protection(start(6.0), motor(stall=AMPLE), (), RelayRequest(trip_class="10A"))
    assert found.proposed is None
    assert found.judged is not None
    assert found.relay is found.judged


def test_a_setting_too_high_or_too_low_is_told() -> None:
    """Above rated current by more than a twentieth is a condition; below the running current the relay trips."""
    rated = motor().rating.current
    assert judged(RelayRequest(trip_class="20", setting=1.1 * rated, place="line"), 2.0) is Status.CONDITION
    assert judged(RelayRequest(trip_class="20", setting=0.4 * rated, place="line"), 2.0) is Status.FAILS


def test_a_setting_alone_gets_a_class() -> None:
    """With the setting stated and the class open, the class is proposed at that setting and then judged."""
    rated = motor().rating.current
    found = protection(start(6.0), motor(stall=AMPLE), (), RelayRequest(setting=0.95 * rated, place="line"))
    assert found.judged is not None
    assert found.judged.setting == pytest.approx(0.95 * rated)
    assert {check.place for check in found.checks} == {"line"}


def test_a_speed_switch_takes_over_where_no_class_fits() -> None:
    """A start as long as the stall time: no class saves; a switch at a tenth of speed does, in half seconds."""
    m = motor(stall=StallLimit(cold=14.0, hot=8.0))
    found = protection(start(6.0), m)
    switch = found.speed_switch
    assert found.proposed is None
    assert found.with_switch is not None
    assert found.with_switch.lets_start
    assert switch is not None
    assert switch.speed == pytest.approx(0.1 * m.rating.synchronous_speed)
    assert switch.reached < switch.delay <= time_in_hand(8.0)
    assert (2 * switch.delay) == round(2 * switch.delay)
    assert "speed switch" in found.words
    assert protection_row(found).status is Status.CONDITION


def test_a_stated_speed_switch_saves_a_slow_class() -> None:
    """Class 30 cannot save it, the switch in time does: a condition; a switch that comes too late does not."""
    m = motor(stall=StallLimit(cold=14.0, hot=8.0))
    for delay, status in ((3.0, Status.CONDITION), (7.9, Status.FAILS)):
        asked = RelayRequest(trip_class="30", switch_speed=15.0, switch_delay=delay)
        run = start(6.0)
        rows = relay_rows(protection(run, m, (), asked), {"nominal": run}, m)
        assert rows[0].status is status
        assert rows[1].key == "speed_switch"
        assert rows[1].value == pytest.approx(float(run.time[np.flatnonzero(run.speed >= 15.0)[0]]))


def test_a_slower_case_moves_the_proposal_to_a_slower_class() -> None:
    """The class that the slowest other case needs is taken where there is one; otherwise the row says so."""
    m = motor(stall=AMPLE)
    near, far = start(2.5), start(5.5, case="worst")
    alone, both = protection(near, m), protection(near, m, (far,))
    assert alone.proposed is not None
    assert both.proposed is not None
    order = ["5", "10A", "10", "20", "30"]
    assert order.index(both.proposed.trip_class) > order.index(alone.proposed.trip_class)
    assert both.proposed.worst is not None
    assert both.proposed.worst <= 0.9


def test_in_a_first_stage_in_star_the_relay_in_the_winding_is_taken() -> None:
    """At a third of the line current a relay in the line is too slow for the stall times, one in the winding is not."""
    m = motor(stall=StallLimit(cold=28.0, hot=14.0))
    full = locked_rotor(m).winding_current
    star = np.array([full / sqrt(3), full / sqrt(3)])
    run = start(0.5)
    assert protection(run, m).proposed.place == "line"
    assert protection(run, m, first=star).proposed.place == "winding"
    assert protection(run, m, first=star, six_leads=False).proposed.place == "line"


def test_stall_times_go_with_the_inverse_square_of_the_current() -> None:
    """Behind an impedance less current flows: the motor bears it longer by the square, the relay trips later."""
    m = motor(stall=AMPLE)
    relay = protection(start(1.0), m).relay
    assert relay is not None
    path = stiff(m)
    soft = replace(path, links=(replace(path.links[0], impedance=0.02 + 0.1j),))
    full, weak = stalls(relay, m, [("soft supply", Drive(motor=m, load=unloaded(m), supply=soft), RUNNING)])
    assert weak.voltage < full.voltage == 1.0
    assert weak.limit_hot == pytest.approx(40.0 * (full.winding_current / weak.winding_current) ** 2)
    assert weak.trip_hot > full.trip_hot == pytest.approx(relay.stalled_hot)


@sampled(6)
@given(
    top=st.floats(3.0, 8.0),
    seconds=st.floats(1.0, 20.0),
    constant=st.floats(50.0, 1200.0),
    warm=st.sampled_from((0.0, 1.0)),
)
def test_heat_along_a_start_is_that_of_the_differential_equation(
    top: float, seconds: float, constant: float, warm: float
) -> None:
    """A current that falls along a curve, against scipy on d(theta)/dt = (m^2 - theta) / tau."""
    from scipy.integrate import solve_ivp

    time = np.linspace(0.0, seconds, 4001)
    multiple = 0.8 + (top - 0.8) / (1 + np.exp(12 * (time / seconds - 0.8)))

    def rate(t, y):
        return (np.interp(t, time, multiple) ** 2 - y) / constant

    solved = solve_ivp(rate, (0.0, seconds), [warm], rtol=1e-9, atol=1e-12, max_step=seconds / 200)
    assert relay_heat(time, multiple, constant, warm) == pytest.approx(float(solved.y[0].max()) / ULTIMATE**2, rel=1e-5)


# The instantaneous trip


def faulted(impedance: complex) -> SupplyPath:
    """A source of 400 V behind an impedance, nothing else on it."""
    busbar = Busbar(name="terminals", nominal=400.0)
    return SupplyPath(
        voltage=400.0, frequency=50.0, links=(Link(name="n", kind="network", impedance=impedance, busbar=busbar),)
    )


@sampled(30)
@given(r=st.floats(1e-3, 0.1), x=st.floats(1e-3, 0.1))
def test_the_least_fault_is_the_two_phase_one(r: float, x: float) -> None:
    """Line voltage over twice the phase impedance. Source: two phases in series at the fault, any power-system text."""
    assert least_fault(faulted(complex(r, x))) == pytest.approx(400.0 / (2 * abs(complex(r, x))))


def test_a_trip_is_proposed_between_peak_and_fault() -> None:
    """1.8 to 2.8 times 900 A without a transient; from the transient its own peak; sqrt 2 in a controlled start."""
    runs = {"nominal": run_up(line_current=np.full(51, 900.0))}
    plain = instantaneous(runs, {}, faulted(0.01j), setting=None, tolerance=0.2)
    assert (plain.low, plain.high) == (pytest.approx(1620.0), pytest.approx(2520.0))
    assert plain.least == pytest.approx(2520.0 / sqrt(2) / 0.8)
    assert plain.setting == 2300.0  # 2227 A, up to two figures
    assert plain.most == pytest.approx(400.0 / 0.02 / 1.2)
    assert instantaneous_rows(plain) == ()
    bands = {"strong": band((1.0,), (-1.0,), (2000.0, 2100.0))}
    found = instantaneous(runs, bands, faulted(0.01j), setting=None, tolerance=0.2)
    assert (found.low, found.peak) == (2000.0, 2100.0)
    soft = instantaneous(runs, {}, faulted(0.01j), setting=None, tolerance=0.2, controlled=True)
    assert soft.peak == pytest.approx(900.0 * sqrt(2))
    for rated, expected in (
        (150.0, 1200.0),
        (500.0, 4000.0),
        (3000.0, 1200.0),
    ):  # 16 667 A at most: then as the peak asks
        found = instantaneous(runs, {}, faulted(0.01j), setting=None, tolerance=0.2, controlled=True, rated=rated)
        assert found.setting == expected


@pytest.mark.parametrize(
    ("setting", "impedance", "statuses"),
    [
        (3000.0, 0.01j, (Status.PASSES, Status.PASSES)),
        (2000.0, 0.01j, (Status.FAILS, Status.PASSES)),
        (3000.0, 0.08j, (Status.PASSES, Status.FAILS)),
        (None, 0.08j, (Status.CONDITION,)),
    ],
)
def test_a_stated_trip_is_held_against_peak_and_fault(
    setting: float | None, impedance: complex, statuses: tuple[Status, ...]
) -> None:
    """Below the peak it breaks the start off; above the fault it does not answer; nothing serves on a very weak supply."""
    runs = {"nominal": run_up(line_current=np.full(51, 900.0))}
    found = instantaneous(runs, {}, faulted(impedance), setting=setting, tolerance=0.2)
    assert tuple(row.status for row in instantaneous_rows(found)) == statuses


# One line lost


def relay_at(place: str, setting: float) -> RelayCheck:
    """A relay of class 10 written down by hand."""
    return RelayCheck(
        place=place, setting=setting, trip_class="10", cold=0.1, hot=0.5, lets_start="hot", stalled_cold=10.0,
        stalled_hot=3.0, saves=True,
    )  # fmt: skip


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_the_hottest_winding_carries_two_thirds_in_delta_and_all_in_star(connection: str) -> None:
    """With a line open the current of the live lines splits 2 to 1 in a delta and flows whole in a star.

    Source: two equal phases in series beside one (common textbook treatment)."""
    m = motor(rating=replace(motor().rating, connection=connection))
    for row in phase_loss(m, relay_at("line", 158.0), (0.3, 0.6, 1.0)):
        assert row.runs
        share = 2 / 3 if connection == "delta" else 1.0
        assert row.winding_current == pytest.approx(share * row.line_current, rel=1e-9)


def test_a_lost_line_draws_about_sqrt_three_times_as_much_and_stalls_when_overloaded() -> None:
    """At rated load 1.7 to 2.1 times the balanced current; no torque at the breakdown of the three-phase motor."""
    half, full, too_much = phase_loss(motor(), relay_at("line", 158.0), (0.5, 1.0, 2.5))
    assert 1.6 < full.winding_share / 2 * sqrt(3) < 2.2
    assert half.line_current < full.line_current
    assert not too_much.runs
    assert too_much.slip == 1.0
    assert too_much.plain < full.plain


def test_a_relay_with_detection_trips_sooner_and_a_light_load_not_at_all() -> None:
    """Where two poles carry less than 1.15 times the setting neither trips; above 1.32 times both do."""
    for row in phase_loss(motor(), relay_at("line", 158.0), (0.2, 0.5, 0.75, 1.0)):
        assert row.sensitive <= row.plain
        assert (row.sensitive == inf) is (row.multiple * 1.2 / 1.15 <= 1.125)
    assert phase_loss(motor(circuit=None, curves=()), relay_at("line", 158.0), (1.0,)) == ()


# Contactors, orders, coils


def two_stages() -> RunUp:
    """Star for 2 s from 300 A down to 150 A in line and winding, then delta from 600 A to 100 A in the line."""
    time = np.array([0.0, 1.0, 2.0, 2.001, 3.0])
    line = np.array([300.0, 280.0, 150.0, 600.0, 100.0])
    winding = np.array([300.0, 280.0, 150.0, 600.0 / sqrt(3), 100.0 / sqrt(3)])
    marks = (
        StageMark(name="star", begin=0.0, end=2.0, end_speed=140.0, reason="reached", contacts=("K1", "K3")),
        StageMark(name="delta", begin=2.0, end=3.0, end_speed=155.0, reason="settled", contacts=("K1", "K2")),
    )
    return replace(
        run_up(seconds=3.0),
        time=time, speed=50 * time, line_current=line, motor_current=1.5 * line, winding_current=winding,
        stages=marks, busbar_voltage=np.array([[0.9, 0.91, 0.93, 0.84, 0.97]]), prestart_voltage=np.array([0.98]),
    )  # fmt: skip


def star_delta_wiring() -> Wiring:
    devices = tuple(Device(kind="contactor", label=label, after="", carries="winding") for label in ("K1", "K2", "K3"))
    return Wiring(devices=devices, stages=("star", "delta"), closed=(("K1", "K3"), ("K1", "K2")))


def test_each_contactor_makes_breaks_and_carries_what_its_stages_say() -> None:
    """K1 makes the star current, K3 breaks what is left of it, K2 makes the delta current; only what stays closed carries."""
    running = {"line": 158.0, "motor": 158.0, "winding": 91.0, "star point": 0.0, "rotor": 0.0}
    found = contactors(star_delta_wiring(), stage_currents(two_stages()), running, wound=False, rated=80.0)
    k1, k2, k3 = found
    assert (k1.makes, k1.breaks, k1.carries, k1.seconds) == (300.0, 0.0, 91.0, None)
    assert (k2.makes, k2.breaks, k2.carries) == (pytest.approx(600 / sqrt(3)), 0.0, 91.0)
    assert (k3.makes, k3.breaks, k3.carries, k3.seconds) == (300.0, 150.0, 0.0, 2.0)
    assert k3.needed == pytest.approx(30.0)  # making ten times its rating asks for more than breaking eight times
    assert [row.status for row in contactor_rows(found)] == [Status.FAILS]
    wound = contactors(star_delta_wiring(), stage_currents(two_stages()), running, wound=True)
    assert wound[0].category == "AC-2"
    assert wound[1].needed == pytest.approx(91.0)


def test_two_parts_of_a_winding_share_the_current_only_together() -> None:
    """The first part alone carries all, with the second closed its share."""
    devices = (
        Device(kind="contactor", label="K1", after="", share=0.4),
        Device(kind="contactor", label="K2", after="", share=0.6),
    )
    wiring = Wiring(devices=devices, stages=("star", "delta"), closed=(("K1",), ("K1", "K2")))
    first, second = contactors(wiring, stage_currents(two_stages()), {"line": 100.0}, wound=False)
    assert (first.makes, first.carries) == (300.0, pytest.approx(40.0))
    assert (second.makes, second.carries) == (pytest.approx(360.0), pytest.approx(60.0))


def test_the_soft_starter_rectangle_holds_the_heat_of_the_start() -> None:
    """Ratio times rated squared times seconds is the integral of current squared; a stated rating is used by that share."""
    run = two_stages()
    duty = soft_starter(run, 158.0, stages=1, starts_per_hour=3.0, bypassed=False, stated=(160.0, 3.0, 10.0))
    squared = 1.5**2 * (0.5 * (300**2 + 280**2) + 0.5 * (280**2 + 150**2))
    assert duty.ratio == pytest.approx(450.0 / 158.0)
    assert duty.seconds * (duty.ratio * 158.0) ** 2 == pytest.approx(squared)
    assert duty.used == pytest.approx(squared / (480.0**2 * 10.0))
    assert duty.code.startswith("158 A: AC-53a: 2.8-")
    rows = {row.key: row.status for row in soft_starter_rows(duty, (160.0, 3.0, 10.0), 2.0)}
    assert rows == {
        "starter_heat": Status.PASSES,
        "starter_current": Status.PASSES,
        "starter_rating": Status.CONDITION,
        "starter_starts": Status.FAILS,
    }
    bypassed = soft_starter(run, 158.0, stages=1, starts_per_hour=None, bypassed=True)
    assert "AC-53b" in bypassed.code
    assert bypassed.used is None


def test_the_autotransformer_order_balances_its_currents() -> None:
    """The star point takes what the tap gives beyond the line; the share 1 - k of the throughput crosses the core."""
    order = autotransformer(two_stages(), 0.65, 390.0, 2.0, None)
    assert order.star_current == pytest.approx(order.motor_current - order.line_current)
    assert order.power == pytest.approx(sqrt(3) * 390.0 * 300.0)
    assert order.type_power == pytest.approx(0.35 * order.power)


def test_coils_must_stay_closed_and_be_able_to_close() -> None:
    """Lowest voltage over the start for holding; before the start and at the changeover for closing."""
    found = coil_voltage({"nominal": two_stages()}, "board", 0.75)
    assert found.holding == (0.84,)
    assert found.closing == (0.93,)
    assert [row.status for row in coil_rows(found, "given by user")] == [Status.PASSES, Status.PASSES]
    strict = coil_rows(replace(found, hold_in=0.86, closing=(0.80,)), "given by user")
    assert [row.status for row in strict] == [Status.FAILS, Status.FAILS]


# The resistor bank as a body


@sampled(8)
@given(
    energy=st.floats(1e4, 1e7), seconds=st.floats(2.0, 60.0), tau=st.floats(100.0, 2000.0), starts=st.integers(1, 5),
    rest=st.floats(0.0, 600.0),
)  # fmt: skip
def test_starts_in_a_row_warm_the_bank_as_the_equation_says(
    energy: float, seconds: float, tau: float, starts: int, rest: float
) -> None:
    """Against the differential equation of one body solved by scipy, piece by piece."""
    from scipy.integrate import solve_ivp

    capacity = energy / 200.0
    task = BankTask(
        heat_capacity=capacity,
        time_constant=tau,
        rise=375.0,
        ambient=40.0,
        starts=starts,
        rest=rest,
        starts_per_hour=None,
    )

    def rate(_t, y, p):
        return p / capacity - y / tau

    rise, expected = 0.0, []
    for _ in range(starts):
        for power, length in ((energy / seconds, seconds), (0.0, rest)):
            if length > 0:
                solved = solve_ivp(rate, (0.0, length), [rise], args=(power,), rtol=1e-10, atol=1e-10)
                rise = float(solved.y[0, -1])
            if power:
                expected.append(40.0 + rise)
    assert temperatures(capacity, energy, seconds, task) == pytest.approx(expected, rel=1e-6)

"""Heat in a study: limits against closed forms, counts against what they mean, files there and back, pictures legible."""

from __future__ import annotations

from functools import cache
from math import exp, inf, log
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.thermal.network import Body, ThermalNetwork
from slipwise.model.thermal.network import Path as HeatPath
from slipwise.model.thermal.parameters import CAGE, WINDING
from slipwise.model.thermal.ratings import TimeConstants, intermittent_power, short_time_power
from slipwise.present import tables_heat
from slipwise.present.figures import catalogue, draw
from slipwise.present.terminal import text
from slipwise.results.codec import from_json, to_json
from slipwise.results.study import StudyResult
from slipwise.solve.heat import Piece, heat, limit_cycle
from slipwise.solve.heat_limits import rest_before, shortest_period, starts_in_a_row, time_to_limit
from slipwise.study.reader import loads
from slipwise.study.run import run
from tests.behaviour.test_figures import texts

BASE = (Path(__file__).parent.parent / "broken" / "base.toml").read_text(encoding="utf-8")
DUTIES = """
[thermal]
rise = "80 K"
time_constant = "30 min"
starts_in_a_row = 4
rest_time = "2 min"
duty = [
  { type = "S1", load = "100 %" },
  { type = "S2", load = "120 %", on_time = "10 min" },
  { type = "S3", load = "110 %", on_time = "4 min", off_time = "6 min" },
  { type = "S4", load = "90 %", on_time = "4 min", off_time = "6 min" },
  { type = "S5", load = "90 %", on_time = "4 min", off_time = "6 min", braking = "plugging" },
  { type = "S6", load = "110 %", on_time = "4 min", off_time = "6 min" },
  { type = "S7", load = "90 %", on_time = "9 min", braking = "direct current" },
  { type = "S8", step = [{ time = "5 min", load = "110 %" }, { time = "5 min", load = "60 %", speed = "50 %" }] },
  { type = "S9", step = [{ time = "9 min", load = "130 %" }, { time = "7 min", load = "0 %", speed = "0 %" }] },
]
"""


@cache
def answer() -> StudyResult:
    """A small motor asked about every duty type."""
    text = BASE.replace('inertia = "0.05 kg m2"', 'inertia = "0.05 kg m2"\nstall_time_hot = "12 s"')
    return run(
        loads(text.replace("\n[starting]", DUTIES + "\n[starting]")), transients=False, boundaries=False, ensemble=0
    )


def one_body(capacity: float, conductance: float, limit: float, standing: float = 1.0) -> ThermalNetwork:
    return ThermalNetwork(
        bodies=(Body(name="motor", heat_capacity=capacity, limit=limit),),
        paths=(HeatPath(begin="motor", to="", running=conductance, standing=conductance * standing),),
    )


@given(loss=st.floats(50, 1e4), start=st.floats(0, 90), constant=st.floats(10, 1e4))
def test_time_to_limit_is_the_closed_form(loss: float, start: float, constant: float) -> None:
    """One body reaches its limit after tau ln((r_end - r_0) / (r_end - r_limit)), or never."""
    network = one_body(2.0 * constant, 2.0, 100.0)
    found = time_to_limit(network, {"motor": loss}, 1.0, start=np.array([start]), ambient=0.0)
    final = loss / 2.0
    if final <= 100.0:
        assert found == inf or final == pytest.approx(100.0, rel=1e-6)
    else:
        expected = constant * log((final - start) / (final - 100.0))
        assert found == inf if expected > 1e6 else found == pytest.approx(expected, rel=1e-6, abs=1e-9)


def test_count_and_rest_of_one_body() -> None:
    """Starts of 30 K each below 100 K: three fit; after them the fourth waits until 70 K are left, tau ln(90 / 70)."""
    network = one_body(1000.0, 1e-9, 100.0)
    one = [Piece(seconds=1.0, losses={"motor": 30e3}, cooling=0.0)]
    assert starts_in_a_row(network, one, (), start=np.zeros(1), ambient=0.0, most=20) == 3
    cooled = one_body(1000.0, 1.0, 100.0)
    idle = Piece(seconds=1.0, losses={}, cooling=0.0)
    short = [Piece(seconds=1e-3, losses={"motor": 30e6}, cooling=0.0)]
    wait = rest_before(cooled, short, idle, start=np.array([90.0]), ambient=0.0)
    assert wait == pytest.approx(1000.0 * log(90 / 70), rel=1e-4)


def test_shortest_period_of_one_body() -> None:
    """Kicks of 30 K every T settle with a peak of 30 / (1 - exp(-T / tau)): at 100 K T is tau ln(1 / 0.7)."""
    network = one_body(1000.0, 1.0, 100.0)
    kick = [Piece(seconds=1e-3, losses={"motor": 30e6}, cooling=0.0)]
    idle = Piece(seconds=1.0, losses={}, cooling=0.0)
    period = shortest_period(network, kick, idle, lambda _t, _c: True, 0.0)
    assert period == pytest.approx(1000.0 * log(1 / 0.7), rel=1e-4)


@given(on=st.floats(60, 5000), off=st.floats(60, 5000), heating=st.floats(600, 6000), slower=st.floats(1.0, 3.0))
def test_duty_ratings_end_at_the_rise_of_continuous_power(on: float, off: float, heating: float, slower: float) -> None:
    """The published intermittent and short-time power, put through the network as losses, give the rise of rated load."""
    network = one_body(heating * 5.0, 5.0, 1e9, standing=1 / slower)
    bodies = TimeConstants(heating=heating, cooling=heating * slower)
    power = intermittent_power(1.0, on, off, bodies)
    cycle = [
        Piece(seconds=on, losses={"motor": 500 * power**2}, cooling=1.0),
        Piece(seconds=off, losses={}, cooling=0.0),
    ]
    assert limit_cycle(network, cycle, ambient=0.0).peak("motor") == pytest.approx(100.0, rel=1e-9)
    short = [Piece(seconds=on, losses={"motor": 500 * short_time_power(1.0, on, heating) ** 2}, cooling=1.0)]
    assert heat(network, short, ambient=0.0).peak("motor") == pytest.approx(100.0, rel=1e-9)


def test_stall_time_meets_what_the_maker_states() -> None:
    """At rated voltage from hot it is the stated 12 s, and it goes nearly with the inverse square of voltage."""
    heat_of = answer().heat
    assert heat_of is not None
    curve = heat_of.stall
    full, low = (float(np.interp(v, curve.voltage, curve.hot)) for v in (1.0, 0.7))
    assert full == pytest.approx(12.0, rel=0.05)
    assert low == pytest.approx(full / 0.49, rel=0.1)
    assert low >= full / 0.49 * 0.999  # what is carried off only lengthens it
    assert np.all(curve.cold > curve.hot)


def test_limit_curves_meet_at_standstill() -> None:
    """The accelerating limit begins where the locked-rotor one stands at rated voltage; cold lies above hot."""
    heat_of = answer().heat
    assert heat_of is not None
    parts = {(c.part, c.state): c for c in heat_of.limits}
    for state in ("hot", "cold"):
        locked, held = parts["locked rotor", state], parts["accelerating", state]
        there = float(np.interp(held.current[0], locked.current, locked.seconds))
        assert held.seconds[0] == pytest.approx(there, rel=1e-2)
    assert np.all(parts["running", "cold"].seconds >= parts["running", "hot"].seconds)


def test_starts_add_up_without_cooling() -> None:
    """Each start raises the rotor by its adiabatic rise at most, the first nearly by all of it."""
    for way in answer().ways:
        if way.heat is None:
            continue
        rotor = way.heat.starts.temperature[way.heat.starts.bodies.index(CAGE)]
        assert rotor.max() - 40 <= 4 * way.heat.rotor_rise * (1 + 1e-9)
        first = rotor[: 16 * 16 + 1].max() - 40
        assert first == pytest.approx(way.heat.rotor_rise, rel=0.05)
        assert abs(way.heat.starts.energy.closure) < 1e-9


def test_heat_of_the_starts_is_that_of_the_run_up() -> None:
    """Losses put into the network are four times stator and rotor heat of one start."""
    heated = [way for way in answer().ways if way.heat is not None]
    assert heated
    for way in heated:
        assert way.heat is not None
        one = way.run_ups[0].stator_heat + way.run_ups[0].rotor_heat
        assert way.heat.starts.energy.get("losses") == pytest.approx(4 * one, rel=1e-9)


def test_every_duty_is_answered_and_repeats() -> None:
    """All nine types have a trace that closes its balance; repeated ones end as they begin."""
    way = next(way for way in answer().ways if way.heat is not None)
    assert way.heat is not None
    assert [duty.duty_type for duty in way.heat.duties] == [f"S{n}" for n in range(1, 10)]
    for duty in way.heat.duties:
        assert abs(duty.trace.energy.closure) < 1e-9
        assert duty.mean <= duty.highest
        if duty.duty_type not in ("S1", "S2", "S9"):
            assert duty.trace.temperature[:, 0] == pytest.approx(duty.trace.final, rel=1e-7)


def test_full_load_for_ever_is_the_rated_rise() -> None:
    """S1 at rated torque ends within a few kelvin of the 80 K it was given, never above."""
    way = next(way for way in answer().ways if way.heat is not None)
    assert way.heat is not None
    highest = way.heat.duties[0].trace.temperature[way.heat.starts.bodies.index(WINDING)].max()
    assert 0.95 * 80 < highest - 40 <= 80 * (1 + 1e-9)


def test_braking_and_starting_warm_more_than_neither() -> None:
    """With the same load and times S5 by plugging is hotter than S4 with a start, and both than S3 scaled to that load."""
    way = next(way for way in answer().ways if way.heat is not None)
    assert way.heat is not None
    by = {duty.duty_type: duty.mean for duty in way.heat.duties}
    assert by["S5"] > by["S4"]


def test_own_fan_takes_torque_at_low_speed() -> None:
    """The own fan gives rated torque at rated speed and less the slower it turns; forced cooling keeps it."""
    heat_of = answer().heat
    assert heat_of is not None
    assert heat_of.fan.own_fan[-1] == pytest.approx(1.0, rel=1e-9)
    assert np.all(np.diff(heat_of.fan.own_fan) > 0)
    assert heat_of.fan.forced == pytest.approx(1.0, rel=1e-9)


def test_results_come_back(tmp_path: Path) -> None:
    """study.json with its CSV files holds every temperature and limit."""
    found = answer()
    back = from_json(to_json(found, tmp_path / "series"), tmp_path)
    assert found.heat is not None
    assert back.heat is not None
    assert back.heat.bodies == found.heat.bodies
    assert back.heat.stall.hot == pytest.approx(found.heat.stall.hot, rel=1e-8)
    for old, new in zip(found.ways, back.ways, strict=True):
        if old.heat is not None:
            assert new.heat is not None
            assert new.heat.starts.temperature == pytest.approx(old.heat.starts.temperature, rel=1e-8)
            assert new.heat.rest_standing == old.heat.rest_standing


def test_heat_is_told_and_explained() -> None:
    """The terminal carries every table; each way has its numbers explained; what was estimated is listed."""
    found = answer()
    page = text(found, 120)
    for _, table in tables_heat.all_heat(found):
        assert table.title in page
    names = {row.name for row in found.explanations}
    assert {"direct.heat.rotor_rise", "direct.heat.balance", "direct.heat.rate"} <= names
    listed = {row.name for row in found.inputs}
    assert {"thermal.standing_cooling", "thermal.rotor_limit", "thermal.insulation"} <= listed


def test_a_study_without_the_section_is_not_asked() -> None:
    """Without [thermal] there is no heat in the results and no table of it."""
    found = run(loads(BASE), transients=False, boundaries=False, ensemble=0)
    assert found.heat is None
    assert all(way.heat is None for way in found.ways)
    assert tables_heat.all_heat(found) == ()


@pytest.mark.parametrize("key", ["stall", "direct.starts_in_a_row", "direct.thermal_limit", "star_delta.thermal_limit"])
def test_figures_of_heat_are_legible(key: str) -> None:
    """No two texts share a pixel, and the description tells numbers."""
    assert key in {entry.key for entry in catalogue(answer())}
    figure = draw(answer(), key)
    figure.canvas.draw()
    boxes = texts(figure)
    for n, (words, box) in enumerate(boxes):
        for other, rival in boxes[n + 1 :]:
            wide, high = (min(box.x1, rival.x1) - max(box.x0, rival.x0), min(box.y1, rival.y1) - max(box.y0, rival.y0))
            assert wide <= 0.5 or high <= 0.5, f"{words!r} and {other!r} overlap"


def test_decay_between_starts_is_exponential() -> None:
    """One body left alone cools as exp(-t / tau) from where the start left it."""
    network = one_body(1000.0, 1.0, 1e9)
    pieces = [Piece(seconds=1.0, losses={"motor": 5e4}, cooling=1.0), Piece(seconds=700.0, losses={}, cooling=1.0)]
    trace = heat(network, pieces, ambient=0.0, points=2)
    assert trace.final[0] == pytest.approx(trace.temperature[0, 2] * exp(-0.7), rel=1e-9)

"""Loads from process data, several load cases, and duty cycles: from the file to the answer."""

from __future__ import annotations

from dataclasses import replace
from math import atan, cos, pi, sin
from pathlib import Path

import numpy as np
import pytest

from slipwise.present.figures.catalogue import catalogue, draw
from slipwise.present.tables_duty import duty as duty_table
from slipwise.present.tables_duty import load_cases as case_table
from slipwise.quantity.provenance import Origin
from slipwise.results.codec import from_json, to_json
from slipwise.results.criteria import Status
from slipwise.results.study import StudyResult
from slipwise.study.boundary import directions
from slipwise.study.load_cases import heaviest
from slipwise.study.model import Study
from slipwise.study.reader import loads
from slipwise.study.run import run

BASE = (Path(__file__).parents[1] / "broken" / "base.toml").read_text(encoding="utf-8")
PLAIN = 'torque_law = "quadratic"\nshaft_power = "9 kW"\nspeed = "1460 r/min"\ninertia = "0.12 kg m2"\n'
SPEED = 1460 * pi / 30
RATED = 9e3 / SPEED
PUMP = 'torque_law = "centrifugal pump"\nshaft_power = "9 kW"\nspeed = "1460 r/min"\ninertia = "0.12 kg m2"\n'
STATES = """
[[load.case]]
name = "shut"
valve = "shut"
shut_torque = "40 %"

[[load.case]]
name = "open"
valve = "open"
"""


def study(load: str, ways: str = '"direct"') -> Study:
    """The plain file of the broken-file tests with another load."""
    assert PLAIN in BASE
    text = BASE.replace(PLAIN, load)
    text = text.replace('ways = ["direct", "star_delta", "autotransformer"]', f"ways = [{ways}]")
    return loads(text.replace('[starting.star_delta]\nchangeover_speed = "1300 r/min"\n', ""))


def answer(found: Study) -> StudyResult:
    """Run-ups alone."""
    return run(found, transients=False, boundaries=False, ensemble=0)


def test_shut_and_open_valve_follow_the_square_of_speed():
    """Torque at rated speed is the rated one with the valve open, 40 % of it with the valve shut; half speed, a quarter."""
    for valve, share in (('valve = "open"', 1.0), ('valve = "shut"\nshut_torque = "40 %"', 0.4)):
        load = study(f"{PUMP}{valve}\n").load
        assert load.running(np.array([1.0, 0.5]) * SPEED) == pytest.approx(np.array([1.0, 0.25]) * share * RATED)


def test_non_return_valve_opens_at_the_lift_speed():
    """Below sqrt(static / shut head) the pump turns shut; at rated speed it has its rated flow and torque."""
    load = study(f'{PUMP}valve = "static head"\nstatic_head = "60 %"\nshut_head = "125 %"\nshut_torque = "40 %"\n').load
    lift = (0.6 / 1.25) ** 0.5
    assert float(load.running(0.9 * lift * SPEED)) == pytest.approx(0.4 * (0.9 * lift) ** 2 * RATED, rel=2e-3)
    assert float(load.running(SPEED)) == pytest.approx(RATED, rel=2e-3)
    between = 0.5 * (1 + lift)
    assert 0.4 * between**2 * RATED < float(load.running(between * SPEED)) < between**2 * RATED


def test_what_a_pump_does_not_say_is_assumed_with_its_range():
    """Valve, torque without flow and head without flow are never silent."""
    rows = {row.name: row for row in study(f'{PUMP}valve = "static head"\nstatic_head = "50 %"\n').inputs}
    for name in ("load.shut_torque", "load.shut_head"):
        assert rows[name].origin is Origin.ASSUMED
        assert (rows[name].low or 0) < (rows[name].value or 0) < (rows[name].high or 0)
    assert {row.name: row for row in study(PUMP).inputs}["load.valve"].text == "open"


def test_fan_damper_is_the_valve_of_a_fan():
    """The same laws under the words of a fan."""
    fan = PUMP.replace("centrifugal pump", "fan")
    shut, wide = study(f'{fan}damper = "shut"\nshut_torque = "55 %"\n').load, study(f'{fan}damper = "open"\n').load
    assert float(shut.running(SPEED)) == pytest.approx(0.55 * float(wide.running(SPEED)))


def test_conveyor_by_mass_speed_and_slope():
    """Pull, power and inertia at the motor shaft are those worked out by hand."""
    found = study(
        'torque_law = "conveyor"\nspeed = "73 r/min"\ngear_ratio = 20\ngear_efficiency = "94 %"\n'
        'moving_mass = "4 t"\nmaterial_mass = "2.5 t"\nmass_speed = "1.2 m/s"\nslope = "10 %"\nbelt_friction = 0.03\n'
        'breakaway_torque = "140 %"\ninertia_at_motor = "0.02 kg m2"\n'
    ).load
    angle, motor = atan(0.1), 73 * 20 * pi / 30
    friction, lift = 0.03 * 4000 * 9.80665 * cos(angle), 2500 * 9.80665 * sin(angle)
    radius = 1.2 / motor
    assert float(found.running(motor)) == pytest.approx((friction + lift) * radius / 0.94)
    assert found.holding == pytest.approx(1.4 * friction * radius / 0.94)
    assert found.pull == pytest.approx(lift * radius / 0.94)
    assert found.inertia == pytest.approx(0.02 + 4000 * radius**2)
    assert found.travel == pytest.approx(radius)


def test_belt_acceleration_is_force_over_mass():
    """The row is the surplus of torque over inertia, times travel; it names the usual range and is judged when asked."""
    text = (
        'torque_law = "conveyor"\nspeed = "73 r/min"\ngear_ratio = 20\nmoving_mass = "4 t"\nmass_speed = "1.2 m/s"\n'
        'belt_friction = 0.03\ninertia_at_motor = "0.02 kg m2"\n'
    )
    found = study(text)
    way = answer(found).ways[0]
    row = next(item for item in way.verdict.criteria if item.key == "belt_acceleration")
    assert row.status is Status.UNKNOWN
    assert "0.1 to 0.3" in row.condition
    run_up = next(item for item in way.run_ups if item.case == row.case)
    speed = np.gradient(run_up.speed, run_up.time)[1:-1]
    assert row.value == pytest.approx(float(speed.max()) * found.load.travel, rel=0.02)
    limits = replace(found.limits, belt_acceleration=replace(found.limits.belt_acceleration, value=0.3))
    judged = answer(replace(found, limits=limits)).ways[0].verdict.criteria
    assert next(item for item in judged if item.key == "belt_acceleration").status is Status.FAILS


def test_cases_share_what_stands_in_load_and_replace_the_rest():
    """One inertia, two torques; the first case stands for the load where one is enough."""
    found = study(PUMP + STATES)
    assert [name for name, _ in found.loads] == ["shut", "open"]
    shut, wide = (load for _, load in found.loads)
    assert found.load == shut
    assert (shut.inertia, float(shut.running(SPEED))) == pytest.approx((wide.inertia, 0.4 * float(wide.running(SPEED))))
    assert heaviest(found) == "open"
    names = [row.name for row in found.inputs]
    assert names.count("load.breakaway_torque") == 1  # assumed alike in both, told once
    assert "load.case[1].shut_torque" in names


def test_a_case_may_give_torque_where_the_load_gives_power():
    """What says the same in another way gives place."""
    found = study(f'{PLAIN}\n[[load.case]]\nname = "light"\ntorque = "20 N m"\n[[load.case]]\nname = "usual"\n')
    assert [float(load.running(SPEED)) for _, load in found.loads] == pytest.approx([20.0, RATED])


def test_every_way_is_judged_in_all_cases_and_the_worst_counts():
    """Rows are the worst over the cases; the verdict is that of the binding one; alone, each case gives its own."""
    both = answer(study(PUMP + STATES, '"direct", "star_delta"'))
    for way in both.ways:
        alone = {}
        for name, valve in (("shut", 'valve = "shut"\nshut_torque = "40 %"\n'), ("open", 'valve = "open"\n')):
            single = study(PUMP + valve, '"direct"')
            if way.key == "direct":
                alone[name] = answer(single).ways[0]
        assert [case.name for case in way.load_cases] == ["shut", "open"]
        assert way.load_case == "open"
        for name, other in alone.items():
            case = next(item for item in way.load_cases if item.name == name)
            assert (case.status, case.run_up_time) == (
                other.verdict.status,
                pytest.approx(other.run_ups[0].run_up_time),
            )
            mine = {row.key: row for row in way.verdict.criteria}
            for row in other.verdict.criteria:
                if row.margin is not None:
                    assert (mine[row.key].margin or 0) <= row.margin + 1e-6
    assert {row.load_case for row in both.ways[0].verdict.criteria} == {"open"}
    assert "binds" in case_table(both).rows[0][1] or "binds" in case_table(both).rows[1][1]


def test_a_row_that_is_only_shown_is_the_greatest_of_the_cases():
    """The empty belt is pulled away hardest, and no limit is needed to say so."""
    text = (
        'torque_law = "conveyor"\nspeed = "73 r/min"\ngear_ratio = 20\nmass_speed = "1.2 m/s"\nbelt_friction = 0.03\n'
        '[[load.case]]\nname = "loaded"\nmoving_mass = "5 t"\n[[load.case]]\nname = "empty"\nmoving_mass = "1 t"\n'
    )
    row = next(item for item in answer(study(text)).ways[0].verdict.criteria if item.key == "belt_acceleration")
    assert row.load_case == "empty"


def test_boundaries_move_every_case():
    """The largest load is that of the heaviest case, moved in all of them together."""
    found = study(PUMP + STATES)
    load = next(item for item in directions(found) if item.key == "load")
    assert load.stated == pytest.approx(float(dict(found.loads)["open"].running(found.motor.rating.speed)))
    moved = load.at(1.5)
    for (_, before), (_, after) in zip(found.loads, moved.loads, strict=True):
        assert float(after.running(SPEED)) == pytest.approx(1.5 * float(before.running(SPEED)))


CYCLE = """
[[load.duty]]
time = "0.5 s"
torque = "120 N m"

[[load.duty]]
time = "1.5 s"
power = "0 kW"
"""


def test_duty_cycle_from_the_file_to_table_figure_and_data(tmp_path: Path):
    """Energy over the cycle closes, the mean torque of motor and load agree, and the record survives the file."""
    found = answer(study(PLAIN.replace("9 kW", "1 kW").replace("0.12", "3.0") + CYCLE))
    cycle = found.duty
    assert cycle is not None
    assert cycle.period == pytest.approx(2.0)
    assert abs(cycle.residual) < 1e-8
    motor, load = (np.trapezoid(x, cycle.time) for x in (cycle.torque, cycle.load))
    assert motor == pytest.approx(load, rel=2e-3)
    assert float(cycle.load.max()) > 120
    assert any("rms over the cycle" in row[0] for row in duty_table(found).rows)
    assert "duty" in [entry.key for entry in catalogue(found)]
    assert draw(found, "duty") is not None
    back = from_json(to_json(found, tmp_path / "series"), tmp_path).duty
    assert back is not None
    assert back.torque == pytest.approx(cycle.torque, rel=1e-8)
    assert back.energy == cycle.energy
    assert (tmp_path / "series" / "duty.csv").exists()


def test_a_cycle_that_drags_the_motor_down_is_an_answer():
    """No crash: the note says that no steady cycle exists."""
    found = answer(study(PLAIN + CYCLE.replace("120 N m", "900 N m").replace("0.5 s", "5 s")))
    assert found.duty is None
    assert found.duty_note.startswith("no steady cycle: ")
    assert duty_table(found).note == found.duty_note

"""A whole study of speed control: through the reader, the runner, the data file and the command line."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite, pi
from pathlib import Path

import pytest

from slipwise.doors.cli.app import Exit, main
from slipwise.methods.speed import SPEED
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from slipwise.results.codec import from_json, to_json
from slipwise.results.criteria import Status
from slipwise.results.speed import Part, SpeedResult, SpeedWayResult
from slipwise.results.study import StudyResult
from slipwise.study.reader import load, loads
from slipwise.study.run import run
from slipwise.study.speed.run import run_speed
from tests.behaviour.test_export_codec import assert_same
from tests.speed_studies import by_flow, by_speed, process, speed_study
from tests.studies import motor

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
YEARS = ("pump_p3_year", "fan_v4", "crusher_k1_year")
PUMP = (EXAMPLES / "pump_p3_year.toml").read_text(encoding="utf-8")
BASELINES = ("throttle", "damper", "on_off")


def found(result: SpeedResult | None, key: str) -> SpeedWayResult:
    """One way of a result."""
    assert result is not None
    return next(way for way in result.ways if way.key == key)


@pytest.fixture(scope="module")
def pump() -> StudyResult:
    """The pump over a year with its starts, run-ups alone."""
    return run(load(EXAMPLES / "pump_p3_year.toml"), transients=False, boundaries=False, ensemble=0)


@pytest.mark.parametrize("name", YEARS)
def test_every_point_of_every_example_closes_its_balance(name):
    """Line power = shaft power + losses, the throttled power being part of the shaft power; every figure is finite."""
    result = run_speed(load(EXAMPLES / f"{name}.toml"))
    assert result is not None
    points = [point for way in result.ways for point in way.points]
    assert len(points) >= 8
    for point in points:
        lost = sum(loss.power for loss in point.losses if loss.part is not Part.THROTTLE)
        assert point.line_power == pytest.approx(point.shaft_power + lost, rel=1e-9)
        assert all(isfinite(x) for x in (point.speed, point.torque, point.stability, point.winding_heat, point.flux))
    assert result.recommendation.way is not None
    assert result.recommendation.reason


def test_a_saving_is_what_the_system_curve_allows(pump):
    """The inverter needs least energy and the valve most; none promises the cube: every way takes more than is useful."""
    assert pump.speed is not None
    years = {way.key: way.year.energy for way in pump.speed.ways}
    useful = sum((point.useful or 0.0) * point.hours * 3600 for point in pump.speed.duty)
    chart = pump.speed.process
    assert chart is not None
    cube = sum(power * point.hours * 3600 for power, point in zip(chart.cube_law, pump.speed.duty, strict=True))
    assert cube < 0.7 * useful < years["volts_per_hertz"] < years["on_off"] < years["throttle"]
    assert pump.speed.recommendation.way == "volts_per_hertz"


def test_each_way_says_how_its_motor_starts_and_how_that_stands(pump):
    """The throttled pump starts by star-delta, which this study judges; a row of its verdict says so."""
    way = found(pump.speed, "throttle")
    row = next(row for row in way.verdict.criteria if row.key == "started")
    standing = {start.title: start.verdict.status for start in pump.ways}
    assert row.status is Status.PASSES
    assert standing["Star-delta"] is Status.PASSES
    assert any("Star-delta passes" in note for note in way.notes)


def test_study_json_comes_back_whole(pump, tmp_path):
    """Every number of the speed part survives the data file, curves in CSV files beside it."""
    text = to_json(pump, tmp_path / "series")
    assert_same(pump, from_json(text, tmp_path))
    assert (tmp_path / "series" / "speed_throttle").is_dir()
    assert pump.speed is not None
    again = to_json(from_json(text, tmp_path), tmp_path / "again")
    assert again.replace("again/", "series/") == text


def test_a_way_that_cannot_be_does_not_apply_and_says_why():
    """A damper on a pump, and rotor resistance on a cage: no points, a reason, and no place in the ranking."""
    study = speed_study(process(), (by_flow(0.4, process()),), "damper", "rotor_resistance", "throttle")
    result = run_speed(study)
    for key in ("damper", "rotor_resistance"):
        way = found(result, key)
        assert way.status is Status.NOT_APPLICABLE
        assert way.points == ()
        assert way.verdict.reason
        assert way.year.hours_infeasible == 1000
    assert result is not None
    assert result.recommendation.way == "throttle"


@pytest.mark.parametrize("way", [way for way in SPEED if way.key in BASELINES], ids=lambda way: way.key)
def test_a_demand_beyond_the_open_flow_is_an_answer(way):
    """120 % flow cannot pass at full speed: not reached, with what passes instead, and the year does not count it."""
    on = process("fan" if way.key == "damper" else "pump")
    duty = (by_flow(0.7, on), by_flow(1.2, on, 500.0))
    found_way = found(run_speed(speed_study(on, duty, way.key)), way.key)
    good, bad = found_way.points
    assert good.feasible
    assert not bad.feasible
    assert "of rated flow passes" in bad.reason
    assert bad.shaft_power > good.shaft_power * 0.9
    assert found_way.year.hours_infeasible == 500
    assert found_way.status is Status.FAILS


def test_a_speed_cannot_be_asked_of_a_valve():
    """A demand by speed among demands by flow: the motor keeps its own speed and says which."""
    on = process()
    way = found(run_speed(speed_study(on, (by_flow(0.7, on), by_speed(100.0, 300.0)), "throttle")), "throttle")
    assert not way.points[1].feasible
    assert "the demand is a speed of" in way.points[1].reason
    assert way.points[1].speed == pytest.approx(motor().rating.speed, rel=0.02)


def test_inlet_vanes_lose_less_than_a_damper():
    """At half flow vanes take less power than an outlet damper, and both more than the fan needs."""
    on = process("fan", static_head=0.0)
    plain = speed_study(on, (by_flow(0.5, on),), "damper")
    assert plain.speed is not None
    request = replace(plain.speed.ways[0], given={"place": "inlet vanes"})
    vanes = replace(plain, speed=replace(plain.speed, ways=(request,)))
    outlet_power, vanes_power = (found(run_speed(s), "damper").points[0].line_power for s in (plain, vanes))
    assert (on.machine.torque * on.machine.speed) / 8 < vanes_power < outlet_power


def test_a_motor_too_weak_for_its_pump_stalls_and_that_is_an_answer():
    """Forty times rated torque: the motor cannot carry the pump on the line."""
    strong = process()
    heavy = replace(strong, machine=replace(strong.machine, torque=40 * strong.machine.torque))
    way = found(run_speed(speed_study(heavy, (by_flow(0.9, heavy),), "throttle")), "throttle")
    assert not way.points[0].feasible
    assert "stalls" in way.points[0].reason


def without(text: str, section: str) -> str:
    """A study file without one table and what stands under it."""
    lines, kept, skipping = text.splitlines(), [], False
    for line in lines:
        if line.startswith("["):
            skipping = line.strip("[] ").split(".")[0].split("]")[0] == section
        if not skipping:
            kept.append(line)
    return "\n".join(kept)


def test_a_study_may_have_either_part():
    """Speed control alone asks for no way of starting; starting alone has no speed part; both have both."""
    alone = loads(without(PUMP, "starting"))
    assert alone.ways == ()
    assert alone.speed is not None
    plain = loads(without(without(PUMP, "speed"), "tariff"))
    assert plain.speed is None
    assert plain.ways
    result = run(alone, transients=False)
    assert result.ways == ()
    assert result.recommendation.way is None
    assert result.speed is not None


def test_every_assumption_of_the_speed_part_is_listed():
    """What was not given stands among the inputs with its range and reason; a demand by flow shows its derived speed."""
    rows = {row.name: row for row in loads(PUMP.replace('shut_power = "36 kW"\n', "")).inputs}
    assert rows["speed.process.shut_power"].origin is Origin.ASSUMED
    assert (rows["speed.process.shut_power"].low, rows["speed.process.shut_power"].high) == (0.3, 0.5)
    assert rows["speed.overload"].origin is Origin.ASSUMED
    assert rows["speed.duty[1].speed"].origin is Origin.DERIVED
    assert rows["speed.process.static_head"].value == pytest.approx(38 / 62)
    assert all(row.why for name, row in rows.items() if name.startswith(("speed", "tariff")) and row.origin != "given")


def test_an_assumed_figure_widens_the_range_of_the_energy():
    """Without the power at no flow the throttled energy has a wider range than with it."""

    def width(text: str) -> float:
        year = found(run_speed(loads(text)), "throttle").year
        return year.energy_high - year.energy_low

    assert width(PUMP.replace('shut_power = "36 kW"\n', "")) > 2 * width(PUMP)


BAD = {
    "no static head": ('static_head = "38 m" ', "# ", "speed.process.static_head"),
    "speed and flow": ('flow = "55 %"', 'flow = "55 %"\nspeed = "900 r/min"', "speed and flow say the same"),
    "neither": ('flow = "55 %"', "", "a demand is a speed or a flow"),
    "torque with flow": ('flow = "55 %"', 'flow = "55 %"\ntorque = "90 N m"', "it follows from the flow"),
    "too many hours": ("hours = 3400", "hours = 8000", "a year has at most 8784 hours"),
    "two of one name": ('name = "evening"', 'name = "day"', "two demands have this name"),
    "no such busbar": ('coupling_point = "11 kV line"', 'coupling_point = "bus 7"', "no busbar has this name"),
    "no such way": ('"on_off"', '"on_of"', 'did you mean "on_off"?'),
    "static above rated": ('static_head = "38 m"', 'static_head = "63 m"', "nothing is left for friction"),
    "drooping": ('shut_head = "76 m"', 'shut_head = "60 m"', "below the rated head"),
    "price out of its range": ("price_low = 0.12", "price_low = 0.18", "does not lie in its own range"),
    "settings of a way not named": ("[tariff]", '[speed.damper]\nplace = "inlet vanes"\n\n[tariff]', "does not name"),
    "bare flow": ('flow = "55 %"', "flow = 55", "per cent or per unit"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_broken_speed_part_is_told_in_its_own_words(name):
    """Each slip gives its own message, with a line."""
    old, new, words = BAD[name]
    assert old in PUMP
    with pytest.raises(InputError) as error:
        loads(PUMP.replace(old, new, 1))
    told = [str(fault) for fault in error.value.faults]
    assert any(words in line for line in told), told
    assert all(fault.line for fault in error.value.faults)


def test_a_flow_without_a_process_is_refused():
    """Demands by flow need the pump and its system; a tariff needs something to price."""
    text = PUMP.replace("[speed.process]", "[unused]")
    start, end = text.index("[unused]"), text.index("[[speed.duty]]")
    with pytest.raises(InputError, match="not given; add"):
        loads(text[:start] + text[end:])
    with pytest.raises(InputError, match="nothing that it prices"):
        loads(without(PUMP, "speed"))


def test_the_command_answers_in_the_terminal(capsys, tmp_path):
    """The recommendation first, the ways side by side, one way in full; unknown ways and studies without duty refused."""
    file = tmp_path / "pump.toml"
    file.write_text(without(PUMP, "starting"), encoding="utf-8")
    assert main(["speed", str(file)]) == Exit.COMPUTED
    out = capsys.readouterr().out
    assert "Speed control: Volts per hertz" in out
    assert out.index("Speed control") < out.index("Ways of speed control compared") < out.index("demand by demand")
    assert "Why not" in out
    assert main(["speed", str(file), "--way", "throttle"]) == Exit.COMPUTED
    out = capsys.readouterr().out
    assert "Throttle valve, demand by demand" in out
    assert "where the power goes" in out
    assert main(["speed", str(file), "--way", "sails"]) == Exit.BAD_INPUT
    assert main(["speed", str(EXAMPLES / "bench_b7.toml"), "--strict"]) == Exit.BAD_INPUT
    assert "asks for no speed control" in capsys.readouterr().err


def test_strict_turns_a_hopeless_duty_into_a_code(tmp_path, capsys):
    """Ways that all fail: 0 without, 3 with --strict."""
    text = without(PUMP, "starting").replace('flow = "55 %"', 'flow = "130 %"')
    text = text.replace(
        '"throttle", "on_off", "variable_transformer", "phase_control", "volts_per_hertz"', '"throttle"'
    )
    file = tmp_path / "hopeless.toml"
    file.write_text(text, encoding="utf-8")
    assert main(["speed", str(file)]) == Exit.COMPUTED
    assert main(["speed", str(file), "--strict"]) == Exit.FAILING_VERDICT
    capsys.readouterr()


def test_a_demand_by_speed_takes_the_loads_torque_when_none_is_given():
    """735 r/min on a fan rated 100.7 N m at 1470 r/min: a quarter of it; a load in several states has to be told which."""
    fan = (EXAMPLES / "fan_v4.toml").read_text(encoding="utf-8")
    start, end = fan.index("[speed.process]"), fan.index("[speed.tapped_winding]")
    plain = (
        (fan[:start] + fan[end:])
        .replace('flow = "99 %"', 'speed = "1470 r/min"')
        .replace('flow = "50 %"', 'speed = "735 r/min"')
    )
    study = loads(plain)
    assert study.speed is not None
    rated = 15.5e3 / (1470 * pi / 30)
    assert [duty.torque for duty in study.speed.duty] == pytest.approx([rated, rated / 4])
    crusher = (EXAMPLES / "crusher_k1_year.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError, match="the load has 2 states"):
        loads(crusher.replace('torque = "1900 N m"\n', "", 1))


def test_every_number_of_speed_control_is_explained(pump):
    """Energy by the sum written out, cost and payback by their formulas from their own inputs, every criterion by its source."""
    said = {item.name: item for item in pump.explanations}
    assert pump.speed is not None
    for way in pump.speed.ways:
        name = f"speed.{way.key}"
        assert said[f"{name}.energy"].value == pytest.approx(way.year.energy, rel=1e-12)
        assert said[f"{name}.cost"].value == pytest.approx(way.year.cost, rel=1e-12)
        for row in way.verdict.criteria:
            assert row.value is None or said[f"{name}.{row.key}"].value == row.value
    drive = next(way for way in pump.speed.ways if way.key == "volts_per_hertz")
    assert said["speed.volts_per_hertz.payback"].value == pytest.approx(drive.year.payback, rel=1e-12)
    assert said["speed.volts_per_hertz.total"].value == pytest.approx(drive.year.total, rel=1e-12)
    assert all(item.source for item in said.values())


def test_cautions_of_speed_control_go_with_its_ways(pump):
    """Harmonics and the yearly cost have their caution; a change of poles has none where none is asked for."""
    text = " ".join(pump.cautions)
    assert "Harmonic currents are those of this drive alone" in text
    assert "without interest" in text
    assert "Changing to the lower speed" not in text

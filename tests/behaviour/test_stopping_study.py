"""Stopping in a study: judged, there and back, in the terminal, in pictures, in the report and by command."""

from __future__ import annotations

from functools import cache
from io import BytesIO
from itertools import combinations
from math import isfinite, isinf
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from slipwise.doors.cli.app import main
from slipwise.present import tables, tables_stopping
from slipwise.present.figures import catalogue, draw
from slipwise.present.figures.canvas import alternative_text, render
from slipwise.present.report import report
from slipwise.present.tables_all import all_tables
from slipwise.present.terminal import text
from slipwise.quantity.errors import InputError
from slipwise.results.codec import from_json, to_json
from slipwise.results.criteria import Status
from slipwise.results.start import Outcome
from slipwise.results.stopping import StoppingResult, StopWayResult
from slipwise.results.study import StudyResult
from slipwise.study.model import Study
from slipwise.study.reader import loads
from slipwise.study.run import run
from slipwise.study.stopping.rate import rate_of
from slipwise.study.stopping.run import run_stopping
from tests.behaviour.test_figures import texts

ROOT = Path(__file__).parent.parent.parent
BASE = (ROOT / "tests" / "broken" / "base.toml").read_text(encoding="utf-8")
ASKED = """
[stopping]
stop_time = "2 s"
turns = 40
stops_per_hour = 6

[stopping.braking_resistor]
ramp_time = "0.3 s"
"""
WARM = """
[thermal]
rise = "80 K"
time_constant = "30 min"
"""


def study_text(asked: str = ASKED) -> str:
    """The small pump with a stall time, started directly, asked about stopping."""
    bare = BASE[: BASE.index("[starting]")].replace(
        'inertia = "0.05 kg m2"', 'inertia = "0.05 kg m2"\nstall_time_hot = "12 s"'
    )
    return bare + '[starting]\nways = ["direct"]\nswitching_angles = 4\n' + asked


@cache
def answer() -> StudyResult:
    """Everything computed once."""
    return run(loads(study_text()), boundaries=False, ensemble=0)


@cache
def answer_study() -> Study:
    """The study before it is run."""
    return loads(study_text())


def stopping(result: StudyResult | None = None) -> StoppingResult:
    found = (result or answer()).stopping
    assert found is not None
    return found


def way(key: str, result: StudyResult | None = None) -> StopWayResult:
    return next(found for found in stopping(result).ways if found.key == key)


def row(key: str, name: str) -> float:
    """The value of one criterion."""
    value = next(r.value for r in way(key).verdict.criteria if r.key == name)
    assert value is not None
    return value


def test_every_way_is_judged_and_the_simplest_that_passes_is_taken():
    """Coasting takes too long here, a motor for one speed has no second pole number, and the first that passes is named."""
    assert way("coasting").verdict.status is Status.FAILS
    assert way("more_poles").verdict.status is Status.NOT_APPLICABLE
    standing = [found.key for found in stopping().ways if found.verdict.status is Status.PASSES]
    assert stopping().recommendation.way == standing[0] == "dc_injection"


def test_energy_of_each_stop_closes_and_motion_is_accounted_for():
    """Ledgers close to 1e-9 in every case, those of the transients to 1e-6; all of the energy of motion is given up."""
    for found in stopping().ways:
        for stop in found.stops:
            assert abs(stop.run.energy.closure) < 1e-8, (found.key, stop.case)
            assert stop.outcome is Outcome.STOPPED
        for stop in found.stops[:1]:
            lost = -stop.run.energy.get("kinetic energy")
            assert lost == pytest.approx(stop.kinetic, rel=1e-3)
        if found.band is not None:
            assert abs(found.band.worst.energy.closure) < 1e-6


def test_what_is_shown_of_one_stop_is_that_of_its_run():
    """Stop time, turns, greatest torque and current are read off the course; the worst case takes no less time."""
    for found in stopping().ways:
        for stop in found.stops:
            at = np.interp(stop.stop_time or 0.0, stop.run.time, stop.run.speed)
            assert at == pytest.approx(0.02 * answer().synchronous_speed, rel=1e-3)
            assert stop.braking_torque == pytest.approx(max(-stop.run.torque.min(), 0.0))
    plug = way("plugging")
    assert (plug.stops[1].stop_time or 0.0) > (plug.stops[0].stop_time or 0.0)


def test_plugging_heats_most_and_runs_back_when_its_switch_fails():
    """Far more heat than the energy of motion, less than three times it because the load helps; left on, it runs back."""
    plug = way("plugging")
    assert plug.stops[0].rotor_heat > 1.8 * plug.stops[0].kinetic
    assert plug.failure is not None
    assert plug.failure.speed < -0.9 * answer().synchronous_speed
    assert "runs up the other way" in tables_stopping.failure_words(plug)
    others = [w.stops[0].rotor_heat for w in stopping().ways if w.stops and w.key != "plugging"]
    assert plug.stops[0].rotor_heat > max(others)
    assert plug.excess == pytest.approx(1.0, abs=0.3)


def test_stops_an_hour_follow_the_heat():
    """The balance is 3600 times rated loss over the heat of start and stop; hotter stops are permitted less often."""
    rates = {w.key: w.rate for w in stopping().ways if w.rate is not None}
    for rate in rates.values():
        assert rate.start == "Direct"
        assert rate.balance == pytest.approx(3600 * rate.rated_loss / (rate.heat + rate.start_heat), rel=1e-12)
        assert rate.network is None
    assert rates["plugging"].balance < rates["dc_injection"].balance < rates["coasting"].balance
    assert isinf(rate_of(answer_study(), (), way("coasting").stops[0]).balance)


def test_stops_an_hour_by_the_network():
    """With rated load between, fewer than the balance without running heat allows; the hotter stop less often."""
    study = loads(study_text('[stopping]\nways = ["dc_injection", "plugging"]\nstop_time = "2 s"\n' + WARM))
    found, _ = run_stopping(study, transients=False)
    assert found is not None
    rates = [w.rate for w in found.ways if w.rate is not None]
    dc, plug = ((rate.network or 0.0, rate.balance) for rate in rates)
    assert 0.0 <= plug[0] <= dc[0]
    assert all(0.0 <= network < balance for network, balance in (dc, plug))
    rises = [rate.rotor_rise or 0.0 for rate in rates]
    heats = [w.stops[0].rotor_heat for w in found.ways]
    assert rises[1] / rises[0] == pytest.approx(heats[1] / heats[0], rel=1e-9)
    row = next(r for r in found.ways[0].verdict.criteria if r.key == "stops_per_hour")
    assert "thermal network" in row.condition


def test_a_resistor_too_large_for_the_power_fails():
    """The power returned against link voltage squared over the resistance."""
    asked = '[stopping]\nways = ["braking_resistor"]\n\n[stopping.braking_resistor]\nramp_time = "0.3 s"\n'
    spoiled = study_text(asked + 'resistance = "5 kohm"\n')
    result = run(loads(spoiled), transients=False, boundaries=False, ensemble=0)
    found = way("braking_resistor", result)
    assert found.verdict.status is Status.FAILS
    assert "resistor power" in found.verdict.reason
    assert found.band is None
    assert found.transient_note


def test_a_setting_that_cannot_stand_fails_with_its_reason():
    """A zero-speed switch above the running speed."""
    asked = '[stopping]\nways = ["plugging"]\n\n[stopping.plugging]\nswitch_speed = "1600 r/min"\n'
    result = run(loads(study_text(asked)), transients=False, boundaries=False, ensemble=0)
    found = way("plugging", result)
    assert found.verdict.status is Status.FAILS
    assert "open from the first" in found.verdict.reason
    assert stopping(result).recommendation.way is None


def test_direct_current_is_shown_for_every_connection():
    """Amperes and volts for the four ways of connecting the winding, one of them as set."""
    parts = {part.key: part for part in way("dc_injection").parts}
    names = ("star_two", "star_three", "delta_two", "delta_three")
    watts = [(parts[f"{n}_current"].value or 0) * (parts[f"{n}_voltage"].value or 0) for n in names]
    assert watts == pytest.approx([watts[0]] * 4, rel=1e-9)
    assert sum("as set" in parts[f"{n}_current"].why for n in names) == 1


def test_a_load_that_is_lowered_must_be_braked_and_held():
    """In reverse the hanging load drives: coasting runs away, every way asks for a brake at rest."""
    hoist = (ROOT / "examples" / "hoist_h1_lowering.toml").read_text(encoding="utf-8")
    hoist = hoist.replace('"dc_injection", "plugging", "braking_resistor", ', "")
    result = run(loads(hoist), transients=False, boundaries=False, ensemble=0)
    assert stopping(result).running_speed > result.synchronous_speed
    coasting = way("coasting", result)
    assert coasting.stops[0].outcome is Outcome.RUNS_AWAY
    assert coasting.verdict.status is Status.FAILS
    for found in stopping(result).ways:
        assert any(r.key == "held" and r.status is Status.CONDITION for r in found.verdict.criteria)
    assert way("regenerative", result).stops[0].returned > way("regenerative", result).stops[0].kinetic


def test_the_load_that_stops_slowest_is_taken_unless_one_is_named():
    """Of a conveyor the empty belt coasts longest."""
    belt = (ROOT / "examples" / "conveyor_c1.toml").read_text(encoding="utf-8")
    asked = '\n[stopping]\nways = ["coasting"]\n'
    free = run(loads(belt + asked), transients=False, boundaries=False, ensemble=0)
    named = run(loads(belt + asked + 'load_case = "loaded"\n'), transients=False, boundaries=False, ensemble=0)
    assert (way("coasting", free).stops[0].stop_time or 0) > (way("coasting", named).stops[0].stop_time or 0)
    assert any("slowest to stop" in note for note in stopping(free).notes)


def test_results_come_back(tmp_path: Path):
    """study.json with its CSV files holds every stop; the text read from it is the same."""
    content = to_json(answer(), tmp_path / "series")
    again = from_json(content, tmp_path)
    assert text(again) == text(answer())
    assert (tmp_path / "series" / "stop_plugging").is_dir()
    for one, other in zip(stopping().ways, stopping(again).ways, strict=True):
        assert [s.stop_time for s in one.stops] == [s.stop_time for s in other.stops]


def test_tables_and_terminal_say_the_same():
    """Every way in the comparison, every criterion in its table, and no line of the terminal beyond eighty columns."""
    found = dict(all_tables(answer()))
    assert {r[0] for r in found["stopping_comparison"].rows} == {w.title for w in stopping().ways}
    assert len(found["stop_plugging/criteria"].rows) == len(way("plugging").verdict.criteria)
    page = text(answer())
    assert "Stop it by: DC injection" in page
    assert max(map(len, page.splitlines())) <= 80


def test_every_number_of_a_stop_is_explained():
    """Each criterion with a value and each setting has its explanation; formulas give the value shown."""
    named = {e.name: e for e in answer().explanations if e.name.startswith("stopping.")}
    for found in stopping().ways:
        for r in found.verdict.criteria:
            if r.value is not None and isfinite(r.value):
                assert named[f"stopping.{found.key}.{r.key}"].value == pytest.approx(r.value, rel=1e-9)
        for s in found.settings:
            assert s.value is None or f"stopping.{found.key}.{s.key}" in named
    heat = named["stopping.plugging.unloaded_heat"].value
    assert heat == pytest.approx(3 * named["stopping.plugging.kinetic"].value, rel=0.05)
    assert {"stopping.dc_injection.torque_at_begin", "stopping.plugging.balance"} <= set(named)
    assert all(e.method or e.formula for e in named.values())


def test_pictures_are_drawn_described_and_legible():
    """Every figure of stopping: words for those who do not see it, and no text over another."""
    keys = [entry.key for entry in catalogue(answer()) if entry.key.startswith("stop") and entry.key != "stall"]
    assert {"stopping", "stop_plugging.braking", "stop_dc_injection.transient", "stop_coasting.stop"} <= set(keys)
    for key in keys:
        figure = draw(answer(), key)
        assert len(alternative_text(figure)) > 40, key
        for (one, a), (other, b) in combinations(texts(figure), 2):
            assert not a.padded(-1.5).overlaps(b.padded(-1.5)), f"{key}: {one!r} on {other!r}"


def test_the_report_holds_the_stopping_part():
    """Heading, choice, every way, the contact table and the cautions, in the text of the PDF."""
    figures = {"stopping": render(draw(answer(), "stopping"), "svg")}
    figures["stop_plugging.stop"] = render(draw(answer(), "stop_plugging.stop"), "svg")
    pages = PdfReader(BytesIO(report(answer(), figures))).pages
    words = " ".join(" ".join(page.extract_text().split()) for page in pages)
    for wanted in (
        "Stop it by: DC injection",
        "K2 reverse",
        "Stopping: Plugging",
        "the zero-speed switch does not open",
    ):
        assert wanted in words, wanted
    for found in stopping().ways:
        assert f"Stopping: {found.title}" in words


def test_a_study_may_ask_for_stopping_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    """Without [starting] nothing is said of starting; `slipwise stop` shows one way in full, and refuses an unknown one."""
    bare = study_text('[stopping]\nways = ["coasting", "plugging"]\nstop_time = "2 s"\n')
    head, _, rest = bare.partition("[starting]")
    alone = head + rest[rest.index("[stopping]") :]
    file = tmp_path / "pump.toml"
    file.write_text(alone, encoding="utf-8")
    assert main(["stop", str(file), "--no-transients"]) == 0
    said = capsys.readouterr().out
    assert "Stop it by: Plugging" in said
    assert "Start it by" not in said
    assert "ways compared passes" not in said
    assert main(["stop", str(file), "--no-transients", "--way", "plugging"]) == 0
    assert "zero-speed switch" in capsys.readouterr().out
    assert main(["stop", str(file), "--no-transients", "--way", "pluging"]) == 2
    assert "coasting, plugging" in capsys.readouterr().err


def test_a_study_without_stopping_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    """The command says what is missing and prints the section to add."""
    file = tmp_path / "pump.toml"
    file.write_text(BASE, encoding="utf-8")
    assert main(["stop", str(file), "--no-transients"]) == 2
    told = capsys.readouterr().err
    assert "[stopping]: this study asks for no way of stopping" in told
    assert "\n[stopping]\nways = " in told


def test_a_motor_that_cannot_carry_its_load_has_nothing_to_stop():
    """The error names the load, not a traceback."""
    heavy = study_text().replace('shaft_power = "9 kW"', 'shaft_power = "300 kW"')
    with pytest.raises(InputError, match="nothing to stop"):
        run(loads(heavy), transients=False, boundaries=False, ensemble=0)


def test_a_resistor_has_its_duty():
    """Mean power is the energy of one stop as often as asked for; a way without a resistor says nothing of it."""
    parts = {part.key: part.value for part in way("braking_resistor").parts}
    stop = way("braking_resistor").stops[0]
    assert parts["mean_power"] == pytest.approx(6 * stop.returned / 3600, rel=1e-12)
    assert stop.resistor_heat == stop.returned > 0
    assert parts["duty"] == pytest.approx(6 * (stop.stop_time or 0.0) / 3600, rel=1e-12)
    assert "mean_power" not in {part.key for part in way("coasting").parts}


def test_ways_that_pass_stand_before_those_that_fail():
    """The choice, the runner-up, then by verdict: no passing way stands below one that fails or does not apply."""
    found = stopping()
    ranked = tables_stopping.ranked(found)
    assert sorted(way.key for way in ranked) == sorted(way.key for way in found.ways)
    assert ranked[0].key == found.recommendation.way
    worth = [tables.BY_STATUS.index(way.verdict.status) for way in ranked]
    assert worth == sorted(worth)
    assert len(set(worth)) > 1


@pytest.mark.parametrize("command", ["start", "settings"])
def test_a_study_of_stopping_alone_says_that_no_start_is_asked_for(command: str, capsys: pytest.CaptureFixture[str]):
    """The commands about starting do not answer with something else: they print the section to add."""
    assert main([command, str(ROOT / "examples" / "hoist_h1_lowering.toml")]) == 2
    told = capsys.readouterr().err
    assert "[starting]: this study asks for no way of starting" in told
    assert 'ways = ["direct"' in told

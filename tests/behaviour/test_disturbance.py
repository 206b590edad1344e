"""Bad supplies in a study: every kind answered, judged, explained, shown, kept and read again."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from math import radians
from pathlib import Path

import numpy as np
import pytest

from slipwise.present import tables_disturbance
from slipwise.present.figures import Look, catalogue, draw
from slipwise.present.report.blocks import Images
from slipwise.present.report.content import blocks
from slipwise.present.tables_all import all_tables
from slipwise.present.terminal import text
from slipwise.quantity.show import show
from slipwise.results.codec import from_json, to_json
from slipwise.results.criteria import Status
from slipwise.results.disturbance import DisturbanceResult
from slipwise.results.study import StudyResult
from slipwise.study.reader import loads
from slipwise.study.run import run
from tests.behaviour.test_figures import texts

BASE = (Path(__file__).parent.parent / "broken" / "base.toml").read_text(encoding="utf-8")
KINDS = """
[thermal]
insulation = "F"

[[disturbance]]
kind = "unbalance"
voltage_12 = "410 V"
voltage_23 = "400 V"
voltage_31 = "390 V"

[[disturbance]]
kind = "unbalance"
name = "by its share"
negative_sequence = "6 %"

[[disturbance]]
kind = "open line"

[[disturbance]]
kind = "voltage dip"
remaining_voltage = "50 %"
duration = "0.3 s"

[[disturbance]]
kind = "interruption"
duration = "60 ms"

[[disturbance]]
kind = "bus transfer"
dead_time = "1 s"
source_angle = "15 deg"

[[disturbance]]
kind = "reversed phases"

[[disturbance]]
kind = "off nominal"
voltage = "88 %"
"""
KEYS = (
    "unbalance", "unbalance_2", "open_line", "voltage_dip", "interruption", "bus_transfer", "reversed_phases", "off_nominal",
)  # fmt: skip


def computed(added: str, *edits: tuple[str, str]) -> StudyResult:
    """The right file with disturbances and edits, started direct."""
    content = BASE.replace('ways = ["direct", "star_delta", "autotransformer"]', 'ways = ["direct"]')
    content = content.replace('\n[starting.star_delta]\nchangeover_speed = "1300 r/min"\n', "")
    for old, new in edits:
        assert old in content
        content = content.replace(old, new, 1)
    return run(loads(content.replace("\n[starting]", added + "\n[starting]")), boundaries=False, ensemble=0)


@cache
def answer() -> StudyResult:
    """Every kind at once."""
    stall = ('inertia = "0.05 kg m2"', 'inertia = "0.05 kg m2"\nstall_time_hot = "12 s"')
    return computed(KINDS, stall)


def of(key: str) -> DisturbanceResult:
    return next(d for d in answer().disturbances if d.key == key)


def test_every_kind_is_answered() -> None:
    """Each disturbance has a key of its own, numbers, criteria, words, something to do and curves."""
    assert tuple(d.key for d in answer().disturbances) == KEYS
    for found in answer().disturbances:
        assert found.findings
        assert found.verdict.criteria
        assert found.actions
        assert found.panels
        assert found.summary.endswith(".")
        assert all(np.isfinite(trace.values).all() for panel in found.panels for trace in panel.traces)


def test_numbers_and_criteria_are_explained() -> None:
    """Every number that exists can be asked for by `key.number`; the headline ones carry their formula."""
    names = {row.name: row for row in answer().explanations}
    for found in answer().disturbances:
        for row in found.findings:
            assert row.value is None or f"{found.key}.{row.key}" in names, row.key
    with_formula = {"unbalance.deviation", "unbalance.share", "open_line.standing_line", "interruption.resultant"}
    with_formula |= {"interruption.open_circuit_time", "off_nominal.flux", "reversed_phases.kinetic_energy"}
    numbers = {f"{d.key}.{row.key}": row.value for d in answer().disturbances for row in d.findings}
    for name in with_formula:
        assert names[name].expression, name
        assert name not in numbers or names[name].value == pytest.approx(numbers[name], rel=1e-6)


def test_both_measures_of_unbalance() -> None:
    """410, 400, 390 V: 2.5 % by greatest deviation, 2.89 % by sequences; neither is taken for the other."""
    assert of("unbalance").value("deviation") == pytest.approx(0.025, rel=1e-9)
    assert of("unbalance").value("share") == pytest.approx(0.0289, abs=2e-4)
    assert of("unbalance_2").value("share") == pytest.approx(0.06, rel=1e-6)
    assert of("unbalance_2").verdict.status is Status.FAILS
    assert of("unbalance_2").value("derating") is None
    assert of("unbalance_2").title == "Unbalance: by its share"


def test_currents_of_an_open_line() -> None:
    """In a delta one winding carries two thirds of the live lines' current, the others a third; no torque at rest."""
    found = of("open_line")
    line = found.value("line") or 0.0
    windings = sorted(found.value(f"winding_{n}") or 0.0 for n in "123")
    assert windings == pytest.approx([line / 3, line / 3, 2 * line / 3], rel=1e-9)
    assert found.value("standing_torque") == pytest.approx(0.0, abs=1e-6)
    assert found.value("standing_ratio") == pytest.approx(3**0.5 / 2, rel=1e-9)
    assert (found.value("trips_quick") or 0) < (found.value("trips_standing") or 0)
    ratio = (found.value("other_running") or 0) / (found.value("relay_running") or 1)
    assert ratio == pytest.approx(2 / 3**0.5, rel=1e-9)  # a relay in the winding sees 1.15 times as much
    assert (found.value("other_trips_standing") or 9e9) < (found.value("trips_standing") or 0)


def test_star_and_delta_differ_in_the_windings_only() -> None:
    """In a star the windings carry what the lines carry; line currents and speed do not know how the winding is connected."""
    star = computed('\n[[disturbance]]\nkind = "open line"\n', ('connection = "delta"', 'connection = "star"'))
    found, delta = star.disturbances[0], of("open_line")
    assert found.value("line") == pytest.approx(delta.value("line"), rel=1e-6)
    windings = sorted(found.value(f"winding_{n}") or 0.0 for n in "123")
    assert windings == pytest.approx([0.0, found.value("line") or 0.0, found.value("line") or 0.0], abs=1e-6)


def test_a_loaded_machine_that_does_not_run_on() -> None:
    """Constant torque near the rated one on a weak source: the line open stops it, and a deep dip stalls it."""
    heavy = ('torque_law = "quadratic"', 'torque_law = "constant"')
    added = (
        '\n[[disturbance]]\nkind = "open line"\n\n[[disturbance]]\nkind = "voltage dip"\nremaining_voltage = "20 %"\n'
    )
    found = computed(added + 'duration = "2 s"\n', heavy, ('shaft_power = "9 kW"', 'shaft_power = "15 kW"'))
    line, dip = found.disturbances
    assert line.value("speed") == 0
    assert "does not carry" in line.summary
    assert [row.key for row in line.verdict.criteria] == ["open_line_standing"]
    assert dip.verdict.status is Status.FAILS
    assert (dip.value("longest") or 0) < 2.0
    assert 0 < (dip.value("deepest") or 0) < 1
    assert "does not come back" in dip.summary


def test_return_too_soon_and_late_enough() -> None:
    """60 ms after the loss the return fails by its resultant; after a second the residual voltage is low enough."""
    soon, late = of("interruption"), of("bus_transfer")
    assert soon.verdict.status is Status.FAILS
    assert soon.verdict.binding is not None
    assert soon.verdict.binding.key == "resultant"
    assert (late.value("voltage") or 1) < 0.25
    assert late.verdict.status is Status.PASSES
    assert (late.value("in_phase_resultant") or 9) < 0.7
    assert 0 < (late.value("in_phase_torque") or 0) < (late.value("worst_torque") or 0)
    assert 0 < (late.value("after_decay_current") or 0) < (late.value("worst_current") or 0)
    assert (soon.value("torque_low") or 0) <= (soon.value("torque") or 0) <= 1.3 * (soon.value("worst_torque") or 0)
    assert 0 < (soon.value("fast_time") or 0) < (soon.value("in_phase_time") or 0) < (soon.value("safe_time") or 0)


def test_the_head_counts_the_bad_supplies() -> None:
    """One line right after the starting answer, in the terminal and in the report; nothing where none was asked about."""
    found = answer()
    words = tables_disturbance.headline(found)
    failed = [d.title for d in found.disturbances if d.verdict.status is Status.FAILS]
    assert words.startswith(f"Bad supplies: {len(failed)} of {len(KEYS)} fail")
    assert all(title.lower() in words.lower() for title in failed)
    page = text(found, 400)
    assert page.index("Start it by") < page.index(words) < page.index("The ways compared")
    head = next(iter(blocks(found, {}, Images())))
    assert words in json.dumps(head)
    assert tables_disturbance.headline(replace(found, disturbances=())) == ""
    borne = tuple(d for d in found.disturbances if d.verdict.status is Status.PASSES)
    assert tables_disturbance.headline(replace(found, disturbances=borne)) == f"Bad supplies: all {len(borne)} pass."


def test_the_words_say_which_number_is_judged() -> None:
    """Both the voltage at the stated time and the greatest over the scatter are named; a lead is named with the window."""
    late, soon = of("bus_transfer"), of("interruption")
    row = next(row for row in late.verdict.criteria if row.key == "residual_voltage")
    assert "greatest over the scatter" in row.title
    for value in (late.value("voltage"), row.value):
        assert show(value, "pu") in late.summary
    assert f"{show(radians(15), 'rad')} ahead of" in late.actions[1]
    assert "move with the angle" in late.actions[1]
    assert not any("ahead of" in words for words in soon.actions)


def test_reversal_and_low_voltage() -> None:
    """Swapped lines end at the running speed backwards; 88 % of the voltage leaves zone B and 77 % of the torques."""
    found = of("reversed_phases")
    assert found.value("speed") == pytest.approx(-(found.value("before") or 0), rel=1e-3)
    assert found.value("rotor_heat_ratio") == pytest.approx(4.0, rel=0.2)
    low = of("off_nominal")
    assert low.verdict.status is Status.FAILS
    assert low.value("locked_torque_ratio") == pytest.approx(0.88**2, rel=1e-6)
    assert low.value("breakdown_ratio") == pytest.approx(0.88**2, rel=1e-6)


def test_without_transients_the_rest_stands() -> None:
    """No electrical transients asked for: their numbers are left out, the others are the same."""
    content = BASE.replace("\n[starting]", '\n[[disturbance]]\nkind = "open line"\n\n[starting]')
    quick = run(loads(content), transients=False, boundaries=False, ensemble=0).disturbances[0]
    assert "peak_torque" not in {row.key for row in quick.findings}
    assert quick.value("line") == pytest.approx(of("open_line").value("line"), rel=1e-9)


def test_there_and_back(tmp_path: Path) -> None:
    """study.json and its CSV files give the same disturbances again."""
    again = from_json(to_json(answer(), tmp_path / "series"), tmp_path)
    for before, after in zip(answer().disturbances, again.disturbances, strict=True):
        assert (before.key, before.summary, before.findings, before.verdict) == (
            after.key, after.summary, after.findings, after.verdict,
        )  # fmt: skip
        for one, two in zip(before.panels, after.panels, strict=True):
            assert two.traces[0].values == pytest.approx(one.traces[0].values, rel=1e-8, abs=1e-12)
    assert (tmp_path / "series" / "interruption" / "curve_residual_voltage.csv").is_file()


def test_shown_in_terminal_tables_and_report() -> None:
    """Summary and what to do stand in the terminal, numbers in the tables, all of it in the report; cautions go with it."""
    shown = text(answer(), width=100)
    keys = {key for key, _ in all_tables(answer())}
    report = json.dumps(list(blocks(answer(), {}, Images())), ensure_ascii=False)
    for found in answer().disturbances:
        assert found.title in shown
        assert {f"{found.key}/numbers", f"{found.key}/criteria"} <= keys
        assert found.summary[:40] in report
        assert found.actions[0] in report
    assert "do not raise the setting" in " ".join(shown.split())
    assert "direction" in " ".join(answer().cautions)
    assert len(tables_disturbance.overview(answer()).rows) == len(KEYS)


@pytest.mark.parametrize("key", KEYS)
def test_pictures_are_legible(key: str) -> None:
    """Every picture keeps its words on the sheet and apart, and tells in words what it shows."""
    entry = next(e for e in catalogue(answer()) if e.key == f"{key}.curves")
    figure = draw(answer(), entry.key, Look())
    figure.canvas.draw()
    found = texts(figure)
    width, height = figure.bbox.width, figure.bbox.height
    for words, box in found:
        assert min(box.x0, box.y0) > -1, words
        assert max(box.x1 - width, box.y1 - height) < 1, words
    for n, (words, box) in enumerate(found):
        for others, other in found[n + 1 :]:
            assert not box.overlaps(other), (words, others)
    assert of(key).summary in str(figure.get_label())


def test_the_hottest_winding_on_two_lines_is_timed() -> None:
    """With `[thermal]` the relay's tripping time stands against the time the winding bears; without, there is no such row."""
    found = of("open_line")
    row = next(row for row in found.verdict.criteria if row.key == "open_line_heat")
    assert (row.value, row.limit) == (found.value("trips_running"), found.value("bears"))
    assert (found.value("temperature") or 0) > 145  # degC: what class F permits at 40 degC
    plain = computed('\n[[disturbance]]\nkind = "open line"\n').disturbances[0]
    assert "open_line_heat" not in {row.key for row in plain.verdict.criteria}

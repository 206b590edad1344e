"""The views that only some studies ask for: stopping, bad supplies, a group; and how they are asked for."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import jsonschema
import numpy as np
import pytest

from slipwise.doors.desk import answers
from slipwise.doors.python import run
from slipwise.present.tables import limit_text
from slipwise.quantity.show import show
from slipwise.study.reader import loads
from tests.browser.conftest import settled
from tests.browser.desk import SMALLEST, serious

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from slipwise.results.study import StudyResult

PUMP = (Path(__file__).parent.parent.parent / "examples" / "pump_p3.toml").read_text(encoding="utf-8")
ASKED = """

[stopping]
ways = ["coasting", "dc_injection"]
stop_time = "8 s"

[[disturbance]]
kind = "open line"

[[disturbance]]
kind = "voltage dip"
remaining_voltage = "60 %"
duration = "0.3 s"

[[group.motor]]
name = "one"
way = "star_delta"

[[group.motor]]
name = "two"
running = "yes"
"""
DUTY = """
[speed]
ways = ["volts_per_hertz"]

[[speed.duty]]
name = "day"
speed = "1200 r/min"
hours = 1000
"""
TEXT = PUMP + ASKED + DUTY
VIEWS = ("stopping", "supply", "group")


@pytest.fixture(scope="module")
def result() -> StudyResult:
    """What the library says of the same text."""
    return run(loads(TEXT), transients=False, whole=False)


@pytest.fixture(scope="module")
def asked(desk: tuple[Page, list[str]]) -> Iterator[Page]:
    """The page with a study that asks for all of them, opened once; any complaint of it fails the last test."""
    opened, complaints = desk
    complaints.clear()
    opened.evaluate("window.desk.lecture.toggle(false)")
    opened.evaluate("(text) => window.desk.files.open(text, 'asked.toml')", TEXT)
    settled(opened)
    yield opened
    opened.evaluate(
        "window.desk.lecture.toggle(false); window.desk.lecture.mode(false); window.desk.pages.pair.clock.pause()"
    )
    assert complaints == []


def shown(page: Page, view: str) -> None:
    """Opens a view by its tab and waits until it is drawn."""
    page.locator(f"#tab-{view}").click()
    page.wait_for_function("desk.pages.pair.charts?.[0].sheet && desk.pages.pair.node.checkVisibility()")
    settled(page)


def scrub(page: Page, name: str, share: float) -> float:
    """Moves the time cursor by its range; the time it then shows. [s]"""
    page.get_by_label(name).evaluate(
        "(range, share) => { range.value = 1000 * share; range.dispatchEvent(new Event('input')); }", share
    )
    return float(page.evaluate("desk.pages.pair.clock.time"))


def test_stopping_shows_verdicts_the_stop_and_its_contacts(asked, result):
    """Verdict, limit and stop time are the library's; the cursor rides on the speed, and the contacts follow it."""
    shown(asked, "stopping")
    said = asked.locator("#side").inner_text()
    braked = next(way for way in result.stopping.ways if way.key == "dc_injection")
    assert f"Stop it by: {braked.title} (passes)" in said
    binding = next(way for way in result.stopping.ways if way.key == "coasting").verdict.binding
    assert f"{binding.title} {show(binding.value, binding.unit)}, {limit_text(binding)}" in said
    stop = braked.stops[0]
    now = scrub(asked, "Time of the stop", 0.4)
    rider = asked.evaluate("desk.pages.pair.charts[0].moving[0]")
    assert rider["x"] == pytest.approx(now)
    assert rider["y"] == pytest.approx(np.interp(now, stop.run.time, stop.run.speed) * 30 / np.pi, rel=5e-3)
    asked.wait_for_function("document.querySelector('.lesser img').naturalWidth > 50")
    pictures = set()
    for mark in stop.run.stages:
        scrub(asked, "Time of the stop", (mark.begin + mark.end) / 2 / stop.run.time[-1])
        assert asked.locator(".lesser h2").inner_text() == f"Power circuit, stage {mark.name}"
        pictures.add(asked.locator(".lesser img").get_attribute("src"))
    assert len(pictures) == len(stop.run.stages) > 1
    asked.get_by_role("button", name="Coasting").click()
    assert asked.locator("[data-way=coasting] button").get_attribute("aria-pressed") == "true"
    assert asked.get_by_role("button", name="Against speed").count() == 0  # nothing brakes


def test_a_bad_supply_shows_its_verdict_and_curves(asked, result):
    """Each disturbance stands with its judgement; the one picked shows its summary and is followed in time."""
    shown(asked, "supply")
    for found in result.disturbances:
        asked.get_by_role("button", name=found.title, exact=True).click()
        assert found.summary in asked.locator("#figure").inner_text()
        sheet = asked.evaluate("desk.pages.pair.charts[0].sheet.curves.map(({ id }) => id)")
        assert [trace.label for trace in found.panels[0].traces] == sheet[: len(found.panels[0].traces)]
    dip = result.disturbances[1].panels[0].traces[0]
    now = scrub(asked, "Time of the disturbance", 0.5)
    assert asked.evaluate("desk.pages.pair.charts[0].moving[0].y") == pytest.approx(
        np.interp(now, dip.x, dip.values) * 30 / np.pi, rel=5e-3
    )
    assert asked.locator(".verdicts .bad").count() >= 1


def test_a_group_shows_its_sequence_and_the_busbars(asked, result):
    """The sequence is the library's; voltages are drawn for every busbar, and the cursor goes through both pictures."""
    shown(asked, "group")
    first = result.group.sequences[0]
    assert "one at 0\u202fs (passes)" in asked.locator("#side").inner_text()
    run_of = first.runs[0]
    now = scrub(asked, "Time of the sequence", 0.3)
    moving = asked.evaluate("desk.pages.pair.charts[1].moving.map(({ y }) => y)")
    expected = [100 * np.interp(now, run_of.time, row) for row in run_of.busbar_voltage]
    assert moving == pytest.approx(expected, rel=2e-3)
    asked.get_by_role("button", name="Worst case").click()
    asked.keyboard.press("]")
    assert asked.evaluate("desk.pages.pair.clock.time") > now


def test_the_answer_fits_its_schema(asked):
    """What a study with all of them is answered with is as the OpenAPI file says, each list of numbers cut to its first five."""
    found = asked.evaluate(
        "JSON.parse(JSON.stringify(desk.desk.judged, (_, one) => (typeof one?.[0] === 'number' ? one.slice(0, 5) : one)))"
    )
    jsonschema.Draft202012Validator(answers.JUDGED).validate(found)
    assert all(found[part] for part in ("stopping", "disturbances", "group"))


def test_a_number_of_theirs_is_explained_and_exported_as_shown(asked):
    """A margin leads to its worked steps, listed under its way; the export offers the figure that is on screen."""
    shown(asked, "stopping")
    asked.get_by_role("button", name="Export").click()
    assert asked.get_by_label("Figure", exact=True).input_value().startswith("stop_")
    asked.keyboard.press("Escape")
    asked.locator("#side .page summary").first.click()
    asked.locator("#side .page .why-number").first.click()
    asked.locator(".worked .result").first.wait_for()
    assert asked.locator("#side .numbers [aria-pressed=true]").count() == 1
    assert "Stopping: " in asked.locator("#side .numbers").inner_text()


@pytest.mark.parametrize("view", ["speed", *VIEWS])
def test_no_serious_finding_in_these_views(asked, view):
    """The rules of axe find nothing serious or critical, in light and dark; in a lecture no text is smaller than 1/40."""
    asked.locator(f"#tab-{view}").click()
    assert [serious(asked, dark) for dark in (False, True)] == [[], []]
    asked.keyboard.press("l")
    sizes = asked.evaluate(SMALLEST)
    asked.keyboard.press("l")
    assert sizes["text"] >= sizes["height"] / 40


def test_a_study_without_them_is_told_how_to_ask(page):
    """Their tabs are absent; under More the lines for one are added, its view opens, and Undo takes it out again."""
    assert [page.locator(f"#tab-{view}").is_visible() for view in VIEWS] == [False] * 3
    page.get_by_role("button", name="More").click()
    page.get_by_role("button", name="Add bad supply").click()
    page.locator("#tab-supply[aria-selected=true]").wait_for()
    settled(page)
    assert "Open line" in page.locator("#side").inner_text()
    page.keyboard.press("Control+z")
    settled(page)
    assert page.locator("#views [aria-selected=true]").inner_text() == "Starting"

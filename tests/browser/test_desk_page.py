"""The desk's page in a real browser: what a person does with it, and that nothing is lost on the way."""

from __future__ import annotations

import io
import json
import re
import tomllib
import zipfile
from base64 import b64encode
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from tests.browser.conftest import settled
from tests.browser.desk import SMALLEST, enter, field, moves, serious, station, text_of

if TYPE_CHECKING:
    from playwright.sync_api import Page

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
ODD = (
    b"\xef\xbb\xbf# kept \xe2\x80\x93 as it is\r\n"
    + (EXAMPLES / "pump_p3.toml").read_bytes().replace(b"\n", b"\r\n")
    + b"\r\n# and the end too   \r\n"
)


def drop(page: Page, name: str, content: bytes) -> None:
    """Drops a file on the page, as the hand does."""
    page.evaluate(
        """([name, base64]) => {
          const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
          const carried = new DataTransfer();
          carried.items.add(new File([bytes], name));
          window.dispatchEvent(new DragEvent("drop", { dataTransfer: carried, bubbles: true, cancelable: true }));
        }""",
        [name, b64encode(content).decode()],
    )


def saved(page: Page, button: str = "Save") -> bytes:
    """What the browser saves when a button is pressed."""
    with page.expect_download() as waiting:
        page.get_by_role("button", name=button, exact=True).first.click()
    return Path(waiting.value.path()).read_bytes()


def test_every_example_opens(page):
    """Each study on offer opens: title, path, values, curves of its ways; the first with verdicts and a power circuit too."""
    assert page.evaluate("document.querySelector('.circuit img').naturalWidth") > 50
    assert "passes" in page.locator(".ways").inner_text()
    studies = page.evaluate("desk.files.studies.map(({ key, title }) => [key, title])")
    assert len(studies) >= 4
    for key, title in studies:
        page.select_option("#files select", key)
        ways, curves = page.evaluate(DRAWN, title)
        assert page.locator("#title").inner_text() == title
        assert page.locator(".ways .way").count() == ways > 0
        assert curves > ways
        assert page.locator("#path svg").count() >= 3
        assert page.locator("#fields .field").count() > 5


DRAWN = """async (title) => {
  const { desk, starting } = window.desk;
  while (!desk.data || desk.title !== title) await new Promise((done) => setTimeout(done, 20));
  return [desk.data.ways.length, starting.upper.sheet.curves.length];
}"""


def test_every_slider_moves_its_value(page):
    """Each slider of each station writes its value into the study, and the page answers with curves, never an error."""
    stations = page.locator("#path [role=tab]")
    moved = 0
    for number in range(stations.count()):
        stations.nth(number).click()
        paths = page.locator("#fields .field").evaluate_all(
            "(all) => all.filter((one) => one.querySelector('.track') && !one.querySelector('.slider').hidden"
            " && !one.querySelector('.track').hidden).map((one) => one.dataset.path)"
        )
        for path in paths:
            before = text_of(page)
            page.evaluate(
                """(path) => {
                  const range = document.querySelector(`#fields [data-path="${path}"] input[type=range]`);
                  range.stepUp(1);
                  if (range.value === range.defaultValue) range.stepDown(2);
                  range.dispatchEvent(new Event("input", { bubbles: true }));
                }""",
                path,
            )
            page.wait_for_timeout(1)
            moved += 1
            assert text_of(page) == before  # a move is no change until the hand lets go
    assert moved > 20
    assert page.locator("#fields .error:visible").count() == 0


def test_a_slider_let_go_changes_the_study_and_can_be_undone(page):
    """The value moves in the file, everything else stays; undo and redo go back and forth; reset brings the given value."""
    first = text_of(page)
    station(page, "Load")
    slider = field(page, "load.shaft_power").locator("input[type=range]")
    slider.focus()
    slider.press("ArrowRight")
    slider.press("ArrowRight")
    settled(page)
    changed = text_of(page)
    number = tomllib.loads(changed)["load"]["shaft_power"]
    assert float(number.split()[0]) > 36
    assert changed.replace(number, "36 kW") == first
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+z")
    settled(page)
    assert text_of(page) == first
    page.keyboard.press("Control+y")
    settled(page)
    assert text_of(page) != first
    field(page, "load.shaft_power").locator(".reset").click()
    settled(page)
    assert text_of(page) == first


def test_an_assumed_value_is_marked_and_can_be_overwritten(page):
    """What is assumed shows its range and where it comes from; a number typed over it goes into the file; reset takes it out."""
    station(page, "Motor")
    row = field(page, "motor.friction_and_windage")
    assert "assumed" in (row.get_attribute("class") or "")
    assert re.search(r"estimated.*\d+ to \d+", row.locator(".note").inner_text())
    enter(page, "motor.friction_and_windage", "700")
    assert tomllib.loads(text_of(page))["motor"]["friction_and_windage"] == "700 W"
    assert "assumed" not in (row.get_attribute("class") or "")
    row.locator(".reset").click()
    settled(page)
    assert "friction_and_windage" not in text_of(page)


@pytest.mark.parametrize(
    ("typed", "says"), [("0,5 kW", "decimal comma"), ("-4 kW", "at least 0"), ("nan", "not finite")]
)
def test_an_invalid_entry_is_answered_beside_the_field(page, typed, says):
    """The reason stands beside the box, what was typed stays in it, and the study stays as it was."""
    before = text_of(page)
    station(page, "Load")
    enter(page, "load.shaft_power", typed)
    row = field(page, "load.shaft_power")
    assert says in row.locator(".error").inner_text(), row.locator(".error").inner_text()
    assert row.locator("input[type=text]").input_value() == typed
    assert row.locator("input[type=text]").get_attribute("aria-invalid") == "true"
    assert text_of(page) == before


def test_what_is_shown_of_an_earlier_state_says_so(page):
    """A refused value leaves the old results dimmed, tells its reason once, and the footer keeps its height."""
    height = page.locator("footer").bounding_box()["height"]
    station(page, "Motor")
    enter(page, "motor.rated_power", "90 hp")
    assert page.locator("footer").bounding_box()["height"] == height
    assert "hp" not in page.locator("#status").inner_text()
    assert float(page.locator("#figure").evaluate("node => getComputedStyle(node).opacity")) < 0.6
    enter(page, "motor.rated_power", "90 kW")
    assert page.locator("#figure").evaluate("node => getComputedStyle(node).opacity") == "1"


def test_the_strip_shows_the_greatest_dip_of_the_chosen_way(page):
    """The nominal dip is the deepest point of the trace of that start; the worst case is the value that was judged."""
    for way in ("direct", "star_delta"):
        page.evaluate("key => desk.desk.pick(key)", way)
        settled(page)
        bus, criterion = page.evaluate(
            """key => [desk.desk.start.traces.busbars.find(({name}) => name === "pump house"),
                 desk.desk.judged.ways.find((way) => way.key === key).criteria.find((row) => row.key === "dip:pump house")]""",
            way,
        )
        said = page.locator("#path small[data-busbar='pump house']").inner_text().replace("\u202f", " ")
        nominal, worst, limit = map(float, re.findall(r"[0-9.]+", said))
        assert nominal == pytest.approx(100 * (1 - min(bus["voltage"]) / bus["before"]), rel=0.005)
        assert f"{worst:g}" in criterion["value_text"]
        assert limit == 12
        assert said.endswith("over") == (way == "direct")


def test_a_setting_of_the_design_can_be_typed_over(page):
    """The chosen way shows what was designed with its origin; a number typed over it is in the study, reset takes it out."""
    station(page, "Starting")
    assert field(page, "starting.ways").locator("textarea").input_value() == "direct, star_delta, autotransformer"
    page.evaluate("desk.desk.pick('autotransformer')")
    settled(page)
    row = field(page, "starting.autotransformer.tap")
    assert row.locator(".note").inner_text().startswith("derived")
    enter(page, "starting.autotransformer.tap", "80")
    assert tomllib.loads(text_of(page))["starting"]["autotransformer"]["tap"] == "80 %"
    assert row.locator("input[type=text]").input_value() == "80"
    row.locator(".reset").click()
    settled(page)
    assert "80 %" not in text_of(page)


def test_what_the_study_lacks_is_offered(page):
    """Where a view needs a section the study does not have, a button adds it, and the view then shows its subject."""
    page.get_by_role("button", name="Heat", exact=True).click()
    page.get_by_role("button", name="Add it").click()
    settled(page)
    assert page.evaluate("desk.starting.trace.sheet.curves.length") >= 2
    page.keyboard.press("Alt+2")
    page.get_by_role("button", name="Add an example of a duty").click()
    settled(page)
    assert [row["hours"] for row in tomllib.loads(text_of(page))["speed"]["duty"]] == [2000, 2000]
    assert page.evaluate("desk.pages.chart.ready.then(() => desk.pages.chart.sheet.points.length)") >= 2


def test_a_dropped_file_comes_back_byte_for_byte(page):
    """Line ends, byte order mark, comments and blanks included; after an edit only the value differs."""
    drop(page, "odd.toml", ODD)
    page.get_by_text("Raw-water pump P3", exact=True).first.wait_for()
    settled(page)
    assert saved(page) == ODD
    station(page, "Load")
    enter(page, "load.shaft_power", "40 kW")
    assert saved(page) == ODD.replace(b'"36 kW"', b'"40 kW"')


def test_a_file_that_is_no_study_file_is_refused(page):
    """Where not even the grammar holds, line and reason are said and what was open stays."""
    before = text_of(page)
    drop(page, "wrong.toml", before.replace('"90 kW"', '"90 kW').encode())
    said = page.locator("dialog[open]").inner_text()
    assert re.search(r"wrong\.toml:\d+: ", said)
    assert text_of(page) == before


def test_a_file_with_faults_can_be_mended(page):
    """Each fault stands beside its value with its reason; no stale curve stays; the last one mended, all comes back."""
    before = text_of(page)
    drop(page, "wrong.toml", before.replace("90 kW", "90 hp").replace('"1.4 kg m2"', '"1,4 kg m2"').encode())
    station(page, "Motor")
    power = field(page, "motor.rated_power").locator(".error")
    power.wait_for()
    assert "hp" in power.inner_text()
    assert "decimal comma" in field(page, "motor.inertia").locator(".error").inner_text()
    assert page.locator(".ways .way").count() == 0
    enter(page, "motor.rated_power", "90 kW")
    assert page.locator("#fields .error:visible").count() == 1
    enter(page, "motor.inertia", "1.4 kg m2")
    assert page.locator("#fields .error:visible").count() == 0
    assert text_of(page) == before
    assert page.locator(".ways .way").count() == 3


def test_a_recording_handed_over_is_fitted_and_used(page):
    """A study that names a recording asks for the file; fitted, its values take the place of the recording and curves appear."""
    drop(page, "bench.toml", (EXAMPLES / "bench_b7_recording.toml").read_bytes())
    page.locator("#status.bad").wait_for()
    page.keyboard.press("Alt+7")
    page.get_by_label("Recording of a start").set_input_files(str(EXAMPLES / "bench_b7_recording.csv"))
    page.get_by_role("button", name="Use these values in the study").click()
    page.locator(".ways .way").first.wait_for(state="attached")
    settled(page)
    motor = tomllib.loads(text_of(page))["motor"]
    assert "recording" not in motor
    assert float(motor["circuit"]["R1"].split()[0]) == pytest.approx(2.79, rel=0.02)


def test_the_browser_keeps_the_study_and_a_link_carries_it(page):
    """After a reload the study is as it was left; a link opens the same study elsewhere, sent to nobody."""
    station(page, "Load")
    enter(page, "load.shaft_power", "41 kW")
    left = text_of(page)
    page.reload()
    settled(page)
    assert text_of(page) == left
    page.get_by_role("button", name="Link").click()
    page.locator("#status", has_text="link").wait_for()
    url = page.evaluate("location.href")
    asked: list[str] = []
    other = page.context.browser.new_context().new_page()
    other.on("request", lambda request: asked.append(request.url))
    other.goto(url)
    settled(other)
    assert text_of(other) == left
    assert not any("study=" in one for one in asked if "#" not in one)
    other.context.close()


@pytest.mark.slow
def test_exports_are_what_they_say(page):
    """Figure as SVG, PNG and PDF, curves, report and results: each opens as its kind and holds the study."""
    page.get_by_role("button", name="Export").click()
    dialog = page.locator("dialog[open]")
    svg = saved(page, "SVG")
    assert svg.lstrip().startswith((b"<?xml", b"<svg"))
    assert b"</svg>" in svg
    assert saved(page, "PNG").startswith(b"\x89PNG\r\n")
    assert saved(page, "CSV")[:2] == b"PK"
    results = zipfile.ZipFile(io.BytesIO(saved(page, "JSON")))
    assert json.loads(results.read("study.json"))["title"] == "Raw-water pump P3"
    pdfs = dialog.get_by_role("button", name="PDF")
    assert pdfs.count() == 2
    with page.expect_download() as waiting:
        pdfs.last.click()
    report = Path(waiting.value.path()).read_bytes()
    assert report.startswith(b"%PDF-")
    assert report.rstrip().endswith(b"%%EOF")
    assert len(report) > 50_000
    assert tomllib.loads(saved(page, "TOML").decode())["title"] == "Raw-water pump P3"


def test_the_time_cursor_ties_everything_together(page):
    """Scrubbing moves the upright, the point on the curve and the contacts; playing runs to the end; pausing holds it."""
    scrub = page.get_by_label("Time of the start")
    assert page.get_by_role("button", name="Play").is_visible()
    stages = page.evaluate("desk.desk.start.stages.map(({ name, begin, end }) => [name, begin, end])")
    seen = set()
    for name, begin, end in stages:
        share = (begin + end) / 2 / stages[-1][2]
        scrub.evaluate(
            "(range, at) => { range.value = at; range.dispatchEvent(new Event('input')); }", round(1000 * share)
        )
        assert name in page.locator(".time").inner_text()
        assert name in page.locator(".circuit h2").inner_text()
        rider = page.evaluate("desk.starting.upper.moving[0]")
        time, speed, now = page.evaluate(
            "[desk.desk.start.traces.time, desk.desk.start.traces.speed, desk.starting.clock.time]"
        )
        assert rider["x"] == pytest.approx(np.interp(now, time, speed), abs=0.5)
        seen.add(page.locator(".circuit img").get_attribute("src"))
    assert len(seen) == len(stages) == 3
    scrub.evaluate("(range) => { range.value = 0; range.dispatchEvent(new Event('input')); }")
    page.get_by_role("button", name="Play").click()
    page.locator(".time", has_text=re.compile(r"0\.[0-9]*[1-9]")).wait_for()
    page.get_by_role("button", name="Pause").click()
    held = page.locator(".time").inner_text()
    page.wait_for_timeout(120)
    assert page.locator(".time").inner_text() == held


def test_lecture_and_dark(page):
    """One key makes it large and plain, another dark; ways appear one by one; no text is smaller than 1/40 of the height."""
    page.keyboard.press("l")
    page.keyboard.press("d")
    assert page.evaluate("document.documentElement.dataset.mode") == "dark"
    page.keyboard.press("h")
    counts = []
    for _ in range(6):
        counts.append(page.evaluate("new Set(desk.starting.upper.sheet.curves.map(({ way }) => way ?? 'load')).size"))
        page.keyboard.press("n")
    assert counts == sorted(counts)
    assert counts[0] < counts[-1]
    sizes = page.evaluate(SMALLEST)
    assert sizes["text"] >= sizes["height"] / 40
    page.keyboard.press("Escape")
    assert page.evaluate("document.documentElement.hasAttribute('data-lecture')") is False


def test_the_keyboard_alone_is_enough(page):
    """With the keys only: another station, another value, another way, another view, and back."""
    page.keyboard.press("Tab")
    for _ in range(60):
        if page.evaluate("document.activeElement.closest('#path') !== null"):
            break
        page.keyboard.press("Tab")
    page.keyboard.press("ArrowRight")
    assert page.locator("#path [aria-selected=true]").inner_text().startswith("Load")
    for _ in range(20):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.closest('.field')?.dataset.path") == "load.shaft_power":
            break
    page.keyboard.press("Control+a")
    page.keyboard.type("45")
    page.keyboard.press("Tab")
    settled(page)
    assert tomllib.loads(text_of(page))["load"]["shaft_power"] == "45 kW"
    page.keyboard.press("Alt+8")
    assert page.locator("#views [aria-selected=true]").inner_text() == "Teach"
    page.keyboard.press("Alt+1")
    assert page.locator("#views [aria-selected=true]").inner_text() == "Starting"


def test_the_picked_way_is_the_one_looked_at(page):
    """Picking a way draws it heavily and shows its start and its circuit; leaving one out takes its curves away."""
    page.get_by_role("button", name="Autotransformer").click()
    settled(page)
    assert page.evaluate("desk.desk.start.way") == "autotransformer"
    heavy = page.evaluate("desk.starting.upper.sheet.curves.filter(({ width }) => width >= 3).map(({ way }) => way)")
    assert "autotransformer" in heavy
    assert "direct" not in heavy
    page.get_by_label("draw Direct").uncheck()
    assert "direct" not in page.evaluate("desk.starting.upper.sheet.curves.map(({ way }) => way)")
    page.get_by_label("draw Direct").check()


def test_a_pinned_state_lies_under_the_next(page):
    """The state as pinned stays under the one after a change, its verdicts beside the new ones."""
    page.get_by_role("button", name="Pin to compare").click()
    station(page, "Load")
    enter(page, "load.shaft_power", "70 kW")
    curves = page.evaluate("desk.starting.upper.sheet.curves.map(({ id, y }) => [id, Math.max(...y)])")
    found = dict(curves)
    assert found["load 0"] > 1.5 * found["pinned load 0"]
    assert "pinned: passes, +6.0" in page.locator("[data-way=star_delta] + .why").inner_text()
    page.get_by_role("button", name="Unpin").click()


def test_no_label_lies_on_a_curve_or_another_label(page):
    """Labels are placed: none overlaps another, and none covers a curve that is drawn."""
    boxes = page.evaluate(LABELS)
    assert len(boxes["labels"]) >= 5
    for number, (x, y, width, height) in enumerate(boxes["labels"]):
        for u, v, other, tall in boxes["labels"][number + 1 :]:
            assert x + width <= u or u + other <= x or y + height <= v or v + tall <= y
        inside = [1 for u, v in boxes["curves"] if x < u < x + width and y + 2 < v < y + height - 2]
        assert not inside


LABELS = """() => {
  const chart = desk.starting.upper;
  const at = chart.frame();
  const labels = chart.placed.map(({ x, y, words }) => [x, y, chart.wide(words), 1.15 * chart.at.size]);
  const curves = chart.sheet.curves.filter(({ under }) => !under).flatMap((curve) => chart.path(curve, at))
    .map(([u, v]) => [u - at.left, v - at.top]);
  return { labels, curves };
}"""


def test_axes_hold_still_while_a_slider_is_dragged(page):
    """A dragged value changes the curves, not the axes; both have the same divisions; speed ends at synchronous speed."""
    station(page, "Motor")
    before = page.evaluate("[desk.starting.upper.sheet.left, desk.starting.upper.sheet.right]")
    assert len(before[0]["ticks"]) == len(before[1]["ticks"])
    assert page.evaluate("desk.starting.upper.sheet.x.ticks.at(-1)") == 1500
    page.evaluate(
        """() => new Promise((done) => {
          const range = document.querySelector('[data-path="motor.breakdown_torque_ratio"] input[type=range]');
          range.value = 3.2; // beyond what the axes would show of themselves
          desk.starting.upper.painted = () => { desk.starting.upper.painted = null; done(); };
          range.dispatchEvent(new Event("input", { bubbles: true }));
        })"""
    )
    assert page.evaluate("[desk.starting.upper.sheet.left, desk.starting.upper.sheet.right]") == before


def test_the_other_views_show_their_subject(page):
    """Speed families with points, heat, the plate against the model, and the steps behind a number."""
    page.keyboard.press("Alt+6")
    page.locator(".picture[src^=blob]").wait_for()
    page.keyboard.press("Alt+7")
    assert "rated current" in page.locator(".page table").first.inner_text()
    page.keyboard.press("Alt+8")
    page.locator(".worked math").first.wait_for()
    assert "1500" in page.locator(".worked .result").inner_text()
    page.keyboard.press("Alt+1")
    page.locator("summary", has_text="All limits of").click()
    page.locator(".why-number").first.click()
    page.locator(".worked").wait_for()
    assert page.locator("#views [aria-selected=true]").inner_text() == "Teach"
    page.select_option("#files select", "pump_p3_year")
    settled(page)
    page.keyboard.press("Alt+2")
    assert page.evaluate("desk.pages.chart.ready.then(() => desk.pages.chart.sheet.points.length)") >= 3


@pytest.mark.slow
def test_five_hundred_moves_leave_no_heap_behind(page):
    """After collection the heap has grown by less than 5 MB."""
    station(page, "Load")
    moves(page, "load.shaft_power", 20)  # what is made once is made
    session = page.context.new_cdp_session(page)

    def heap() -> float:
        session.send("HeapProfiler.collectGarbage")
        return float(session.send("Runtime.getHeapUsage")["usedSize"])

    before = heap()
    page.evaluate(DRAG, ["load.shaft_power", 500])
    settled(page)
    growth = heap() - before
    assert growth < 5e6, f"{growth / 1e6:.1f} MB"


DRAG = """async ([path, count]) => {
  const range = document.querySelector(`#fields [data-path="${path}"] input[type=range]`);
  for (let k = 0; k < count; k += 1) {
    range.value = Number(range.min) + (0.5 + 0.4 * Math.sin(k / 9)) * (range.max - range.min);
    range.dispatchEvent(new Event("input", { bubbles: true }));
    await new Promise(requestAnimationFrame);
  }
  range.dispatchEvent(new Event("change", { bubbles: true }));
}"""


@pytest.mark.parametrize("view", ["starting", "heat", "fit", "teach"])
def test_no_serious_finding_of_accessibility(page, view):
    """The rules of axe find nothing serious or critical, in light and dark; every control has a name."""
    page.evaluate("(view) => desk.desk.tell('view', view)", view)
    page.wait_for_timeout(200)
    assert [serious(page, dark) for dark in (False, True)] == [[], []]

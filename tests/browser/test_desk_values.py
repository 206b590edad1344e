"""Values moved and put back in a real browser: what belongs together moves together, and nothing of a change is left behind."""

from __future__ import annotations

import tomllib
from math import sqrt
from typing import TYPE_CHECKING

import pytest

from tests.browser.conftest import settled
from tests.browser.desk import enter, field, station, text_of

if TYPE_CHECKING:
    from playwright.sync_api import Page


def plate(page: Page) -> tuple[float, float, float, float, float]:
    """Power in W, voltage, current, power factor and efficiency as they stand in the study."""
    motor = tomllib.loads(text_of(page))["motor"]
    numbers = (motor[key] for key in ("rated_power", "rated_voltage", "rated_current", "power_factor", "efficiency"))
    kilowatts, volts, amperes, cosine, percent = (float(str(number).split()[0]) for number in numbers)
    return 1000 * kilowatts, volts, amperes, cosine, percent / 100


CHANGED = """async (before) => {
  while (desk.desk.study.text === before) await new Promise((done) => { setTimeout(done, 10); });
}"""


def drag(page: Page, path: str, end: str) -> None:
    """Drags a slider to its `min` or `max` and lets go; until the study has the value, not until it is judged."""
    before = text_of(page)
    slider = field(page, path).locator("input[type=range]")
    slider.evaluate(
        """(range, end) => {
          range.value = range[end];
          for (const kind of ["input", "change"]) range.dispatchEvent(new Event(kind, { bubbles: true }));
        }""",
        end,
    )
    page.evaluate(CHANGED, before)


def test_a_plate_moved_in_one_value_stays_of_one_piece(page):
    """Rated power dragged to either end takes the current along in one step, and says so; undo and reset bring all back."""
    first = text_of(page)
    station(page, "Motor")
    power, current = field(page, "motor.rated_power"), field(page, "motor.rated_current")
    for end in ("min", "max"):
        drag(page, "motor.rated_power", end)
        watts, volts, amperes, cosine, efficiency = plate(page)
        assert watts != 90e3
        assert sqrt(3) * volts * amperes * cosine * efficiency == pytest.approx(watts, rel=1e-3)
        assert "moved with rated power; it was 158 A" in current.locator(".note").inner_text()
        assert page.locator("#fields .error:visible").count() == 0
        page.keyboard.press("Control+z")
        assert text_of(page) == first
        current.locator(".note").wait_for(state="hidden")
    drag(page, "motor.rated_power", "max")
    before = text_of(page)
    power.locator(".reset").click()
    page.evaluate(CHANGED, before)
    assert text_of(page) == first


def test_another_plate_can_be_typed_in_value_by_value(page):
    """A plate far from the first is taken one value after the other, and what was typed is what stands there in the end."""
    station(page, "Motor")
    typed = {"rated_power": "37", "rated_current": "66", "power_factor": "0.87", "efficiency": "93.7"}
    for key, number in typed.items():
        before = text_of(page)
        box = field(page, f"motor.{key}").locator("input[type=text]")
        box.fill(number)
        box.press("Enter")
        page.evaluate(CHANGED, before)
        assert page.locator("#fields .error:visible").count() == 0, key
    assert plate(page) == (37e3, 400, 66, 0.87, 0.937)


def test_a_setting_put_back_leaves_no_trace(page):
    """A designed setting typed over and reset gives the file as it was opened, letter for letter."""
    first = text_of(page)
    station(page, "Starting")
    page.evaluate("desk.desk.pick('autotransformer')")
    enter(page, "starting.autotransformer.tap", "80")
    assert "[starting.autotransformer]" in text_of(page)
    field(page, "starting.autotransformer.tap").locator(".reset").click()
    settled(page)
    assert text_of(page) == first


def test_the_study_file_itself_can_be_written_in(page):
    """A fault is told with its line and nothing is taken; what is right is taken in one step, line ends as they were."""
    first = text_of(page).replace("\n", "\r\n")
    page.evaluate("text => desk.files.open(text, 'pump.toml')", first)
    settled(page)
    page.get_by_role("button", name="Text", exact=True).click()
    area, dialog = page.locator("#text"), page.locator("dialog")
    written = area.input_value()
    area.fill(written.replace('"90 kW"', '"90 hp"'))
    dialog.get_by_role("button", name="Take over").click()
    dialog.get_by_text("line 7: motor.rated_power").wait_for()
    assert text_of(page) == first
    cable = '[[supply.path]]\nkind = "cable"\nbusbar = "terminals"\nlength = "60 m"\nsection = "70 mm2"\nconductor = "copper"\n'
    area.fill(written.replace("[limits]", f"{cable}\n[limits]"))
    dialog.get_by_role("button", name="Take over").click()
    page.locator("#path button", has_text="terminals").wait_for()
    assert text_of(page) == first.replace("[limits]", f"{cable}\n[limits]".replace("\n", "\r\n"))
    page.keyboard.press("Control+z")
    assert text_of(page) == first


def test_a_change_that_breaks_others_can_be_kept_and_mended(page):
    """Another torque law is refused while the old law's values stand; kept, each can be taken out in place; undo goes back."""
    conveyor = page.evaluate("desk.files.studies.find(({ key }) => key === 'conveyor_c1').text")
    page.evaluate("text => desk.files.open(text, 'conveyor.toml')", conveyor)
    station(page, "Load")
    law = field(page, "load.torque_law").locator("select")
    law.select_option("quadratic")
    page.get_by_role("button", name="Keep it and mend the rest").click()
    page.get_by_role("button", name="take it out").first.wait_for()
    settled(page)
    assert page.locator("#keep").is_hidden()
    assert page.locator(".ways .way").count() == 0
    while (count := page.get_by_role("button", name="take it out").count()) > 0:
        page.get_by_role("button", name="take it out").first.click()
        settled(page)
        assert page.get_by_role("button", name="take it out").count() < count
    box = field(page, "load.shaft_power").locator("input[type=text]")
    box.fill("40 kW")
    box.press("Enter")
    page.locator(".ways .way").nth(2).wait_for()
    assert page.locator("#fields .error:visible").count() == 0
    page.evaluate("while (desk.desk.study.canUndo) desk.desk.study.undo()")
    page.evaluate(
        "async () => { while (!desk.desk.fields.some(({ text }) => text === 'conveyor'))"
        " await new Promise(requestAnimationFrame); }"
    )
    assert text_of(page) == conveyor
    assert page.locator(".ways .way").count() == 3


def test_an_absurd_plate_does_not_hold_the_page_up(page):
    """A motor of a terawatt is answered like any other; its current goes along, and what lies beyond the axes is left out."""
    enter(page, "motor.rated_power", "1e9")
    assert 'rated_power = "1e9 kW"' in text_of(page)
    axis = page.evaluate("(({ x, left }) => [x.high, left.low, left.high])(desk.starting.upper.sheet)")
    for x, y in page.evaluate("desk.starting.upper.sheet.points.map(({ x, y }) => [x, y])"):
        assert 0 <= x <= axis[0]
        assert axis[1] <= y <= axis[2]


def test_the_page_goes_on_when_its_server_is_back(page, desk):
    """Without a server the page says so; then the value typed meanwhile is in the study by itself."""
    page.route("**/api/**", lambda route: route.abort())
    box = field(page, "motor.inertia").locator('input[type="text"]')
    box.fill("1.6")
    box.press("Enter")
    page.wait_for_function("() => document.getElementById('status').textContent.includes('does not answer')")
    assert not page.locator("#keep").is_visible()
    page.unroute("**/api/**")
    page.wait_for_function("() => desk.desk.study.text.includes('inertia = \"1.6 kg m2\"')")
    settled(page)
    assert not page.evaluate("document.body.classList.contains('refused')")
    desk[1].clear()  # the browser notes every request that failed

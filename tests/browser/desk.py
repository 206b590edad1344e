"""Words for what a person does on the page, shared by its tests."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.browser.conftest import settled

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

BENCH = """
async ([path, count]) => {
  const range = document.querySelector(`#fields [data-path="${path}"] input[type=range]`);
  const chart = window.desk.starting.upper;
  const [low, high] = [Number(range.min), Number(range.max)];
  const middle = Number(range.value);
  const moved = [];
  for (let k = 0; k < count; k += 1) {
    const before = performance.now();
    const painted = new Promise((done) => { chart.painted = done; });
    range.value = middle + 0.1 * (high - low) * Math.sin(k);
    range.dispatchEvent(new Event("input", { bubbles: true }));
    await painted;
    await new Promise((done) => { const { port1, port2 } = new MessageChannel(); port1.onmessage = done; port2.postMessage(0); });
    moved.push(performance.now() - before);
  }
  chart.painted = null;
  range.value = middle;
  range.dispatchEvent(new Event("change", { bubbles: true }));
  return moved;
}
"""
SMALLEST = """() => {
  const texts = [...document.querySelectorAll("body *")].filter((one) => one.checkVisibility()
    && [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim())
    && !one.closest("dialog, .skip, option"));
  return { text: Math.min(...texts.map((one) => parseFloat(getComputedStyle(one).fontSize))), height: innerHeight };
}"""


def station(page: Page, words: str) -> None:
    """Opens a station of the path by the words it shows."""
    page.locator("#path button", has_text=words).first.click()


def field(page: Page, path: str) -> Locator:
    """The row of a value."""
    return page.locator(f'#fields .field[data-path="{path}"]')


def enter(page: Page, path: str, text: str) -> None:
    """Types into the box of a value and leaves it."""
    box = field(page, path).locator('input[type="text"]')
    box.fill(text)
    box.press("Enter")
    settled(page)


def text_of(page: Page) -> str:
    """The study file as the page holds it."""
    return str(page.evaluate("window.desk.desk.study.text"))


def moves(page: Page, path: str, count: int) -> list[float]:
    """Drags a slider so many times; milliseconds from each move to the picture being painted."""
    found: list[float] = page.evaluate(BENCH, [path, count])
    settled(page)
    return found


def serious(page: Page, dark: bool) -> list[tuple[str, str]]:
    """Serious and critical findings of the rules of axe; in the dark of contrast alone, since all else is the same there."""
    from axe_playwright_python.sync_playwright import Axe

    page.evaluate("(dark) => desk.lecture.mode(dark)", dark)
    settled(page)
    found = Axe().run(page, options={"runOnly": ["color-contrast"]} if dark else None).response["violations"]
    grave = [one for one in found if one["impact"] in ("serious", "critical")]
    return [(one["id"], one["nodes"][0]["html"][:200]) for one in grave]

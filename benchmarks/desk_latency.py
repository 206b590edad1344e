"""From a slider's move to the repaint, in the desk's own page in a headless browser.

Run it with `python -m benchmarks.desk_latency`. Each move is an input event of the native range; the clock stops when the
frame with the new curves has been handed over. Every way of starting of the raw-water pump is drawn; with transients the
electrical transient of the chosen way is computed and painted too after every move.
"""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

from benchmarks import page
from benchmarks.desk_server import running

if TYPE_CHECKING:
    from playwright.sync_api import Page

ROOT = Path(__file__).parent.parent
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync")  # fmt: skip
MOVES = 300
TARGETS = {"steady curves of all ways": (50.0, 100.0), "with the transient of the chosen way": (100.0, 180.0)}

MOVE = """
async ([count, transient]) => {
  const { desk, starting } = window.desk;
  const range = document.querySelector('#fields [data-path="load.shaft_power"] input[type=range]');
  const [low, high] = [Number(range.min), Number(range.max)];
  const found = [];
  for (let k = 0; k < count; k += 1) {
    await new Promise((done) => setTimeout(done, 7 + (k * 13) % 23)); // a hand does not move in step with the screen
    const before = performance.now();
    const chart = transient ? starting.trace : starting.upper;
    const painted = new Promise((done) => { chart.painted = done; });
    range.value = (low + high) / 2 + 0.3 * (high - low) * Math.sin(k / 7);
    range.dispatchEvent(new Event("input", { bubbles: true }));
    await painted;
    await new Promise((done) => { const { port1, port2 } = new MessageChannel(); port1.onmessage = done; port2.postMessage(0); });
    chart.painted = null;
    found.push(performance.now() - before);
  }
  range.dispatchEvent(new Event("change", { bubbles: true }));
  return found;
}
"""


@contextmanager
def opened(port: int, width: int = 1366, height: int = 768) -> Iterator[Page]:
    """A page of a headless browser with the desk at rest."""
    from playwright.sync_api import sync_playwright

    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=list(FLAGS))
        made = browser.new_page(viewport={"width": width, "height": height}, color_scheme="light")
        made.goto(f"http://127.0.0.1:{port}/")
        at_rest(made)
        yield made
        browser.close()


def at_rest(opened_page: Page) -> None:
    """Until everything that was asked for has been answered and drawn."""
    opened_page.wait_for_selector("html[data-ready=yes][data-busy=no]", state="attached", timeout=60_000)


def all_ways(opened_page: Page) -> None:
    """The raw-water pump with every way of starting."""
    text = re.sub(r"(?m)^ways = .*$", "", (ROOT / "examples" / "pump_p3.toml").read_text(encoding="utf-8"))
    opened_page.evaluate("(text) => window.desk.files.open(text, 'all_ways.toml')", text)
    at_rest(opened_page)
    opened_page.locator("#path [data-key=load]").click()


def measured(opened_page: Page, count: int = MOVES) -> dict[str, list[float]]:
    """Milliseconds of every move, for both kinds."""
    found = {}
    for name, transient in zip(TARGETS, (False, True), strict=True):
        if transient:
            opened_page.get_by_role("button", name="Transient").click()
            at_rest(opened_page)
        opened_page.evaluate(MOVE, [20, transient])
        at_rest(opened_page)
        found[name] = opened_page.evaluate(MOVE, [count, transient])
        at_rest(opened_page)
    return found


def section() -> str:
    """Latency against its target, and from the command to a page at rest in the browser."""
    begun = time.perf_counter()
    with running() as server:
        answered = time.perf_counter() - begun
        with opened(server.port) as made:
            loaded = made.evaluate("performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd")
            all_ways(made)
            found = measured(made)
            drawn = made.evaluate("window.desk.starting.upper.sheet.curves.length")
    rows = []
    for name, times in found.items():
        ordered = sorted(times)
        high = ordered[int(0.95 * len(ordered))]
        rows.append((name, f"{median(times):.0f}", f"{high:.0f}", " / ".join(f"{one:.0f}" for one in TARGETS[name])))
    return page.section(
        "From a slider's move to the repaint",
        ("what is computed and drawn", "median, ms", "95 %, ms", "target, ms"),
        rows,
        f"{MOVES} moves each, {drawn} curves on the sheet, a headless browser that draws in software, the server on the same "
        f"machine. The server listens {answered:.2f} s after the command; the browser has the page {loaded / 1000:.2f} s later.",
    )


if __name__ == "__main__":
    print(page.machine_class())
    print(section())

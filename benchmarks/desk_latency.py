"""From a slider's move to the repaint, in the desk's own page in a headless browser.

Run it with `python -m benchmarks.desk_latency`. Each move is an input event of the native range; the clock stops when the
frame with the new curves has been handed over. Every way of starting of the raw-water pump is drawn; with transients the
start of the
chosen way is computed with its electrical transient and painted too, after every move.
"""

from __future__ import annotations

import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING
from urllib.request import urlopen

from benchmarks import page

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
def desk() -> Iterator[tuple[str, float]]:
    """A desk on a free port: its address, and the seconds until it answered."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    begun = time.perf_counter()
    command = [sys.executable, "-m", "slipwise", "desk", "--port", str(port), "--no-browser"]
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}/"
    try:
        while True:
            try:
                with urlopen(address, timeout=2):
                    break
            except OSError:
                if server.poll() is not None or time.perf_counter() - begun > 30:
                    raise RuntimeError("the desk did not start") from None
                time.sleep(0.02)
        yield address, time.perf_counter() - begun
    finally:
        server.terminate()
        server.wait(timeout=10)


@contextmanager
def opened(address: str, width: int = 1366, height: int = 768) -> Iterator[Page]:
    """A page of a headless browser with the desk at rest."""
    from playwright.sync_api import sync_playwright

    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=list(FLAGS))
        made = browser.new_page(viewport={"width": width, "height": height}, color_scheme="light")
        made.goto(address)
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
    """Latency against its target, and from the command to a page that can be used."""
    with desk() as (address, answered), opened(address) as made:
        ways = made.evaluate("performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd")
        all_ways(made)
        found = measured(made)
        drawn = made.evaluate("window.desk.starting.upper.sheet.curves.length")
    lines = [
        "## The desk: from a slider's move to the repaint",
        "",
        f"{MOVES} moves each; {drawn} curves on the sheet; headless browser, software drawing, the server on the same machine.",
        f"The server answers {answered:.2f} s after the command; the page's own loading takes {ways / 1000:.2f} s.",
        "",
        "| what is computed and drawn | median, ms | 95 %, ms | target, ms |",
        "|---|---|---|---|",
    ]
    for name, times in found.items():
        ordered = sorted(times)
        high = ordered[int(0.95 * len(ordered))]
        lines.append(f"| {name} | {median(times):.0f} | {high:.0f} | {TARGETS[name][0]:.0f} / {TARGETS[name][1]:.0f} |")
    return "\n".join([*lines, ""])


if __name__ == "__main__":
    print(page.machine_class())
    print(section())

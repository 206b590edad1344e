"""One desk and one real browser for all tests of the page."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any
from urllib.error import URLError
from urllib.request import urlopen

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
NAMES = ("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def chromium() -> str:
    """The browser; where it is missing the tests are skipped aloud, but in continuous integration it must be there."""
    found = next((path for path in map(shutil.which, NAMES) if path), None)
    if found is None and os.environ.get("CI") == "true":
        pytest.fail("chromium is not installed, and continuous integration needs it: apt-get install chromium")
    if found is None:
        pytest.skip("chromium is not installed: the page was NOT opened in a browser")
    return found


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """A desk of its own process on a free port; stopped at the end."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "slipwise", "desk", "--port", str(port), "--no-browser"]
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    url = f"http://127.0.0.1:{port}/"
    try:
        wait_for(url, server)
        yield url
    finally:
        server.terminate()
        server.wait(timeout=10)


def wait_for(url: str, server: subprocess.Popen[bytes]) -> None:
    """Until the desk answers, at most 20 s."""
    for _ in range(200):
        if server.poll() is not None:
            pytest.fail(f"the desk ended by itself with code {server.returncode}")
        try:
            with urlopen(url, timeout=2):
                return
        except (URLError, OSError):
            time.sleep(0.1)
    pytest.fail("the desk did not answer within 20 s")


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """One browser process for the session."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        launched = driver.chromium.launch(executable_path=chromium, args=list(FLAGS))
        yield launched
        launched.close()


@pytest.fixture(scope="session")
def desk(browser: Browser, address: str) -> Iterator[tuple[Page, list[str]]]:
    """The desk open in a page, and what that page complains of or asks of others."""
    context = browser.new_context(viewport={"width": 1366, "height": 768}, accept_downloads=True, color_scheme="light")
    context.set_default_timeout(90_000)  # a busy machine is no fault of the page
    opened = context.new_page()
    complaints = watched(opened, address)
    opened.goto(address)
    settled(opened)
    yield opened, complaints
    context.close()


@pytest.fixture
def page(desk: tuple[Page, list[str]]) -> Iterator[Page]:
    """The page as it is found at first; any complaint of it fails the test."""
    opened, complaints = desk
    complaints.clear()
    opened.evaluate(AFRESH)
    settled(opened)
    yield opened
    assert complaints == []


AFRESH = """async () => {
  document.querySelector("dialog").close();
  window.desk.lecture.toggle(false);
  window.desk.lecture.mode(false);
  window.desk.starting.clock.pause();
  history.replaceState(null, "", "/");
  window.desk.desk.section = null;
  await window.desk.files.open(window.desk.files.studies[0].text, "pump_p3.toml");
  window.desk.desk.tell("view", "starting");
}"""


def watched(page: Page, address: str) -> list[str]:
    """A list that fills with errors of the page, and with requests that leave the machine."""
    complaints: list[str] = []

    def console(message: Any) -> None:
        expected = "422" in message.text  # the browser notes every refused input by itself
        if message.type in ("error", "warning") and not expected:
            complaints.append(f"{message.type}: {message.text}")

    def request(asked: Any) -> None:
        if not asked.url.startswith((address, "blob:", "data:")):
            complaints.append(f"external request: {asked.url}")

    page.on("console", console)
    page.on("pageerror", lambda error: complaints.append(f"exception: {error}"))
    page.on("request", request)
    return complaints


def settled(page: Page) -> None:
    """Until verdicts and traces of the present study are shown."""
    page.wait_for_selector("html[data-ready=yes][data-busy=no]", state="attached")

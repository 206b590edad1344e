"""Pictures of every view of the desk, light, dark and in a lecture, at three sizes: `python -m tools.desk_screens FOLDER`.

Names of views behind the folder make those alone. Needs Chromium. With `--picture FILE` only the picture of the README is made.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.desk_latency import at_rest, opened
from benchmarks.desk_server import running

if TYPE_CHECKING:
    from playwright.sync_api import Page

SIZES = ((1366, 768), (1920, 1080), (3840, 2160))
VIEWS = (
    ("starting", "pump_p3"),
    ("speed", "pump_p3_year"),
    ("stopping", "fan_f2"),
    ("heat", "fan_f2"),
    ("supply", "pump_p7"),
    ("group", "filters_w3"),
    ("fit", "pump_p3"),
    ("teach", "pump_p3"),
)
MODES = ("light", "dark", "lecture")
LATER = "(({ clock }) => clock.go(0.62 * clock.end))(window.desk.pages.timed ?? window.desk.starting)"
PICKED = (
    "Object.assign(window.desk.pages.views.supply, { chosen: 'voltage_dip' })"  # a bad supply that is followed in time
)


def shown(page: Page, view: str, study: str, mode: str) -> None:
    """Brings a view of a study on screen."""
    if page.evaluate("window.desk.desk.study.name") != f"{study}.toml":
        page.select_option("#files select", study)
        at_rest(page)
    page.evaluate(PICKED)
    page.evaluate("(view) => window.desk.desk.tell('view', view)", view)
    page.evaluate("(on) => window.desk.lecture.toggle(on)", mode == "lecture")
    page.evaluate("(dark) => window.desk.lecture.mode(dark)", mode == "dark")
    page.evaluate(LATER)
    at_rest(page)
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(400)


def all_screens(folder: Path, wanted: Sequence[str]) -> None:
    """The views that are wanted, every one when none is named, in every mode and size."""
    folder.mkdir(parents=True, exist_ok=True)
    with running() as server, opened(server.port) as page:
        for view, study in (one for one in VIEWS if not wanted or one[0] in wanted):
            for width, height in SIZES:
                page.set_viewport_size({"width": width, "height": height})
                for mode in MODES:
                    page.evaluate("window.desk.lecture.toggle(false)")
                    shown(page, view, study, mode)
                    page.screenshot(path=folder / f"{view}-{mode}-{width}x{height}.png")


def picture(file: Path) -> None:
    """The starting view as the README shows it."""
    with running() as server, opened(server.port, 1440, 810) as page:
        shown(page, "starting", "pump_p3", "light")
        page.screenshot(path=file)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--picture"]:
        picture(Path(sys.argv[2]))
    else:
        all_screens(Path(sys.argv[1]), sys.argv[2:])

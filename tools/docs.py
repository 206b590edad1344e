"""Writes the pages of docs/ that are made from the code, and refreshes the examples of the README.

`python -m tools.docs --check` changes nothing and fails when a page on disk is not what would be written.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

from slipwise.doors.desk.studies import OWN, SHIPPED
from tools import command_page, desk_page, documented, licences, order_page, schema_page

ROOT = Path(__file__).parent.parent


def readme() -> str:
    """The README with its examples run."""
    return documented.rendered((ROOT / "README.md").read_text(encoding="utf-8"))


PAGES: dict[str, Callable[[], str]] = {
    "docs/study-file.md": schema_page.study_file,
    "docs/results.md": schema_page.results,
    "docs/commands.md": command_page.page,
    "docs/order.md": order_page.page,
    "docs/licences.md": licences.page,
    "docs/desk-api.md": desk_page.page,
    "src/slipwise/doors/desk/openapi.json": desk_page.openapi,
    "README.md": readme,
}

PAGES |= {
    f"src/slipwise/doors/desk/start_studies/{key}.toml": partial(desk_page.start_study, ROOT / "examples", key)
    for key in SHIPPED
    if key not in OWN
}


def main(words: list[str]) -> int:
    """Writes or checks every page."""
    stale = []
    for name, page in PAGES.items():
        target, text = ROOT / name, page()
        if target.exists() and target.read_text(encoding="utf-8") == text:
            continue
        stale.append(name)
        if "--check" not in words:
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(text, encoding="utf-8")
            print(f"written: {name}")
    if "--check" in words and stale:
        print(f"out of date, run make docs: {', '.join(stale)}")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

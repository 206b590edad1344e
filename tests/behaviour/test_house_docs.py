"""Pages made by machine are those on disk; documented examples print what the pages show; every example runs."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tools import docs, documented

ROOT = Path(__file__).parent.parent.parent
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
WRITTEN = ["README.md", "CONTRIBUTING.md", "docs/method.md", "docs/teaching.md"]


@pytest.mark.parametrize("name", [name for name in docs.PAGES if name != "README.md"])
def test_pages_are_up_to_date(name):
    """The page on disk is what `make docs` would write today."""
    assert (ROOT / name).read_text(encoding="utf-8") == docs.PAGES[name](), "run make docs"


def test_readme_shows_what_is_printed():
    """Every command and every Python line of the README prints what stands under it."""
    assert (ROOT / "README.md").read_text(encoding="utf-8") == docs.readme(), "run make docs"


def test_documented_examples_are_really_run():
    """The runner writes files, keeps one Python session, cuts as told, and shows errors as they are printed."""
    page = (
        "<!-- file: a.toml -->\n```toml\n[motor]\n```\n```console\n$ slipwise start a.toml | head -1\nwrong\n```\n"
        "```pycon\n>>> x = 2\n>>> for i in range(x):\n...     print(i)\n...\nwrong\n```\n"
    )
    shown = documented.rendered(page)
    assert "wrong" not in shown
    assert "a.toml: load: it is missing" in shown
    assert "...\n0\n1\n```" in shown


@pytest.mark.parametrize("name", WRITTEN)
def test_links_lead_somewhere(name):
    """Every relative link and picture of a written page exists."""
    page = ROOT / name
    for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), f"{name} points to {target}"


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_runs(example, capsys):
    """Each shipped study computes and recommends a way."""
    from slipwise.doors.cli.app import main

    written = example.read_text(encoding="utf-8")
    command = "stop" if "[stopping]" in written and "[starting]" not in written else "start"
    assert main([command, str(example), "--no-transients", "--strict"]) == 0
    said = capsys.readouterr().out
    assert "Start it by" in said or "Stop it by" in said


def test_examples_say_that_they_are_invented():
    """Nobody shall take an example for a real plant."""
    assert EXAMPLES
    for example in EXAMPLES:
        assert "invented" in example.read_text(encoding="utf-8").lower()


@pytest.mark.parametrize(
    "page", [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))], ids=lambda path: path.name
)
def test_pages_name_no_place_of_the_machine_that_made_them(page):
    """A page made by machine carries no path of that machine."""
    assert str(ROOT) not in page.read_text(encoding="utf-8")

"""The folder of outputs: whole or not at all, never over someone else's files, and drawn again without a solver."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from slipwise.present import notebook, tables
from slipwise.present.export import write_outputs
from slipwise.present.figures import catalogue
from slipwise.quantity.errors import InputError
from slipwise.results.codec import load_result
from slipwise.results.study import StudyResult
from tests.behaviour.sample_result import sample


def small() -> StudyResult:
    """One way only and no transient, to be quick."""
    return replace(sample(), ways=(replace(sample().ways[0], band=None),))


def everything(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_folder_is_complete(tmp_path: Path) -> None:
    """Data, series, tables, every figure in every format, and a list of them all; the same bytes when written again."""
    folder = write_outputs(small(), tmp_path / "out", ("svg", "pdf", "png"))
    found = everything(folder)
    assert set(json.loads(found["contents.json"])["files"]) == set(found) - {"contents.json"}
    for key, _, _ in catalogue(small()):
        for format, start in (("svg", b"<?xml"), ("pdf", b"%PDF"), ("png", b"\x89PNG")):
            assert found[f"figures/{key}.{format}"].startswith(start)
    assert load_result(folder / "study.json").title == small().title
    again = everything(write_outputs(small(), folder, ("svg",)))
    assert {name for name in found if name not in again} == {n for n in found if n.endswith((".pdf", ".png"))}
    assert all(found[name] == content for name, content in again.items() if name != "contents.json")
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_tables_hold_what_the_terminal_shows(tmp_path: Path) -> None:
    """The comparison as CSV has the cells of the table, in ordinary characters."""
    folder = write_outputs(sample(), tmp_path / "out", ())
    with (folder / "tables" / "comparison.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert rows[1:] == [[tables.plain(cell) for cell in row] for row in tables.comparison(sample()).rows]
    assert not (folder / "figures").exists()


def test_report_gets_every_figure(tmp_path: Path) -> None:
    """The maker of the report is handed SVG by key, and its bytes become report.pdf."""
    seen: dict[str, bytes] = {}

    def maker(result: StudyResult, figures: Mapping[str, bytes]) -> bytes:
        seen.update(figures)
        return b"%PDF made up for " + result.title.encode()

    folder = write_outputs(small(), tmp_path / "out", (), report=maker)
    assert set(seen) == {key for key, _, _ in catalogue(small())}
    assert all(b"<svg" in content for content in seen.values())
    assert (folder / "report.pdf").read_bytes().startswith(b"%PDF made up")


def test_failure_leaves_nothing(tmp_path: Path) -> None:
    """When the report cannot be made, no folder appears, and an older one stays as it was."""

    def broken(_result: StudyResult, _figures: Mapping[str, bytes]) -> bytes:
        raise RuntimeError("no ink")

    with pytest.raises(RuntimeError, match="no ink"):
        write_outputs(small(), tmp_path / "out", (), report=broken)
    assert list(tmp_path.iterdir()) == []
    write_outputs(small(), tmp_path / "out", ())
    before = everything(tmp_path)
    with pytest.raises(RuntimeError, match="no ink"):
        write_outputs(small(), tmp_path / "out", (), report=broken)
    assert everything(tmp_path) == before


def test_foreign_folder_is_not_touched(tmp_path: Path) -> None:
    """A folder that is not ours, a file in its place, a link, or a folder with a file added is refused and kept."""
    (tmp_path / "theirs").mkdir()
    (tmp_path / "theirs" / "letter.txt").write_text("keep me", encoding="utf-8")
    (tmp_path / "file").write_text("keep me too", encoding="utf-8")
    (tmp_path / "link").symlink_to(tmp_path / "theirs")
    ours = write_outputs(small(), tmp_path / "ours", ())
    (ours / "notes.txt").write_text("my notes", encoding="utf-8")
    before = everything(tmp_path)
    for name, reason in (
        ("theirs", "not made by slipwise"),
        ("file", "not a folder"),
        ("link", "not a folder"),
        ("ours", "notes.txt"),
    ):
        with pytest.raises(InputError, match=reason):
            write_outputs(small(), tmp_path / name, ())
    assert everything(tmp_path) == before


def test_empty_folder_may_be_used(tmp_path: Path) -> None:
    """An empty folder that exists already is filled."""
    (tmp_path / "out").mkdir()
    assert (write_outputs(small(), tmp_path / "out", ()) / "study.json").exists()


def test_unknown_format_is_refused(tmp_path: Path) -> None:
    """A format there is not is refused before anything is written."""
    with pytest.raises(ValueError, match="gif"):
        write_outputs(small(), tmp_path / "out", cast(Any, ("gif",)))
    assert list(tmp_path.iterdir()) == []


def test_saved_study_is_shown_without_a_solver(tmp_path: Path) -> None:
    """A saved study gives table, figures and folder again where no solver, model or study can be imported."""
    folder = write_outputs(small(), tmp_path / "out", ("svg",))
    code = (
        "import sys\n"
        "from pathlib import Path\n"
        "class Barred:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        parts = name.split('.')\n"
        "        barred = ('model', 'solve', 'limits', 'identify', 'methods', 'study', 'teach', 'doors')\n"
        "        if name.startswith('slipwise.') and parts[1] in barred or parts[0] in ('numba', 'scipy'):\n"
        "            raise AssertionError(name)\n"
        "sys.meta_path.insert(0, Barred())\n"
        "from slipwise.results.codec import load_result\n"
        "from slipwise.present.export import write_outputs\n"
        "from slipwise.present.terminal import text\n"
        "result = load_result(Path(sys.argv[1]) / 'study.json')\n"
        "write_outputs(result, Path(sys.argv[2]), ('svg',))\n"
        "sys.stdout.write(text(result))\n"
    )
    again = tmp_path / "again"
    done = subprocess.run(
        [sys.executable, "-c", code, str(folder), str(again)],
        capture_output=True,
        text=True,
        check=False,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    assert small().title in done.stdout
    first, second = everything(folder), everything(again)
    assert set(first) == set(second)
    assert first["study.json"] == second["study.json"]
    assert {n: b for n, b in first.items() if n.endswith(".csv")} == {
        n: b for n, b in second.items() if n.endswith(".csv")
    }


def test_results_show_themselves_in_a_notebook() -> None:
    """Registered formatters give the verdict, the tables and an image with its words; without IPython nothing happens."""
    known: dict[str, Any] = {}
    formatter = SimpleNamespace(for_type_by_name=lambda module, name, show: known.setdefault(f"{module}.{name}", show))
    shell = SimpleNamespace(display_formatter=SimpleNamespace(formatters={"text/html": formatter}))
    assert notebook.register(shell)
    assert not notebook.register()
    html = known["slipwise.results.study.StudyResult"](replace(sample(), title="Pump <P3>"))
    assert "Pump &lt;P3&gt;" in html
    assert tables.verdict_sentence(sample()) in html
    assert "data:image/svg+xml;base64," in html
    assert "What was not given" in html
    assert sample().ways[0].verdict.criteria[0].title in known["slipwise.results.study.WayResult"](sample().ways[0])

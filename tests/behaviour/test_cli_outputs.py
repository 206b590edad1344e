"""What the commands write: whole or not at all, the same bytes for the same input, readable again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from slipwise.doors.cli.app import Exit, main
from tests.behaviour.test_cli import SMALL, only


@pytest.fixture
def place(tmp_path, monkeypatch):
    """An empty working folder with a quick study file; the date of reports is fixed."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1750000000")
    (tmp_path / "small.toml").write_text(SMALL, encoding="utf-8")
    return tmp_path


def files(folder: Path) -> dict[str, bytes]:
    """Every file of a folder by its relative path."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_study_writes_everything_and_the_same_bytes_again(place, capsys):
    """One command gives data, series, tables, figures and report; run again it gives the same bytes."""
    words = ["study", "small.toml", "--format", "svg", "--format", "png", "--out"]
    assert main([*words, "first"]) == Exit.COMPUTED
    said = capsys.readouterr()
    assert "Start it by: Direct" in said.out
    assert "Written to first" in said.out
    assert main([*words, "second"]) == Exit.COMPUTED
    first, second = files(place / "first"), files(place / "second")
    assert first == second
    assert first["report.pdf"].startswith(b"%PDF")
    assert {"study.json", "figures/direct.run_up.svg", "figures/direct.run_up.png", "tables/comparison.csv"} <= set(
        first
    )
    assert any(name.startswith("series/direct/transient") for name in first)


def test_study_names_its_folder_after_the_file_and_replaces_only_its_own(place, capsys):
    """Without --out the folder is named after the file; ours is replaced, one with a foreign file is refused before computing."""
    words = ["study", "small.toml", "--no-transients"]
    assert main(words) == Exit.COMPUTED
    assert only(place, "small.toml", "small-results")
    assert main(words) == Exit.COMPUTED
    (place / "small-results" / "my notes.txt").write_text("mine", encoding="utf-8")
    capsys.readouterr()
    assert main(words) == Exit.BAD_INPUT
    said = capsys.readouterr()
    assert "my notes.txt" in said.err
    assert said.out == ""
    assert (place / "small-results" / "my notes.txt").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("blow", [KeyboardInterrupt, MemoryError, OSError])
def test_an_interrupted_write_leaves_nothing(blow, place, monkeypatch):
    """Whatever strikes while the last file is being made, neither a folder nor a part of one is left."""

    def struck(*_: object, **__: object) -> bytes:
        raise blow

    monkeypatch.setattr("slipwise.present.report.report", struck)
    assert main(["study", "small.toml", "--no-transients", "--out", "results"]) != Exit.COMPUTED
    assert only(place, "small.toml")


def test_an_interrupted_write_keeps_what_was_there(place, monkeypatch):
    """The folder of an earlier run stays as it was when a later one is struck."""
    words = ["study", "small.toml", "--no-transients", "--out", "results"]
    assert main(words) == Exit.COMPUTED
    before = files(place / "results")

    def struck(*_: object, **__: object) -> bytes:
        raise KeyboardInterrupt

    monkeypatch.setattr("slipwise.present.report.report", struck)
    assert main(words) == Exit.INTERRUPTED
    assert files(place / "results") == before
    assert only(place, "small.toml", "results")


def test_curves_writes_characteristics_alone(place):
    """`curves` gives one CSV for each way and stage, with units in its headings, and the figures against speed."""
    assert main(["curves", "small.toml", "--out", "curves"]) == Exit.COMPUTED
    written = files(place / "curves")
    assert set(written) == {
        "contents.json",
        "series/direct/curves_direct.csv",
        "figures/direct.torque_speed.svg",
        "figures/direct.current_speed.svg",
    }
    assert b"torque_Nm" in written["series/direct/curves_direct.csv"].splitlines()[0]


def test_saved_results_render_again(place, capsys):
    """`export` draws a saved study in another format; `start` and `explain` read the folder; a wrong key is bad input."""
    assert main(["study", "small.toml", "--no-transients", "--out", "results"]) == Exit.COMPUTED
    first = capsys.readouterr().out
    assert main(["export", "results", "--figure", "direct.run_up", "--format", "pdf", "--out", "wall"]) == Exit.COMPUTED
    assert only(place / "wall", "contents.json", "direct.run_up.pdf")
    assert (place / "wall" / "direct.run_up.pdf").read_bytes().startswith(b"%PDF")
    capsys.readouterr()
    assert main(["start", "results"]) == Exit.COMPUTED
    assert first.startswith(capsys.readouterr().out)
    assert main(["explain", "results/study.json", "motor.torque"]) == Exit.COMPUTED
    assert main(["export", "results", "--figure", "sideways"]) == Exit.BAD_INPUT
    assert "direct.run_up" in capsys.readouterr().err


def test_study_json_follows_its_schema(place):
    """What is written is valid under the schema that is published."""
    import jsonschema

    from slipwise.results.schema import results_json_schema

    assert main(["study", "small.toml", "--out", "results"]) == Exit.COMPUTED
    content = json.loads((place / "results" / "study.json").read_text(encoding="utf-8"))
    jsonschema.validate(content, results_json_schema())


def test_examples_follow_the_study_schema():
    """Every shipped study file is valid under the published schema, which an editor uses."""
    import tomllib

    import jsonschema

    from slipwise.study.schema.published import json_schema

    for example in (Path(__file__).parent.parent.parent / "examples").glob("*.toml"):
        jsonschema.validate(tomllib.loads(example.read_text(encoding="utf-8")), json_schema())

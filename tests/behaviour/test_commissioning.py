"""A recorded start in a study file, laid over its prediction, and the sheets that come of it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest

from slipwise import load_motor
from slipwise.doors.cli.app import Exit, main
from slipwise.identify.commissioning import lay_over
from slipwise.identify.comtrade_write import write_comtrade
from slipwise.identify.csv_recording import read_csv
from slipwise.identify.recording_file import read_recording
from slipwise.identify.start_fit import StartFit, fit_start
from slipwise.present import tables_recording
from slipwise.present.figures import canvas, recording
from slipwise.present.figures.look import Look
from slipwise.present.report.commissioning import commissioning_sheet, recording_sheet
from slipwise.quantity.errors import InputError
from slipwise.results.recording import Commissioning
from slipwise.results.setting import Setting
from slipwise.results.start import RunUp
from slipwise.solve.run_up import run_up
from tests.recordings import DRIVE, LOAD, MOTOR, PLATE, START, SUPPLY, start
from tools.recording_example import recording as example_recording

EXAMPLES = Path(__file__).parents[2] / "examples"
RELAY = Setting(key="relay", title="overload relay", value=41.0, unit="A", origin="given", why="")


@cache
def fitted() -> StartFit:
    return fit_start(start(coast=True), PLATE)


@cache
def predicted() -> tuple[RunUp, ...]:
    """The same start on a supply as it is, half as stiff, and a third stiffer."""
    rows = []
    for factor, case in ((1.0, "nominal"), (2.0, "weak"), (0.67, "strong")):
        links = tuple(replace(link, impedance=factor * link.impedance) for link in SUPPLY.links)
        rows.append(run_up(START, replace(DRIVE, supply=replace(SUPPLY, links=links)), case=case))
    return tuple(rows)


def laid(inertia: float = DRIVE.inertia, found: dict[str, str] | None = None) -> Commissioning:
    return lay_over(
        fitted().result, predicted(), title="Hoist H1", way="Direct", rated_voltage=400.0, inertia=inertia,
        load_torque=float(LOAD.running(155.0)), settings=(RELAY,), found=found,
    )  # fmt: skip


def test_a_start_as_predicted_lies_inside() -> None:
    """The simulated start is that of the nominal case: every figure lies in the band over the cases."""
    answer = laid()
    assert [row.name for row in answer.deviations if row.status not in ("inside", "at the edge")] == []
    for row in answer.deviations:
        assert (row.status == "inside") == (row.low <= row.recorded <= row.high)
    assert len(answer.deviations) == 7
    assert np.all(answer.current_low <= answer.current_high)


def test_a_deviation_is_named_with_its_usual_meaning() -> None:
    """An inertia that the study has a third too low stands out, with what to check."""
    row = next(row for row in laid(inertia=0.67 * DRIVE.inertia).deviations if row.name.startswith("inertia"))
    assert row.status == "above"
    assert "gear or belt ratio" in row.meaning


def test_a_figure_just_outside_the_band_stands_at_its_edge() -> None:
    """Out of the tenth about the study's inertia by 1 % of the reading: neither inside nor a deviation, and the sheet says so."""
    recorded = next(row.recorded for row in laid().deviations if row.name.startswith("inertia"))
    answer = laid(inertia=recorded * 0.99 / 1.1)
    row = next(row for row in answer.deviations if row.name.startswith("inertia"))
    assert row.recorded > row.high
    assert (row.status, row.meaning) == ("at the edge", "")
    assert "at the edge" in {cells[3] for cells in tables_recording.deviations(answer).rows}
    assert "at the edge of" in recording.laid_over_words(answer)


@pytest.mark.parametrize(
    ("found", "same"), [({}, None), ({"relay": "41 A"}, True), ({"relay": "41.0 A"}, True), ({"relay": "52 A"}, False)]
)
def test_settings_found_against_proposed(found: dict[str, str], same: bool | None) -> None:
    """Numbers of one unit are compared as numbers; what was not reported is not judged."""
    assert laid(found=found).settings[0].same is same


def test_a_setting_that_was_not_proposed_is_refused() -> None:
    """The message names those there are."""
    with pytest.raises(InputError, match="one of: relay"):
        laid(found={"tap": "65 %"})


def test_the_sheet_says_what_deviates() -> None:
    """The PDF names the deviation, both settings, the fitted inertia, and the cautions."""
    from pypdf import PdfReader

    sheet = commissioning_sheet(laid(inertia=0.4, found={"relay": "52 A"}), version="0.0.0")
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(sheet)).pages)
    words = " ".join(text.split())
    for part in (
        "1 of 7 figures lie outside",
        "found 52",
        "inertia of rotor and load",
        "licensed engineer",
        "told apart",
    ):
        assert part in words
    assert commissioning_sheet(laid(inertia=0.4, found={"relay": "52 A"}), version="0.0.0") == sheet


def test_the_sheet_of_a_fit_alone() -> None:
    """Steps, values and misfit stand in it."""
    from pypdf import PdfReader

    sheet = recording_sheet(fitted().result, title="Hoist H1", version="0.0.0")
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(sheet)).pages).split())
    for part in ("What was done to the recording", "coast-down kept apart", "Misfit over noise"):
        assert part in text


def test_figures_say_in_words_what_they_show() -> None:
    """Each has a title and an alternative text with its numbers."""
    result = fitted().result
    for drawn in (
        recording.fit(result, Look()),
        recording.joint_region(result, Look()),
        recording.load_torque(result, Look()),
        recording.laid_over(laid(), Look()),
    ):
        assert canvas.title_of(drawn)
        assert any(letter.isdigit() for letter in canvas.alternative_text(drawn))
        assert canvas.render(drawn, "svg").startswith(b"<?xml")


def test_tables_show_units() -> None:
    """Ranges carry their units, and what the recording hardly tells is said."""
    rows = {row[1]: row for row in tables_recording.values(fitted().result).rows}
    assert "kg m²" in rows["J"][2].replace("\u202f", " ").replace("\u00a0", " ")
    assert rows["J"][4] == "yes"
    assert rows["X1"][4] != "yes"


def test_the_example_is_what_its_maker_writes() -> None:
    """The recording of the examples comes out of `tools.recording_example` again."""
    shipped, made = (EXAMPLES / "bench_b7_recording.csv").read_bytes(), example_recording()
    one, other = read_csv(shipped), read_csv(made)
    assert other.time == pytest.approx(one.time, abs=1e-6)
    for a, b in zip(one.channels, other.channels, strict=True):
        assert b.values == pytest.approx(a.values, abs=2.5 * a.resolution + 1e-3 * np.abs(a.values).max())
    assert b"Invented" in shipped


def test_the_example_finds_what_was_changed() -> None:
    """Behind the example's recording the load turns 1.3 times as heavily: the joint range of inertia holds it."""
    built = load_motor(EXAMPLES / "bench_b7_recording.toml")
    assert built.recording is not None
    row = next(row for row in built.recording.values if row.symbol == "J")
    assert row.low < 0.0074 + 1.3 * 0.045 < row.high
    assert built.motor.circuit is not None
    assert built.motor.stator_temperature == pytest.approx(35.0)


def test_the_command_writes_the_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`slipwise commission` prints deviations and writes a folder whole."""
    words = ["commission", str(EXAMPLES / "bench_b7.toml"), str(EXAMPLES / "bench_b7_recording.csv"), "--way", "direct"]
    assert main([*words, "--out", str(tmp_path / "c")]) == Exit.COMPUTED
    assert "Recorded against predicted" in capsys.readouterr().out
    assert (tmp_path / "c" / "commissioning.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "c" / "tables" / "deviations.csv").exists()
    assert main([*words[:-1], "cascade", "--out", str(tmp_path / "d")]) == Exit.BAD_INPUT
    assert "was not computed in this study" in capsys.readouterr().err


def test_identify_from_a_recording(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`slipwise identify` shows the fit, and the lines to paste."""
    assert main(["identify", str(EXAMPLES / "bench_b7_recording.toml"), "--out", str(tmp_path / "i")]) == Exit.COMPUTED
    printed = capsys.readouterr().out
    assert "[motor.circuit]" in printed
    assert "Fitted values" in printed
    assert (tmp_path / "i" / "recording.pdf").exists()
    assert "[motor.circuit]" in (tmp_path / "i" / "motor.toml").read_text(encoding="utf-8")


def test_faults_of_the_recording_point_to_the_study_file(tmp_path: Path) -> None:
    """A file that is not there, one of no known kind, and a motor given twice."""
    text = (EXAMPLES / "bench_b7_recording.toml").read_text(encoding="utf-8")
    for old, new, words in (
        ('"bench_b7_recording.csv"', '"gone.csv"', "no such file"),
        ('"bench_b7_recording.csv"', '"start.xyz"', "what kind of recording"),
        ("[motor.recording]", '[motor.bars]\ndepth = "30 mm"\nmaterial = "copper"\n[motor.recording]', "given twice"),
    ):
        (tmp_path / "s.toml").write_text(text.replace(old, new), encoding="utf-8")
        with pytest.raises(InputError) as found:
            load_motor(tmp_path / "s.toml")
        assert words in str(found.value)


def test_files_are_told_by_their_names(tmp_path: Path) -> None:
    """A COMTRADE pair is read by its configuration; without its data file that is said; channels can be renamed."""
    configuration, data = write_comtrade(start(), frequency=50)
    (tmp_path / "x.cfg").write_bytes(configuration)
    with pytest.raises(InputError, match="data file is not beside it"):
        read_recording(tmp_path / "x.cfg")
    (tmp_path / "x.dat").write_bytes(data)
    found = read_recording(tmp_path / "x.cfg", names={"ia": "ib", "ib": "ia"})
    assert {channel.name: channel.phase for channel in found.channels}["ib"] == "b"
    assert MOTOR.inertia > 0

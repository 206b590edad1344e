"""Bench readings through the study file, the command and the lab sheet; impossible ones refused by name."""

from __future__ import annotations

import re
import shutil
import tomllib
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest

from slipwise.doors.cli.app import Exit, main
from slipwise.present import tables_bench
from slipwise.present.figures import Look, bench
from slipwise.present.figures.canvas import alternative_text, render
from slipwise.present.report.lab import lab_sheet
from slipwise.quantity.errors import InputError
from slipwise.quantity.formula import FUNCTIONS, calculate
from slipwise.study.reader import load, load_motor

EXAMPLE = Path(__file__).parent.parent.parent / "examples" / "bench_b7_readings.toml"


@pytest.fixture(scope="module")
def built():
    """The motor of the shipped example."""
    return load_motor(EXAMPLE)


@pytest.fixture
def motor_only(tmp_path):
    """The example's [motor] alone, and a way to change it."""
    text = EXAMPLE.read_text(encoding="utf-8").partition("\n[load]")[0]

    def write(*changes: tuple[str, str]) -> Path:
        changed = text
        for old, new in changes:
            assert old in changed, old
            changed = changed.replace(old, new, 1)
        path = tmp_path / "bench.toml"
        path.write_text(changed, encoding="utf-8")
        return path

    return write


def refused(path: Path) -> str:
    with pytest.raises(InputError) as found:
        load_motor(path)
    return str(found.value).replace("\u202f", " ")


def test_every_value_of_the_invented_machine_lies_in_its_interval(built):
    """The readings were invented from R1 2.55, X1 2.9, Xm 72, Rfe 1500, R2 2.0 (2.016 at 27 degC), X2 4.1, 28 W, 24 W."""
    truth = {"X1": 2.9, "Rfe": 1500.0, "R2": 2.016, "X2": 4.1, "P_fw": 28.0, "P_stray": 24.0}
    rows = {row.symbol: row for row in built.identification.values}
    for symbol, value in truth.items():
        row = rows[symbol]
        assert row.low <= value <= row.high or abs(row.value / value - 1) < 0.01, symbol


def test_saturation_and_wattmeter_signs_are_said(built):
    """Notes name the saturation found and every reading whose wattmeter sign was turned."""
    words = " ".join(built.identification.notes)
    assert "Leakage saturates" in words
    assert "main path saturates" in words
    assert "counts as negative in no load 1 to 11:" in words


def test_readings_that_were_not_fitted_agree_with_the_model(built):
    """The load test was not used for the circuit, and current, input and torque agree within two per cent near full load."""
    rows = [row for row in built.identification.plate if re.match(r"load reading [1-4]", row.name)]
    assert len(rows) == 12
    for row in rows:
        assert row.model == pytest.approx(row.plate, rel=0.02), row.name


def test_the_motor_block_gives_the_same_motor(built, tmp_path):
    """The printed [motor] lines, put into a file, read back as the same motor."""
    path = tmp_path / "motor.toml"
    path.write_text(built.identification.motor_block, encoding="utf-8")
    again = load_motor(path).motor
    one, two = built.motor.circuit, again.circuit
    assert (two.R1, two.X1, two.Xm, two.Rfe) == pytest.approx((one.R1, one.X1, one.Xm, one.Rfe), rel=1e-4)
    assert [(b.R, b.X) for b in two.rotor] == [pytest.approx((b.R, b.X), rel=1e-4) for b in one.rotor]
    assert two.leakage_saturation.knee == pytest.approx(one.leakage_saturation.knee, rel=1e-3)
    assert two.main_saturation.unsaturated == pytest.approx(one.main_saturation.unsaturated, rel=1e-3)
    assert again.mechanical_torque(150.0) == pytest.approx(built.motor.mechanical_torque(150.0), rel=1e-3)
    assert again.stray == pytest.approx(built.motor.stray, rel=1e-3)


def test_a_study_runs_on_the_readings(built):
    """With load and supply the same file is a study, and its inputs carry the intervals."""
    study = load(EXAMPLE)
    assert study.motor.circuit == built.motor.circuit
    rows = {row.name: row for row in study.inputs if row.origin == "estimated"}
    assert rows["motor.circuit.X1"].low < rows["motor.circuit.X1"].value < rows["motor.circuit.X1"].high
    assert "95 %" in rows["motor.circuit.R2"].why


def test_every_step_can_be_checked_by_hand(built):
    """Each printed step gives its printed value from its printed inputs."""
    steps = [step for step in built.identification.steps if step.expression]
    assert len(steps) > 25
    for step in steps:
        got = calculate(step.expression, {i.symbol: i.value for i in step.inputs}, FUNCTIONS)
        assert got == pytest.approx(step.value, rel=1e-6), step.name


def test_the_lab_sheet_holds_readings_steps_and_results(built):
    """Read back from the PDF: a reading as entered, a step, a value with its interval, and the caution."""
    import pypdf

    found = built.identification
    pictures = {key: render(draw(Look(size="print")), "svg") for key, _, draw in bench.catalogue(found)}
    pages = pypdf.PdfReader(BytesIO(lab_sheet(found, pictures, day=date(2026, 1, 2)))).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).replace("\u202f", " ").split())
    for words in (
        "Readings",
        "439.3 V",
        "Magnetising reactance",
        "Reactances in series",
        "isolate and prove dead",
        "R2 = ",
    ):
        assert words in text, words
    assert "Core loss and friction told apart" in text


def test_figures_describe_themselves(built):
    """Four figures, each with a title and words for those who cannot see it."""
    entries = bench.catalogue(built.identification)
    assert [entry.key for entry in entries] == [
        "no_load.loss_line", "no_load.magnetising_curve", "locked_rotor.leakage", "load.residual_loss",
    ]  # fmt: skip
    for entry in entries:
        assert len(alternative_text(entry.function(Look()))) > 30


def test_tables_have_a_cell_for_every_column(built):
    """All tables are whole, and the readings stand as entered with the error of their meter."""
    for name, table in tables_bench.all_of(built.identification):
        assert all(len(row) == len(table.columns) for row in table.rows), name
    first = tables_bench.readings(built.identification).rows[1]
    assert first[0] == "No load 1"
    assert "439.3 V ± 0.88" in " ".join(first).replace("\u202f", " ")


def test_the_command_prints_and_writes(tmp_path, capsys, monkeypatch, motor_only):
    """`identify` on [motor] alone prints circuit and block; with --out it leaves a folder whose motor.toml reads back."""
    monkeypatch.chdir(tmp_path)
    path = motor_only()
    assert main(["identify", str(path)]) == Exit.COMPUTED
    printed = capsys.readouterr().out
    assert "Circuit and losses" in printed
    assert "[motor.circuit]" in printed
    assert main(["identify", str(path), "--out", "sheet"]) == Exit.COMPUTED
    folder = tmp_path / "sheet"
    assert (folder / "lab_sheet.pdf").read_bytes().startswith(b"%PDF")
    assert tomllib.loads((folder / "motor.toml").read_text(encoding="utf-8"))["motor"]["circuit"]["R1"]
    assert len(list((folder / "figures").glob("*.svg"))) == 4
    assert main(["identify", str(path), "--out", "sheet"]) == Exit.COMPUTED  # its own folder may be replaced
    shutil.copy(path, folder / "mine.toml")
    assert main(["identify", str(path), "--out", "sheet"]) == Exit.BAD_INPUT


def test_a_sheet_of_a_plate_alone_is_refused(capsys):
    """Nothing measured, nothing to write a lab sheet of."""
    assert main(["identify", str(EXAMPLE.with_name("pump_p3.toml")), "--out", "nowhere"]) == Exit.BAD_INPUT
    assert "nothing was measured" in capsys.readouterr().err


def test_what_the_sheet_does_not_say_is_assumed_with_a_range(motor_only):
    """Without split, temperatures and inertia the answer names what was taken, and between which bounds."""
    path = motor_only(
        ("leakage_split = 0.7           # X1 / X2, from the maker\n", ""),
        ('connection = "delta"          # in every test\n', ""),
        ('temperature = "31 degC"\n', ""),
    )
    built = load_motor(path)
    rows = {row.name: row for row in built.identification.estimated if row.origin == "assumed"}
    split = rows["motor.readings.leakage_split"]
    assert (split.low, split.high) == pytest.approx((0.43, 1.0))
    assert rows["motor.readings.no_load[0].temperature"].high == pytest.approx(65.0)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('power = "303.4 W"', 'power = "110 W"', ("locked-rotor power is less than the stator copper loss", "3 x (4.79 A)²")),
        ('power = "303.4 W"', 'power = "400 W"', ("locked-rotor power is more than the apparent power",)),
        ('resistance = "5.11 ohm"', 'resistance = "16 ohm"', ("less than the stator copper loss", "dc resistance")),
        ('frequency = "12.5 Hz"', 'frequency = "1 Hz"', ("test frequency is far from rated",)),
        ('speed = "1442.9 r/min"', 'speed = "1503 r/min"', ("cannot run at or above synchronous speed",)),
        ('torque = "13.84 N m"', 'torque = "18.84 N m"', ("the shaft gives",)),
        ('wattmeter_2 = "640.3 W"', 'wattmeter_2 = "240.3 W"', ("the wattmeters give", "voltage and current")),
        ('wattmeter_2 = "640.3 W"\n', "", ("both wattmeters",)),
        ('resistance = "5.11 ohm"\n', "", ("an ohmmeter, or direct voltage and current",)),
        ('voltage = "399.8 V"\ncurrent = "3.22 A"', 'voltage = "399.8 V"\ncurrent = "-3.22 A"', ("must be above",)),
        ('connection = "delta"          # in every test', 'connection = "ring"', ('"star", "delta"',)),
        ("voltage_class = 0.2", "voltage_class = 0", ("must be above 0",)),
    ],
)  # fmt: skip
def test_impossible_readings_are_refused_by_name(motor_only, old, new, words):
    """Each with file, line, field, the numbers and what to look at; never a negative resistance."""
    message = refused(motor_only((old, new)))
    for part in words:
        assert part in message, message
    assert re.search(r"bench\.toml:\d+: motor\.readings", message)


def test_a_circuit_and_readings_together_are_refused(motor_only):
    """The motor may be given once."""
    path = motor_only(("[motor.readings]", '[motor.circuit]\nvalues = "star equivalent"\nR1 = "1 ohm"\nX1 = "1 ohm"\n'
                       'Xm = "50 ohm"\nR2 = "1 ohm"\nX2 = "1 ohm"\n\n[motor.readings]'))  # fmt: skip
    assert "given twice" in refused(path)


def test_without_classes_there_are_no_intervals(motor_only):
    """No meter class, no temperature error: values without intervals, and the notes say which meters count as exact."""
    text = motor_only().read_text(encoding="utf-8")
    begin, end = text.index("[motor.readings.meters]"), text.index("# The wattmeter leads")
    path = motor_only((text[begin:end], ""))
    found = load_motor(path).identification
    assert all(row.low is None for row in found.values)
    assert any("No meter class given for" in words and "voltage" in words for words in found.notes)


def test_a_run_of_numbered_readings_is_told_in_one():
    """Consecutive numbers of one test are drawn together; gaps, other tests and names without a number are not."""
    from slipwise.identify.bench.answer import runs_of

    assert runs_of(["no load 1", "no load 2", "no load 3", "no load 5", "load 6", "load 7", "dc"]) == (
        "no load 1 to 3, no load 5, load 6 and 7, dc"
    )

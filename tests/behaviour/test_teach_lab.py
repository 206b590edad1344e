"""Papers of the teaching laboratory: expected readings in closed form, the blank form, and readings laid over curves."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from slipwise.doors.cli.app import main
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss
from slipwise.quantity.errors import InputError
from slipwise.study.reader import load_motor
from slipwise.teach.formulas import formula
from slipwise.teach.lab import expected_of, measured_of
from slipwise.teach.lab.expected import COASTING, coasting, expected, held, running_free
from slipwise.teach.lab.form import bench_tests, blank_form, expectation, laboratory_cautions, setpoints
from slipwise.teach.lab.measured import compared, figures

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
PLATE, READINGS = EXAMPLES / "bench_b7.toml", EXAMPLES / "bench_b7_readings.toml"
SINGLE = Circuit(frequency=50.0, R1=2.5, X1=3.2, Xm=70.0, rotor=(RotorBranch(R=2.0, X=4.6),))


@pytest.fixture(scope="module")
def bench():
    """What the bench machine should read by its plate, and what was read."""
    return expected_of(PLATE), measured_of(READINGS)


@pytest.fixture(scope="module")
def motor():
    """A single cage without any loss but copper."""
    plain = replace(load_motor(PLATE).motor, circuit=SINGLE, stray=0.0, mechanical_loss=MechanicalLoss())
    return replace(plain, stator_temperature=20.0, inertia=0.02)


def test_running_free_without_losses_is_a_choke(motor):
    """Ohm's law: U / |R1 + j(X1 + Xm)|, at every voltage."""
    for share, reading in zip((1.1, 0.5), running_free(motor, (1.1, 0.5)), strict=True):
        volts = share * motor.rating.voltage / math.sqrt(3)
        assert reading.current == pytest.approx(volts / abs(2.5 + 73.2j), rel=1e-6)


@pytest.mark.parametrize("frequency", [50.0, 12.5])
def test_rotor_held_by_the_impedance(motor, frequency):
    """Voltage = current x impedance, power = three I2 R, torque = what crosses the gap over the speed of the field."""
    x = frequency / 50
    gap = 1 / (1 / (70j * x) + 1 / (2.0 + 4.6j * x))
    whole = 2.5 + 3.2j * x + gap
    reading = held(motor, 5.0, frequency)
    assert reading.voltage == pytest.approx(math.sqrt(3) * 5 * abs(whole), rel=1e-9)
    assert reading.power == pytest.approx(75 * whole.real, rel=1e-9)
    assert reading.torque == pytest.approx(75 * gap.real / (math.pi * frequency), rel=1e-9)


@pytest.mark.parametrize(("exponent", "law"), [(1.0, lambda x: math.log(1 / x)), (2.0, lambda x: 1 / x - 1)])
def test_coasting_in_closed_form(motor, exponent, law):
    """Friction with the speed dies away exponentially, windage with its square hyperbolically: J w_s / T_s times the law."""
    lossy = replace(motor, mechanical_loss=MechanicalLoss(torque=0.3, exponent=exponent))
    scale = 0.02 * motor.rating.synchronous_speed / 0.3
    for share, reading in zip(COASTING, coasting(lossy, COASTING), strict=True):
        assert reading.time == pytest.approx(scale * law(share), rel=1e-9, abs=1e-12)


def test_nothing_coasts_without_loss(motor):
    """A rotor without friction would run for ever: nothing is expected, and the form says so."""
    assert list(coasting(motor, COASTING)) == []
    found = expected(motor)
    assert "nothing can be expected" in expectation("retardation", found).note
    assert len(setpoints("retardation", found)) == 6


def test_coasting_gives_the_inertia_back(motor):
    """The formula on the form, put on the retardation at a speed, gives the inertia that was in the model."""
    lossy = replace(motor, mechanical_loss=MechanicalLoss(torque=0.3, exponent=1.0))
    speed, step = 0.7 * motor.rating.synchronous_speed, 1e-4
    times = [r.time for r in coasting(lossy, (0.7 + step, 0.7 - step))]
    alpha = 2 * step * motor.rating.synchronous_speed / (times[1] - times[0])
    loss = 0.3 * 0.7 * speed
    assert formula("bench.retardation_inertia").evaluate(P_fw=loss, omega=speed, alpha=alpha) == pytest.approx(
        0.02, rel=1e-6
    )


def test_direct_current_and_clamp(motor):
    """Two phases in series at the temperature they are given for; the clamp bears the torque at rest of the whole circuit."""
    found = expected(motor)
    assert found.resistance == pytest.approx(5.0)
    gap = 1 / (1 / 70j + 1 / (2.0 + 4.6j))
    current = motor.rating.voltage / math.sqrt(3) / abs(2.5 + 3.2j + gap)
    assert found.clamp == pytest.approx(3 * current**2 * gap.real / motor.rating.synchronous_speed, rel=1e-9)


def test_form_has_every_test_with_cautions_and_empty_cells(bench):
    """Title, procedure, setpoints, expected readings, and the cautions of a teaching laboratory."""
    text = " ".join(" ".join(p.extract_text() for p in PdfReader(BytesIO(blank_form(bench[0], "B7"))).pages).split())
    assert [test.key for test in bench_tests()] == ["dc", "no_load", "locked_rotor", "load", "retardation"]
    for test in bench_tests():
        assert test.title in text
        assert all(step.split(";")[0] in text for step in test.steps)
        assert all(cell not in {"0", "–"} for row in setpoints(test.key, bench[0]) for cell in row[:1])
        assert all(cell == "" for row in setpoints(test.key, bench[0]) for cell in row[1:])
    assert "Wiring looked at and released by" in text
    assert len(laboratory_cautions()) >= 5
    assert all(words.split(".")[0] in text for words in laboratory_cautions())
    assert "licensed engineer decide" in text


def test_readings_of_the_bench_lie_near_the_expected_ones(bench):
    """The example's motor, known by its circuit, and its readings: on the brake within 3 %, as two models of one machine do."""
    table = compared(*bench)
    brake = [row for row in table.rows if row[0] == "on the brake"]
    assert len(brake) == 3 * len(bench[1].loads)
    assert len(table.rows) == 2 * len(bench[1].no_load) + 2 * len(bench[1].locked) + len(brake)
    off = [abs(float(row[-1].replace("−", "-").split()[0].rstrip("%").replace("\u202f%", ""))) for row in brake]
    assert max(off) < 3


def test_figures_carry_curves_alone_or_with_points(bench):
    """Six figures before the tests, the same with readings on five of them afterwards."""
    before, after = figures(bench[0]), figures(*bench)
    assert [key for key, _, _ in before] == [key for key, _, _ in after]
    assert {key.split(".")[0] for key, _, _ in after} == {"no_load", "locked_rotor", "load", "retardation"}


def test_lab_by_command(tmp_path, capsys):
    """Blank form alone; with readings also the reduced sheet with the comparison; a file without readings is refused."""
    out = tmp_path / "lab"
    assert main(["teach", "lab", str(PLATE), "--out", str(out)]) == 0
    assert not (out / "lab_sheet.pdf").exists()
    assert main(["teach", "lab", str(PLATE), "--measured", str(READINGS), "--out", str(out)]) == 0
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO((out / "lab_sheet.pdf").read_bytes())).pages)
    assert "Measured against expected" in text
    assert "Running free: current" in text
    with (out / "tables" / "expected_load.csv").open(encoding="utf-8") as file:
        assert len(list(csv.reader(file))) == 6
    capsys.readouterr()
    assert main(["teach", "lab", str(PLATE), "--measured", str(PLATE), "--out", str(tmp_path / "no")]) == 2
    assert "there are no bench readings in it; add [motor.readings]" in capsys.readouterr().err
    assert not (tmp_path / "no").exists()


def test_a_motor_of_curves_cannot_be_expected(motor):
    """The message says what to give instead."""
    with pytest.raises(InputError, match=r"curves only; give \[motor\.circuit\]"):
        expected(replace(motor, circuit=None))

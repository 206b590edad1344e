"""The command line as a user meets it: what it prints where, its exit codes, what it leaves behind."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage

import pytest

from slipwise.doors.cli import app
from slipwise.doors.cli.app import COMMANDS, Exit, main

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
PUMP = EXAMPLES / "pump_p3.toml"

# A motor by its circuit alone, on a stiff supply: quick to compute.
SMALL = """
title = "Bench machine"
[motor]
rated_power = "2.2 kW"
rated_voltage = "400 V"
rated_frequency = "50 Hz"
poles = 4
connection = "delta"
rated_speed = "1430 r/min"
rated_current = "4.8 A"
inertia = "0.006 kg m2"
stall_time_hot = "20 s"
[motor.circuit]
values = "star equivalent"
R1 = "2.6 ohm"
X1 = "3.4 ohm"
Xm = "75 ohm"
R2 = "2.3 ohm"
X2 = "3.4 ohm"
[load]
torque_law = "quadratic"
torque = "9 N m"
speed = "1430 r/min"
inertia = "0.01 kg m2"
[[supply.path]]
kind = "network"
busbar = "bench"
voltage = "400 V"
fault_level = "5 MVA"
x_to_r = 2
[starting]
ways = ["direct"]
"""


@pytest.fixture
def small(tmp_path, monkeypatch):
    """A quick study file in an empty folder that is the working folder."""
    monkeypatch.chdir(tmp_path)
    file = tmp_path / "small.toml"
    file.write_text(SMALL, encoding="utf-8")
    return file


def only(folder: Path, *names: str) -> bool:
    """Whether the folder holds exactly these names."""
    return sorted(path.name for path in folder.iterdir()) == sorted(names)


def process(*words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """One fresh process, as from a shell."""
    command = [sys.executable, "-m", "slipwise", *words]
    env = os.environ | environment
    return subprocess.run(command, env=env, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)


def test_help_is_quick_and_loads_nothing_heavy():
    """`slipwise --help` lists every command without importing a solver, a plotter or a validator."""
    program = (
        "import sys; from slipwise.doors.cli.app import main; code = main(['--help']);"
        "heavy = {'numpy', 'scipy', 'numba', 'matplotlib', 'pydantic', 'typst', 'schemdraw'} & set(sys.modules);"
        "print('HEAVY', sorted(heavy)); sys.exit(code)"
    )
    spent = []
    for _ in range(3):
        before = getrusage(RUSAGE_CHILDREN)
        done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
        after = getrusage(RUSAGE_CHILDREN)
        spent.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    assert all(name in done.stdout for name, _ in COMMANDS)
    assert done.stdout.endswith("HEAVY []\n")
    assert min(spent) < 0.5  # of the processor; 0.2 s on the clock of a quiet machine, see docs/evidence/bench.md


@pytest.mark.parametrize("command", [name for name, _ in COMMANDS])
def test_every_command_explains_itself(command, capsys):
    """COMMAND --help prints its usage and ends with code 0."""
    assert main([command, "--help"]) == Exit.COMPUTED
    assert f"slipwise {command}" in capsys.readouterr().out


@pytest.mark.parametrize(
    "words",
    [
        ["stady"],
        ["study"],
        ["start"],
        ["start", "a.toml", "b.toml"],
        ["start", "a.toml", "--strickt"],
        ["schema", "both"],
    ],
    ids=" ".join,
)
def test_bad_words_are_bad_input(words, capsys):
    """A wrong command, a missing file name, one word too many: code 2, a short message on the error stream, no traceback."""
    assert main(words) == Exit.BAD_INPUT
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("slipwise: ")
    assert "Traceback" not in said.err


def test_start_prints_the_answer_and_writes_nothing(small, capsys):
    """`start` answers on standard output, tells its progress on the error stream, and leaves no file."""
    assert main(["start", "small.toml", "--no-transients"]) == Exit.COMPUTED
    said = capsys.readouterr()
    assert "Direct" in said.out
    assert "passes" in said.out
    assert "computing: Direct" in said.err
    assert only(small.parent, "small.toml")


def test_piped_output_is_plain():
    """Through a pipe there are no colour codes and no cursor movements, on either stream."""
    done = process("start", str(EXAMPLES / "bench_b7.toml"), "--no-transients", TERM="xterm-256color")
    assert done.returncode == Exit.COMPUTED
    assert "\x1b" not in done.stdout + done.stderr


def test_every_fault_of_a_file_is_told_in_one_go(small, capsys):
    """Bad input is code 2; each fault is one paragraph with file, line, field, value, reason and remedy."""
    small.write_text(SMALL.replace('"2.6 ohm"', '"2,6 ohm"').replace('"9 N m"', '"9"'), encoding="utf-8")
    assert main(["start", "small.toml"]) == Exit.BAD_INPUT
    said = capsys.readouterr()
    paragraphs = said.err.strip().split("\n\n")
    assert said.out == ""
    assert len(paragraphs) == 2
    assert "small.toml:15: motor.circuit.R1" in said.err
    assert 'write "2.6 ohm"' in said.err


@pytest.mark.parametrize("command", ["study", "start", "curves", "point", "identify", "explain"])
def test_a_broken_file_leaves_nothing_behind(command, small, capsys):
    """Whatever the command, a file that cannot be used is code 2 and leaves no output."""
    small.write_text("[motor\n", encoding="utf-8")
    assert main([command, "small.toml"]) == Exit.BAD_INPUT
    assert only(small.parent, "small.toml")
    assert "small.toml:1" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["study", "start", "curves", "point", "identify", "explain", "export"])
@pytest.mark.usefixtures("small")
def test_a_missing_file_is_bad_input(command, capsys):
    """A file that is not there is code 2, told in one paragraph."""
    assert main([command, "nowhere.toml"]) == Exit.BAD_INPUT
    said = capsys.readouterr().err
    assert "nowhere.toml" in said
    assert "\n\n" not in said.strip()


def test_strict_turns_a_failing_verdict_into_a_code(small, capsys):
    """A study in which no way passes is computed (0), and 3 with --strict; a passing one stays 0."""
    assert main(["start", "small.toml", "--no-transients", "--strict"]) == Exit.COMPUTED
    small.write_text(SMALL + '[limits]\nrun_up_time = "1 ms"\n', encoding="utf-8")
    assert main(["start", "small.toml", "--no-transients"]) == Exit.COMPUTED
    assert main(["start", "small.toml", "--no-transients", "--strict"]) == Exit.FAILING_VERDICT
    assert "None of the ways" in capsys.readouterr().out


@pytest.mark.usefixtures("small")
def test_our_own_fault_is_short_and_says_how_to_report(monkeypatch, capsys):
    """An error nobody foresaw is code 1 with a short message; the traceback only when asked for."""

    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("float division by zero")

    monkeypatch.delenv(app.TRACE, raising=False)
    monkeypatch.setattr("slipwise.study.run.run", fails)
    assert main(["start", "small.toml"]) == Exit.OUR_FAULT
    said = capsys.readouterr().err
    assert "ZeroDivisionError" in said
    assert app.TRACE in said
    assert "Traceback" not in said
    monkeypatch.setenv(app.TRACE, "1")
    with pytest.raises(ZeroDivisionError):
        main(["start", "small.toml"])


def test_a_missing_library_is_the_installation(monkeypatch, capsys):
    """What cannot be imported is no fault of the file, nor of the computation."""
    monkeypatch.delenv(app.TRACE, raising=False)
    monkeypatch.setitem(sys.modules, "slipwise.study.schema.published", None)
    assert main(["schema"]) == Exit.OUR_FAULT
    told = capsys.readouterr().err
    assert "the installation is broken: ModuleNotFoundError" in told
    assert "slipwise.study.schema.published" in told
    assert "should handle" not in told


def test_interrupt_is_told_and_leaves_nothing(small, monkeypatch, capsys):
    """Ctrl-C ends with code 130 and one line."""

    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("slipwise.study.run.run", interrupted)
    assert main(["study", "small.toml", "--out", "results"]) == Exit.INTERRUPTED
    assert only(small.parent, "small.toml")
    assert "Traceback" not in capsys.readouterr().err


def test_a_reader_that_stops_reading_is_no_fault():
    """`slipwise schema | head -1` ends quietly."""
    line = f'"{sys.executable}" -m slipwise schema | head -1; exit "${{PIPESTATUS[0]}}"'
    done = subprocess.run(["bash", "-c", line], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (Exit.COMPUTED, "{\n", "")


@pytest.mark.parametrize("which", ["study", "results"])
def test_schema_is_a_json_schema(which, capsys):
    """Both schemas are valid JSON Schemas of the 2020-12 draft."""
    import jsonschema

    assert main(["schema", which]) == Exit.COMPUTED
    jsonschema.Draft202012Validator.check_schema(json.loads(capsys.readouterr().out))


@pytest.mark.usefixtures("small")
def test_explain_lists_names_and_finds_the_nearest(capsys):
    """Without a name all names are listed; one of them is explained with its source; a wrong one is bad input with a hint."""
    assert main(["explain", "small.toml"]) == Exit.COMPUTED
    assert "motor.torque" in capsys.readouterr().out
    assert main(["explain", "small.toml", "motor.torque"]) == Exit.COMPUTED
    assert "T_n = P_n / ω_n\n2.2 kW / (1430 r/min) = 14.69 N m" in capsys.readouterr().out
    assert main(["explain", "small.toml", "motor.torqe"]) == Exit.BAD_INPUT
    told = capsys.readouterr().err
    assert "\nname of a number: motor.torqe: no number" in told
    assert "did you mean motor.torque" in told


@pytest.mark.usefixtures("small")
def test_point_takes_speed_slip_and_torque(capsys):
    """Asked-for points stand beside the load's own, negative torques too; a bare number is bad input."""
    words = ["--speed", "1450 r/min", "--slip", "3 %", "--torque", "12 N m", "--torque", "-5 N m"]
    assert main(["point", "small.toml", *words]) == Exit.COMPUTED
    shown = capsys.readouterr().out
    assert "1450 r/min" in shown
    assert "1455 r/min" in shown  # 3 % slip of 1500
    assert "12 N m" in shown
    assert "-5 N m" in shown
    assert main(["point", "small.toml", "--speed", "1450"]) == Exit.BAD_INPUT
    assert "the unit is missing" in capsys.readouterr().err
    assert main(["point", "small.toml", "--torque", "500 N m"]) == Exit.BAD_INPUT
    assert "holds at most" in capsys.readouterr().err


@pytest.mark.usefixtures("small")
@pytest.mark.parametrize(
    ("slip", "remedy"),
    [("3", 'write "3 %" or 0.03'), ("-2.5", 'write "-2.5 %" or -0.025'), ("300 %", "at most 200 %"), ("300", "200 %")],
)
def test_a_slip_beyond_two_is_asked_about(slip, remedy, capsys):
    """A bare 3 was meant as 3 %; at slip 2 the shaft turns at synchronous speed the wrong way, and that still computes."""
    assert main(["point", "small.toml", f"--slip={slip}"]) == Exit.BAD_INPUT
    told = capsys.readouterr().err
    assert told.startswith(f"--slip: {slip}: per cent or per unit?")
    assert remedy in told
    assert main(["point", "small.toml", "--slip", "2"]) == Exit.COMPUTED
    assert "-1500 r/min" in capsys.readouterr().out


@pytest.mark.parametrize("part", ["stopping", "speed"])
def test_a_part_not_asked_for_is_told_before_computing(part, small, capsys):
    """Nothing is computed first, and the lines that are offered do what they say."""
    command = {"stopping": "stop", "speed": "speed"}[part]
    assert main([command, "small.toml"]) == Exit.BAD_INPUT
    told = capsys.readouterr().err
    assert "computing" not in told
    lines = told.split("\n\nEvery key")[0].split("values:\n\n")[1]
    small.write_text(f"{SMALL}\n{lines}\n", encoding="utf-8")
    assert main([command, "small.toml"]) == Exit.COMPUTED
    assert "passes" in capsys.readouterr().out


def test_identified_circuit_can_be_pasted(small, capsys):
    """What `identify` prints, put into a study file in place of the motor, reads back as the same motor."""
    from slipwise.study.reader import load

    assert main(["identify", "small.toml"]) == Exit.COMPUTED
    printed = capsys.readouterr().out
    block = printed[printed.index("[motor]") :]
    begin, end = SMALL.index("[motor]"), SMALL.index("[load]")
    before = load(small).motor.circuit
    small.write_text(SMALL[:begin] + block + SMALL[end:], encoding="utf-8")
    after = load(small).motor.circuit
    assert before is not None
    assert after is not None
    for name in ("R1", "X1", "Xm"):
        assert getattr(after, name) == pytest.approx(getattr(before, name), rel=1e-5)
    for old, new in zip(before.rotor, after.rotor, strict=True):
        assert new.R == pytest.approx(old.R, rel=1e-5)
        assert new.X == pytest.approx(old.X, rel=1e-5)


def test_lines_from_a_plate_lose_nothing(tmp_path):
    """Lines of a motor known by power and voltage give full load, inertia, losses and circuit again, and say what was found."""
    from slipwise.study.motor_block import lines_to_paste
    from slipwise.study.reader import load_motor

    plate, pasted = tmp_path / "plate.toml", tmp_path / "pasted.toml"
    plate.write_text('[motor]\nrated_power = "11 kW"\nrated_voltage = "400 V"\n', encoding="utf-8")
    printed = lines_to_paste(load_motor(plate))
    found = printed.partition("# not entered, but found with the circuit: ")[2].splitlines()[0].split(", ")
    assert found == ["rated_speed", "rated_current", "inertia", "friction_and_windage", "stray_load_loss"]
    pasted.write_text(printed, encoding="utf-8")
    before, after = load_motor(plate).motor, load_motor(pasted).motor
    speed = before.rating.speed
    assert after.rating.current == pytest.approx(before.rating.current, rel=1e-5)
    assert after.inertia == pytest.approx(before.inertia, rel=1e-5)
    assert after.stray == pytest.approx(before.stray, rel=1e-5)
    assert float(after.mechanical_torque(speed)) == pytest.approx(float(before.mechanical_torque(speed)), rel=1e-5)
    assert before.circuit is not None
    assert after.circuit is not None
    assert after.circuit.rotor[1].X == pytest.approx(before.circuit.rotor[1].X, rel=1e-5)


@pytest.mark.parametrize("width", [60, 110])
def test_notes_are_as_wide_as_the_tables(width, capsys, monkeypatch):
    """Sentences follow the width of the terminal, and a run of numbered readings is told in one."""
    monkeypatch.setenv("COLUMNS", str(width))
    assert main(["identify", str(EXAMPLES / "bench_b7_readings.toml")]) == Exit.COMPUTED
    lines = capsys.readouterr().out.splitlines()
    notes = [line for line in lines if line.startswith(("- ", "  "))]
    assert width - 12 < max(map(len, notes)) <= width
    assert "no load 1 to 11:" in " ".join(line.strip() for line in notes)

"""What was identified put in the place of what the study said: the motor's section anew, everything else as it was."""

from __future__ import annotations

import difflib
import tomllib
from pathlib import Path

import pytest

from slipwise.quantity.errors import InputError
from slipwise.study.motor_block import lines_to_paste
from slipwise.study.reader import load_motor, loads
from slipwise.study.text.section import with_section

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
LINES = '[motor]\npoles = 4\nrated_power = "2 kW"\n\n[motor.circuit]\nR1 = "1 ohm"\n'


@pytest.mark.parametrize("name", ["bench_b7_readings", "pump_p3"])
def test_an_identified_motor_takes_the_place_of_the_old_one(name):
    """One [motor] with the circuit found and no readings; lines outside it, comments and what was entered stay as they are."""
    file = EXAMPLES / f"{name}.toml"
    text = file.read_text(encoding="utf-8")
    block = lines_to_paste(load_motor(file))
    after = with_section(text, block)
    assert after.count("\n[motor]\n") == 1
    old, new = tomllib.loads(text), tomllib.loads(after)
    assert new["motor"] == {
        **{k: v for k, v in old["motor"].items() if k != "readings"},
        **tomllib.loads(block)["motor"],
    }
    assert {k: v for k, v in new.items() if k != "motor"} == {k: v for k, v in old.items() if k != "motor"}
    changed = [line[2:] for line in difflib.ndiff(text.splitlines(), after.splitlines()) if line.startswith("- ")]
    readings = text[text.find("\n[motor.readings]") : text.find("\n[load]")] if "readings" in name else ""
    assert all(line in readings.splitlines() for line in changed)
    assert with_section(after, block) == after  # a second time changes nothing
    assert with_section(text.replace("\n", "\r\n"), block) == after.replace("\n", "\r\n")
    assert loads(after).motor.circuit is not None


@pytest.mark.parametrize(
    ("text", "after"),
    [
        ('[motor]  # plate\npoles = 4 # p\ncircuit = { R1 = "9 ohm" }\n# on\n[load]\n',
         '[motor]  # plate\npoles = 4 # p\nrated_power = "2 kW"\n\n[motor.circuit]\nR1 = "1 ohm"\n# on\n[load]\n'),
        ('[motor]\nrated_power = "3 kW" # p\ncircuit.R1 = "9 ohm"\ncircuit.X1 = "9 ohm"',
         '[motor]\nrated_power = "2 kW" # p\npoles = 4\n\n[motor.circuit]\nR1 = "1 ohm"\n'),
        ('[motor]\npoles = 4\n[load]\nx = 1\n[motor.curves]\na = 1\n# gone\n[motor.bars]\nb = 1\n# stays\n[limits]\n',
         '[motor]\npoles = 4\nrated_power = "2 kW"\n[load]\nx = 1\n[motor.circuit]\nR1 = "1 ohm"\n# stays\n[limits]\n'),
    ],
)  # fmt: skip
def test_tables_go_however_they_are_written(text, after):
    """Inline, dotted and elsewhere in the file; comments between two tables that go, go with them."""
    assert with_section(text, LINES) == after


def test_a_section_without_a_header_is_left_to_a_hand():
    """Where the motor is one inline table, nothing is changed and the reason is told."""
    with pytest.raises(InputError, match=r"under \[motor\]"):
        with_section("motor = { poles = 4 }\n", LINES)

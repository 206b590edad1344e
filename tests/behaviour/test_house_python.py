"""The Python door."""

from __future__ import annotations

import subprocess
import sys

import pytest

import slipwise
from slipwise.doors.cli.app import Exit, main
from tests.behaviour.test_cli import SMALL


@pytest.fixture
def small(tmp_path):
    """A quick study file."""
    file = tmp_path / "small.toml"
    file.write_text(SMALL, encoding="utf-8")
    return file


def test_importing_loads_nothing():
    """`import slipwise` costs nothing until something is used."""
    program = "import sys, slipwise; print(sorted({'numpy', 'scipy', 'pydantic', 'rich'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_public_names_are_documented_and_nothing_else_is_offered():
    """Every public name exists and says what it is; an unknown one is an ordinary AttributeError."""
    for name in slipwise.__all__:
        thing = getattr(slipwise, name)
        assert name.startswith("__") or thing.__doc__
    assert dir(slipwise) == slipwise.__all__
    with pytest.raises(AttributeError, match="has no attribute 'starting'"):
        slipwise.__getattr__("starting")


def test_load_run_and_read_agree(small, tmp_path):
    """A path or a loaded study gives the same answer, and so does what the command wrote."""
    told: list[str] = []
    once = slipwise.run(small, transients=False, whole=False, progress=lambda words, _share: told.append(words))
    again = slipwise.run(slipwise.load(str(small)), transients=False, whole=False)
    assert once.recommendation == again.recommendation
    assert once.ways[0].verdict == again.ways[0].verdict
    assert told[0] == "Direct"
    assert main(["study", str(small), "--no-transients", "--out", str(tmp_path / "out")]) == Exit.COMPUTED
    for place in (tmp_path / "out", tmp_path / "out" / "study.json"):
        read = slipwise.read_results(place)
        assert read.ways[0].verdict == once.ways[0].verdict
        assert read.ways[0].run_ups[0].speed == pytest.approx(once.ways[0].run_ups[0].speed, rel=1e-8)


def test_bad_input_is_one_exception_with_every_fault(small):
    """InputError carries each fault with its field, line and remedy."""
    small.write_text(SMALL.replace('"2.6 ohm"', '"2,6 ohm"').replace('"75 ohm"', '"75"'), encoding="utf-8")
    with pytest.raises(slipwise.InputError) as caught:
        slipwise.load(small)
    assert [fault.field for fault in caught.value.faults] == ["motor.circuit.R1", "motor.circuit.Xm"]
    assert all(fault.line and fault.remedy for fault in caught.value.faults)

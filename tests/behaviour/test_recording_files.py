"""Recordings written and read again: CSV and COMTRADE, all layouts, against an independent reader."""

from __future__ import annotations

from pathlib import Path

import comtrade
import numpy as np
import pytest

from slipwise.identify.comtrade import read_combined, read_comtrade, read_configuration
from slipwise.identify.comtrade_write import write_comtrade
from slipwise.identify.csv_recording import read_csv, write_csv
from slipwise.identify.recording import Kind, Recording, channel_of, phase_of
from slipwise.quantity.errors import InputError
from tests.recordings import start

LAYOUTS = [("1999", "ASCII"), ("1999", "BINARY"), *(("2013", k) for k in ("ASCII", "BINARY", "BINARY32", "FLOAT32"))]


def same(one: Recording, other: Recording, relative: float) -> None:
    assert other.time == pytest.approx(one.time, abs=1e-9)
    for a, b in zip(one.channels, other.channels, strict=True):
        assert (a.kind, a.phase) == (b.kind, b.phase)
        assert np.nanmax(np.abs(a.values - b.values)) <= relative * np.nanmax(np.abs(a.values))


@pytest.mark.parametrize(("revision", "kind"), LAYOUTS)
def test_comtrade_comes_back(revision: str, kind: str) -> None:
    """Every layout gives back the digital steps exactly, and float32 to its own rounding."""
    one = start()
    other = read_comtrade(*write_comtrade(one, frequency=50, revision=revision, kind=kind))
    same(one, other, 1e-6)


@pytest.mark.parametrize(("revision", "kind"), LAYOUTS)
def test_an_independent_reader_agrees(tmp_path: Path, revision: str, kind: str) -> None:
    """The general-purpose package `comtrade` reads from our files what we wrote."""
    one = start()
    configuration, data = write_comtrade(one, frequency=50, revision=revision, kind=kind)
    (tmp_path / "x.cfg").write_bytes(configuration)
    (tmp_path / "x.dat").write_bytes(data)
    found = comtrade.load(str(tmp_path / "x.cfg"), str(tmp_path / "x.dat"))
    assert found.total_samples == one.time.size
    assert np.asarray(found.time) == pytest.approx(one.time, abs=2e-6)
    for row, channel in zip(found.analog, one.channels, strict=True):
        assert np.asarray(row) == pytest.approx(channel.values, abs=1e-6 * np.abs(channel.values).max())


def test_one_file_holds_both_parts() -> None:
    """The combined file of 2013 reads as its two parts do."""
    one = start()
    configuration, data = write_comtrade(one, frequency=50, kind="BINARY")
    joined = b"--- file type: CFG ---\r\n" + configuration
    joined += b"--- file type: DAT BINARY: %d ---\r\n" % len(data) + data
    same(one, read_combined(joined), 1e-6)


def test_secondary_values_are_brought_to_the_primary_side() -> None:
    """A channel that holds for the secondary side is multiplied by the transformer's ratio, openly."""
    one = start()
    configuration, data = write_comtrade(one, frequency=50)
    found = read_comtrade(configuration.replace(b",1,1,P", b",200,5,S", 1), data)
    assert found.channels[0].values == pytest.approx(40 * one.channels[0].values, rel=1e-6)
    assert any("primary side, factor 40" in step for step in found.steps)


def test_missing_values_of_the_binary_layouts_become_gaps() -> None:
    """The lowest number of a binary layout stands for nothing recorded."""
    one = start()
    for kind in ("BINARY", "BINARY32", "ASCII", "FLOAT32"):
        values = one.channels[0].values.copy()
        values[5:9] = np.nan
        gone = Recording(time=one.time, source="x", channels=(channel_of("ua", "V", values), *one.channels[1:]))
        found = read_comtrade(*write_comtrade(gone, frequency=50, kind=kind))
        assert np.isnan(found.channels[0].values[5:9]).all()
        assert np.isfinite(found.channels[0].values[9:]).all()


def test_csv_comes_back() -> None:
    """A table written here reads again, gaps included."""
    one = start()
    same(one, read_csv(write_csv(one, comment="invented")), 1e-5)


def test_a_table_with_decimal_commas_and_semicolons_reads() -> None:
    """Units may be in r/min, kV and ms; unknown columns are left out and named."""
    rows = "\n".join(f"{i},5;{0.1 * i:.3f};{i / 10};{i}".replace(".", ",") for i in range(40))
    found = read_csv(f"Time (ms);U L1-L2 [kV];n [r/min];case [degC]\n{rows}\n".encode("utf-8-sig"))
    assert found.time[1] - found.time[0] == pytest.approx(1e-3)
    assert [(c.kind, c.phase) for c in found.channels] == [(Kind.VOLTAGE, "ab"), (Kind.SPEED, "")]
    assert found.channels[0].values[10] == pytest.approx(1000.0)
    assert found.channels[1].values[10] == pytest.approx(np.pi / 30)
    assert any("degC" in step for step in found.steps)


def test_units_may_stand_in_a_row_of_their_own() -> None:
    """The row under the head names the units; names that say nothing are given beside the file."""
    rows = "\n".join(f"{i},{i},{i}" for i in range(1, 41))
    found = read_csv(f"t,CH1,CH2\ns,A,V\n{rows}\n".encode(), names={"CH1": "ia", "CH2": "ubc"})
    assert [(c.kind, c.phase) for c in found.channels] == [(Kind.CURRENT, "a"), (Kind.VOLTAGE, "bc")]


@pytest.mark.parametrize(
    ("name", "kind", "phase", "sign"),
    [
        ("Ua", Kind.VOLTAGE, "a", 1),
        ("i_L2", Kind.CURRENT, "b", 1),
        ("Current 3 rms", Kind.CURRENT, "c", 1),
        ("V L3-L1", Kind.VOLTAGE, "ca", 1),
        ("uba", Kind.VOLTAGE, "ab", -1),
        ("IT", Kind.CURRENT, "c", 1),
        ("voltage", Kind.VOLTAGE, "", 1),
    ],
)
def test_names_say_the_phase(name: str, kind: Kind, phase: str, sign: float) -> None:
    """Usual names of leads are understood."""
    assert phase_of(name, "", kind) == (phase, sign)


def test_revisions_and_layouts_that_do_not_go_together_are_refused() -> None:
    """The 1999 revision knows no 32-bit data; a revision that is not read is named."""
    with pytest.raises(InputError, match="does not know it"):
        write_comtrade(start(), frequency=50, revision="1999", kind="FLOAT32")
    with pytest.raises(InputError, match="no revision year"):
        read_configuration(b"station,1\r\n1,1A,0D\r\n")

"""Malformed recordings: each gets an error that names the place; random bytes never get through as a traceback."""

from __future__ import annotations

from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.identify.comtrade import read_combined, read_comtrade
from slipwise.identify.comtrade_write import write_comtrade
from slipwise.identify.csv_recording import read_csv, write_csv
from slipwise.identify.recording import Recording
from slipwise.identify.recording_clean import clean
from slipwise.quantity.errors import InputError
from tests.recordings import RATING, changed, renamed, start, without
from tests.reference import sampled

HEAD = "t [s],ua [V],ia [A]"
ROWS = [f"{i * 0.001:.3f},{300 * np.sin(0.314 * i):.3f},{60 * np.cos(0.314 * i):.3f}" for i in range(60)]


def table(rows: list[str], head: str = HEAD) -> bytes:
    return ("\n".join([head, *rows]) + "\n").encode()


def at(i: int, row: str) -> list[str]:
    return [*ROWS[:i], row, *ROWS[i + 1 :]]


TABLES = {
    "nothing": (b"", "no head"),
    "head alone": (table([]), "no head with rows"),
    "one column": (table(["1", "2"], "t [s]"), "one column only"),
    "cut in a row": (table(ROWS[:-1]) + b"0.059,2\n", "the file ends early"),
    "short row within": (table(at(7, "0.007,1")), "line 9"),
    "long row within": (table(at(7, "0.007,1,2,3")), "4 cells and the head 3"),
    "text in a cell": (table(at(4, "0.004,over,1")), "'over'"),
    "time missing in a row": (table(at(4, ",1,1")), "sample 5"),
    "time going back": (table([*ROWS[:30], *ROWS[20:]]), "must ascend"),
    "time standing": (table(at(5, ROWS[4])), "must ascend"),
    "infinite": (table(at(4, "0.004,inf,1")), "not a finite number"),
    "empty channel": (table([row.rsplit(",", 1)[0] + "," for row in ROWS]), "the channel is empty"),
    "NaN channel": (table([row.rsplit(",", 1)[0] + ",nan" for row in ROWS]), "the channel is empty"),
    "dead channel": (table([row.rsplit(",", 1)[0] + ",0" for row in ROWS]), "the channel is dead"),
    "too few samples": (table(ROWS[:9]), "9 samples"),
    "no time": (table(ROWS, "x [A],ua [V],ia [A]"), "no column is the time"),
    "two times": (table(ROWS, "t [s],time [s],ia [A]"), "2 columns are the time"),
    "time without unit": (table(ROWS, "t,ua [V],ia [A]"), "time needs its unit"),
    "unit left out": (table(ROWS, "t [s],ua [V],ia"), "no unit"),
    "phase not said": (table(ROWS, "t [s],probe one [V],ia [A]"), "which phase"),
    "one phase twice": (table(ROWS, "t [s],ia [A],i_L1 [A]"), "measures the same"),
    "absurd size": (table(at(4, "0.004,3e12,1")), "no machine reaches it"),
    "decimal commas between commas": (table([row.replace(".", ",") for row in ROWS]), "cells and the head 3"),
    "binary": (bytes(range(256)) * 20, "not a text table"),
}


@pytest.mark.parametrize("case", TABLES)
def test_broken_tables(case: str) -> None:
    """Each fault of a table is named."""
    content, words = TABLES[case]
    with pytest.raises(InputError, match="recording") as found:
        read_csv(content)
    assert words in str(found.value)


def parts(kind: str = "BINARY", revision: str = "2013") -> tuple[bytes, bytes]:
    return write_comtrade(start(), frequency=50, kind=kind, revision=revision)


def line(number: int, new: bytes) -> bytes:
    """The configuration with one line replaced, counted from 1."""
    lines = parts()[0].split(b"\r\n")
    lines[number - 1] = new
    return b"\r\n".join(lines)


COMTRADE = {
    "data cut": (parts()[0], parts()[1][:-10], "promises"),
    "data cut at a sample": (parts()[0], parts()[1][:-22], "promises"),
    "no data": (parts()[0], b"", "promises"),
    "wrong count": (line(12, b"5000,17"), parts()[1], "promises 17"),
    "text cut": (parts("ASCII")[0], parts("ASCII")[1][:-2000], "promises"),
    "text line cut": (parts("ASCII")[0], parts("ASCII")[1][:-9] + b"\r\n", "fields, not 9"),
    "sample twice": (parts()[0], parts()[1][:22] + parts()[1][:22] + parts()[1][44:], "followed by 1"),
    "configuration cut": (parts()[0][:150], parts()[1], "configuration"),
    "no configuration": (b"", parts()[1], "ends early"),
    "old revision": (line(1, b"slipwise,1,1991"), parts()[1], 'revision "1991"'),
    "counts that do not add": (line(2, b"9,7A,0D"), parts()[1], "9 channels are not 7"),
    "factor that is text": (parts()[0].replace(b",,V,", b",,V,x", 1), parts()[1], "not a number"),
    "factor zero": (line(3, b"1,ua,A,,V,0,0,0,0,1,1,1,P"), parts()[1], "is zero"),
    "side unknown": (line(3, b"1,ua,A,,V,1,0,0,0,1,1,1,X"), parts()[1], "neither P nor S"),
    "rate below zero": (line(12, b"-5000,100"), parts()[1], "not above zero"),
    "layout unknown": (parts()[0].replace(b"BINARY", b"PACKED"), parts()[1], "is not known"),
    "layout of another size": (parts()[0].replace(b"BINARY", b"BINARY32"), parts()[1], "promises"),
    "time factor zero": (parts()[0].replace(b"BINARY\r\n1\r\n", b"BINARY\r\n0\r\n"), parts()[1], "time factor"),
    "only digital": (b"s,1,2013\r\n0,0A,0D\r\n50\r\n1\r\n9,9\r\nx\r\ny\r\nASCII\r\n1\r\n", b"", "no analogue"),
}


@pytest.mark.parametrize("case", COMTRADE)
def test_broken_comtrade(case: str) -> None:
    """Each fault of a COMTRADE recording is named."""
    configuration, data, words = COMTRADE[case]
    with pytest.raises(InputError, match="recording") as found:
        read_comtrade(configuration, data)
    assert words in str(found.value)


def scaled(factor: float) -> object:
    return lambda values: factor * values


def hole(values: np.ndarray) -> np.ndarray:
    values[600:1200] = np.nan
    return values


def everywhere(recording: Recording, names: str, factor: float) -> Recording:
    for name in names.split():
        recording = changed(recording, name, scaled(factor))
    return recording


def cut(recording: Recording, first: int, last: int) -> Recording:
    from dataclasses import replace

    channels = tuple(replace(c, values=c.values[first:last]) for c in recording.channels)
    return replace(recording, time=recording.time[first:last], channels=channels)


def thinned(recording: Recording, every: int) -> Recording:
    from dataclasses import replace

    channels = tuple(replace(c, values=c.values[::every]) for c in recording.channels)
    return replace(recording, time=recording.time[::every], channels=channels)


def wrong_time() -> Recording:
    from dataclasses import replace

    return replace(start(), time=1e-3 * start().time)


STARTS = {
    "no current": (without(start(), "ia", "ib", "ic"), "current: no channel"),
    "no voltage": (without(start(), "ua", "ub", "uc"), "voltage: no channel"),
    "one current": (without(start(), "ib", "ic"), "two phases at least"),
    "volts for kilovolts": (everywhere(start(), "ua ub uc", 1e-3), "kV where V was written"),
    "line named phase": (everywhere(start(), "ua ub uc", 3**0.5), "line voltages named as phase voltages"),
    "current a thousandfold": (everywhere(start(), "ia ib ic", 1e3), "of rated current"),
    "hardly any current": (everywhere(start(), "ia ib ic", 1e-3), "never draws current"),
    "begun too late": (cut(start(), 600, 3000), "from the first sample on"),
    "ended too early": (cut(start(), 0, 250), "too short"),
    "hole in the voltage": (changed(start(), "ua", hole), "missing for"),
    "sampled too slowly": (thinned(start(), 20), "samples in a cycle"),
    "time in another unit": (wrong_time(), "unit of time"),
    "another motor's current": (
        changed(start(), "ia", lambda v: np.append(np.zeros(33), v[:-33])),
        "not the current of a motor",
    ),
}


@pytest.mark.parametrize("case", STARTS)
def test_recordings_that_are_no_start(case: str) -> None:
    """What reads well but is no start of this motor is refused with the reason."""
    recording, words = STARTS[case]
    if case == "hole in the voltage":
        recording = changed(changed(recording, "ub", hole), "uc", hole)
    with pytest.raises(InputError, match="recording") as found:
        clean(recording, RATING)
    assert words in str(found.value)


def test_there_are_enough_of_them() -> None:
    """Thirty at least."""
    assert len(TABLES) + len(COMTRADE) + len(STARTS) >= 30


@sampled(300)
@given(content=st.binary(max_size=400))
def test_random_bytes_are_refused(content: bytes) -> None:
    """Nothing but an InputError comes of noise."""
    for read in (read_csv, read_combined, lambda c: read_comtrade(c, c)):
        with pytest.raises(InputError):
            read(content)


@sampled(70)
@given(place=st.integers(0, 10**6), new=st.binary(min_size=1, max_size=6), kind=st.sampled_from(["ASCII", "BINARY"]))
def test_damaged_files_are_refused_or_read(place: int, new: bytes, kind: str) -> None:
    """A few bytes overwritten in a good file: an InputError or a recording, never a traceback."""
    configuration, data = parts(kind)
    both = configuration + data[:2000]
    spot = place % len(both)
    damaged = both[:spot] + new + both[spot + len(new) :]
    head, body = damaged[: len(configuration)], damaged[len(configuration) :] + data[2000:]
    text = write_csv(start())[:4000]
    spot = place % len(text)
    broken = text[:spot] + new + text[spot + len(new) :]
    for read in (lambda: read_comtrade(head, body), lambda: read_csv(broken)):
        with suppress(InputError):
            clean(read(), RATING)


def test_renaming_does_not_lose_a_channel() -> None:
    """The helper of these tests keeps what it renames."""
    assert len(renamed(start(), {"ia": "ib", "ib": "ia"}).channels) == len(start().channels)

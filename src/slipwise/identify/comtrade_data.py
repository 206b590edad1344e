"""The data file of a COMTRADE recording: text or one of three binary layouts, read and written.

Source: IEC 60255-24:2013 / IEEE C37.111-2013 (from memory): a sample is its number and its time stamp (four bytes each,
least first), the analogue values (2, 4 or 4 bytes), then the digital channels in words of sixteen.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from slipwise.quantity.errors import InputError
from slipwise.results.series import Array

FORMATS = {"ASCII": "", "BINARY": "<i2", "BINARY32": "<i4", "FLOAT32": "<f4"}
LOWEST = {"BINARY": -(2**15), "BINARY32": -(2**31)}  # stands for a missing value
NO_STAMP = 0xFFFFFFFF
MISSING = "99999"


def layout(kind: str, analogue: int, digital: int) -> np.dtype[Any]:
    """One sample of a binary data file."""
    fields: list[Any] = [("n", "<u4"), ("t", "<u4"), ("x", FORMATS[kind], (analogue,))]
    return np.dtype([*fields, ("d", "<u2", (-(-digital // 16),))] if digital else fields)


def samples_of(data: bytes, kind: str, analogue: int, digital: int, count: int, source: str) -> tuple[Array, Array]:
    """Time stamps, shape (count,), and numbers of the analogue channels, shape (analogue, count); NaN where missing.

    Raises:
        InputError: the length is not that of `count` samples, samples are not numbered in order, text is no number.
    """
    if kind == "ASCII":
        return _text_samples(data, analogue, digital, count, source)
    shape = layout(kind, analogue, digital)
    found, left = divmod(len(data), shape.itemsize)
    if found != count or left:
        why = f"{len(data)} bytes hold {found} samples of {shape.itemsize} bytes" + (
            f" and {left} bytes" if left else ""
        )
        raise InputError.of(
            "recording.data", source, f"{why}; the configuration promises {count}", "copy the file whole"
        )
    rows = np.frombuffer(data, dtype=shape)
    _in_order(rows["n"].astype(float), source)
    stamps = rows["t"].astype(float)
    stamps[rows["t"] == NO_STAMP] = np.nan
    numbers = rows["x"].T.astype(float)
    if kind in LOWEST:
        numbers[numbers == LOWEST[kind]] = np.nan
    elif np.isinf(numbers).any():
        raise InputError.of("recording.data", source, "a value is infinite", "export it again")
    return stamps, numbers


def _in_order(numbers: Array, source: str) -> None:
    wrong = np.flatnonzero(np.diff(numbers) != 1)
    if wrong.size:
        i = int(wrong[0])
        why = f"sample {numbers[i]:.0f} is followed by {numbers[i + 1]:.0f}"
        raise InputError.of("recording.data", source, why, "samples must be numbered one by one; copy the file whole")


def _text_samples(data: bytes, analogue: int, digital: int, count: int, source: str) -> tuple[Array, Array]:
    lines = [line for line in data.decode("latin-1").replace("\x1a", "").splitlines() if line.strip()]
    if len(lines) != count:
        why = f"it has {len(lines)} samples; the configuration promises {count}"
        raise InputError.of("recording.data", source, why, "copy the file whole")
    width = 2 + analogue + digital
    table = np.full((count, 2 + analogue), np.nan)
    for i, line in enumerate(lines):
        cells = line.split(",")
        if len(cells) != width:
            where = f"{source}, line {i + 1}"
            raise InputError.of("recording.data", where, f"{len(cells)} fields, not {width}", "copy the file whole")
        for j, cell in enumerate(cells[: 2 + analogue]):
            table[i, j] = _number(cell.strip(), source, i, j)
    _in_order(table[:, 0], source)
    return table[:, 1], table[:, 2:].T


def _number(cell: str, source: str, i: int, j: int) -> float:
    if not cell or (j > 1 and cell == MISSING):
        return float("nan")
    try:
        value = float(cell)
    except ValueError:
        value = float("inf")
    if not abs(value) < 1e30:
        where = f"{source}, line {i + 1}, field {j + 1}: {cell[:40]!r}"
        raise InputError.of("recording.data", where, "it is not a number", "export it again")
    return value


def packed(kind: str, stamps: Array, numbers: Array) -> bytes:
    """The data file of a recording without digital channels; NaN becomes the mark for a missing value.

    Args:
        kind: one of FORMATS.   stamps: shape (n,), whole.   numbers: shape (analogue, n); whole but for FLOAT32.
    """
    count = stamps.size
    if kind == "ASCII":
        rows = []
        for i in range(count):
            cells = ("" if np.isnan(v) else f"{v:.0f}" for v in numbers[:, i])
            rows.append(f"{i + 1},{stamps[i]:.0f},{','.join(cells)}")
        return ("\r\n".join(rows) + "\r\n").encode()
    out = np.zeros(count, dtype=layout(kind, numbers.shape[0], 0))
    out["n"] = np.arange(1, count + 1)
    out["t"] = stamps
    lowest = LOWEST.get(kind)
    out["x"] = (numbers if lowest is None else np.where(np.isnan(numbers), lowest, np.rint(numbers))).T
    return out.tobytes()

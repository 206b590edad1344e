"""Recordings as text tables: a head with names and units, then one row a sample."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from slipwise.identify.recording import UNITS, Channel, Recording, channel_of, recording_of
from slipwise.quantity.errors import InputError
from slipwise.results.series import Array

TIME_UNITS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "min": 60.0}
_HEAD = re.compile(r"^(?P<name>.*?)\s*[\[(](?P<unit>[^\])]*)[\])]\s*$")
_TIME = {"t", "time", "zeit"}
_COMMA = re.compile(r"^[+-]?\d*,\d+(?:[eE][+-]?\d+)?$")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lines:
    """Rows split into cells, each with the number of its line in the file."""

    head: tuple[str, ...]
    rows: list[list[str]]
    numbers: list[int]
    decimal_comma: bool


def read_csv(content: bytes, *, source: str = "recording", names: Mapping[str, str] | None = None) -> Recording:
    """A recording from a text table.

    Args:
        content: the file. Columns are parted by comma, semicolon or tabulator; a decimal comma is understood where the comma
            does not part columns; lines that begin with "#" are passed over. The head names each column with its unit,
            "ia [A]" or "uab (kV)"; units may also stand in a row of their own. One column is the time. An empty cell is a
            drop-out.
        source: name of the file, for messages.
        names: what a column is, by its name in the file ("CH1": "ia"), where the name does not say.

    Returns:
        The recording in SI; columns that are no known quantity are left out, and `steps` says so.

    Raises:
        InputError: each fault with its line and column: no head, no unit, text among the numbers, rows of other length,
            time not ascending, an empty channel.
    """
    lines = _split(_decoded(content, source), source)
    heads = [_head(cell) for cell in lines.head]
    steps: list[str] = []
    if lines.decimal_comma:
        steps.append("decimal commas read")
    heads, lines = _units_row(heads, lines)
    table = _numbers(lines, source)
    given = dict(names or {})
    unknown = [name for name in given if name not in [h[0] for h in heads]]
    if unknown:
        raise InputError.of("recording.names", unknown[0], "no column has this name", "use the names of the head")
    heads = [(given.get(name, name), unit) for name, unit in heads]
    time = _time(heads, table)
    channels, ignored = _channels(heads, table)
    if ignored:
        steps.append(f"columns left out, their unit is none of a start: {', '.join(ignored)}")
    return recording_of(time, channels, source, tuple(steps))


def _decoded(content: bytes, source: str) -> str:
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        text = content.decode("utf-16", errors="replace")
    else:
        try:
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = content.decode("latin-1")
    if "\0" in text:
        raise InputError.of("recording", source, "it is not a text table", "export as CSV, or read as COMTRADE")
    return text


def _split(text: str, source: str) -> _Lines:
    """Head and rows; the mark that parts columns is the one the head uses most."""
    found = [(i, line) for i, line in enumerate(text.splitlines(), 1) if line.strip() and not line.startswith("#")]
    if len(found) < 2:
        raise InputError.of(
            "recording", source, "there is no head with rows under it", "export names, units and numbers"
        )
    head = found[0][1]
    mark = max((";", "\t", ","), key=head.count)
    if head.count(mark) == 0:
        raise InputError.of(
            "recording", source, "the head has one column only", "part columns by comma, semicolon or tab"
        )
    cells = tuple(cell.strip().strip('"').strip() for cell in head.split(mark))
    rows = [[cell.strip().strip('"').strip() for cell in line.split(mark)] for _, line in found[1:]]
    comma = mark != "," and any(_COMMA.match(cell) for row in rows[:50] for cell in row)
    return _Lines(head=cells, rows=rows, numbers=[i for i, _ in found[1:]], decimal_comma=comma)


def _head(cell: str) -> tuple[str, str]:
    match = _HEAD.match(cell)
    return (match["name"].strip(), match["unit"].strip()) if match else (cell, "")


def _units_row(heads: list[tuple[str, str]], lines: _Lines) -> tuple[list[tuple[str, str]], _Lines]:
    """Units from a row of their own, when the head has none."""
    first = [cell.strip("[]() ") for cell in lines.rows[0]]
    known = [cell in UNITS or cell in TIME_UNITS for cell in first]
    if any(unit for _, unit in heads) or len(first) != len(heads) or not any(known):
        return heads, lines
    named = [(name, unit) for (name, _), unit in zip(heads, first, strict=True)]
    rest = _Lines(head=lines.head, rows=lines.rows[1:], numbers=lines.numbers[1:], decimal_comma=lines.decimal_comma)
    return named, rest


def _numbers(lines: _Lines, source: str) -> Array:
    """All cells as numbers, shape (rows, columns)."""
    width = len(lines.head)
    table = np.empty((len(lines.rows), width))
    for i, row in enumerate(lines.rows):
        if len(row) != width:
            where = f"{source}, line {lines.numbers[i]}"
            why = f"the row has {len(row)} cells and the head {width}"
            remedy = "the file ends early: export it whole" if i == len(lines.rows) - 1 else "give every row all cells"
            raise InputError.of("recording", where, why, remedy)
        for j, cell in enumerate(row):
            table[i, j] = _number(cell, lines, i, j)
    return table


def _number(cell: str, lines: _Lines, i: int, j: int) -> float:
    if not cell or cell.lower() in ("nan", "na", "-", "n/a"):
        return float("nan")
    try:
        return float(cell.replace(",", ".") if lines.decimal_comma else cell)
    except ValueError:
        place = f"line {lines.numbers[i]}, column {j + 1} ({lines.head[j][:40]}): {cell[:40]!r}"
        raise InputError.of("recording", place, "it is not a number", "leave the cell empty for a drop-out") from None


def _time(heads: Sequence[tuple[str, str]], table: Array) -> Array:
    places = [j for j, (name, _) in enumerate(heads) if name.lower() in _TIME]
    if len(places) != 1:
        why = "no column is the time" if not places else f"{len(places)} columns are the time"
        raise InputError.of(
            "recording.time", ", ".join(n[:40] for n, _ in heads[:12]), why, 'name one column "time [s]"'
        )
    unit = heads[places[0]][1]
    if unit not in TIME_UNITS:
        shown = f'unit "{unit[:40]}"' if unit else "no unit"
        raise InputError.of("recording.time", shown, "time needs its unit", f"give one of {', '.join(TIME_UNITS)}")
    time: Array = table[:, places[0]] * TIME_UNITS[unit]
    return time


def _channels(heads: Sequence[tuple[str, str]], table: Array) -> tuple[tuple[Channel, ...], list[str]]:
    """Columns with a unit of a start; those with another unit are named apart, those without one are refused."""
    channels, ignored = [], []
    for j, (name, unit) in enumerate(heads):
        if name.lower() in _TIME:
            continue
        if unit and unit not in UNITS:
            ignored.append(f"{name} [{unit}]")
            continue
        values = table[:, j]
        channels.append(channel_of(name or f"column {j + 1}", unit, values, resolution=_step(values)))
    return tuple(channels), ignored


def _step(values: Array) -> float:
    """Size of one digital step: the least difference of different values, where there are few of them; else 0."""
    levels = np.unique(values[np.isfinite(values)])
    return float(np.diff(levels).min()) if 2 < levels.size <= 4096 and levels.size < values.size / 2 else 0.0


def write_csv(recording: Recording, *, comment: str = "", digits: int = 7) -> bytes:
    """The recording as a text table that `read_csv` reads again: SI units, comma between columns, empty cells for gaps."""
    units = {"voltage": "V", "current": "A", "speed": "rad/s", "torque": "N m"}
    heads = ["time [s]", *(f"{channel.name} [{units[channel.kind.value]}]" for channel in recording.channels)]
    lines = [f"# {line}" for line in comment.splitlines()] + [",".join(heads)]
    columns = [recording.time, *(channel.values for channel in recording.channels)]
    for row in zip(*columns, strict=True):
        rest = ("" if np.isnan(v) else f"{v:.{digits}g}" for v in row[1:])
        lines.append(",".join([f"{row[0]:.10g}", *rest]))
    return ("\n".join(lines) + "\n").encode()

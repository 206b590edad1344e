"""Recordings by IEC 60255-24 (COMTRADE), revisions 1999 and 2013: configuration and data, or both in one file.

Source: IEC 60255-24:2001 and IEC 60255-24:2013 / IEEE C37.111 (from memory): order of the lines, of the fields and of the
bytes, marks for missing values, and value = a x number + b.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from math import isfinite

import numpy as np

from slipwise.identify.comtrade_data import FORMATS, samples_of
from slipwise.identify.recording import MOST_SAMPLES, UNITS, Channel, Recording, channel_of, recording_of
from slipwise.quantity.errors import InputError
from slipwise.results.series import Array

REVISIONS = ("1999", "2013")
_SECTION = re.compile(rb"^---\s*file type:\s*([A-Z]+)[^\r\n]*---[ \t]*\r?\n", re.IGNORECASE | re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Analogue:
    """One analogue channel of the configuration: value = a x number + b, in `unit`; skew in s."""

    name: str
    phase: str
    unit: str
    a: float
    b: float
    skew: float
    primary: float
    secondary: float
    side: str  # "P" or "S": the side the values hold for


@dataclass(frozen=True, slots=True, kw_only=True)
class Configuration:
    """The configuration file. rates: (samples a second, last sample) pairs; time_unit: s of one count of the time stamp."""

    station: str
    revision: str
    analogue: tuple[Analogue, ...]
    digital: int
    frequency: float
    rates: tuple[tuple[float, int], ...]
    format: str
    time_unit: float

    @property
    def count(self) -> int:
        """Number of samples it promises."""
        return self.rates[-1][1]


class _Reader:
    """Takes the lines of a configuration one by one; every fault names its line."""

    def __init__(self, text: str, source: str) -> None:
        self.lines = text.splitlines()
        self.source = source
        self.at = 0

    def fields(self, what: str, least: int) -> list[str]:
        """The next line split at its commas."""
        if self.at >= len(self.lines):
            raise self.error("the configuration ends early", f"{what} should stand here")
        self.at += 1
        found = [field.strip() for field in self.lines[self.at - 1].split(",")]
        if len(found) < least:
            raise self.error(f"{what} has {len(found)} fields and needs {least}", "export it again")
        return found

    def number(self, text: str, what: str) -> float:
        try:
            value = float(text)
        except ValueError:
            raise self.error(f'{what} is "{text[:40]}", not a number', "export it again") from None
        if not isfinite(value) or abs(value) > 1e15:
            raise self.error(f'{what} is "{text[:40]}", not a possible number', "export it again")
        return value

    def whole(self, text: str, what: str, most: int) -> int:
        value = self.number(text, what)
        if value != int(value) or not 0 <= value <= most:
            raise self.error(f'{what} is "{text[:40]}", not a whole number from 0 to {most}', "export it again")
        return int(value)

    def error(self, reason: str, remedy: str) -> InputError:
        return InputError.of("recording.configuration", f"{self.source}, line {max(self.at, 1)}", reason, remedy)


def read_configuration(content: bytes, *, source: str = "recording") -> Configuration:
    """The configuration file alone.

    Raises:
        InputError: the line and what is wrong with it.
    """
    reader = _Reader(_text(content), source)
    station, _, revision = [*reader.fields("the station", 2), ""][:3]
    if revision not in REVISIONS:
        shown = f'revision "{revision[:40]}"' if revision else "no revision year (that of 1991 has none)"
        raise reader.error(f"{shown}", "revisions 1999 and 2013 are read")
    counts = reader.fields("the number of channels", 3)
    analogue = reader.whole(counts[1].upper().removesuffix("A"), "number of analogue channels", 999)
    digital = reader.whole(counts[2].upper().removesuffix("D"), "number of digital channels", 9999)
    total = reader.whole(counts[0], "number of channels", 10998)
    if total != analogue + digital:
        raise reader.error(f"{total} channels are not {analogue} analogue and {digital} digital", "export it again")
    channels = tuple(_analogue(reader) for _ in range(analogue))
    for _ in range(digital):
        reader.fields("a digital channel", 2)
    frequency = reader.number(reader.fields("the line frequency", 1)[0], "line frequency")
    rates = _rates(reader)
    reader.fields("the time of the first sample", 1)
    reader.fields("the time of the trigger", 1)
    kind = reader.fields("the type of the data file", 1)[0].upper()
    if kind not in FORMATS:
        raise reader.error(f'type "{kind[:40]}" of the data file is not known', f"one of {', '.join(FORMATS)}")
    factor = reader.fields("the time factor", 1)[0]
    unit = 1e-6 * (reader.number(factor, "time factor") if factor else 1.0)
    if unit <= 0:
        raise reader.error(f"time factor {factor[:40]} is not above zero", "export it again")
    return Configuration(
        station=station,
        revision=revision,
        analogue=channels,
        digital=digital,
        frequency=frequency,
        rates=rates,
        format=kind,
        time_unit=unit,
    )


def _analogue(reader: _Reader) -> Analogue:
    f = reader.fields("an analogue channel", 13)
    a, b = reader.number(f[5], "factor a"), reader.number(f[6], "offset b")
    if a == 0:
        raise reader.error(f"factor a of channel {f[1][:40]} is zero", "export it again")
    side = f[12].upper()
    if side not in ("P", "S"):
        raise reader.error(f'side "{f[12][:40]}" is neither P nor S', "say for which side the values hold")
    primary, secondary = reader.number(f[10] or "1", "primary ratio"), reader.number(f[11] or "1", "secondary ratio")
    if side == "S" and not (primary > 0 and secondary > 0):
        raise reader.error(
            f"transformer ratio {f[10][:20]} : {f[11][:20]} of channel {f[1][:40]}", "give both above zero"
        )
    skew = reader.number(f[7] or "0", "skew") * 1e-6
    return Analogue(
        name=f[1], phase=f[2], unit=f[4], a=a, b=b, skew=skew, primary=primary, secondary=secondary, side=side
    )


def _rates(reader: _Reader) -> tuple[tuple[float, int], ...]:
    number = reader.whole(reader.fields("the number of sampling rates", 1)[0], "number of sampling rates", 999)
    rates: list[tuple[float, int]] = []
    for _ in range(max(1, number)):
        f = reader.fields("a sampling rate", 2)
        rate, last = reader.number(f[0], "sampling rate"), reader.whole(f[1], "last sample", MOST_SAMPLES)
        if number and rate <= 0:
            raise reader.error(f"sampling rate {rate:g} is not above zero", "export it again")
        if last <= (rates[-1][1] if rates else 0):
            raise reader.error(f"last sample {last} does not ascend", "export it again")
        rates.append((rate if number else 0.0, last))
    return tuple(rates)


def read_comtrade(configuration: bytes, data: bytes, *, source: str = "recording") -> Recording:
    """A recording from its configuration and its data file.

    Returns:
        The recording in SI on the primary side; channels whose unit is none of a start are left out, and `steps` says so.

    Raises:
        InputError: what is wrong and where: a field, a sample number, the length of the data, a channel.

    Source: see the module.
    """
    head = read_configuration(configuration, source=source)
    if not head.analogue:
        raise InputError.of("recording", source, "it has no analogue channel", "export currents and voltages")
    stamps, numbers = samples_of(data, head.format, len(head.analogue), head.digital, head.count, source)
    time = _time(head, stamps, source)
    steps: list[str] = [f"COMTRADE revision {head.revision}, data {head.format}, {time.size} samples"]
    channels = [_channel(row, numbers[i], time, steps) for i, row in enumerate(head.analogue)]
    kept = tuple(channel for channel in channels if channel is not None)
    return recording_of(time, kept, source, tuple(steps))


def read_combined(content: bytes, *, source: str = "recording") -> Recording:
    """A recording whose configuration and data stand in one file (revision 2013).

    Raises:
        InputError: a section is missing, or as `read_comtrade`.
    """
    parts = _SECTION.split(content)
    sections = {name.upper(): body for name, body in zip(parts[1::2], parts[2::2], strict=True)}
    for name in (b"CFG", b"DAT"):
        if name not in sections:
            raise InputError.of("recording", source, f"it has no {name.decode()} section", "export it again")
    return read_comtrade(sections[b"CFG"], sections[b"DAT"], source=source)


def _text(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _time(head: Configuration, stamps: Array, source: str) -> Array:
    """Seconds from the first sample: by the rates where there are any, else by the stamps."""
    if head.rates[0][0] == 0:
        if not np.isfinite(stamps).all():
            why = "neither a sampling rate nor all time stamps are given"
            raise InputError.of("recording.time", source, why, "export it again")
        stamped: Array = (stamps - stamps[0]) * head.time_unit
        return stamped
    steps: list[Array] = []
    done = 0
    for rate, last in head.rates:
        steps.append(np.full(last - done, 1 / rate))
        done = last
    return np.concatenate([[0.0], np.cumsum(np.concatenate(steps)[1:])])


def _channel(row: Analogue, numbers: Array, time: Array, steps: list[str]) -> Channel | None:
    unit = row.unit.strip()
    if unit not in UNITS:
        steps.append(f"channel {row.name} [{unit}] left out: its unit is none of a start")
        return None
    ratio = row.primary / row.secondary if row.side == "S" else 1.0
    channel = channel_of(row.name, unit, (row.a * numbers + row.b) * ratio, phase=row.phase, resolution=row.a * ratio)
    if ratio != 1.0:
        steps.append(f"channel {row.name} brought to the primary side, factor {ratio:.6g}")
    if row.skew == 0.0:
        return channel
    steps.append(f"channel {row.name} moved by its skew of {1e6 * row.skew:g} µs")
    return replace(channel, values=np.interp(time, time + row.skew, channel.values))

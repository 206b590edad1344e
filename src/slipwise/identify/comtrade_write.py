"""Writes a recording as COMTRADE, so that other programs can read it.

Source: IEC 60255-24:2001 and :2013 (from memory), as in `comtrade.py`.
"""

from __future__ import annotations

import numpy as np

from slipwise.identify.comtrade import REVISIONS
from slipwise.identify.comtrade_data import FORMATS, packed
from slipwise.identify.recording import Channel, Kind, Recording
from slipwise.quantity.errors import InputError
from slipwise.results.series import Array

_UNITS = {Kind.VOLTAGE: "V", Kind.CURRENT: "A", Kind.SPEED: "rad/s", Kind.TORQUE: "N m"}
_FULL = {"ASCII": 32767, "BINARY": 32767, "BINARY32": 2**31 - 1}


def write_comtrade(
    recording: Recording, *, frequency: float, revision: str = "2013", kind: str = "BINARY", station: str = "slipwise"
) -> tuple[bytes, bytes]:
    """Configuration and data file of a recording.

    Args:
        recording: evenly sampled.   frequency: of the line. [Hz]
        revision: "1999" or "2013".   kind: "ASCII", "BINARY", "BINARY32" or "FLOAT32"; the last two by 2013 only.
        station: name in the head; its commas are dropped. The date is 1 January 2000, so that the same recording gives the
            same bytes.

    Raises:
        InputError: revision or kind not known or not together, or the samples are not evenly spaced.
    """
    if revision not in REVISIONS:
        raise InputError.of("revision", revision, "it is not written", f"one of {', '.join(REVISIONS)}")
    allowed = tuple(FORMATS) if revision == "2013" else ("ASCII", "BINARY")
    if kind not in allowed:
        raise InputError.of("kind", kind, f"revision {revision} does not know it", f"one of {', '.join(allowed)}")
    time = recording.time
    step = (time[-1] - time[0]) / (time.size - 1)
    if np.abs(np.diff(time) - step).max() > 0.01 * step:
        raise InputError.of("recording.time", recording.source, "samples are not evenly spaced", "resample it first")
    scales = [_scale(channel, kind) for channel in recording.channels]
    numbers = np.array([c.values / a for c, a in zip(recording.channels, scales, strict=True)])
    lines = [
        f"{station.replace(',', ' ')},1,{revision}",
        f"{len(scales)},{len(scales)}A,0D",
        *(_line(i, c, a, numbers[i - 1]) for i, (c, a) in enumerate(zip(recording.channels, scales, strict=True), 1)),
        f"{frequency:g}",
        "1",
        f"{1 / step:.10g},{time.size}",
        "01/01/2000,00:00:00.000000",
        "01/01/2000,00:00:00.000000",
        kind,
        "1",
        *(("0,0", "F,3") if revision == "2013" else ()),
    ]
    stamps: Array = np.rint((time - time[0]) * 1e6)
    return ("\r\n".join(lines) + "\r\n").encode(), packed(kind, stamps, numbers)


def _scale(channel: Channel, kind: str) -> float:
    """Size of one count: the channel's own digital step where it fits, else full scale over the counts there are."""
    if kind == "FLOAT32":
        return 1.0
    top = float(np.nanmax(np.abs(channel.values))) or 1.0
    if 0 < channel.resolution and top / channel.resolution <= _FULL[kind]:
        return channel.resolution
    return top / _FULL[kind]


def _line(number: int, channel: Channel, a: float, numbers: Array) -> str:
    name = channel.name.replace(",", " ")
    low, high = np.nanmin(numbers), np.nanmax(numbers)
    phase = channel.phase.upper()
    return f"{number},{name},{phase},,{_UNITS[channel.kind]},{a:.12g},0,0,{low:.0f},{high:.0f},1,1,P"

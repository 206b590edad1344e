"""A recorded start as it comes out of a file: channels with their phase over one time axis, checked and in SI."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from slipwise.quantity.errors import Fault, InputError
from slipwise.results.series import Array

LEAST_SAMPLES = 20
MOST_SAMPLES = 5_000_000
MOST_VALUE = 1e9  # SI, of any channel


class Kind(StrEnum):
    """What a channel measures; SI units V, A, rad/s, N m."""

    VOLTAGE = "voltage"
    CURRENT = "current"
    SPEED = "speed"
    TORQUE = "torque"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Channel:
    """One recorded quantity.

    phase: "a", "b", "c" to neutral or in the line; "ab", "bc", "ca" between lines; "" for speed, torque, or a mean of all.
    values: shape (n,), SI, NaN where nothing was recorded.
    rms: a running rms value, not a waveform.   resolution: size of one digital step, SI; 0 when not known.
    """

    name: str
    kind: Kind
    phase: str
    values: Array
    rms: bool = False
    resolution: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recording:
    """What was recorded. time: s, shape (n,), strictly ascending. steps: what the reader did to the numbers, in words."""

    time: Array
    channels: tuple[Channel, ...]
    source: str
    steps: tuple[str, ...] = ()

    def of(self, kind: Kind) -> tuple[Channel, ...]:
        """The channels of one kind, in order."""
        return tuple(channel for channel in self.channels if channel.kind is kind)


UNITS: Mapping[str, tuple[Kind, float]] = {
    "V": (Kind.VOLTAGE, 1.0),
    "kV": (Kind.VOLTAGE, 1e3),
    "mV": (Kind.VOLTAGE, 1e-3),
    "A": (Kind.CURRENT, 1.0),
    "kA": (Kind.CURRENT, 1e3),
    "mA": (Kind.CURRENT, 1e-3),
    "r/min": (Kind.SPEED, np.pi / 30),
    "rpm": (Kind.SPEED, np.pi / 30),
    "1/min": (Kind.SPEED, np.pi / 30),
    "min-1": (Kind.SPEED, np.pi / 30),
    "rad/s": (Kind.SPEED, 1.0),
    "1/s": (Kind.SPEED, 2 * np.pi),
    "Nm": (Kind.TORQUE, 1.0),
    "N m": (Kind.TORQUE, 1.0),
    "N.m": (Kind.TORQUE, 1.0),
    "N·m": (Kind.TORQUE, 1.0),
    "kNm": (Kind.TORQUE, 1e3),
    "kN m": (Kind.TORQUE, 1e3),
    "lbf ft": (Kind.TORQUE, 1.3558179483314004),
}
"""Units a channel may have, with their size in SI."""

_PHASES = (("a", "b", "c"), ("l1", "l2", "l3"), ("1", "2", "3"), ("r", "s", "t"))
_NAMES = {word: "abc"[i] for row in _PHASES for i, word in enumerate(row)}
_LINES = {"ab": "ab", "bc": "bc", "ca": "ca"} | {
    f"{row[i]}{row[(i + 1) % 3]}": ("ab", "bc", "ca")[i] for row in _PHASES for i in range(3)
}
_TURNED = {row[(i + 1) % 3] + row[i]: ("ab", "bc", "ca")[i] for row in _PHASES for i in range(3)}
_FILLING = re.compile(r"[\s_\-.:/()]+")
_HEADS = {
    Kind.VOLTAGE: ("voltage", "volts", "spannung", "ul", "vl", "u", "v"),
    Kind.CURRENT: ("current", "amps", "strom", "il", "i"),
}


def channel_of(name: str, unit: str, values: Array, *, phase: str = "", resolution: float = 0.0) -> Channel:
    """A channel from its name, unit and numbers as they stand in a file.

    Args:
        name: such as "ua", "U L1-L2", "Current b rms", "speed"; the unit says what it measures, the name which phase.
        unit: one of `UNITS`.   values: shape (n,), in that unit.
        phase: stated apart from the name, as COMTRADE does; "" when it is not.   resolution: of one step, in that unit.

    Raises:
        InputError: the unit is not known, or the phase cannot be read from the name.
    """
    found = UNITS.get(unit.strip())
    if found is None:
        shown = f'unit "{unit.strip()}"' if unit.strip() else "no unit"
        raise InputError.of(
            f"recording.{name}", shown, "what it measures is not known", f"give one of {', '.join(UNITS)}"
        )
    kind, size = found
    words = name.lower()
    rms = re.search(r"\brms\b|[_\s]rms|rms$|\beff\b", words) is not None
    letter, sign = "", 1.0
    if kind in (Kind.VOLTAGE, Kind.CURRENT):
        letter, sign = phase_of(name, phase, kind)
    return Channel(
        name=name,
        kind=kind,
        phase=letter,
        values=np.asarray(values, dtype=float) * size * sign,
        rms=rms,
        resolution=abs(resolution) * size,
    )


def phase_of(name: str, stated: str, kind: Kind) -> tuple[str, float]:
    """Phase letter or pair that a name means, and -1 where a pair is read the other way round ("ba").

    Raises:
        InputError: no phase can be read from it.
    """
    for text in (stated, name):
        bare = _FILLING.sub("", re.sub(r"rms|eff", "", text.lower()))
        for head in ("", *_HEADS[kind]):
            rest = bare.removeprefix(head)
            if rest in _NAMES:
                return _NAMES[rest], 1.0
            if rest in _LINES and kind is Kind.VOLTAGE:
                return _LINES[rest], 1.0
            if rest in _TURNED and kind is Kind.VOLTAGE:
                return _TURNED[rest], -1.0
    if _FILLING.sub("", re.sub(r"rms|eff", "", name.lower())) in {*_HEADS[kind], "line" + kind.value}:
        return "", 1.0
    example = "ua, ub, uc, uab, ubc or uca" if kind is Kind.VOLTAGE else "ia, ib or ic"
    raise InputError.of(f"recording.{name}", stated or name, "which phase it is cannot be read", f"name it {example}")


def recording_of(time: Array, channels: tuple[Channel, ...], source: str, steps: tuple[str, ...] = ()) -> Recording:
    """A recording whose time and channels have been checked.

    Raises:
        InputError: too few samples, time not finite or not ascending, a channel empty, endless, of another length, or named
            twice; no current at all. Every fault found is named.
    """
    faults = [*_time_faults(time)]
    seen: set[tuple[Kind, str]] = set()
    for channel in channels:
        faults += _channel_faults(channel, time.size, seen)
        seen.add((channel.kind, channel.phase))
    if not channels:
        faults.append(_fault("channels", "none", "nothing was recorded besides time", "record currents and voltages"))
    if faults:
        raise InputError(*faults)
    return Recording(time=time, channels=channels, source=source, steps=steps)


def _time_faults(time: Array) -> list[Fault]:
    if not LEAST_SAMPLES <= time.size <= MOST_SAMPLES:
        why = f"a start needs {LEAST_SAMPLES} to {MOST_SAMPLES} samples"
        return [_fault("time", f"{time.size} samples", why, "export the whole recording, at a fitting rate")]
    bad = np.flatnonzero(~np.isfinite(time))
    if bad.size:
        return [_fault("time", f"sample {bad[0] + 1}", "its time is missing or not finite", "export the time again")]
    back = np.flatnonzero(np.diff(time) <= 0)
    if back.size:
        i = int(back[0])
        why = f"time goes from {time[i]:.9g} s to {time[i + 1]:.9g} s"
        return [_fault("time", f"sample {i + 2}", why, "time must ascend: check sorting, joins and unit of time")]
    return []


def _channel_faults(channel: Channel, count: int, seen: set[tuple[Kind, str]]) -> list[Fault]:
    values, name = channel.values, channel.name
    if values.shape != (count,):
        return [_fault(name, f"{values.size} samples", f"time has {count}", "export all channels over the same time")]
    if (channel.kind, channel.phase) in seen:
        which = f"{channel.kind.value} {channel.phase}".strip()
        return [_fault(name, which, "another channel measures the same", "name the phases apart")]
    return _value_faults(name, values)


def _value_faults(name: str, values: Array) -> list[Fault]:
    if np.isinf(values).any():
        at = int(np.flatnonzero(np.isinf(values))[0]) + 1
        return [_fault(name, f"sample {at}", "it is not a finite number", "export the channel again")]
    known = values[np.isfinite(values)]
    if not known.size:
        return [_fault(name, "no number", "the channel is empty", "remove it, or export it again")]
    if np.abs(known).max() > MOST_VALUE:
        return [_fault(name, f"{np.abs(known).max():.3g}", "no machine reaches it", "check unit and scaling")]
    if not np.any(known):
        return [_fault(name, "0 throughout", "the channel is dead", "remove it, or check the probe")]
    return []


def _fault(name: str, value: str, reason: str, remedy: str) -> Fault:
    return Fault(field=f"recording.{name}", value=value, reason=reason, remedy=remedy)

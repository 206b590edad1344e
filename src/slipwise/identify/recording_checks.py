"""What a recording shows of itself: noise, held samples, line frequency, switching on and off, plausible levels."""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipwise.identify.recording import Channel
from slipwise.model.machine.motor import Rating
from slipwise.quantity.errors import InputError
from slipwise.results.recording import CleaningStep
from slipwise.results.series import Array

FLOWING = 0.15  # of rated current's peak: less is no current


def noise_of(values: Any) -> float:
    """Standard deviation of white noise on a smooth signal, for each real component, from third differences.

    Third differences of a smooth signal nearly vanish and those of white noise have 20 times its variance; the median of
    their size is not moved by single jumps. Complex values: of either component. NaN are passed over.
    """
    thirds = np.diff(np.asarray(values), n=3)
    parts = np.concatenate([thirds.real, thirds.imag]) if np.iscomplexobj(thirds) else thirds
    parts = parts[np.isfinite(parts)]
    return float(np.median(np.abs(parts)) / 0.6744897501960817 / sqrt(20)) if parts.size else 0.0


def held_runs(channel: Channel) -> NDArray[np.bool_]:
    """Samples in which a waveform hangs at one number for four samples or more, with a jump at the begin or the end."""
    values = channel.values
    top = float(np.nanmax(np.abs(values)))
    still = np.abs(np.diff(values)) <= 1e-12 * top
    edges = np.flatnonzero(np.diff(np.concatenate([[0], still.astype(int), [0]])))
    held = np.zeros(values.size, dtype=bool)
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        if last - first < 3:
            continue
        before = abs(values[first] - values[first - 1]) if first > 0 else 0.0
        after = abs(values[last + 1] - values[last]) if last + 1 < values.size else 0.0
        live = first > 0 and last + 1 < values.size
        if live and min(before, after) > 0.04 * top and max(before, after) > 0.1 * top:
            held[first : last + 1] = True
    return held


def frequency_of(voltage: Any, time: Array, rating: Rating) -> float:
    """Mean frequency of the space vector, negative when it turns backwards. [Hz]

    Raises:
        InputError: further than 10 % from rated: the voltage is no line voltage, or time is in another unit.
    """
    step = time[1] - time[0]
    forwards = _strength(voltage, time, rating.frequency)
    backwards = _strength(voltage, time, -rating.frequency)
    sense = 1.0 if forwards >= backwards else -1.0
    slow = voltage * np.exp(-2j * pi * sense * rating.frequency * time)
    known = slow[np.isfinite(slow)]
    half = max(1, min(known.size // 2, round(float(1 / rating.frequency / step))))
    smooth = np.convolve(known, np.ones(half) / half, mode="valid")
    lag = max(1, smooth.size // 8)
    drift = (
        np.angle(np.sum(smooth[half:] * np.conj(smooth[:-half]))) / (2 * pi * half * step)
        if smooth.size > 2 * half
        else 0
    )
    rough = smooth * np.exp(-2j * pi * drift * step * np.arange(smooth.size))
    rest = np.angle(np.sum(rough[lag:] * np.conj(rough[:-lag]))) / (2 * pi * lag * step) if smooth.size > 2 * lag else 0
    found = sense * rating.frequency + drift + rest
    if max(forwards, backwards) < 0.3 or abs(abs(found) / rating.frequency - 1) > 0.1:
        why = f"it is no line voltage of {rating.frequency:g} Hz"
        raise InputError.of(
            "recording.voltage",
            f"about {abs(found):.3g} Hz",
            why,
            "check the unit of time, and that voltages are not rms",
        )
    return float(found)


def _strength(voltage: Any, time: Array, frequency: float) -> float:
    """Share of the vector's rms that turns within about 15 % of a frequency: mean size of the averages over 3 cycles."""
    known = np.isfinite(voltage)
    slow = np.where(known, voltage, 0.0) * np.exp(-2j * pi * frequency * time)
    span = max(1, min(slow.size, round(3 / abs(frequency) / (time[1] - time[0]))))
    means = np.convolve(slow, np.ones(span) / span, mode="valid")
    total = float(np.sqrt(np.mean(np.abs(slow) ** 2)))
    return float(np.sqrt(np.mean(np.abs(means) ** 2)) / total) if total > 0 else 0.0


def switched_on(
    amps: Array, time: Array, rating: Rating, steps: list[CleaningStep], *, rms: bool = False
) -> tuple[int, int]:
    """First and last sample (exclusive) of the start: from the sample before current flows until it is cut or the end.

    Args:
        amps: length of the current's space vector, shape (n,), NaN in gaps. [A]

    Raises:
        InputError: no current at all, current from the first sample on, or no more than three cycles of it.
    """
    quiet = np.nan_to_num(amps, nan=0.0)
    rest = int(np.argmax(quiet > 0.2 * quiet.max()))
    before = noise_of(quiet[: rest - 2]) if rest > 16 else 0.0
    level = max(FLOWING * sqrt(2) * rating.current, 0.02 * float(quiet.max()), 8 * before)
    flowing = quiet > level
    if not flowing.any():
        raise InputError.of(
            "recording.current",
            f"at most {quiet.max() / sqrt(2):.3g} A rms",
            "the motor never draws current",
            "check unit and scaling",
        )
    first = int(np.flatnonzero(flowing)[0])
    lasting = flowing[first : first + 6]
    while lasting.mean() < 0.5 and flowing[first + 1 :].any():
        first += 1 + int(np.flatnonzero(flowing[first + 1 :])[0])
        lasting = flowing[first : first + 6]
    if first == 0 and not rms:
        raise InputError.of(
            "recording.time",
            "first sample",
            "current flows from the first sample on",
            "begin recording before switching on",
        )
    begin = max(0, first - 1)
    span = round(0.5 / rating.frequency / (time[1] - time[0]))
    last = _end_of(quiet, begin, level, max(1, span))
    if (amps.size - last) * (time[1] - time[0]) * rating.frequency < 1 or amps.size - last < 3:
        last = amps.size
    else:
        last = max(begin + 1, last - span)  # the mean still saw current when there was none
        why = "the current is cut there"
        steps.append(CleaningStep(what=f"end of the start at {time[last]:.4g} s", why=why, changed=amps.size - last))
    if (time[last - 1] - time[begin]) * rating.frequency < 4:
        shown = f"{time[last - 1] - time[begin]:.3g} s of current"
        raise InputError.of(
            "recording.time", shown, "too short for a start", "check the unit of time; record to full speed"
        )
    if begin:
        why = f"current rises above {level / sqrt(2):.3g} A rms"
        steps.append(CleaningStep(what=f"switching on found at {time[begin]:.4g} s", why=why, changed=begin))
    return begin, last


def _end_of(amps: Array, begin: int, level: float, span: int) -> int:
    """First sample from which the mean over `span` samples stays below the level: where the current is cut."""
    means = np.convolve(amps[begin:], np.ones(span) / span, mode="same")
    flowing = np.flatnonzero(means > level)
    return begin + int(flowing[-1]) + 1 if flowing.size else begin + 1


_HINTS = (
    (1 / sqrt(3), "phase voltages named as line voltages"),
    (sqrt(3), "line voltages named as phase voltages"),
    (1e3, "V where kV or mV was written"),
    (1e-3, "kV where V was written"),
)


def check_levels(volts: Array, amps: Array, rating: Rating) -> None:
    """Refuses voltages and currents that no motor of this rating shows; arguments are peak phase values, NaN in gaps.

    Raises:
        InputError: with the ratio to rated, and a guess at the unit or scaling that is wrong.
    """
    top = float(np.nanquantile(volts, 0.98)) / (sqrt(2) * rating.phase_voltage)
    if not 0.62 < top < 1.45:
        guess = min(_HINTS, key=lambda hint: abs(np.log(top / hint[0])) if top > 0 else 1e9)
        hint = guess[1] if top > 0 and abs(np.log(top / guess[0])) < 0.25 else "wrong unit or transformer ratio"
        why = f"that is {top:.3g} of rated: {hint}"
        raise InputError.of(
            "recording.voltage", f"{top * rating.voltage:.4g} V line", why, "check unit, scaling and names"
        )
    high = float(np.nanquantile(amps, 0.98)) / (sqrt(2) * rating.current)
    if not 0.3 < high < 30:
        why = f"that is {high:.3g} of rated current: wrong unit or transformer ratio"
        shown = f"{high * rating.current:.4g} A"
        raise InputError.of("recording.current", shown, why, "check unit and scaling")

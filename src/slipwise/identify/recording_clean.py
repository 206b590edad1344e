"""A recording made ready for a fit, openly: every step is listed with its reason and how many samples it touched."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi, sqrt

import numpy as np

from slipwise.identify.recording import Channel, Kind, Recording
from slipwise.identify.recording_checks import check_levels, frequency_of, held_runs, noise_of, switched_on
from slipwise.identify.recording_phases import Vector, matched, phases_of, space_vector
from slipwise.model.machine.motor import Rating
from slipwise.quantity.errors import InputError
from slipwise.results.recording import CleaningStep
from slipwise.results.series import Array

LEAST_PER_CYCLE = 8.0
LONGEST_VOLTAGE_GAP = 0.5  # cycles of a waveform
FULL_RATE = 6000.0  # samples a second beyond which neighbours are averaged [1/s]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cleaned:
    """A start ready for a fit. Arrays of shape (n,) over `time`, which begins at switching on.

    voltage, current: space vectors in the frame that turns with `frequency` (peak phase values); of an rms recording
        their length alone, as real numbers.   good: whether the current at this sample may be used.
    speed, torque: NaN where not recorded; None when there is no channel.
    noise: standard deviation by "voltage", "current", "speed", "torque".
    coast_time, coast_speed: after switching off, when speed was recorded there.
    """

    source: str
    waveform: bool
    frequency: float
    step: float
    time: Array
    voltage: Vector
    current: Vector
    good: Array
    speed: Array | None
    torque: Array | None
    noise: dict[str, float]
    steps: tuple[CleaningStep, ...]
    coast_time: Array | None = None
    coast_speed: Array | None = None


def clean(recording: Recording, rating: Rating) -> Cleaned:
    """Brings a recorded start into the form a fit needs.

    Args:
        recording: as read.   rating: of the motor, to judge the levels by.

    Returns:
        The start from switching on to switching off or the end; what was done to it stands in `steps`.

    Raises:
        InputError: no current or no voltage, too few samples in a cycle, a hole in the voltage, levels that no motor of
            this rating shows (wrong units or scaling), leads that cannot be sorted, no switching on within the recording.
    """
    steps = [CleaningStep(what=text, why="while reading") for text in recording.steps]
    for kind in (Kind.VOLTAGE, Kind.CURRENT):
        if not recording.of(kind):
            raise InputError.of(f"recording.{kind.value}", "no channel", "a start needs it", "record it too")
    even = _evened(recording, steps)
    held = _without_held(even, steps)
    electrical = held.of(Kind.VOLTAGE) + held.of(Kind.CURRENT)
    if all(_running_rms(channel) for channel in electrical):
        return _rms(held, rating, steps)
    if any(_running_rms(channel) for channel in electrical):
        mixed = ", ".join(channel.name for channel in electrical if _running_rms(channel))
        raise InputError.of("recording", mixed, "rms values beside waveforms", "give all voltages and currents alike")
    return _waveform(held, rating, steps)


def _running_rms(channel: Channel) -> bool:
    """By its name, or because it never goes below zero by more than noise."""
    known = channel.values[np.isfinite(channel.values)]
    return channel.rms or bool(known.min() > -0.02 * known.max())


def _evened(recording: Recording, steps: list[CleaningStep]) -> Recording:
    """Evenly spaced samples: by interpolation, where the given ones are not."""
    time = recording.time
    gaps = np.diff(time)
    step = float(np.median(gaps))
    even = (time[-1] - time[0]) / (time.size - 1)
    if np.abs(gaps - even).max() < 0.02 * even:
        return replace(recording, time=time - time[0])
    hole = float(gaps.max())
    if hole > 50 * step:
        at = float(time[int(gaps.argmax())])
        raise InputError.of(
            "recording.time",
            f"{hole:.3g} s without a sample at {at:.4g} s",
            "the recording is broken there",
            "join none",
        )
    count = int((time[-1] - time[0]) / step) + 1
    wanted = time[0] + step * np.arange(count)
    channels = tuple(replace(c, values=np.interp(wanted, time, c.values)) for c in recording.channels)
    why = f"steps from {gaps.min():.3g} s to {hole:.3g} s; straight lines between samples"
    steps.append(CleaningStep(what="brought to even steps of time", why=why, changed=count))
    return replace(recording, time=wanted - wanted[0], channels=channels)


def _without_held(recording: Recording, steps: list[CleaningStep]) -> Recording:
    """Runs in which a channel hangs at one number while it had been changing become gaps."""
    channels = []
    for channel in recording.channels:
        held = held_runs(channel) if channel.kind in (Kind.VOLTAGE, Kind.CURRENT) else np.zeros(0, dtype=bool)
        if held.any():
            why = "the channel hangs at one number between jumps"
            steps.append(CleaningStep(what=f"drop-outs of {channel.name} taken out", why=why, changed=int(held.sum())))
        values = np.where(held, np.nan, channel.values) if held.size else channel.values
        missing = int(np.isnan(values).sum() - held.sum())
        if missing:
            why = "no number in the recording"
            steps.append(CleaningStep(what=f"gaps of {channel.name} marked", why=why, changed=missing))
        channels.append(replace(channel, values=values))
    return replace(recording, channels=tuple(channels))


def _waveform(recording: Recording, rating: Rating, steps: list[CleaningStep]) -> Cleaned:
    time = recording.time
    per_cycle = 1 / (rating.frequency * (time[1] - time[0]))
    if per_cycle < LEAST_PER_CYCLE:
        why = f"a waveform needs {LEAST_PER_CYCLE:g} samples in a cycle at least"
        raise InputError.of(
            "recording.time", f"{per_cycle:.3g} samples in a cycle", why, "sample faster, or give rms values"
        )
    phases = phases_of(recording, steps)
    raw = space_vector(phases.voltage)
    begin, end = switched_on(np.abs(space_vector(phases.current)), time, rating, [])
    current = _without_offset(phases.current, begin, steps)
    frequency = frequency_of(raw[begin:end], time[begin:end], rating)
    if frequency < 0:
        why = "the voltages turn backwards in the order named: the whole recording is mirrored, as b and c exchanged"
        steps.append(CleaningStep(what="phase sequence a-c-b", why=why, changed=2))
        raw, frequency, current = np.conj(raw), -frequency, current[[0, 2, 1]]
    current = matched(raw, current, frequency, time, steps, slice(begin, end))
    begin, end = switched_on(np.abs(space_vector(current)), time, rating, steps)
    turning = np.exp(-2j * pi * frequency * (time - time[begin]))
    voltage = _bridged(raw * turning, time, begin, end, frequency, steps)
    amps = space_vector(current) * turning
    check_levels(np.abs(voltage[begin:end]), np.abs(amps[begin:end]), rating)
    good = np.isfinite(amps)
    made = Cleaned(
        source=recording.source,
        waveform=True,
        frequency=frequency,
        step=float(time[1] - time[0]),
        time=time[begin:end] - time[begin],
        voltage=voltage[begin:end],
        current=np.where(good, amps, 0.0)[begin:end],
        good=good[begin:end].astype(float),
        speed=None,
        torque=None,
        noise={"voltage": noise_of(voltage[begin:end]), "current": noise_of(amps[begin:end])},
        steps=(),
    )
    return _averaged(_with_shaft(made, recording, begin, end, steps), steps)


def _rms(recording: Recording, rating: Rating, steps: list[CleaningStep]) -> Cleaned:
    """Running rms values: the mean over the phases there are, as the length of a space vector."""
    time = recording.time
    steps.append(CleaningStep(what="voltage and current taken as running rms values", why="by name, or never negative"))
    amps = sqrt(2) * _mean(recording.of(Kind.CURRENT), steps)
    volts = recording.of(Kind.VOLTAGE)
    between = all(len(channel.phase) != 1 for channel in volts)
    voltage = _mean(volts, steps) * sqrt(2) / (sqrt(3) if between else 1.0)
    begin, end = switched_on(amps, time, rating, steps, rms=True)
    check_levels(voltage[begin:end], amps[begin:end], rating)
    amps, voltage = (
        _without_noise(values, begin, name, steps) for values, name in ((amps, "current"), (voltage, "voltage"))
    )
    gaps = np.isnan(voltage)
    if gaps[begin:end].any():
        voltage = np.where(gaps, np.interp(time, time[~gaps], voltage[~gaps]), voltage)
        steps.append(CleaningStep(what="gaps in the voltage bridged", why="straight lines", changed=int(gaps.sum())))
    good = np.isfinite(amps)
    made = Cleaned(
        source=recording.source,
        waveform=False,
        frequency=rating.frequency,
        step=float(time[1] - time[0]),
        time=time[begin:end] - time[begin],
        voltage=voltage[begin:end].astype(complex),
        current=np.where(good, amps, 0.0)[begin:end].astype(complex),
        good=good[begin:end].astype(float),
        speed=None,
        torque=None,
        noise={"voltage": noise_of(voltage[begin:end]), "current": noise_of(amps[begin:end])},
        steps=(),
    )
    return _with_shaft(made, recording, begin, end, steps)


def _without_noise(values: Array, begin: int, name: str, steps: list[CleaningStep]) -> Array:
    """Takes from rms values, in the square, what they show while nothing flows: noise adds to every rms value."""
    before = values[: max(0, begin - 1)]
    level = float(np.nanmedian(before)) if np.isfinite(before).sum() >= 2 else 0.0
    top = float(np.nanmax(values))
    if not 0 < level < 0.05 * top:
        return values
    why = f"{level / top:.2g} of the greatest value is shown before switching on"
    steps.append(CleaningStep(what=f"noise taken out of the rms {name}", why=why, changed=int(values.size)))
    without: Array = np.sqrt(np.maximum(values**2 - level**2, 0.0))
    return without


def _mean(channels: tuple[Channel, ...], steps: list[CleaningStep]) -> Array:
    table = np.array([channel.values for channel in channels])
    known = np.isfinite(table)
    count = known.sum(axis=0)
    if len(channels) > 1:
        names = ", ".join(channel.name for channel in channels)
        steps.append(
            CleaningStep(what=f"quadratic mean of {names}", why="one value for the three phases", changed=len(channels))
        )
    total = np.where(known, table**2, 0.0).sum(axis=0)
    mean: Array = np.where(count > 0, np.sqrt(total / np.maximum(count, 1)), np.nan)
    return mean


def _without_offset(current: Array, begin: int, steps: list[CleaningStep]) -> Array:
    """Takes away what the current channels show while no current flows."""
    if begin < 16:
        return current
    offset = np.nanmean(current[:, : begin - 2], axis=1)
    top = np.nanmax(np.abs(current))
    if not np.isfinite(offset).all() or np.abs(offset).max() < 1e-4 * top:
        return current
    shown = ", ".join(f"{v:.3g} A" for v in offset)
    why = f"mean before switching on: {shown}"
    steps.append(CleaningStep(what="zero of the current channels corrected", why=why, changed=3))
    without: Array = current - offset[:, None]
    return without


def _bridged(voltage: Vector, time: Array, begin: int, end: int, frequency: float, steps: list[CleaningStep]) -> Vector:
    """Short gaps of the voltage filled by straight lines in the turning frame, where it hardly changes."""
    gaps = ~np.isfinite(voltage)
    inside = gaps[begin:end]
    if not inside.any():
        return voltage
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    longest = float((edges[1::2] - edges[::2]).max()) * (time[1] - time[0]) * frequency
    if longest > LONGEST_VOLTAGE_GAP:
        why = f"the voltage that drives the fit is missing for {longest:.2g} cycles"
        raise InputError.of("recording.voltage", f"{int(inside.sum())} samples", why, "record it without gaps")
    known = ~gaps
    filled = np.interp(time, time[known], voltage.real[known]) + 1j * np.interp(time, time[known], voltage.imag[known])
    steps.append(
        CleaningStep(
            what="gaps in the voltage bridged",
            why="straight lines in the frame of the field",
            changed=int(inside.sum()),
        )
    )
    return np.where(gaps, filled, voltage)


def _with_shaft(made: Cleaned, recording: Recording, begin: int, end: int, steps: list[CleaningStep]) -> Cleaned:
    """Adds speed and torque, and the coast-down when speed goes on after switching off."""
    found: dict[str, Array] = {}
    noise = dict(made.noise)
    for kind in (Kind.SPEED, Kind.TORQUE):
        channels = recording.of(kind)
        if not channels:
            continue
        values = channels[0].values
        if kind is Kind.SPEED and np.nanmedian(values[max(begin, end - 20) : end]) < 0:
            why = "it is negative at full speed"
            steps.append(CleaningStep(what=f"{channels[0].name} turned round", why=why, changed=1))
            values = -values
        found[kind.value] = values
        noise[kind.value] = max(noise_of(values[begin:end]), channels[0].resolution / sqrt(12))
    coast: Array | None = None
    if "speed" in found and end < recording.time.size - 20:
        coast = found["speed"][end:]
        why = "speed goes on after switching off"
        steps.append(CleaningStep(what="coast-down kept apart", why=why, changed=int(coast.size)))
    return replace(
        made,
        speed=found["speed"][begin:end] if "speed" in found else None,
        torque=found["torque"][begin:end] if "torque" in found else None,
        noise=noise,
        steps=tuple(steps),
        coast_time=None if coast is None else recording.time[end:] - recording.time[end],
        coast_speed=coast,
    )


def _averaged(made: Cleaned, steps: list[CleaningStep]) -> Cleaned:
    """Means of neighbours, in the frame of the field, where there are more samples than the fit can use."""
    many = int(1 / made.step / FULL_RATE * 2)
    if many < 2:
        return made
    count = made.time.size // many * many

    def mean(values: Vector | Array) -> Vector:
        found: Vector = np.asarray(values[:count], dtype=complex).reshape(-1, many).mean(axis=1)
        return found

    why = f"{1 / made.step:.4g} samples a second are more than the fit needs"
    steps.append(CleaningStep(what=f"means of {many} samples", why=why, changed=count))
    return replace(
        made,
        step=made.step * many,
        time=mean(made.time).real - made.time[:many].mean(),
        voltage=mean(made.voltage),
        current=mean(made.current),
        good=(mean(made.good).real > 0.999).astype(float),
        speed=None if made.speed is None else mean(made.speed).real,
        torque=None if made.torque is None else mean(made.torque).real,
        noise={name: value / sqrt(many) for name, value in made.noise.items()},
        steps=tuple(steps),
    )

"""A recording written by slipwise itself: the electrical transient, sampled, with noise and digital steps.

For examples, lectures and tests of the fit; such a recording says in its head that it was simulated.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np

from slipwise.identify.recording import Channel, Kind, Recording, recording_of
from slipwise.quantity.errors import InputError
from slipwise.results.series import Array
from slipwise.solve.plan import Drive, Plan
from slipwise.solve.transient.starts import transient

SOURCE = "simulated by slipwise"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorder:
    """How the invented recorder works.

    rate: samples a second [1/s].   noise: standard deviation of each channel over its greatest value.
    bits: of the converter over twice the full scale; 0: none.   headroom: full scale over the greatest value.
    before: recorded before switching on [s].   speed, torque: whether they are recorded; torque is that on the load's shaft.
    """

    rate: float = 5000.0
    noise: float = 0.01
    bits: int = 12
    headroom: float = 1.2
    before: float = 0.04
    speed: bool = True
    torque: bool = False

    def __post_init__(self) -> None:
        """Refuses what no recorder does."""
        for name in ("rate", "headroom"):
            value = getattr(self, name)
            if not (isfinite(value) and value > 0):
                raise InputError.of(f"recorder.{name}", value, "must be above zero", "give a positive number")
        if not (0 <= self.noise < 1 and 0 <= self.bits <= 32 and 0 <= self.before < 100):
            shown = f"noise {self.noise}, bits {self.bits}, before {self.before}"
            raise InputError.of("recorder", shown, "no recorder is like that", "noise below 1, up to 32 bits")


def simulated(
    plan: Plan,
    drive: Drive,
    *,
    recorder: Recorder | None = None,
    seed: int = 1,
    switching_angle: float = 0.7,
    max_time: float = 120.0,
) -> Recording:
    """Records a start that is computed as an electrical transient.

    Args:
        plan, drive: the stages and what they act on; the supply path makes the voltage sag.
        recorder: None takes the usual one.   seed: of the noise.   switching_angle: [rad]   max_time: [s]

    Raises:
        InputError: as `transient`.
    """
    machine = recorder or Recorder()
    rng = np.random.default_rng(seed)
    end = float(transient(plan, drive, switching_angle=switching_angle, points=2, max_time=max_time).time[-1])
    count = int(end * machine.rate) + 1
    run = transient(plan, drive, switching_angle=switching_angle, points=count, max_time=max_time)
    time = np.linspace(0.0, end, count)
    rows: list[tuple[str, Kind, str, Array]] = []
    for kind, letter, table in (
        (Kind.VOLTAGE, "u", run.terminal_voltages),
        (Kind.CURRENT, "i", run.line_currents),
    ):
        rows += [(f"{letter}{phase}", kind, phase, table[i]) for i, phase in enumerate("abc")]
    if machine.speed:
        rows.append(("speed", Kind.SPEED, "", run.speed))
    if machine.torque:
        share = drive.motor.inertia / drive.inertia
        rows.append(("shaft torque", Kind.TORQUE, "", run.torque + share * (run.load - run.torque)))
    quiet = round(machine.before * machine.rate)
    step = end / (count - 1)
    channels = tuple(
        _recorded(name, kind, phase, np.concatenate([np.zeros(quiet), np.interp(time, run.time, y)]), machine, rng)
        for name, kind, phase, y in rows
    )
    stamps: Array = step * np.arange(quiet + count, dtype=np.float64)
    return recording_of(stamps, channels, SOURCE)


def _recorded(name: str, kind: Kind, phase: str, values: Array, machine: Recorder, rng: np.random.Generator) -> Channel:
    top = float(np.abs(values).max()) or 1.0
    noisy = values + machine.noise * top * rng.standard_normal(values.size)
    if not machine.bits:
        return Channel(name=name, kind=kind, phase=phase, values=noisy)
    step = 2 * machine.headroom * top / 2**machine.bits
    full = 2 ** (machine.bits - 1)
    counts = np.clip(np.rint(noisy / step), -full, full - 1)
    return Channel(name=name, kind=kind, phase=phase, values=counts * step, resolution=step)


def running_rms(recording: Recording, *, frequency: float, step: float) -> Recording:
    """Waveforms as a recorder of rms values would keep them: rms over one cycle, one value every `step`.

    Args:
        recording: evenly sampled waveforms.   frequency: of the line. [Hz]   step: between values. [s]
    """
    time = recording.time
    dt = float(time[1] - time[0])
    many, skip = max(1, round(1 / frequency / dt)), max(1, round(step / dt))
    at = np.arange(many - 1, time.size, skip)
    channels = []
    for channel in recording.channels:
        if channel.kind in (Kind.VOLTAGE, Kind.CURRENT):
            mean = np.convolve(channel.values**2, np.ones(many) / many, mode="full")[: time.size]
            values, name, rms = np.sqrt(np.maximum(mean, 0.0))[at], f"{channel.name} rms", True
        else:
            values, name, rms = channel.values[at], channel.name, False
        channels.append(Channel(name=name, kind=channel.kind, phase=channel.phase, values=values, rms=rms))
    return recording_of(time[at], tuple(channels), recording.source)

"""Small recorded starts shared by the tests: an invented 22 kW hoist motor on a supply that sags."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import pi

import numpy as np

from slipwise.identify.recording import Channel, Recording, recording_of
from slipwise.identify.recording_simulated import Recorder, simulated
from slipwise.identify.records import Plate
from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import Motor, Rating
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.solve.plan import Drive, Stage, elapsed, settled

RATING = Rating(
    power=22e3, voltage=400.0, frequency=50.0, poles=4, speed=1465 * pi / 30, current=41.0, connection="delta",
    power_factor=0.84, efficiency=0.92,
)  # fmt: skip
CIRCUIT = Circuit(
    frequency=50.0, R1=0.19, X1=0.42, Xm=13.5, Rfe=450.0,
    rotor=(RotorBranch(R=0.16, X=0.72), RotorBranch(R=0.75, X=0.35)),
)  # fmt: skip
MOTOR = Motor(rating=RATING, inertia=0.16, circuit=CIRCUIT, stray=180.0)
LOAD = Load(
    terms=(PowerTerm(coefficient=25.0, exponent=0), PowerTerm(coefficient=60.0, exponent=2)),
    base_speed=RATING.synchronous_speed, inertia=0.5,
)  # fmt: skip
SUPPLY = SupplyPath(
    voltage=405.0,
    frequency=50.0,
    links=(Link(name="n", kind="network", impedance=0.05 + 0.09j, busbar=Busbar(name="terminals", nominal=400.0)),),
)
DRIVE = Drive(motor=MOTOR, load=LOAD, supply=SUPPLY)
PLATE = Plate(power=22e3, voltage=400.0, frequency=50.0, poles=4, connection="delta", speed=RATING.speed, current=41.0)
START = (Stage(name="running", until=settled()),)
AND_COAST = (Stage(name="running", until=elapsed(0.85)), Stage(name="off", until=elapsed(0.9), connected=False))


@cache
def start(noise: float = 0.01, bits: int = 12, *, coast: bool = False, torque: bool = False) -> Recording:
    """The start with its sag, as waveforms at 5 kHz."""
    recorder = Recorder(noise=noise, bits=bits, torque=torque)
    return simulated(AND_COAST if coast else START, DRIVE, recorder=recorder, seed=3)


def without(recording: Recording, *names: str) -> Recording:
    """The recording without some channels."""
    return replace(recording, channels=tuple(c for c in recording.channels if c.name not in names))


def changed(recording: Recording, name: str, change: object) -> Recording:
    """The recording with one channel's values passed through `change`."""
    assert callable(change)
    channels = tuple(
        replace(c, values=np.asarray(change(c.values.copy()), dtype=float)) if c.name == name else c
        for c in recording.channels
    )
    return replace(recording, channels=channels)


def renamed(recording: Recording, names: dict[str, str]) -> Recording:
    """The recording with channels named, and taken for, others: {"ia": "ib"} says that what was a is now called b."""
    channels: list[Channel] = []
    for channel in recording.channels:
        name = names.get(channel.name, channel.name)
        channels.append(replace(channel, name=name, phase=name[1:] if channel.phase else ""))
    return recording_of(recording.time, tuple(channels), recording.source)

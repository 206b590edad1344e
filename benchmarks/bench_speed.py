"""Speed control in a warm process: a duty of eight points by every way, and families of curves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

import numpy as np

from benchmarks.page import section
from slipwise import load
from slipwise.methods.speed import SPEED
from slipwise.methods.speed.way import SpeedTask, SpeedWay
from slipwise.model.load.system import speed_for, torque_at
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import operating_point
from slipwise.quantity.errors import InputError
from slipwise.results.speed import DutyPoint
from slipwise.solve.converter_feed import Feed, Hold
from slipwise.study.model import Study
from slipwise.study.request import WayRequest
from slipwise.study.speed.run import run_speed
from slipwise.study.speed.way import asked_of

EXAMPLES = Path(__file__).parent.parent / "examples"
RUNS = 5
DUTY_TARGET, FAMILY_TARGET = 0.5, 0.020  # s
CURVES, POINTS = 60, 500
FLOWS = (0.45, 0.53, 0.61, 0.69, 0.77, 0.85, 0.93, 0.99)
SPEEDS = (500, 570, 640, 710, 780, 850, 920, 975)  # r/min


def timed(work: Callable[[], Any]) -> float:
    """Median seconds of several runs, after one that warms up."""
    work()
    times = []
    for _ in range(RUNS):
        begin = perf_counter()
        work()
        times.append(perf_counter() - begin)
    return median(times)


def eight(name: str) -> Study:
    """An example with all ways and a duty of eight points: by flow where it has a pump or fan, by speed otherwise."""
    study = load(EXAMPLES / f"{name}.toml")
    assert study.speed is not None
    ways = tuple(WayRequest(key=way.key, given={}) for way in SPEED)
    return replace(study, speed=replace(study.speed, ways=ways, duty=_duty(study), variants=()))


def _duty(study: Study) -> tuple[DutyPoint, ...]:
    assert study.speed is not None
    process = study.speed.process
    if process is None:
        torque = 0.7 * study.motor.rating.torque
        points = [(f"{n} r/min", n * pi / 30, torque, None) for n in SPEEDS]
    else:
        relative = [(q, float(speed_for(process, q))) for q in FLOWS]
        points = [(f"{q:.0%}", n * process.machine.speed, float(torque_at(process, n, q)), q) for q, n in relative]
    return tuple(
        DutyPoint(name=name, speed=speed, torque=torque, hours=1000.0, flow=flow, useful=speed * torque)
        for name, speed, torque, flow in points
    )


def designed(study: Study) -> tuple[SpeedTask, list[SpeedWay]]:
    """The task and every way that this motor can have."""
    assert study.speed is not None
    task = asked_of(study, study.speed, ()).task
    found: list[SpeedWay] = []
    for way in SPEED:
        try:
            found.append(way.designed_for(task, {}).way)
        except InputError:
            continue
    return task, found


def all_points(task: SpeedTask, ways: list[SpeedWay]) -> int:
    """Every way at every demand."""
    return sum(len([way.point(task, duty) for duty in task.duty]) for way in ways)


def by_frequency(motor: Motor) -> Any:
    """60 frequencies by 500 speeds each at constant air-gap flux: torque and current."""
    feed = Feed.of(motor)
    frequency, slip = np.meshgrid(np.linspace(2.0, 60.0, CURVES), np.linspace(-2.0, 8.0, POINTS), indexing="ij")
    return feed.at(frequency, slip, feed.gap_voltage * frequency / motor.rating.frequency, Hold.AIR_GAP)


def by_voltage(motor: Motor) -> Any:
    """60 voltages by 500 slips each at rated frequency."""
    rating = motor.rating
    assert motor.circuit is not None
    volts, slip = np.meshgrid(np.linspace(0.1, 1.0, CURVES), np.linspace(0.0, 1.0, POINTS), indexing="ij")
    volts = volts * rating.phase_voltage
    return operating_point(motor.circuit, slip, volts, rating.frequency, rating.synchronous_speed)


def by_resistance(motor: Motor) -> Any:
    """60 resistances on the slip rings by 500 slips each."""
    rating = motor.rating
    assert motor.circuit is not None
    slip = np.linspace(0.0, 1.0, POINTS)
    rotor = motor.circuit.rotor[0].R
    return [
        operating_point(
            motor.circuit, slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed, external=k * rotor
        )
        for k in np.linspace(0.0, 20.0, CURVES)
    ]


def families() -> str:
    """60 curves of 500 points, three kinds."""
    pump, crusher = (load(EXAMPLES / f"{name}.toml").motor for name in ("pump_p3_year", "crusher_k1_year"))
    work = {
        "frequencies at constant air-gap flux, two cages": lambda: by_frequency(pump),
        "voltages at rated frequency, two cages": lambda: by_voltage(pump),
        "resistances on the slip rings": lambda: by_resistance(crusher),
    }
    rows = [(name, f"{1e3 * timed(run):.1f}") for name, run in work.items()]
    note = f"{CURVES} curves of {POINTS} points: torque, currents, losses. Target {1e3 * FAMILY_TARGET:.0f} ms."
    return section("Families of curves", ("family", "ms"), rows, note)


def duty_row(name: str) -> tuple[str, ...]:
    """One example: how many ways apply, the points alone, and everything that a study computes with them."""
    study = eight(name)
    task, ways = designed(study)
    points, whole = timed(lambda: all_points(task, ways)), timed(lambda: run_speed(study))
    return name, str(len(ways)), f"{points:.3f}", f"{whole:.3f}"


def sections() -> list[str]:
    """The duty by all ways, whole and its points alone; families."""
    rows = [duty_row(name) for name in ("pump_p3_year", "fan_v4", "crusher_k1_year")]
    note = (
        f"Median of {RUNS} runs. All else: design, families, envelopes, changes of speed, ratings, verdicts. "
        f"Target for the points: {DUTY_TARGET:g} s."
    )
    columns = ("example", "ways that apply", "8 points by each, s", "with all else, s")
    return [section("Speed control: a duty of eight points by every way", columns, rows, note), families()]

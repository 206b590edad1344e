"""Recorded starts: inertia and load torque found again.

Invented motors (2 to 500 kW, 2 to 8 poles, 50 and 60 Hz, double cage) start an invented load on a supply that sags; the
electrical transient is recorded as waveforms with 1 % noise on every channel (of the channel's greatest value) and 12 bits,
and fitted. The fit is told power, voltage, frequency, poles and connection of the motor and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import exp, sqrt
from time import perf_counter

import numpy as np

from benchmarks import page
from slipwise.identify.plate import fit_plate
from slipwise.identify.recording_simulated import Recorder, running_rms, simulated
from slipwise.identify.records import Plate
from slipwise.identify.start_fit import StartFit, fit_start
from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.circuit import RotorBranch
from slipwise.model.machine.motor import MechanicalLoss, Motor
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.quantity.errors import InputError
from slipwise.results.start import Outcome
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.transient.starts import transient

COUNT, SEED = 200, 2025
LONGEST = 4.0  # s: longer starts are passed over, to keep the evidence short
PLAN = (Stage(name="running", until=settled()),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One invented start: what the fit is told, and the truth. torque: resisting, friction counted in, at full speed. [N m]"""

    plate: Plate
    drive: Drive
    sag: float

    @property
    def inertia(self) -> float:
        return self.drive.inertia

    def torque(self, speed: float) -> float:
        """Resisting torque at the shaft. [N m]"""
        motor = self.drive.motor
        return float(self.drive.load.running(speed)) + float(motor.mechanical_torque(speed))


def invent(rng: np.random.Generator) -> Case:
    """One start that arrives within the time allowed."""
    while True:
        frequency = float(rng.choice([50.0, 60.0]))
        plate = Plate(
            power=float(10 ** rng.uniform(np.log10(2e3), np.log10(5e5))),
            voltage=400.0 if frequency == 50 else 460.0,
            frequency=frequency,
            poles=int(rng.choice([2, 4, 6, 8])),
            connection="delta",
        )
        motor = _moved(fit_plate(plate).motor, rng)
        rated = motor.rating.torque
        still, moving = rng.uniform(0.03, 0.4), rng.uniform(0.1, 0.6)
        load = Load(
            terms=(PowerTerm(coefficient=still * rated, exponent=0), PowerTerm(coefficient=moving * rated, exponent=2)),
            base_speed=motor.rating.synchronous_speed,
            inertia=motor.inertia * float(rng.uniform(0.5, 6)),
        )
        strength = float(rng.uniform(12, 40))  # fault level over rated apparent power
        apparent = sqrt(3) * plate.voltage * motor.rating.current
        impedance = plate.voltage**2 / (strength * apparent) * np.exp(1j * rng.uniform(0.6, 1.4))
        busbar = Busbar(name="terminals", nominal=plate.voltage)
        link = Link(name="network", kind="network", impedance=complex(impedance), busbar=busbar)
        supply = SupplyPath(voltage=plate.voltage * float(rng.uniform(0.98, 1.05)), frequency=frequency, links=(link,))
        drive = Drive(motor=motor, load=load, supply=supply)
        run = transient(PLAN, drive, points=200, max_time=LONGEST)
        if run.outcome is Outcome.ARRIVED:
            sag = 1 - abs(1 / (1 + impedance / (plate.voltage**2 / (6 * apparent))))
            return Case(plate=plate, drive=drive, sag=float(sag))


def _moved(motor: Motor, rng: np.random.Generator) -> Motor:
    """The motor with every circuit value off by a fifth or so, stray loss too, friction with the square of speed."""
    assert motor.circuit is not None
    c = motor.circuit

    def off(value: float, spread: float = 0.2) -> float:
        return value * exp(float(rng.normal(0, spread)))

    rotor = tuple(RotorBranch(R=off(b.R), X=off(b.X)) for b in c.rotor)
    circuit = replace(c, R1=off(c.R1), X1=off(c.X1), Xm=off(c.Xm), Rfe=off(c.Rfe, 0.5), rotor=rotor)
    loss = MechanicalLoss(torque=motor.mechanical_loss.torque, exponent=2.0)
    return replace(motor, circuit=circuit, stray=off(motor.stray, 0.5), mechanical_loss=loss)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What one fit was off by: relative errors, whether the joint 95 % region holds the truth, and each range by itself."""

    inertia: float
    torque: float
    joint: bool
    single: tuple[bool, bool]
    seconds: float


def trial(case: Case, seed: int, *, speed: bool = True, rms: bool = False) -> Found:
    """Records one start and fits it."""
    recording = simulated(PLAN, case.drive, recorder=Recorder(speed=speed), seed=seed, max_time=LONGEST)
    if rms:
        recording = running_rms(recording, frequency=case.plate.frequency, step=0.01)
    begin = perf_counter()
    fit = fit_start(recording, case.plate)
    return _compared(case, fit, perf_counter() - begin)


def _compared(case: Case, fit: StartFit, seconds: float) -> Found:
    region = fit.result.region
    truth = np.array([case.inertia, case.torque(float(fit.result.speed[-1]))])
    error = (region.centre - truth) / truth
    reach = 1.96 * np.sqrt(np.diag(region.covariance))
    inside = np.abs(region.centre - truth) <= reach
    return Found(
        inertia=float(error[0]),
        torque=float(error[1]),
        joint=region.holds(float(truth[0]), float(truth[1])),
        single=(bool(inside[0]), bool(inside[1])),
        seconds=seconds,
    )


def trials(count: int, seed: int, *, speed: bool = True, rms: bool = False) -> Iterator[Found | str]:
    """Many trials; a refusal is its message."""
    rng = np.random.default_rng(seed)
    for i in range(count):
        case = invent(rng)
        try:
            yield trial(case, seed + i, speed=speed, rms=rms)
        except InputError as error:
            yield str(error)


def sections() -> list[str]:
    """The page."""
    whole = list(trials(COUNT, SEED))
    parts = [_table("Waveforms with recorded speed", whole)]
    parts.append(_table("Waveforms without speed", list(trials(COUNT // 4, SEED + 1, speed=False))))
    parts.append(_table("Running rms values every 10 ms, with speed", list(trials(COUNT // 4, SEED + 2, rms=True))))
    return parts


def _table(title: str, outcomes: list[Found | str]) -> str:
    found = [row for row in outcomes if isinstance(row, Found)]
    refused = [row for row in outcomes if isinstance(row, str)]
    inertia, torque = np.array([row.inertia for row in found]), np.array([row.torque for row in found])
    rows = [
        ("starts", len(outcomes)),
        ("refused", f"{len(refused)}" + (f": {refused[0]}" if refused else "")),
        ("error of inertia, median size", f"{100 * np.median(np.abs(inertia)):.2f} %"),
        ("the same, 95 of 100", f"{100 * np.quantile(np.abs(inertia), 0.95):.2f} %"),
        ("error of load torque at full speed, median size", f"{100 * np.median(np.abs(torque)):.2f} %"),
        ("the same, 95 of 100", f"{100 * np.quantile(np.abs(torque), 0.95):.2f} %"),
        ("both inside the joint 95 % region", f"{100 * np.mean([row.joint for row in found]):.1f} %"),
        ("inertia inside its 95 % range", f"{100 * np.mean([row.single[0] for row in found]):.1f} %"),
        ("torque inside its 95 % range", f"{100 * np.mean([row.single[1] for row in found]):.1f} %"),
        ("time of one fit: median", f"{np.median([row.seconds for row in found]):.1f} s"),
    ]
    note = (
        f"Seed {SEED}. Sampled at 5 kHz; the truth is computed by the transient solver, whose equations the fit shares."
    )
    return page.section(title, ("", "value"), rows, note)

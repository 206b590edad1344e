"""The steady cycle of a running motor under a load that repeats (a press with a flywheel, a compressor)."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from slipwise.model.load.load import Load, PowerTerm
from slipwise.quantity.errors import InputError
from slipwise.results.duty import DutyCycle
from slipwise.results.ledger import Ledger, LedgerRow
from slipwise.results.start import Outcome, RunUp
from slipwise.solve.plan import Drive, Stage, elapsed
from slipwise.solve.run_up import run_up

_CYCLES = 60
_SETTLED = 1e-9  # of synchronous speed, from one cycle's begin to its end


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulse:
    """A piece of a duty cycle: `torque` (N m, at the motor shaft, added to the drive's own load) for `seconds`."""

    seconds: float
    torque: float


def steady_cycle(drive: Drive, stage: Stage, pulses: tuple[Pulse, ...], inertia: float = 0.0) -> DutyCycle:
    """The cycle that repeats itself: speed at its end equals speed at its beginning.

    inertia: of a flywheel at the motor shaft, added to the drive's. [kg m2]

    The speed at the beginning is found by secant iteration on the whole cycle.

    Raises:
        InputError: a pulse is not positive in time, or the motor is dragged below its breakdown speed and stays there.

    Source: equation of motion over one period (Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 2).
    """
    for pulse in pulses:
        if not pulse.seconds > 0:
            raise InputError.of("duty.seconds", pulse.seconds, "must be above zero", "give a time in seconds")
    flywheel = replace(drive, load=replace(drive.load, inertia=drive.load.inertia + inertia))
    speed = flywheel.motor.rating.speed
    sync = flywheel.motor.rating.synchronous_speed
    before: tuple[float, float] | None = None
    for _ in range(_CYCLES):
        runs = _one_cycle(flywheel, stage, pulses, speed)
        gap = runs[-1].final_speed - speed
        if abs(gap) < _SETTLED * sync:
            break
        step = gap if before is None or before[1] == gap else -gap * (speed - before[0]) / (gap - before[1])
        before = (speed, gap)
        speed = float(np.clip(speed + step, 0.3 * sync, 1.05 * sync))
    else:
        reason = "the motor does not come back to the same speed each cycle: it is dragged down and stays there"
        raise InputError.of("duty", f"{len(pulses)} pulses", reason, "lessen the pulse, or add flywheel or motor")
    return _answer(flywheel, runs)


def _one_cycle(drive: Drive, stage: Stage, pulses: tuple[Pulse, ...], speed: float) -> list[RunUp]:
    runs = []
    for pulse in pulses:
        load = _with_pulse(drive.load, pulse.torque)
        plan = (replace(stage, until=elapsed(pulse.seconds)),)
        runs.append(run_up(plan, replace(drive, load=load), speed=speed))
        speed = runs[-1].final_speed
        if runs[-1].outcome is Outcome.STALLED:
            raise InputError.of(
                "duty.torque", pulse.torque, "stalls the motor", "lessen the pulse, or add flywheel or motor"
            )
    return runs


def _with_pulse(load: Load, torque: float) -> Load:
    return replace(load, terms=(*load.terms, PowerTerm(coefficient=torque, exponent=0)))


def _answer(drive: Drive, runs: list[RunUp]) -> DutyCycle:
    begins = np.cumsum([0.0] + [run.time[-1] for run in runs])
    time = np.concatenate([run.time + begin for run, begin in zip(runs, begins, strict=False)])
    joined = {n: np.concatenate([getattr(r, n) for r in runs]) for n in ("speed", "torque", "load", "line_current")}
    period = float(begins[-1])
    heat = sum(run.current_heat for run in runs) * drive.motor.rating.current**2
    rows = _summed([run.energy for run in runs])
    lost = sum(r.energy for r in rows if r.side == "lost" and "impedance" not in r.name and "resistors" not in r.name)
    return DutyCycle(
        period=period,
        time=time,
        rms_current=(heat / period) ** 0.5,
        peak_torque=float(np.max(joined["torque"])),
        mean_loss=lost / period,
        lowest_speed=float(np.min(joined["speed"])),
        highest_speed=float(np.max(joined["speed"])),
        residual=float(joined["speed"][-1] - joined["speed"][0]) / drive.motor.rating.synchronous_speed,
        energy=Ledger(rows=rows),
        **joined,
    )


def _summed(ledgers: list[Ledger]) -> tuple[LedgerRow, ...]:
    first = ledgers[0].rows
    return tuple(replace(row, energy=sum(ledger.get(row.name) for ledger in ledgers)) for row in first)

"""Order sheet of a resistor bank: ohms and heat of every section, and the bank as a body that warms in starts in a row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, expm1, inf, log1p, sqrt

import numpy as np

from slipwise.limits.judge import judge
from slipwise.limits.records import by_stage
from slipwise.model.thermal.network import Body, Path, ThermalNetwork
from slipwise.quantity.formula import Formula
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.protection_devices import BankOrder, BankSection
from slipwise.results.series import Array
from slipwise.results.start import RunUp, StageMark
from slipwise.solve import steady
from slipwise.solve.heat import Piece, heat
from slipwise.solve.plan import Drive, Plan

HOUR = 3600.0
BANK = "resistor bank"
MEAN_POWER = Formula(
    key="limits.bank_power",
    title="Mean power of a resistor bank",
    symbol="P",
    expression="W * z / 3600",
    units={"W": "J", "z": "1/h"},
    source="definition",
    validity="starts evenly spread over the hour",
    result_unit="W",
)
HEAT_CAPACITY = Formula(
    key="limits.bank_heat_capacity",
    title="Heat capacity that holds the rise of starts in a row",
    symbol="C",
    expression="W * q / dtheta",
    units={"W": "J", "q": "", "dtheta": "K"},
    source="one body: heat of a start spread over its length, cooling in and between the starts",
    validity="q: rise of the row per unit of the rise of one start without cooling",
    result_unit="J/K",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BankTask:
    """What the bank is ordered for. heat_capacity: J/K, None to be found; rise K; ambient degC; times s."""

    heat_capacity: float | None
    time_constant: float
    rise: float
    ambient: float
    starts: int
    rest: float
    starts_per_hour: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """A stage with the bank in circuit. ohms: of the bank a phase, as built, star; current: rms A over time, shape (n,)."""

    name: str
    ohms: float
    time: Array
    current: Array

    @property
    def squared(self) -> float:
        """Integral of current squared. [A2 s]"""
        return float(np.trapezoid(self.current**2, self.time))

    @property
    def seconds(self) -> float:
        return float(self.time[-1] - self.time[0])


def bank_order(plan: Plan, drive: Drive, run_up: RunUp, task: BankTask) -> BankOrder | None:
    """The bank of a start with resistors on the slip rings or in the lines; None when the plan has neither.

    drive, run_up: of the same case. The current of each stage is solved again at the speeds of the run-up.
    """
    ratio = drive.motor.wound_ratio
    rotor = [stage for stage in plan if stage.rotor_external > 0]
    if rotor and ratio is not None:
        where, pieces = "rotor", tuple(_rotor(plan, drive, run_up, ratio))
    else:
        where, pieces = "line", tuple(_lines(plan, run_up))
    if not pieces:
        return None
    sections = _sections(pieces)
    energy = sum(3 * piece.ohms * piece.squared for piece in pieces)
    seconds = sum(piece.seconds for piece in pieces)
    share = _row_rise(seconds, task)
    capacity = task.heat_capacity or energy * share / task.rise
    hourly = task.starts_per_hour
    return BankOrder(
        where=where,
        sections=sections,
        energy=energy,
        starts=task.starts,
        rest=task.rest,
        starts_per_hour=hourly,
        mean_power=None if hourly is None else energy * hourly / HOUR,
        heat_capacity=capacity,
        time_constant=task.time_constant,
        rise=task.rise,
        ambient=task.ambient,
        temperatures=temperatures(capacity, energy, seconds, task),
        limit=task.ambient + task.rise,
        given=task.heat_capacity is not None,
        stalled=_stalled(3 * pieces[0].ohms * float(pieces[0].current[0]) ** 2, capacity, task),
        case=run_up.case,
    )


def _rotor(plan: Plan, drive: Drive, run_up: RunUp, ratio: float) -> Iterator[_Piece]:
    for stage, (mark, inside) in zip(plan, by_stage(run_up), strict=False):
        if stage.rotor_external > 0:
            loss = np.asarray(steady.solve(drive, stage, run_up.speed[inside]).external_loss)
            referred = np.sqrt(np.maximum(loss, 0.0) / (3 * stage.rotor_external))
            yield _piece(mark, run_up.time[inside], stage.rotor_external / ratio**2, referred * ratio)


def _lines(plan: Plan, run_up: RunUp) -> Iterator[_Piece]:
    for stage, (mark, inside) in zip(plan, by_stage(run_up), strict=False):
        ohms = complex(stage.line_series).real
        if ohms > 0:
            yield _piece(mark, run_up.time[inside], ohms, run_up.line_current[inside])


def _piece(mark: StageMark, time: Array, ohms: float, current: Array) -> _Piece:
    """From the very beginning of the stage, where the first record stands a little after it."""
    return _Piece(
        name=mark.name,
        ohms=ohms,
        time=np.concatenate(([mark.begin], time)),
        current=np.concatenate((current[:1], current)),
    )


def ring_current(plan: Plan, drive: Drive, run_up: RunUp) -> Array | None:
    """Current in the slip rings along a start, rms A, shape (n,); None for a cage."""
    motor = drive.motor
    if motor.wound_ratio is None or motor.circuit is None:
        return None
    found = np.zeros_like(run_up.time)
    for stage, (_, inside) in zip(plan, by_stage(run_up), strict=False):
        loss = steady.solve(drive, stage, run_up.speed[inside]).rotor_loss
        found[inside] = np.sqrt(np.maximum(loss, 0.0) / (3 * motor.circuit.rotor[0].R)) * motor.wound_ratio
    return found


def _sections(pieces: Sequence[_Piece]) -> tuple[BankSection, ...]:
    """Ohms by what each change takes out; a section is heated in every stage until it is shorted."""
    left = [piece.ohms for piece in pieces] + [0.0]
    found = []
    for number, (before, after) in enumerate(pairwise(left)):
        through = pieces[: number + 1]
        squared = sum(piece.squared for piece in through)
        seconds = sum(piece.seconds for piece in through)
        found.append(
            BankSection(
                label=f"out after {pieces[number].name}",
                ohms=before - after,
                energy=3 * (before - after) * squared,
                seconds=seconds,
                rms=sqrt(squared / seconds) if seconds > 0 else 0.0,
                greatest=max(float(piece.current.max()) for piece in through),
            )
        )
    return tuple(found)


def _stalled(power: float, capacity: float, task: BankTask) -> float:
    """Seconds of constant `power` (W) from the ambient to the limit. Source: one body with exponential cooling, inverted."""
    share = capacity * task.rise / (power * task.time_constant)
    return inf if share >= 1 else -task.time_constant * log1p(-share)


def _row_rise(seconds: float, task: BankTask) -> float:
    """Rise at the end of the last start of the row, per unit of that of one start without cooling.

    Source: one body with exponential cooling, starts evenly spread: a geometric sum.
    """
    tau = task.time_constant
    one = -expm1(-seconds / tau) * tau / seconds
    kept = exp(-(seconds + task.rest) / tau)
    return one * sum(kept**n for n in range(task.starts))


def temperatures(capacity: float, energy: float, seconds: float, task: BankTask) -> tuple[float, ...]:
    """Temperature of the bank at the end of each start of the row, by the network of one body. [degC]"""
    conductance = capacity / task.time_constant
    network = ThermalNetwork(
        bodies=(Body(name=BANK, heat_capacity=capacity),),
        paths=(Path(begin=BANK, to="", running=conductance, standing=conductance),),
    )
    start: Array | None = None
    found = []
    for _ in range(task.starts):
        one = heat(
            network,
            [Piece(seconds=seconds, losses={BANK: energy / seconds}, cooling=1.0)],
            ambient=task.ambient,
            start=start,
            points=1,
        )
        found.append(float(one.final[0]))
        start = one.final
        if task.rest > 0:
            wait = [Piece(seconds=task.rest, losses={}, cooling=1.0)]
            start = heat(network, wait, ambient=task.ambient, start=start, points=1).final
    return tuple(found)


def bank_rows(found: BankOrder | None) -> tuple[Criterion, ...]:
    """A bank whose heat capacity is stated: its temperature after the starts in a row."""
    if found is None or not found.given:
        return ()
    return (
        judge(
            "bank_temperature",
            f"Resistor bank after {found.starts} starts in a row",
            {found.case: max(found.temperatures)},
            found.limit,
            unit="degC",
            sense=Sense.AT_MOST,
            source=f"rise of {show(found.rise, 'K')} over the air around it",
            span=found.rise,
        ),
    )

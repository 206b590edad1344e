"""From the kernel's flat vectors to a Transient: samples, marks, peaks, books, outcome."""

from __future__ import annotations

from dataclasses import dataclass
from types import ModuleType
from typing import Any

import numpy as np

from slipwise.results.ledger import Ledger, LedgerRow, Side
from slipwise.results.series import Array
from slipwise.results.start import Outcome, Peaks, StageMark, Transient
from slipwise.solve.plan import Drive, Plan
from slipwise.solve.run_up import running_from
from slipwise.solve.step import endless
from slipwise.solve.transient import kernel as k

_WORDS = {
    k.REACHED: "reached",
    k.TIMED: "time elapsed",
    k.SETTLED_DOWN: "settled",
    k.HELD: "held at rest",
    k.OVER: "time allowed is over",
    k.AWAY: "ran away",
}
_MOVED = 0.01  # of synchronous speed: a start that never got so far has not broken away
_NEAR_BREAKDOWN, _GRID = 0.1, 0.005  # of the breakdown slip, and in slip: so near, the torque curve decides
_PER_CYCLE = 12  # samples at least in a cycle of the source


Numbers = Array | list[float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class March:
    """One march as the kernel gives it: records (n, width), marks (stages, MARKS), energies, the answer and its quick row."""

    records: Array
    marks: Array
    energies: Array
    answer: Array
    quick: Array


def marched(module: ModuleType, deck: Array) -> March:
    """Run the kernel once.

    Raises:
        InputError: the march takes more steps than can be computed.
    """
    vectors = module.march(deck if module.COMPILED else deck.tolist())
    quick = module.room(k.QUICK)
    module.summed(vectors[1], vectors[3], quick, 0)
    records, marks, energies, answer = (np.asarray(v) for v in vectors)
    if answer[k.T_REASON] == k.ENDLESS:
        raise endless("its electrical transient takes more steps than can be computed")
    width = k.STEP_HEAD + 5 * (4 + 2 * int(deck[k.O_BRANCHES])) if deck[k.O_RECORD] else 4
    kept = int(answer[k.T_RECORDS])
    return March(
        records=records[: kept * width].reshape(kept, width),
        marks=marks.reshape(-1, k.MARKS)[: int(answer[k.T_STAGES])],
        energies=energies,
        answer=answer,
        quick=np.asarray(quick),
    )


def transient_of(module: ModuleType, deck: Array, plan: Plan, drive: Drive, *, case: str, points: int) -> Transient:
    """March and dress the answer."""
    march = marched(module, deck)
    time, columns = _samples(module, deck, march, points)
    outcome = outcome_of(deck, march.quick, plan, drive)
    final = float(march.answer[k.T_SPEED])
    arrived = outcome is Outcome.ARRIVED
    return Transient(
        case=case,
        switching_angle=float(deck[k.O_ANGLE]),
        outcome=outcome,
        run_up_time=last_rise(time, columns[k.V_SPEED], 0.99 * final) if arrived else None,
        final_speed=final,
        time=time,
        speed=columns[k.V_SPEED],
        torque=columns[k.V_TORQUE],
        load=columns[k.V_LOAD],
        line_currents=columns[k.V_LINE : k.V_LINE + 3],
        winding_currents=columns[k.V_WINDING : k.V_WINDING + 3],
        terminal_voltages=columns[k.V_VOLTAGE : k.V_VOLTAGE + 3],
        stages=_stage_marks(march, plan),
        peaks=overall([peaks_of(mark) for mark in march.marks]),
        stage_peaks=tuple(peaks_of(mark) for mark in march.marks),
        energy=_ledger(march),
        steps=int(march.answer[k.T_STEPS]),
    )


def _samples(module: ModuleType, deck: Array, march: March, points: int) -> tuple[Array, Array]:
    """Evenly spaced times with the moments of switching added, and what happens at them, shape (SAMPLE, n)."""
    end = float(march.answer[k.T_END])
    cycles = end * deck[k.O_OMEGA] / (2 * np.pi)
    even = np.linspace(0.0, end, max(points, int(cycles * _PER_CYCLE) + 1, 2))
    edges = march.marks[:, k.M_BEGIN]
    time = np.unique(np.concatenate([even, edges, np.maximum(edges - 1e-9, 0.0)]))
    vectors: list[Any] = [march.records.ravel(), time, deck]
    if not module.COMPILED:
        vectors = [v.tolist() for v in vectors]
    out = np.asarray(module.sample(vectors[0], march.records.shape[0], vectors[1], vectors[2]))
    return time, out.reshape(time.size, k.SAMPLE).T.copy()


def _stage_marks(march: March, plan: Plan) -> tuple[StageMark, ...]:
    return tuple(
        StageMark(
            name=stage.name,
            begin=float(mark[k.M_BEGIN]),
            end=float(mark[k.M_END]),
            end_speed=float(mark[k.M_SPEED]),
            reason=_WORDS[float(mark[k.M_REASON])],
            contacts=stage.contacts,
        )
        for stage, mark in zip(plan, march.marks, strict=False)
    )


def peaks_of(mark: Array) -> Peaks:
    """The extremes of one stage."""
    return Peaks(
        torque_max=float(mark[k.M_TMAX]),
        torque_max_time=float(mark[k.M_TMAX_AT]),
        torque_min=float(mark[k.M_TMIN]),
        torque_min_time=float(mark[k.M_TMIN_AT]),
        line_current=float(mark[k.M_LINE]),
        line_current_time=float(mark[k.M_LINE_AT]),
        line_current_phase="abc"[int(mark[k.M_PHASE])],
        winding_current=float(mark[k.M_WINDING]),
    )


def overall(stages: list[Peaks]) -> Peaks:
    """The extremes over all stages."""
    high = max(stages, key=lambda p: p.torque_max)
    low = min(stages, key=lambda p: p.torque_min)
    line = max(stages, key=lambda p: p.line_current)
    return Peaks(
        torque_max=high.torque_max,
        torque_max_time=high.torque_max_time,
        torque_min=low.torque_min,
        torque_min_time=low.torque_min_time,
        line_current=line.line_current,
        line_current_time=line.line_current_time,
        line_current_phase=line.line_current_phase,
        winding_current=max(p.winding_current for p in stages),
    )


def outcome_of(deck: Numbers, row: Numbers, plan: Plan, drive: Drive) -> Outcome:
    """How a start ended, from its quick row, by the rules of the run-up.

    A twitch under the first torque swings is not a breakaway.
    """
    reason, speed = float(row[k.Q_REASON]), float(row[k.Q_SPEED])
    if reason in (k.OVER, k.ENDLESS):
        return Outcome.UNFINISHED
    if reason == k.AWAY:
        return Outcome.RUNS_AWAY
    synchronous = drive.motor.rating.synchronous_speed
    if abs(speed) <= 1e-6 * synchronous:
        return Outcome.STALLED if row[k.Q_TOP] > _MOVED * synchronous else Outcome.NEVER_MOVED
    if int(row[k.Q_STAGES]) != len(plan) or reason not in (k.SETTLED_DOWN, k.TIMED, k.REACHED):
        return Outcome.HANGS
    running = _surely_running(deck, speed)
    if running is None:
        running = speed >= running_from(plan[-1], drive)
    return Outcome.ARRIVED if running else Outcome.HANGS


def _surely_running(deck: Numbers, speed: float) -> bool | None:
    """Whether one cage without laws is below its breakdown slip R2 / |Z + j X2|; None for others, and near it.

    Z: of the loop and the magnetising branch in parallel. Spares the torque curve in the usual case. Friction and stray
    loss move the breakdown a little, hence the distance kept.

    Source: Chapman, Electric Machinery Fundamentals, 4th ed., ch. 7 (breakdown slip by the Thevenin circuit).
    """
    width = k.BRANCHES + k.PER_BRANCH * int(deck[k.O_BRANCHES])
    last = int(deck[k.O_TABLE]) + (int(deck[k.O_STAGES]) - 1) * width
    row = deck[last : last + width]
    if deck[k.O_BRANCHES] != 1 or row[k.LAWS] > 0 or row[k.CONNECTED] == 0 or row[k.OMEGA] <= 0:
        return None
    omega = float(row[k.OMEGA])
    loop = complex(row[k.R_LOOP] + row[k.R_PATH], omega * (row[k.L_LOOP] + row[k.L_PATH]))
    seen = 1 / (1 / loop + complex(row[k.G_CORE], -row[k.INV_LM] / omega))
    rotor = row[k.BRANCHES] + row[k.BRANCHES + k.EXTERNAL]
    breakdown = rotor / abs(seen + complex(0.0, omega / row[k.BRANCHES + k.INVERSE]))
    slip = 1 - row[k.POLES] * speed / omega
    if abs(slip - breakdown) < _NEAR_BREAKDOWN * breakdown + _GRID:
        return None
    return bool(slip < breakdown)


def last_rise(time: Array, speed: Array, level: float) -> float:
    """Time at which `speed` last rose through `level`, straight between samples; 0 when it was above all along. [s]"""
    below = np.flatnonzero(speed < level)
    if below.size == 0:
        return float(time[0])
    i = min(int(below[-1]), time.size - 2)
    return float(np.interp(level, speed[i : i + 2], time[i : i + 2]))


def _ledger(march: March) -> Ledger:
    e, answer = march.energies, march.answer
    cages = [(f"rotor branch {i + 1}", heat, Side.LOST) for i, heat in enumerate(e[k.E_ROTOR :])]
    rows = [
        ("supplied by the equivalent source", e[k.E_SUPPLIED], Side.SUPPLIED),
        ("supply path", e[k.E_PATH], Side.LOST),
        ("series impedances", e[k.E_SERIES], Side.LOST),
        ("stator winding", e[k.E_STATOR], Side.LOST),
        ("core", e[k.E_CORE], Side.LOST),
        *cages,
        ("rotor resistors", e[k.E_EXTERNAL], Side.LOST),
        ("interruption", answer[k.T_INTERRUPTION], Side.LOST),
        ("friction and windage", e[k.E_MECHANICAL], Side.LOST),
        ("stray load loss", e[k.E_STRAY], Side.LOST),
        ("magnetic energy", answer[k.T_MAGNETIC], Side.STORED),
        ("kinetic energy", answer[k.T_KINETIC], Side.STORED),
        ("driven machine", e[k.E_LOAD], Side.SHAFT),
    ]
    return Ledger(rows=tuple(LedgerRow(name=n, energy=float(v), side=s) for n, v, s in rows))

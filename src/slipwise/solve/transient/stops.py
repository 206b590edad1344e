"""A stop as the electrical transient: the motor first runs connected, so that it carries its field when the stop begins."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
from numpy.typing import NDArray

from slipwise.quantity.errors import InputError
from slipwise.results.ledger import Ledger
from slipwise.results.start import Outcome, Peaks, StageMark, Transient, TransientBand
from slipwise.solve.plan import Drive, Plan, Stage, elapsed
from slipwise.solve.stop import REST
from slipwise.solve.transient.answer import overall, peaks_of, transient_of
from slipwise.solve.transient.engine import Engine, Note, kernel
from slipwise.solve.transient.starts import TOLERANCE, all_of, at_angle, bare, laid_out, scattered

LEAD = 1.0  # s connected before the stop: the swings of switching onto a dead machine are gone by then
SETTLING = 1.0  # s after which the currents of dc braking no longer swing
THINNED = 12  # samples of which one is kept then
AFTER = 0.25  # s followed once the motor is cut off for good


def stop_band(
    plan: Plan,
    drive: Drive,
    *,
    running: Stage | None,
    speed: float,
    case: str = "nominal",
    angles: int = 12,
    pause_scatter: float = 0.0,
    points: int = 2000,
    max_time: float = 120.0,
    tolerance: float = TOLERANCE,
    engine: Engine = "auto",
    note: Note | None = None,
) -> TransientBand:
    """The same stop begun at `angles` moments evenly over a turn of the source, the one with the greatest torque in full.

    Args:
        plan, drive: the stages of the stop, and what they act on. A last stage without supply is followed for AFTER only.
        running: how the motor is fed before; None for a dead machine that turns. speed: its running speed then. [rad/s]
        max_time: from the begin of the stop. [s]
        others: as `transient.band`.

    Returns:
        Times count from the begin of the stop; peaks and energies are those of the stop alone, whose books are the
        difference of two marches, with and without it.

    Raises:
        InputError: as `transient.transient`; no angles.

    Source: see `kernel.py`.
    """
    if angles < 1:
        raise InputError.of("angles", angles, "there is nothing to compare", "give a whole number above zero")
    module = kernel(engine, starts=angles, note=note)
    before = () if running is None else (replace(running, until=elapsed(LEAD)),)
    whole, lead = (*before, *_followed(plan)), len(before)
    deck = laid_out(whole, drive, LEAD + max_time, tolerance, speed)
    turn = np.linspace(0.0, 2 * pi, angles, endpoint=False)
    decks = [scattered(at_angle(deck, float(a)), whole, pause_scatter, i) for i, a in enumerate(turn)]
    marches = all_of(module, [bare(deck) for deck in decks], note)
    peaks = [overall([peaks_of(mark) for mark in march.marks[lead:]]) for march in marches]
    worst = max(range(angles), key=lambda i: max(peaks[i].torque_max, -peaks[i].torque_min))
    full = transient_of(module, decks[worst], whole, drive, case=case, points=points)
    spent = Ledger(rows=())
    if before:
        alone = at_angle(laid_out(before, drive, LEAD + max_time, tolerance, speed), float(turn[worst]))
        spent = transient_of(module, alone, before, drive, case=case, points=2).energy
    return TransientBand(
        angles=turn,
        torque_max=np.array([p.torque_max for p in peaks]),
        torque_min=np.array([p.torque_min for p in peaks]),
        line_current=np.array([p.line_current for p in peaks]),
        worst=_stop_alone(full, spent, whole, drive, lead),
    )


def _followed(plan: Plan) -> Plan:
    """The plan with its last stage shortened where nothing electrical happens in it."""
    last = plan[-1]
    return plan if last.connected else (*plan[:-1], replace(last, until=elapsed(AFTER)))


def _stop_alone(full: Transient, before: Ledger, plan: Plan, drive: Drive, lead: int) -> Transient:
    """The march without its lead."""
    begin = full.stages[lead].begin
    kept = (full.time >= begin) & _worth_keeping(full, plan)
    outcome = full.outcome
    if outcome is not Outcome.RUNS_AWAY:
        at_rest = abs(full.final_speed) <= REST * drive.motor.rating.synchronous_speed
        outcome = Outcome.STOPPED if at_rest else Outcome.UNFINISHED
    rows = [replace(row, energy=row.energy - before.get(row.name)) for row in full.energy.rows]
    peaks = tuple(_earlier(p, begin) for p in full.stage_peaks[lead:])
    return replace(
        full,
        outcome=outcome,
        run_up_time=None,
        time=full.time[kept] - begin,
        speed=full.speed[kept],
        torque=full.torque[kept],
        load=full.load[kept],
        line_currents=full.line_currents[:, kept],
        winding_currents=full.winding_currents[:, kept],
        terminal_voltages=full.terminal_voltages[:, kept],
        stages=tuple(_shifted(mark, begin) for mark in full.stages[lead:]),
        peaks=overall(list(peaks)),
        stage_peaks=peaks,
        energy=Ledger(rows=tuple(rows)),
    )


def _worth_keeping(full: Transient, plan: Plan) -> NDArray[np.bool_]:
    """Which samples to keep, shape of the time: under direct current, once it has settled in, one in THINNED."""
    kept = np.ones(full.time.size, dtype=bool)
    for stage, mark in zip(plan, full.stages, strict=False):
        if stage.dc is not None:
            inside = np.flatnonzero((full.time > mark.begin + SETTLING) & (full.time < mark.end - SETTLING))
            kept[inside] = inside % THINNED == 0
    return kept


def _earlier(peaks: Peaks, begin: float) -> Peaks:
    """Times from the begin of the stop; what never was (no current at all) keeps time zero."""
    return replace(
        peaks,
        torque_max_time=max(peaks.torque_max_time - begin, 0.0),
        torque_min_time=max(peaks.torque_min_time - begin, 0.0),
        line_current_time=max(peaks.line_current_time - begin, 0.0),
    )


def _shifted(mark: StageMark, begin: float) -> StageMark:
    return replace(mark, begin=mark.begin - begin, end=mark.end - begin)

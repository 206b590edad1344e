"""What is worth drawing and marking on the characteristics of a way, read off its curves and its nominal run-up."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from slipwise.quantity.show import in_display, show
from slipwise.results.series import Array
from slipwise.results.start import Curves, Outcome, RunUp
from slipwise.results.study import WayResult

JOINED = " and "  # between the names of stages, or of currents, that share a curve
MOST = 4  # changes marked


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A marked point of a characteristic: in rad/s and N m; symbol as the drawing library names it; stage: which curve."""

    speed: float
    value: float
    words: str
    symbol: str
    stage: int


def r_min(speed: Array | float) -> Array:
    """Speeds as plotted. [r/min]"""
    return np.asarray(in_display(1.0, "rad/s", "r/min") * np.asarray(speed, dtype=float))


def drawable(way: WayResult) -> WayResult:
    """The way with the stages that have something to draw: fed ones, those with the same characteristics under one name."""
    kept: list[Curves] = []
    for curve in way.curves:
        if _open(curve):
            continue
        same = next((n for n, other in enumerate(kept) if _same(other, curve)), None)
        if same is None:
            kept.append(curve)
        else:
            kept[same] = replace(kept[same], stage=f"{kept[same].stage}{JOINED}{curve.stage}")
    return replace(way, curves=tuple(kept) or way.curves[-1:])


def _open(curve: Curves) -> bool:
    """Whether the motor is cut off in this stage: no current and no driving torque at any speed."""
    return float(np.abs(curve.line_current).max(initial=0.0)) < 1e-9 and float(curve.torque.max(initial=0.0)) <= 0


def _same(first: Curves, second: Curves) -> bool:
    if first.speed.shape != second.speed.shape or not np.allclose(first.speed, second.speed):
        return False
    pairs = ((first.torque, second.torque), (first.line_current, second.line_current))
    return all(alike(one, two) for one, two in pairs)


def alike(first: Array, second: Array) -> bool:
    """Whether two curves would be drawn one over the other: within 1 %, or half a per cent of the greatest value."""
    trace = 0.005 * float(np.nanmax(np.abs(first), initial=1e-9))
    return bool(np.allclose(first, second, rtol=0.01, atol=trace, equal_nan=True))


def marks_of(way: WayResult) -> list[Mark]:
    """Where it runs or hangs, where stages change, where a stage alone would hang, and the breakdown torque."""
    run = way.run_ups[0] if way.run_ups else None
    last = len(way.curves) - 1
    marks = [_end_mark(way, run, last), *_change_marks(way, run)] if run is not None else []
    peak = way.curves[last]
    top = int(np.argmax(peak.torque))
    speed, torque = float(peak.speed[top]), float(peak.torque[top])
    if 0 < top < len(peak.speed) - 1:
        marks.append(Mark(speed=speed, value=torque, words=f"breakdown {show(torque, 'N m')}", symbol="^", stage=last))
    return marks


def _index(way: WayResult, stage: str) -> int | None:
    """Which curve belongs to a stage, also when several stages share it."""
    return next((n for n, curve in enumerate(way.curves) if stage in curve.stage.split(JOINED)), None)


def _end_mark(way: WayResult, run: RunUp, last: int) -> Mark:
    found = _index(way, run.stages[-1].name) if run.stages else None
    stage = last if found is None else found
    torque = float(np.interp(run.final_speed, way.curves[stage].speed, way.curves[stage].torque))
    speed = show(run.final_speed, "rad/s")
    told = {Outcome.ARRIVED: f"runs at {speed}", Outcome.HANGS: f"hangs at {speed}"}
    words = told.get(run.outcome, str(run.outcome.value))
    symbol = "o" if run.outcome is Outcome.ARRIVED else "s"
    return Mark(speed=run.final_speed, value=torque, words=words, symbol=symbol, stage=stage)


def _change_marks(way: WayResult, run: RunUp) -> list[Mark]:
    """Ends of the stages before the last, and the balance of torques at which a stage left alone would hang."""
    marks: list[Mark] = []
    for stage in run.stages[:-1]:
        number = _index(way, stage.name)
        if number is None:
            continue
        curve, speed = way.curves[number], stage.end_speed
        torque = float(np.interp(speed, curve.speed, curve.torque))
        words = f"leaves {stage.name} at {show(speed, 'rad/s')}"
        marks.append(Mark(speed=speed, value=torque, words=words, symbol="D", stage=number))
        crawl = crossing(curve)
        if crawl is not None and crawl < 0.97 * run.final_speed:
            value = float(np.interp(crawl, curve.speed, curve.load))
            words = f"{stage.name} alone hangs at {show(crawl, 'rad/s')}"
            marks.append(Mark(speed=crawl, value=value, words=words, symbol="s", stage=number))
    return marks[:MOST]


def crossing(curve: Curves) -> float | None:
    """The first speed at which torque falls to the load's, read off the curve; None if it never does. [rad/s]"""
    net = curve.torque - curve.load
    falls = np.flatnonzero((net[:-1] > 0) & (net[1:] <= 0))
    if not len(falls):
        return None
    n = int(falls[0])
    share = float(net[n] / (net[n] - net[n + 1]))
    return float(curve.speed[n] + share * (curve.speed[n + 1] - curve.speed[n]))

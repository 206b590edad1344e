"""Accelerating torque along the whole curve, stage by stage, only where the stage is in use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from slipwise.limits.judge import conditional, failing, judge
from slipwise.limits.thresholds import Threshold
from slipwise.model.load.load import Load
from slipwise.quantity.formula import Formula
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.start import Curves, RunUp
from slipwise.solve.plan import Ends, Plan, Stage

# A stage after the first, ended by the clock this soon, is a transition: the shaft is carried over it by its inertia.
TRANSITION = 0.5  # s
NOMINAL, WORST = "nominal", "worst"

MARGIN = Formula(
    key="limits.torque_margin",
    title="Least accelerating torque on the way",
    symbol="m",
    expression="(T - T_L) / T_n",
    units={"T": "N m", "T_L": "N m", "T_n": "N m"},
    source="definition of accelerating torque",
    validity="steady characteristics, the supply solved at each speed",
    result_unit="pu",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Where motor torque exceeds load torque least: both [N m], at which speed [rad/s], in which stage."""

    motor: float
    load: float
    speed: float
    stage: str

    @property
    def torque(self) -> float:
        """Motor torque less load torque. [N m]"""
        return self.motor - self.load


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One stage's characteristics and the speeds over which they are in use. [rad/s]"""

    curves: Curves
    begin: float
    end: float


def running_side(curves: Curves, rated_slip: float) -> float:
    """Speed from which the torque falls steadily to the running point: up to there a start must be carried. [rad/s]

    It is the breakdown speed met when slowing down from the top; a curve that falls all the way from rest is carried up
    to twice the rated slip. `curves` ascending in speed up to synchronous.
    """
    rising = np.nonzero(np.diff(curves.torque) > 0)[0]
    if rising.size:
        return float(curves.speed[rising[-1] + 1])
    return float(curves.speed[-1]) * (1 - 2 * rated_slip)


def spans(plan: Plan, curves: Sequence[Curves], run_up: RunUp, rated_slip: float) -> tuple[Span, ...]:
    """Where each connected stage is in use, from the run-up's own marks.

    A stage ended by a speed is judged up to that speed, reached or not; the last one, those ended by clock or current,
    and those in which a converter brings the full voltage in the end, up to `running_side`, beyond which the torque
    surplus goes to zero by nature. Transitions, pauses and
    stages entered on the running side leave nothing to judge; a frequency ramp makes its own torque and is judged by
    `arrival`.
    """
    found = []
    begin = 0.0
    for place, (stage, mark) in enumerate(zip(plan, run_up.stages, strict=False)):
        end = _end(stage, place == len(plan) - 1, mark.end_speed, running_side(curves[place], rated_slip))
        passing = place > 0 and stage.until.ends is Ends.ELAPSED and mark.end - mark.begin < TRANSITION
        if stage.connected and stage.frequency is None and not passing and end > begin:
            found.append(Span(curves=curves[place], begin=begin, end=end))
        begin = mark.end_speed
    return tuple(found)


def _end(stage: Stage, last: bool, reached: float, running: float) -> float:
    if last:
        return running
    if stage.until.ends is Ends.SPEED:
        return min(stage.until.value, running) if stage.controlled else stage.until.value
    return min(reached, running)


def least_gap(used: Sequence[Span], load: Load) -> Gap | None:
    """The least surplus of motor torque over load torque on the spans; at rest the load's holding torque counts.

    None when no span is left to judge. Straight lines between the points of the curves.
    """
    gaps = [_gap(span, load) for span in used]
    return min(gaps, key=lambda gap: gap.torque, default=None)


def _gap(span: Span, load: Load) -> Gap:
    c = span.curves
    inside = (c.speed > span.begin) & (c.speed < span.end)
    speed = np.concatenate(([span.begin], c.speed[inside], [span.end]))
    motor, asked = np.interp(speed, c.speed, c.torque), np.interp(speed, c.speed, c.load)
    if span.begin <= 0:
        asked[0] = max(float(load.torque(0.0)), load.holding + load.pull)
    place = int((motor - asked).argmin())
    return Gap(motor=float(motor[place]), load=float(asked[place]), speed=float(speed[place]), stage=c.stage)


def torque_margin(gaps: Mapping[str, Gap], rated_torque: float, limit: Threshold) -> tuple[Criterion, ...]:
    """One row per case (nominal, worst): least surplus of torque over the start, pu of `rated_torque` (N m).

    The limit is asked in the worst case. There a surplus below the limit is a condition while the nominal case keeps it;
    a negative surplus, where the start would hang, fails. Pull-up against load is what counts, not the torque at rest.
    Source: definition of accelerating torque; IEC 60034-1 for the tolerance in the worst case.
    """
    rows = {case: _row(case, gap, rated_torque, limit) for case, gap in gaps.items()}
    if WORST in rows and NOMINAL in rows:
        rows[WORST] = _eased(rows[WORST], rows[NOMINAL])
    return tuple(rows.values())


def _row(case: str, gap: Gap, rated_torque: float, limit: Threshold) -> Criterion:
    row = judge(
        f"torque_margin:{case}",
        "Torque margin",
        {case: gap.torque / rated_torque},
        limit.value,
        unit="pu",
        sense=Sense.AT_LEAST,
        source=limit.source,
        note=f"least in stage {gap.stage} at {show(gap.speed, 'rad/s')}",
    )
    if gap.torque < 0:
        return failing(row, "the load asks more than the motor gives")
    return row


def _eased(worst: Criterion, nominal: Criterion) -> Criterion:
    if worst.status is not Status.FAILS or nominal.status is Status.FAILS:
        return worst
    if worst.value is None or worst.value < 0:
        return worst
    return conditional(worst, f"kept in the nominal case ({show(nominal.value, nominal.unit)}), not in the worst case")

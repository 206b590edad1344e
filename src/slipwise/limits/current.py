"""What the supply sees as current, and what the shaft feels."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from slipwise.limits.judge import failing, judge
from slipwise.limits.thresholds import Threshold
from slipwise.quantity.formula import Formula
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.start import Outcome, RunUp, TransientBand

OVERLOADED = 1.01  # of rated current: what the rounding of plate and load may make of a motor that is just fully used

PEAK_TORQUE = Formula(
    key="limits.shaft_torque",
    title="Peak torque per unit of rated torque",
    symbol="t_peak",
    expression="T_peak / T_n",
    units={"T_peak": "N m", "T_n": "N m"},
    source="definition",
    validity="air-gap torque, shaft taken as rigid",
    result_unit="pu",
)


def line_current(run_ups: Mapping[str, RunUp], limit: Threshold) -> Criterion:
    """Greatest rms line current of the steady characteristics (so without the first cycles), worst over the cases. [A]"""
    values = {case: float(run_up.line_current.max()) for case, run_up in run_ups.items()}
    return judge(
        "line_current", "Line current, rms", values, limit.value, unit="A", sense=Sense.AT_MOST, source=limit.source
    )


def running_current(run_up: RunUp, rated: float) -> tuple[Criterion, ...]:
    """A motor that is overloaded for good once it runs: current of the nominal case at speed against `rated` (A).

    A row only where the load takes the motor beyond its rating by more than the rounding of a plate; for a steady load.
    """
    if run_up.outcome is not Outcome.ARRIVED:
        return ()
    current = float(run_up.motor_current[-1])
    if current <= OVERLOADED * rated:
        return ()
    row = judge(
        "running_current",
        "Running current",
        {run_up.case: current},
        rated,
        unit="A",
        sense=Sense.AT_MOST,
        source="rated current; IEC 60034-1, duty S1 (from memory)",
    )
    load = float(run_up.load[-1]) * run_up.final_speed
    return (
        failing(row, f"the load takes {show(load, 'W')} steadily: the motor is too small, or the load is not steady"),
    )


def peak_current(bands: Mapping[str, TransientBand], limit: Threshold) -> Criterion:
    """Greatest instantaneous line current over the switching angle, worst over the cases. [A]"""
    values = {case: float(band.line_current.max()) for case, band in bands.items()}
    return judge(
        "peak_current", "Line current, peak", values, limit.value, unit="A", sense=Sense.AT_MOST, source=limit.source
    )


def shaft_torque(
    bands: Mapping[str, TransientBand], rated_torque: float, limit: Threshold, coupling: float
) -> Criterion:
    """Greatest instantaneous torque magnitude over the switching angle, either sign, pu of `rated_torque` (N m).

    coupling: from `coupling_share`, told beside the value. The torque is that of the air gap.
    """
    values = {case: peak_torque(band) / rated_torque for case, band in bands.items()}
    return judge(
        "shaft_torque",
        "Peak torque",
        values,
        limit.value,
        unit="pu",
        sense=Sense.AT_MOST,
        source=limit.source,
        note=f"in the air gap; a rigid coupling passes {show(coupling, 'pu')} of what accelerates, a twisting one more",
    )


def peak_torque(band: TransientBand) -> float:
    """Greatest torque magnitude over the switching angle. [N m]"""
    return float(max(np.abs(band.torque_max).max(), np.abs(band.torque_min).max()))


def coupling_share(motor_inertia: float, load_inertia: float) -> float:
    """Share of the accelerating torque that passes the coupling to the load of a rigid shaft.

    Source: equation of motion of two inertias (kg m2) turning together.
    """
    return load_inertia / (motor_inertia + load_inertia)

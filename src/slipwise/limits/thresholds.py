"""The limits a study is judged against, each with its source."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold:
    """One limit in SI (per unit where `unit` is "pu"); None: not set, the criterion is then shown but not judged."""

    value: float | None
    unit: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Limits beside the busbars' own dip limits (those stand on the busbar).

    terminal_voltage: least voltage at the motor's supply terminals while starting, pu of rated.
    torque_margin: least (motor - load) torque over the whole curve, pu of rated torque, worst case.
    run_up_time: s.  heat: greatest share of the locked-rotor heat limit used, pu.
    line_current: greatest rms line current after the first cycles, A.  peak_current: instantaneous, A.
    shaft_torque: greatest instantaneous torque magnitude, pu of rated torque.
    belt_acceleration: greatest acceleration of a mass that moves in a line with the load, m/s2.
    running_voltage: greatest deviation of the terminals' voltage from rated once the motor runs, pu of rated, either way.
    """

    terminal_voltage: Threshold
    torque_margin: Threshold
    run_up_time: Threshold
    heat: Threshold
    line_current: Threshold
    peak_current: Threshold
    shaft_torque: Threshold
    belt_acceleration: Threshold = Threshold(value=None, unit="m/s2", source="not given")
    running_voltage: Threshold = Threshold(value=None, unit="pu", source="not given")

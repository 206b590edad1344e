"""Does the engine behind a generator bear the active power of the start."""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt

import numpy as np

from slipwise.limits.judge import judge
from slipwise.model.supply.path import SupplyPath
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.series import Array
from slipwise.results.start import RunUp
from slipwise.solve import network

NOTE = "at the generator's terminals, base load included; governor and regulator are not modelled"


def generator_power(run_up: RunUp, supply: SupplyPath) -> Array:
    """Active power that the source of `supply` gives at its own busbar along a start; shape (n,). [W]

    The motor's power at the terminals is put on the path as the admittance it is there, and the path solved again: base
    loads and losses of the path are in it.

    Source: complex power 3 U I* per phase (any text on circuits).
    """
    last = supply.busbars[-1]
    volts = run_up.busbar_voltage[-1] * last.nominal * last.referral / sqrt(3)
    cosine = np.clip(run_up.power_factor, -1.0, 1.0)
    current = run_up.line_current * (cosine - 1j * np.sqrt(1 - cosine**2))
    admittance = np.where(volts > 0, current / np.where(volts > 0, volts, 1.0), 0.0)
    at_source = network.solve(supply, admittance).busbars[0]
    flowing = (supply.voltage / sqrt(3) - at_source) / supply.links[0].impedance
    power: Array = 3 * (at_source * np.conj(flowing)).real
    return power


def engine_power(run_ups: Mapping[str, RunUp], supplies: Mapping[str, SupplyPath]) -> tuple[Criterion, ...]:
    """Greatest active power during the start against what the engine bears, worst over the cases; none without an engine."""
    first = next(iter(supplies.values())).links[0]
    if first.engine_power is None:
        return ()
    values = {case: float(generator_power(run_up, supplies[case]).max()) for case, run_up in run_ups.items()}
    return (
        judge(
            "engine_power",
            "Engine power",
            values,
            first.engine_power,
            unit="W",
            sense=Sense.AT_MOST,
            source=first.engine_source,
            note=NOTE,
        ),
    )

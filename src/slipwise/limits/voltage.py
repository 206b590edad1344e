"""What the supply sees as voltage: the dip at every busbar, and the voltage left for the starting motor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from slipwise.limits.judge import judge
from slipwise.limits.thresholds import Threshold
from slipwise.model.supply.path import Busbar
from slipwise.quantity.formula import Formula
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.series import Array
from slipwise.results.start import RunUp

DIP = Formula(
    key="limits.dip",
    title="Voltage dip from the pre-start voltage",
    symbol="dU",
    expression="(U_0 - U_min) / U_0",
    units={"U_0": "pu", "U_min": "pu"},
    source="definition of voltage change, IEC 61000-3-3 and IEC 61000-3-11 (from memory)",
    validity="steady fundamental voltages, without the first cycles",
    result_unit="pu",
)
TERMINAL = Formula(
    key="limits.terminal_voltage",
    title="Voltage at the terminals while starting",
    symbol="u_t",
    expression="U_min * U_bus / U_n",
    units={"U_min": "pu", "U_bus": "V", "U_n": "V"},
    source="definition",
    validity="steady fundamental voltages, without the first cycles",
    result_unit="pu",
)


def dips(run_up: RunUp) -> Array:
    """Greatest dip of each busbar during a start, per unit of its voltage before the start; shape (busbars,).

    Source: definition of voltage change in IEC 61000-3-3 and 61000-3-11, taken from the pre-start voltage.
    """
    lowest = run_up.busbar_voltage.min(axis=1)
    depth: Array = (run_up.prestart_voltage - lowest) / run_up.prestart_voltage
    return depth


def dip_criteria(run_ups: Mapping[str, RunUp], busbars: Sequence[Busbar]) -> tuple[Criterion, ...]:
    """One row per busbar, against that busbar's own limit, worst over the cases (nominal first). Values in pu.

    The last busbar is the motor's own terminals; it is judged for dip only when a limit stands on it.
    """
    depth = {case: dips(run_up) for case, run_up in run_ups.items()}
    return tuple(
        judge(
            f"dip:{busbar.name}",
            f"Dip at {busbar.name}",
            {case: float(values[place]) for case, values in depth.items()},
            busbar.dip_limit,
            unit="pu",
            sense=Sense.AT_MOST,
            source=busbar.dip_source,
        )
        for place, busbar in enumerate(busbars)
    )


def terminal_voltage(run_ups: Mapping[str, RunUp], referred: float, limit: Threshold) -> Criterion:
    """Least voltage at the starter's supply terminals while starting, worst over the cases, pu of the motor's rated voltage.

    referred: nominal voltage of the last busbar per unit of rated voltage. The margin is measured against the
    permitted drop (1 - limit), because voltages all lie close to 1. Before the first instant of current nothing counts.
    """
    values = {case: float(run_up.busbar_voltage[-1].min()) * referred for case, run_up in run_ups.items()}
    span = None if limit.value is None or limit.value >= 1 else 1 - limit.value
    return judge(
        "terminal_voltage",
        "Voltage at the terminals",
        values,
        limit.value,
        unit="pu",
        sense=Sense.AT_LEAST,
        source=limit.source,
        span=span,
    )

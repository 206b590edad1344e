"""The voltage the motor runs on, against what a motor is made to run on for good."""

from __future__ import annotations

from collections.abc import Mapping

from slipwise.data import table
from slipwise.limits.judge import judge
from slipwise.limits.thresholds import Threshold
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.start import Outcome, RunUp

KEY = "running_voltage"


def published_deviation() -> Threshold:
    """Deviation from rated voltage, either way, that a motor bears in operation. [pu]

    With the frequency at its rated value the limit on both deviations together is the same.
    Source: NEMA MG 1, 12.44.1.
    """
    row = table("nema_voltage_frequency").find(quantity="voltage")
    assert row is not None
    return Threshold(value=float(row["percent"]) / 100, unit="pu", source=row.cited)


def running_voltage(run_ups: Mapping[str, RunUp], referred: float, limit: Threshold) -> tuple[Criterion, ...]:
    """Voltage at the terminals once the motor runs, of rated, the end of the band that is nearer or passed.

    referred: nominal voltage of the last busbar per unit of rated voltage. limit: greatest deviation, pu of rated; the margin
    is measured against it, because voltages all lie close to 1. No row without a limit, and none for a start that does
    not arrive.
    """
    values = {
        case: float(run_up.busbar_voltage[-1][-1]) * referred
        for case, run_up in run_ups.items()
        if run_up.outcome is Outcome.ARRIVED
    }
    if limit.value is None or not values:
        return ()
    high = max(values.values()) - 1 > 1 - min(values.values())
    row = judge(
        KEY,
        "Voltage while running",
        values,
        1 + limit.value if high else 1 - limit.value,
        unit="pu",
        sense=Sense.AT_MOST if high else Sense.AT_LEAST,
        source=limit.source,
        span=limit.value,
    )
    return (row,)

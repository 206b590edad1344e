"""Do the contactors stay closed, and can they close, with the voltage at the busbar that feeds their coils."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from slipwise.limits.judge import judge
from slipwise.limits.records import by_stage
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.protection_devices import CoilVoltage
from slipwise.results.start import RunUp

PULL_IN = 0.85  # of coil voltage, at which a contactor must close (IEC 60947-4-1, 8.2.1.2, from memory)
SOURCE = "IEC 60947-4-1, 8.2.1.2 (from memory)"


def coil_voltage(run_ups: Mapping[str, RunUp], busbar: str, hold_in: float) -> CoilVoltage:
    """Lowest voltage of the busbar during the start, and at the moments when a contactor has to close.

    Those are the beginning, before current flows, and the end of every stage after which more contacts are closed.
    """
    holding, closing = [], []
    for run in run_ups.values():
        place = run.busbars.index(busbar)
        volts = run.busbar_voltage[place]
        holding.append(float(volts.min()))
        moments = [float(run.prestart_voltage[place])]
        for (before, inside), (after, _) in pairwise(by_stage(run)):
            if set(after.contacts) - set(before.contacts):
                moments.append(float(volts[inside.stop - 1]))
        closing.append(min(moments))
    return CoilVoltage(
        busbar=busbar,
        cases=tuple(run_ups),
        holding=tuple(holding),
        closing=tuple(closing),
        hold_in=hold_in,
        pull_in=PULL_IN,
    )


def coil_rows(found: CoilVoltage | None, source: str) -> tuple[Criterion, ...]:
    """Holding and closing against their limits. source: of the hold-in voltage."""
    if found is None:
        return ()
    return (
        _row("coil_holding", f"Coil voltage from {found.busbar}, staying closed", found, found.holding, found.hold_in, source),
        _row("coil_closing", f"Coil voltage from {found.busbar}, closing", found, found.closing, found.pull_in, SOURCE),
    )  # fmt: skip


def _row(key: str, title: str, found: CoilVoltage, values: tuple[float, ...], limit: float, source: str) -> Criterion:
    return judge(
        key,
        title,
        dict(zip(found.cases, values, strict=True)),
        limit,
        unit="pu",
        sense=Sense.AT_LEAST,
        source=source,
        span=1 - limit if limit < 1 else None,
    )

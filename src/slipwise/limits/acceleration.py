"""How fast a belt or another mass that moves in a line is pulled away."""

from __future__ import annotations

from collections.abc import Mapping

from slipwise.limits.judge import judge
from slipwise.limits.thresholds import Threshold
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.start import RunUp

USUAL = "belts are usually brought up with 0.1 to 0.3 m/s² (common practice, no source)"


def belt_acceleration(
    run_ups: Mapping[str, RunUp], inertia: float, travel: float, limit: Threshold
) -> tuple[Criterion, ...]:
    """Greatest acceleration in a line during the start, worst over the cases; nothing for a load that only turns. [m/s2]

    inertia: rotor and load, at the motor shaft [kg m2]; travel: of the mass per angle of that shaft [m/rad]. The belt is
    taken as stiff. Source: equation of motion, a = (T - T_load) / J x travel.
    """
    if not travel:
        return ()
    values = {case: float((run.torque - run.load).max()) / inertia * travel for case, run in run_ups.items()}
    row = judge(
        "belt_acceleration",
        "Belt acceleration",
        values,
        limit.value,
        unit="m/s2",
        sense=Sense.AT_MOST,
        source=limit.source,
        note=USUAL,
    )
    return (row,)

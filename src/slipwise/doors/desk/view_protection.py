"""The time-current picture of one way as numbers: start, relay, trip, and what the motor bears stalled."""

from __future__ import annotations

from typing import Any

import numpy as np

from slipwise.doors.desk.shown import numbers
from slipwise.present.figures.time_current import in_line
from slipwise.quantity.show import show
from slipwise.results.protection import Protection
from slipwise.results.start import RunUp
from slipwise.results.study import StudyResult, WayResult

HALF_CYCLE = 0.01  # s, where the start begins in a picture with a logarithmic time
TRACK = 160  # points of the start


def time_current_dict(result: StudyResult, way: WayResult) -> dict[str, Any] | None:
    """Line currents per unit of rated over times in s; a relay in the winding as the line carries it while the motor runs."""
    found = way.protection
    if found is None or not way.run_ups:
        return None
    rated = result.rated_current
    trip = found.instantaneous
    return {
        "units": {"time": "s", "current": "of rated"},
        "rated_text": show(rated, "A"),
        "start": _start(way.run_ups[0], rated),
        "relay": _relay(found, rated),
        "stalls": [
            {"label": s.label, "current": float(s.line_current / rated), "hot": s.limit_hot, "cold": s.limit_cold}
            for s in found.stalls
        ],
        "trip": None
        if trip is None
        else {
            "current": float(trip.setting / rated),
            "tolerance": float(trip.tolerance),
            "words": f"instantaneous trip {show(trip.setting, 'A')}",
        },
    }


def _start(run: RunUp, rated: float) -> dict[str, Any]:
    """Evenly along the logarithm of time, to the end of the run-up."""
    time = np.geomspace(HALF_CYCLE, max(float(run.time[-1]), 2 * HALF_CYCLE), TRACK)
    return {"time": numbers(time), "current": numbers(np.interp(time, run.time, run.line_current) / rated)}


def _relay(found: Protection, rated: float) -> dict[str, Any] | None:
    """Tripping times of the quickest and slowest relay of the class, from cold and from running at the setting."""
    relay, curve = found.relay, found.curve
    if relay is None or curve is None:
        return None
    return {
        "words": f"class {relay.trip_class}, {show(relay.setting, 'A')} in the {relay.place}",
        "current": numbers(np.array(curve.multiple) * in_line(relay, found) / rated),
        **{name: numbers(getattr(curve, name)) for name in ("quick_cold", "slow_cold", "quick_hot", "slow_hot")},
    }

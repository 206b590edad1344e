"""What heats up, as the page shows it: temperatures of each way, limit curves and stall times of the motor."""

from __future__ import annotations

from typing import Any

from slipwise.doors.desk.shown import numbers
from slipwise.results.thermal import HeatTrace, LimitCurve, MotorHeat, WayHeat


def _trace(trace: HeatTrace) -> dict[str, Any]:
    """Temperatures in degC over s."""
    return {
        "time": numbers(trace.time),
        "bodies": list(trace.bodies),
        "temperature": [numbers(row) for row in trace.temperature],
        "limits": [None if limit is None else float(limit) for limit in trace.limits],
        "ambient": trace.ambient,
    }


def way_heat_dict(heat: WayHeat) -> dict[str, Any]:
    """Temperatures of starts in a row and of each duty."""
    duties = [
        {"label": duty.label, "duty_type": duty.duty_type, "within": duty.within, "trace": _trace(duty.trace)}
        for duty in heat.duties
    ]
    return {"units": {"time": "s", "temperature": "°C"}, "starts": _trace(heat.starts), "duties": duties}


def motor_heat_dict(heat: MotorHeat) -> dict[str, Any]:
    """Limit curves in A and s, stall times in s over per cent of rated voltage."""
    return {
        "units": {"current": "A", "time": "s", "voltage": "%"},
        "limits": [_limit(curve) for curve in heat.limits],
        "stall": {
            "voltage": numbers(100 * heat.stall.voltage),
            "hot": numbers(heat.stall.hot),
            "cold": numbers(heat.stall.cold),
        },
    }


def _limit(curve: LimitCurve) -> dict[str, Any]:
    return {
        "label": curve.label,
        "part": curve.part,
        "state": curve.state,
        "current": numbers(curve.current),
        "time": numbers(curve.seconds),
    }

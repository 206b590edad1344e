"""Results written down by hand, so that criteria are tested against numbers and not against our own solvers."""

from __future__ import annotations

from typing import Any

import numpy as np

from slipwise.results.criteria import Criterion, Sense, Status, Verdict
from slipwise.results.ledger import Ledger
from slipwise.results.start import Curves, Outcome, Peaks, RunUp, StageMark, Transient, TransientBand
from slipwise.results.study import WayResult
from slipwise.results.wiring import Wiring


def run_up(*, seconds: float = 5.0, speed: float = 150.0, winding: float = 100.0, **changes: Any) -> RunUp:
    """A start with constant currents over `seconds`, straight up to `speed` (rad/s), one busbar at 0.95 pu before and 0.9
    during the start; any field changed by name."""
    time = np.linspace(0.0, seconds, 51)
    steady = np.full(51, winding)
    values: dict[str, Any] = {
        "case": "nominal",
        "outcome": Outcome.ARRIVED,
        "run_up_time": seconds,
        "hang_speed": None,
        "final_speed": speed,
        "time": time,
        "speed": speed * time / seconds,
        "torque": np.full(51, 500.0),
        "load": np.full(51, 300.0),
        "line_current": steady,
        "motor_current": steady,
        "winding_current": steady,
        "power_factor": np.full(51, 0.3),
        "busbars": ("board",),
        "busbar_voltage": np.full((1, 51), 0.90),
        "prestart_voltage": np.array([0.95]),
        "stages": (StageMark(name="direct", begin=0.0, end=seconds, end_speed=speed, reason="settled"),),
        "energy": Ledger(rows=()),
        "stator_heat": 1000.0,
        "rotor_heat": 1000.0,
        "current_heat": 1.0,
    }
    return RunUp(**{**values, **changes})


def curves(speed: Any, torque: Any, load: Any, stage: str = "direct") -> Curves:
    """Characteristics with the given torques; the rest is zero."""
    at = np.asarray(speed, dtype=float)
    none = np.zeros_like(at)
    return Curves(
        stage=stage,
        speed=at,
        torque=np.asarray(torque, dtype=float),
        load=np.asarray(load, dtype=float),
        line_current=none,
        motor_current=none,
        winding_current=none,
        power_factor=none,
        busbar_voltage=none[None, :],
        stator_loss=none,
        rotor_loss=none,
        power=none,
    )


def band(torque_max: tuple[float, ...], torque_min: tuple[float, ...], current: tuple[float, ...]) -> TransientBand:
    """A band with the given extremes per angle [N m, N m, A]; its worst transient has no samples."""
    none = np.zeros(0)
    peaks = Peaks(
        torque_max=max(torque_max),
        torque_max_time=0.01,
        torque_min=min(torque_min),
        torque_min_time=0.02,
        line_current=max(current),
        line_current_time=0.01,
        line_current_phase="L1",
        winding_current=max(current),
    )
    worst = Transient(
        case="nominal",
        switching_angle=0.0,
        outcome=Outcome.ARRIVED,
        run_up_time=1.0,
        final_speed=150.0,
        time=none,
        speed=none,
        torque=none,
        load=none,
        line_currents=np.zeros((3, 0)),
        winding_currents=np.zeros((3, 0)),
        terminal_voltages=np.zeros((3, 0)),
        stages=(),
        peaks=peaks,
        stage_peaks=(peaks,),
        energy=Ledger(rows=()),
        steps=0,
    )
    return TransientBand(
        angles=np.zeros(len(current)),
        torque_max=np.array(torque_max),
        torque_min=np.array(torque_min),
        line_current=np.array(current),
        worst=worst,
    )


def row(key: str, status: Status, margin: float | None = None, limit: float | None = 1.0, **changes: Any) -> Criterion:
    """A criterion row with the given status and margin."""
    values: dict[str, Any] = {
        "key": key,
        "title": key.capitalize(),
        "value": 0.5,
        "limit": limit,
        "unit": "pu",
        "sense": Sense.AT_MOST,
        "status": status,
        "margin": margin,
        "case": "nominal",
        "source": "given by user",
    }
    return Criterion(**{**values, **changes})


def way(key: str, judged: Verdict) -> WayResult:
    """A way that was judged so, with nothing else in it."""
    return WayResult(
        key=key,
        title=key.replace("_", "-").capitalize(),
        settings=(),
        designed="",
        curves=(),
        run_ups=(),
        band=None,
        transient_note="",
        verdict=judged,
        wiring=Wiring(devices=(), stages=(), closed=()),
    )

"""The load law drawn through one demand: what the driven machine asks at other speeds with the same valve or burden."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from slipwise.model.load.load import Load
from slipwise.results.speed import DutyPoint


def through(load: Load, duty: DutyPoint) -> Callable[[Any], Any]:
    """Load torque against shaft speed (rad/s), scaled so that it passes through the demand; shape of the speed. [N m]

    Keeps the shape of the load; where the load asks nothing at that speed, the demand's torque holds at every speed.
    """
    own = float(np.asarray(load.running(duty.speed)))
    scale = duty.torque / own if abs(own) > 1e-9 * abs(duty.torque) else 0.0

    def torque(speed: Any) -> Any:
        return scale * load.running(speed) if scale else duty.torque + 0.0 * np.asarray(speed, dtype=float)

    return torque


def slope(law: Callable[[Any], Any], speed: float) -> float:
    """d(load torque)/d(speed) at a speed (rad/s), by central difference. [N m s]"""
    step = max(1e-4 * abs(speed), 1e-4)
    low, high = law(np.array([speed - step, speed + step]))
    return float(high - low) / (2 * step)

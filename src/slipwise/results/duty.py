"""What a repeating load does to a running motor."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.ledger import Ledger
from slipwise.results.series import Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DutyCycle:
    """One period of the steady cycle: it begins and ends at the same speed.

    time s, speed rad/s, torque (motor) and load N m, line_current rms A: shape (n,).
    rms_current: of line current over the period [A]; peak_torque [N m]; mean_loss: in the motor [W].
    residual: speed at the end less speed at the beginning, per unit of synchronous.
    """

    period: float
    time: Array
    speed: Array
    torque: Array
    load: Array
    line_current: Array
    rms_current: float
    peak_torque: float
    mean_loss: float
    lowest_speed: float
    highest_speed: float
    residual: float
    energy: Ledger

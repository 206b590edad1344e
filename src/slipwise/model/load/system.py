"""A pump or fan on its system: flow, head and torque at any speed, and what a valve or damper destroys.

Everything is per unit of the rated point (flow, head, speed) except torque. Head curve of the machine, system curve and
torque are those of `process.py`:  head = H0 n^2 - (H0 - 1) q^2,  system = Hs + (1 - Hs) q^2,
torque = t0 n^2 + (1 - t0) n q.  Quasi-steady; numbers and arrays alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np

from slipwise.model.load.load import Load
from slipwise.model.load.process import Centrifugal, against_static_head
from slipwise.quantity.errors import DomainError


@dataclass(frozen=True, slots=True, kw_only=True)
class Process:
    """A centrifugal machine at the motor's shaft, and the system it works on.

    kind: "pump" or "fan".  static_head: head asked at no flow, per unit of rated head.
    rated_flow m3/s, rated_head m: for showing only; None when the study gives ratios.
    """

    kind: str
    machine: Centrifugal
    static_head: float
    rated_flow: float | None = None
    rated_head: float | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.static_head < self.machine.shut_head:
            reason = f"must lie from 0 to below the shut head of {self.machine.shut_head:g} per unit"
            raise DomainError.of("static_head", self.static_head, reason, "give the static head of the system")

    def load(self) -> Load:
        """Torque against speed with the valve open, behind a non-return valve."""
        return against_static_head(self.machine, self.static_head)


def machine_head(process: Process, speed: Any, flow: Any) -> Any:
    """Head of the machine at `speed` and `flow`, all per unit.

    Source: parabolic head curve under the affinity laws (Karassik et al., Pump Handbook, from memory).
    """
    shut = process.machine.shut_head
    return shut * speed**2 - (shut - 1) * flow**2


def system_head(process: Process, flow: Any) -> Any:
    """Head that the system asks at `flow` with the valve open, per unit: static part and friction with flow squared.

    Source: turbulent pipe friction (Darcy-Weisbach, from memory).
    """
    return process.static_head + (1 - process.static_head) * flow**2


def speed_for(process: Process, flow: Any) -> Any:
    """Speed at which the open system carries `flow`, per unit of rated; with static head never below the lift speed.

    Source: machine head = system head.
    """
    shut, static = process.machine.shut_head, process.static_head
    return np.sqrt((static + (shut - static) * flow**2) / shut)


def flow_at(process: Process, speed: Any) -> Any:
    """Flow through the open system at `speed`, per unit; zero below the lift speed. Source: machine head = system head."""
    shut, static = process.machine.shut_head, process.static_head
    return np.sqrt(np.maximum(shut * speed**2 - static, 0.0) / (shut - static))


def torque_at(process: Process, speed: Any, flow: Any) -> Any:
    """Shaft torque at `speed` and `flow` per unit. [N m]

    Source: straight torque against flow under the affinity laws (common practice, no source).
    """
    shut = process.machine.shut_torque
    return process.machine.torque * (shut * speed**2 + (1 - shut) * speed * flow)


def destroyed_head(process: Process, speed: Any, flow: Any) -> Any:
    """Head that the valve or damper takes when `speed` is too high for `flow`; negative when it is too low. Per unit."""
    return machine_head(process, speed, flow) - system_head(process, flow)


def lift_speed(process: Process) -> float:
    """Speed below which nothing flows, per unit: sqrt(static head / shut head)."""
    return sqrt(process.static_head / process.machine.shut_head)

"""What is asked about heat, as plain validated data."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.model.thermal.parameters import ThermalMotor


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyStep:
    """A stretch of a duty. seconds; load: shaft torque per unit of rated; speed: per unit of rated, 0 at standstill."""

    seconds: float
    load: float
    speed: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyRequest:
    """One duty to be judged. kind: S1 to S9; starts, braking: whether each cycle begins with a start and how it ends."""

    name: str
    kind: str
    steps: tuple[DutyStep, ...]
    starts: bool = False
    braking: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermalStudy:
    """The network, and what is asked of it. permitted: steady winding temperature [degC]; rest: between starts [s]."""

    motor: ThermalMotor
    ambient: float
    permitted: float
    starts: int
    rest: float
    duties: tuple[DutyRequest, ...]

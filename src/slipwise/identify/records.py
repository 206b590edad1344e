"""What a plate or a catalogue line says, and what a fit answers."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.model.machine.motor import Motor, StallLimit
from slipwise.quantity.provenance import Sourced
from slipwise.results.study import PlateRow


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """Nameplate and catalogue values, SI; None where not given.

    voltage line rms V; current line rms A; speed rad/s; efficiency and power_factor pu; ratios to rated current / torque.
    """

    power: float
    voltage: float
    frequency: float
    poles: int
    connection: str
    speed: float | None = None
    current: float | None = None
    power_factor: float | None = None
    efficiency: float | None = None
    locked_rotor_current_ratio: float | None = None
    locked_rotor_torque_ratio: float | None = None
    breakdown_torque_ratio: float | None = None
    pull_up_torque_ratio: float | None = None
    inertia: float | None = None
    design: str | None = None  # "A".."D", "N", "H", "NE"...
    code_letter: str | None = None
    stall: StallLimit = StallLimit()
    mechanical_loss: float | None = None  # W at rated speed


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateFit:
    """A motor fitted to a plate: its circuit is one of many that reproduce the plate; `estimated` lists what was not given."""

    motor: Motor
    rows: tuple[PlateRow, ...]
    estimated: tuple[Sourced, ...]
    notes: tuple[str, ...]

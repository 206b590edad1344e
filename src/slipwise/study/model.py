"""A study as plain validated data: what is to be computed, and where every value came from."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from slipwise.identify.records import Plate
from slipwise.limits.thresholds import Limits
from slipwise.model.load.load import Load
from slipwise.model.machine.motor import Motor
from slipwise.model.supply.path import SupplyCases
from slipwise.quantity.provenance import Sourced
from slipwise.results.identification import Identification
from slipwise.results.study import PlateRow
from slipwise.solve.duty import Pulse
from slipwise.study.disturbance.model import DisturbanceRequest
from slipwise.study.protection.model import UNSTATED, ProtectionStudy
from slipwise.study.request import WayRequest
from slipwise.study.speed.model import SpeedStudy
from slipwise.study.stopping.model import StoppingStudy
from slipwise.study.thermal.model import ThermalStudy


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupMember:
    """One motor of a group.

    study: its motor, load and limits on the common path up to its busbar and through its own cable. place: of that busbar.
    branch: impedance of its own cable [ohm]. switch_on: as it is done today, s; None when not told.
    running: it runs already while the others start. drop_out: voltage of its busbar (pu) at which its contactor falls out.
    """

    name: str
    study: Study
    way: WayRequest
    place: int
    branch: complex
    switch_on: float | None
    running: bool
    drop_out: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupStudy:
    """The motors of a group in the order listed. pause: from the last at speed to the next switching-on, s.

    dip: voltage left (pu) and duration (s) of a dip of the source while all run; None when none is asked for.
    """

    members: tuple[GroupMember, ...]
    pause: float
    dip: tuple[float, float] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerances:
    """What the worst case takes off: low source voltage (pu of nominal), torque tolerance (pu, e.g. -0.15 on the
    locked-rotor torque), and the temperatures of winding and cage in the cold and the hot case (degC)."""

    low_voltage: float
    high_voltage: float
    torque: float
    current: float
    cold_temperature: float = 20.0
    hot_temperature: float = 95.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """One motor, one load, one supply, and the ways of starting to be compared. Everything SI.

    loads: the load in each of its named states; empty when there is one only. `load` is the first of them.
    pulses: the cycle that the load repeats while the motor runs; empty when it runs steadily.
    """

    title: str
    motor: Motor
    load: Load
    supply: SupplyCases
    limits: Limits
    tolerances: Tolerances
    ways: tuple[WayRequest, ...]
    order: tuple[str, ...]  # of preference, simplest first
    starts_per_hour: float | None
    switching_angles: int
    inputs: tuple[Sourced, ...]
    plate: tuple[PlateRow, ...]
    file: Path | None
    pause_scatter: float = 0.0  # s, by which contactors lengthen or shorten a pause from start to start
    loads: tuple[tuple[str, Load], ...] = ()
    pulses: tuple[Pulse, ...] = ()
    nameplate: Plate | None = None  # what the motor was fitted to, when it was
    identification: Identification | None = None  # what the motor was identified from, when it was measured
    speed: SpeedStudy | None = None  # what is asked of speed control, when it is
    thermal: ThermalStudy | None = None  # what is asked about heat, when it is
    stopping: StoppingStudy | None = None  # what is asked about stopping, when it is
    group: GroupStudy | None = None  # other motors on the same path, when there are any
    disturbances: tuple[DisturbanceRequest, ...] = ()  # what is wrong with the supply, one after the other
    protection: ProtectionStudy = UNSTATED  # relay, trips and switchgear as far as they are known

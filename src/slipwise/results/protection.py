"""What an overload relay makes of a start, and what the start asks of the starter's parts."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.protection_devices import (
    AutotransformerDuty,
    BankOrder,
    CoilVoltage,
    ContactorDuty,
    InstantaneousTrip,
    PhaseLoss,
    SoftStarterDuty,
)
from slipwise.results.settings_sheet import SettingsSheet


@dataclass(frozen=True, slots=True, kw_only=True)
class RelayCheck:
    """One trip class at one place against one start and one stall.

    place: "line" or "winding". setting: rms current it is set to, A. trip_class: name, as in IEC 60947-4-1.
    cold, hot: greatest heat of the quickest relay of that class during the start, per unit of the heat at which it
    trips, from cold and from running at the setting; 1 or more trips. lets_start: "hot", "cold", or "" when it trips,
    or nearly trips, either way. worst: the same heat in the slowest other case that arrives, from cold; None without one.
    stalled_cold, stalled_hot: seconds in which the slowest relay of that class trips at standstill and rated voltage.
    saves: whether that is within the motor's stall times with some time in hand; None when they are not known.
    """

    place: str
    setting: float
    trip_class: str
    cold: float
    hot: float
    lets_start: str
    stalled_cold: float
    stalled_hot: float
    saves: bool | None
    worst: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stall:
    """The rotor standing still: what flows, when the relay trips, and how long the motor bears it.

    label: where, such as "running connection" or the name of a first stage; voltage: at the terminals, per unit of
    rated. line_current, winding_current: rms A. trip_cold, trip_hot: of the slowest relay of the class, s, infinite when
    it never trips. limit_cold, limit_hot: the motor's stall times at this current, s; None when not known.
    """

    label: str
    voltage: float
    line_current: float
    winding_current: float
    trip_cold: float
    trip_hot: float
    limit_cold: float | None
    limit_hot: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedSwitch:
    """Trips a motor that has not reached `speed` (rad/s) `delay` (s) after switching on.

    reached: when the slowest start reaches that speed, s; infinite when it does not. longest: the delay at which the
    stalled motor is still saved from hot, s; None when the stall time is not known. given: by the user; otherwise proposed.
    """

    speed: float
    delay: float
    reached: float
    longest: float | None
    given: bool

    @property
    def lets_start(self) -> bool:
        """Whether the slowest start is past the switch in time."""
        return self.reached < self.delay

    @property
    def saves(self) -> bool | None:
        """Whether a stalled motor is tripped in time; None when its stall time is not known."""
        return None if self.longest is None else self.delay <= self.longest


@dataclass(frozen=True, slots=True, kw_only=True)
class TripCurve:
    """Quickest and slowest relay of a class, cold and warm from running at its setting, over multiples of the setting.

    multiple: of the setting; the others: s, infinite where the relay never trips. One entry a multiple.
    """

    multiple: tuple[float, ...]
    quick_cold: tuple[float, ...]
    slow_cold: tuple[float, ...]
    quick_hot: tuple[float, ...]
    slow_hot: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Protection:
    """All classes looked at, the one proposed (None when none serves), and why in words.

    judged: the relay as the study file has it; None when it leaves class and setting open.
    with_switch: the quickest class that lets the motor start, where only a speed switch saves it when stalled.
    """

    checks: tuple[RelayCheck, ...]
    proposed: RelayCheck | None
    words: str
    source: str
    judged: RelayCheck | None = None
    with_switch: RelayCheck | None = None
    speed_switch: SpeedSwitch | None = None
    stalls: tuple[Stall, ...] = ()
    curve: TripCurve | None = None
    instantaneous: InstantaneousTrip | None = None
    phase_loss: tuple[PhaseLoss, ...] = ()
    contactors: tuple[ContactorDuty, ...] = ()
    coil: CoilVoltage | None = None
    soft_starter: SoftStarterDuty | None = None
    autotransformer: AutotransformerDuty | None = None
    bank: BankOrder | None = None
    sheet: SettingsSheet | None = None

    @property
    def relay(self) -> RelayCheck | None:
        """The relay as it stands or is proposed; with a speed switch the one that goes with it."""
        return self.judged or self.proposed or self.with_switch


@dataclass(frozen=True, slots=True, kw_only=True)
class StarterDuty:
    """What one start asks of contactors, thyristors, taps and cables.

    rms: of the line current over the start, A; greatest: largest rms value on the way, A; seconds: length of the start.
    current_squared_time: integral of line current squared, A2 s. starts_per_hour: as asked for; None when not stated.
    """

    rms: float
    greatest: float
    seconds: float
    current_squared_time: float
    starts_per_hour: float | None

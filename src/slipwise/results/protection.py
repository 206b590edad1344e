"""What an overload relay makes of a start, and what the start asks of the starter's parts."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class RelayCheck:
    """One trip class at one place against one start and one stall.

    place: "line" or "winding". setting: rms current it is set to, A. trip_class: name, as in IEC 60947-4-1.
    cold, hot: greatest heat of the quickest relay of that class during the start, per unit of the heat at which it
    trips, from cold and from running at the setting; 1 or more trips. lets_start: "hot", "cold", or "" when it trips,
    or nearly trips, either way.
    stalled_cold, stalled_hot: seconds in which the slowest relay of that class trips at standstill and rated voltage.
    saves: whether that is within the motor's stall times; None when they are not known.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Protection:
    """All classes looked at, the one proposed (None when none serves), and why in words."""

    checks: tuple[RelayCheck, ...]
    proposed: RelayCheck | None
    words: str
    source: str


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

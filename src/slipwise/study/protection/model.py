"""What is known and asked about protection and switchgear, as plain validated data."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.limits.protection import OPEN, RelayRequest


@dataclass(frozen=True, slots=True, kw_only=True)
class StarterRating:
    """A soft starter's plate: current A, ratio to it during `seconds`, starts an hour or None."""

    current: float
    ratio: float
    seconds: float
    starts_per_hour: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BankRequest:
    """A resistor bank. heat_capacity J/K or None to be found; time_constant s; rise K; ambient degC; rest s."""

    heat_capacity: float | None
    time_constant: float
    rise: float
    ambient: float
    starts: int
    rest: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ProtectionStudy:
    """Relay, trips and switchgear. None: not stated.

    instantaneous: rms A; tolerance: of the trip, pu; line_contactor: rated operational current, A.
    coil_busbar: feeds the coils; hold_in: pu of its nominal.
    """

    relay: RelayRequest = OPEN
    sensitive: bool = True
    instantaneous: float | None = None
    tolerance: float = 0.2
    line_contactor: float | None = None
    coil_busbar: str | None = None
    hold_in: float = 0.75
    soft_starter: StarterRating | None = None
    bank: BankRequest | None = None


UNSTATED = ProtectionStudy()

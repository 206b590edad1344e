"""The way from the network to the motor terminals, referred to the motor's voltage level."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class LoadModel(StrEnum):
    """How a base load answers a voltage change."""

    CONSTANT_IMPEDANCE = "constant impedance"
    CONSTANT_POWER = "constant power"


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseLoad:
    """What already runs on a busbar: three-phase complex power at the busbar's nominal voltage. [VA]"""

    power: complex
    model: LoadModel


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeLimits:
    """What else is asked of voltage changes beside the greatest one.

    steady: greatest lasting change, per unit of the voltage before. seconds: how long at most a change may be above it.
    """

    steady: float
    seconds: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Busbar:
    """A point of the path where voltage is watched.

    nominal: line voltage at its own level. [V]
    referral: volts at the motor's level per volt at its own level.
    dip_limit: largest permitted dip from the pre-start voltage, per unit of it; None when no limit is set.
    dip_source: where the limit comes from.
    changes: limits on the course of a voltage change, where a standard is asked for that has them.
    """

    name: str
    nominal: float
    referral: float = 1.0
    load: BaseLoad | None = None
    dip_limit: float | None = None
    dip_source: str = ""
    changes: ChangeLimits | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One series element ending at a busbar: network, transformer, cable, generator. Z per phase at the motor's level. [ohm]

    engine_power: active power that the engine behind a generator bears [W]; None for every other element.
    engine_source: where that figure comes from.
    """

    name: str
    kind: str
    impedance: complex
    busbar: Busbar
    engine_power: float | None = None
    engine_source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyPath:
    """A source behind a chain of links; the last link's busbar is the motor's terminals.

    voltage: line voltage behind the first link, referred to the motor's level. [V]
    frequency: at which the impedances hold. [Hz]
    """

    voltage: float
    frequency: float
    links: tuple[Link, ...]

    @property
    def busbars(self) -> tuple[Busbar, ...]:
        return tuple(link.busbar for link in self.links)


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyCases:
    """The path at its ordinary, its weakest and its strongest."""

    nominal: SupplyPath
    weak: SupplyPath
    strong: SupplyPath

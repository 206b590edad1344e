"""Ratings of one thermal body: short-time, intermittent and cyclic duty, and starts from heat balance.

The motor is one body with a heating time constant while it runs and a longer cooling time constant while it stands.
Losses split into a constant part and a part with the square of the load; `constant_share` is constant / variable loss
at rated load.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, expm1, sqrt

from slipwise.quantity.errors import DomainError
from slipwise.quantity.formula import Formula

SHORT_TIME = Formula(
    key="thermal.short_time",
    title="Short-time rating",
    symbol="P_S2",
    expression="P_S1 * sqrt((1 + a) / (1 - exp(-t_on / tau)) - a)",
    units={"P_S1": "W", "a": "", "t_on": "s", "tau": "s"},
    source="Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 4",
    validity="one body, cold at the beginning, full cooling before the next time",
    result_unit="W",
)
INTERMITTENT = Formula(
    key="thermal.intermittent",
    title="Intermittent rating",
    symbol="P_S3",
    expression="P_S1 * sqrt((1 + a) * (1 - exp(-t_on / tau - t_off / tau_c)) / (1 - exp(-t_on / tau)) - a)",
    units={"P_S1": "W", "a": "", "t_on": "s", "t_off": "s", "tau": "s", "tau_c": "s"},
    source="Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 4",
    validity="one body, the cycle repeated until it closes, starting heat left out",
    result_unit="W",
)


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not value > 0:
            raise DomainError.of(name, value, "must be above zero", "give a positive number")


def short_time_power(power: float, on: float, heating: float, constant_share: float = 0.0) -> float:
    """Power that may be taken for `on` seconds from cold, at the temperature of continuous `power` (W). [W]

    heating: time constant [s]. Raises DomainError for a time that is not positive. Source: SHORT_TIME.
    """
    _positive(power=power, on=on, heating=heating)
    return float(SHORT_TIME.evaluate(P_S1=power, a=constant_share, t_on=on, tau=heating).real)


def continuous_power(short: float, on: float, heating: float, constant_share: float = 0.0) -> float:
    """Continuous power of a motor that may give `short` (W) for `on` seconds from cold: the inverse. [W]

    Source: SHORT_TIME solved for the continuous power.
    """
    _positive(short=short, on=on, heating=heating)
    return short / sqrt((1 + constant_share) / -expm1(-on / heating) - constant_share)


def intermittent_power(
    power: float, on: float, off: float, bodies: TimeConstants, constant_share: float = 0.0
) -> float:
    """Power during `on` of a repeated cycle, at the highest temperature of continuous `power` (W). [W] Source: INTERMITTENT."""
    _positive(power=power, on=on, off=off)
    found = INTERMITTENT.evaluate(
        P_S1=power, a=constant_share, t_on=on, t_off=off, tau=bodies.heating, tau_c=bodies.cooling
    )
    return float(found.real)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeConstants:
    """Of one body while running and while standing. [s]"""

    heating: float
    cooling: float

    def __post_init__(self) -> None:
        """Refuses what is not positive."""
        _positive(heating=self.heating, cooling=self.cooling)


def cyclic_peak(lowest: float, low_steady: float, on: float, off: float, constant: float) -> tuple[float, float]:
    """Highest rise of a two-level cycle and the steady rise of its high level, from its lowest rise. [K]

    lowest: rise at the beginning of each high level; low_steady: rise if the low level lasted; on, off: durations [s].
    Source: exponential heating of one body, solved backwards over the low and forwards over the high level.
    """
    highest = low_steady + (lowest - low_steady) * exp(off / constant)
    return highest, (highest - lowest * exp(-on / constant)) / -expm1(-on / constant)


def starts_from_heat_balance(full_load_loss: float, energy_per_start: float) -> float:
    """Starts a second that the cooling at full-load loss (W) carries away, without any running heat. [1/s]

    energy_per_start: heat left in the motor by one start and stop [J].
    Source: Pillai, A First Course on Electrical Drives, ch. 5.
    """
    _positive(full_load_loss=full_load_loss, energy_per_start=energy_per_start)
    return full_load_loss / energy_per_start


def insulation_life(rated_life: float, excess: float, halving: float = 10.0) -> float:
    """Life at a temperature `excess` (K) above the rated one; halves per `halving` K. Unit of `rated_life`.

    Source: ten-degree rule as in Hubert, Electric Machines, Example 5.14; 8 to 12 K are quoted (common practice, no source).
    """
    return rated_life * float(2 ** (-excess / halving))


def rise_under_unbalance(rise: float, unbalance: float) -> float:
    """Temperature rise (K) under `unbalance` (pu of the mean, greatest deviation): rise (1 + 2 (100 u)^2 / 100).

    Source: rule beside NEMA MG 1, 14.36, as in Hubert, Electric Machines, Example 5.14.
    """
    return rise * (1 + 2 * (100 * unbalance) ** 2 / 100)

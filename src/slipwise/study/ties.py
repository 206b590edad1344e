"""Values of a plate that belong together: which one follows when another is moved, so that the plate stays of one piece.

Power is sqrt(3) x voltage x current x power factor x efficiency, and synchronous speed goes with frequency and poles; a plate
that says otherwise is refused when it is read. So a hand that moves one value must take another along.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import inf, isfinite, prod, sqrt
from typing import Any

from slipwise.quantity.errors import InputError
from slipwise.quantity.units import parse
from slipwise.study.fields import leaf_at, split
from slipwise.study.schema.fields import Quantity

POWER, CURRENT, COSINE, EFFICIENCY, SPEED = "rated_power", "rated_current", "power_factor", "efficiency", "rated_speed"
PRODUCT = ("rated_voltage", CURRENT, COSINE, EFFICIENCY)  # with sqrt(3): the power
FOLLOW = {  # what may follow, the likeliest first
    POWER: (CURRENT, COSINE, EFFICIENCY),
    "rated_voltage": (CURRENT,),
    CURRENT: (POWER, COSINE, EFFICIENCY),
    COSINE: (CURRENT, EFFICIENCY),
    EFFICIENCY: (CURRENT, COSINE),
    "rated_frequency": (SPEED,),
    "poles": (SPEED,),
}
LIKELY = {COSINE: (0.3, 0.98), EFFICIENCY: (0.3, 0.99)}  # else another follows; from memory, of plates at large
DIGITS = {SPEED: 5}  # of what follows, else 4; the exact value is not wanted on a plate
_PRODUCT = "power = sqrt(3) x voltage x current x power factor x efficiency"
_SLIP = "the slip at full load stays"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """What follows a moved value of `[motor]`. key: of the one that follows; why: the relation that is kept."""

    key: str
    why: str


def tie_of(motor: Mapping[str, Any], key: str) -> Tie | None:
    """What follows when `key` is dragged on a plate with these values; None when it stands alone.

    motor: values of `[motor]` as written.
    """
    first = next(iter(_candidates(motor, key)), None)
    return None if first is None else Tie(key=first, why=why(key))


def why(key: str) -> str:
    """The relation that is kept when a value of the plate is moved."""
    return _SLIP if FOLLOW[key] == (SPEED,) else _PRODUCT


def followed(
    before: Mapping[str, Any], after: Mapping[str, Any], key: str, kept: Collection[str] = ()
) -> tuple[str, str | float] | None:
    """Key and new value of what follows, as it is to be written; None when nothing does, or a value cannot be read.

    Args:
        before, after: values of `[motor]` as written, before and after `key` was moved.
        kept: keys of values that should stay, if anything else can follow.
    """
    old, new = _numbers(before), _numbers(after)
    candidates = _candidates(before, key)
    for follower in (*(name for name in candidates if name not in kept), *candidates):
        factor = _factor(old, new, key, follower)
        number, unit = split(str(before[follower]))
        if factor is None or number is None or not isfinite(number * factor):
            continue
        low, high = LIKELY.get(follower, (0.0, inf))
        if low < old[follower] * factor < high:
            value = float(f"{number * factor:.{DIGITS.get(follower, 4)}g}")
            return follower, f"{value:.10g} {unit}".strip() if isinstance(before[follower], str) else value
    return None


def _candidates(motor: Mapping[str, Any], key: str) -> tuple[str, ...]:
    """What may follow on a plate with these values. One that does not state all of the power leaves only its current tied."""
    if all(name in motor for name in (POWER, *PRODUCT)):
        return FOLLOW.get(key, ()) if FOLLOW.get(key) != (SPEED,) or SPEED in motor else ()
    return tuple(name for name in FOLLOW.get(key, ()) if name in {CURRENT, SPEED} and name in motor)


def _factor(old: Mapping[str, float], new: Mapping[str, float], key: str, follower: str) -> float | None:
    """By how much what follows changes."""
    if not (old.get(key, 0.0) > 0 and new.get(key, 0.0) > 0 and old.get(follower, 0.0) > 0):
        return None
    if follower != SPEED and all(new.get(name, 0.0) > 0 for name in (POWER, *PRODUCT)):
        product = sqrt(3) * prod(new[name] for name in PRODUCT)
        miss = new[POWER] / product  # as what follows stands now
        return 1 / miss if follower == POWER else miss
    factor = new[key] / old[key]
    return factor if key in {POWER, "rated_frequency"} else 1 / factor


def _numbers(motor: Mapping[str, Any]) -> dict[str, float]:
    """What can be read of the values that are tied, in SI."""
    found: dict[str, float] = {}
    for key in (POWER, *PRODUCT, "rated_frequency", SPEED, "poles"):
        value = motor.get(key)
        leaf = leaf_at({"motor": motor}, ("motor", key))
        if value is None or isinstance(value, bool):
            continue
        try:
            found[key] = parse(value, leaf.unit).value if isinstance(leaf, Quantity) else float(value)
        except (InputError, ValueError, TypeError):
            continue
    return found

"""Values of a plate that belong together: which one follows when another is moved, so that the plate stays of one piece.

Power is sqrt(3) x voltage x current x power factor x efficiency, and synchronous speed goes with frequency and poles; a plate
that says otherwise is refused when it is read. So a hand that moves one value must take another along.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite, sqrt
from typing import Any

from slipwise.quantity.errors import InputError
from slipwise.quantity.units import parse
from slipwise.study.fields import leaf_at, split
from slipwise.study.schema.fields import Quantity

CURRENT, COSINE, SPEED = "rated_current", "power_factor", "rated_speed"
PRODUCT = ("rated_voltage", CURRENT, COSINE, "efficiency")  # with sqrt(3): the power
DIGITS = {CURRENT: 4, COSINE: 4, SPEED: 5}  # of what follows; the exact value is not wanted on a plate
_POWER = "power = sqrt(3) x voltage x current x power factor x efficiency"
_SLIP = "the slip at full load stays"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """What follows a moved value of `[motor]`. key: of the one that follows; why: the relation that is kept."""

    key: str
    why: str


def tie_of(motor: Mapping[str, Any], key: str) -> Tie | None:
    """What follows when `key` is moved on a plate with these values; None when it stands alone.

    motor: values of `[motor]` as written.
    """
    whole = all(name in motor for name in ("rated_power", *PRODUCT))
    if key in {"rated_power", "rated_voltage", COSINE, "efficiency"} and CURRENT in motor:
        return Tie(key=CURRENT, why=_POWER)
    if key == CURRENT and whole:
        return Tie(key=COSINE, why=_POWER)
    if key in {"rated_frequency", "poles"} and SPEED in motor:
        return Tie(key=SPEED, why=_SLIP)
    return None


def followed(before: Mapping[str, Any], after: Mapping[str, Any], key: str) -> tuple[str, str | float] | None:
    """Key and new value of what follows, as it is to be written; None when nothing does, or a value cannot be read.

    Args:
        before, after: values of `[motor]` as written, before and after `key` was moved.
    """
    tie = tie_of(before, key)
    if tie is None:
        return None
    factor = _factor(_numbers(before), _numbers(after), key, tie.key)
    number, unit = split(str(before[tie.key]))
    if factor is None or number is None or not isfinite(number * factor):
        return None
    new = float(f"{number * factor:.{DIGITS[tie.key]}g}")
    return tie.key, f"{new:.10g} {unit}".strip() if isinstance(before[tie.key], str) else new


def _factor(old: Mapping[str, float], new: Mapping[str, float], key: str, follower: str) -> float | None:
    """By how much what follows changes."""
    if key not in old or key not in new or follower not in old or old[key] <= 0 or new[key] <= 0:
        return None
    others = [name for name in PRODUCT if name != follower]
    if follower != SPEED and all(new.get(name, 0.0) > 0 for name in ("rated_power", *others)):
        product = sqrt(3)
        for name in others:
            product *= new[name]
        return new["rated_power"] / product / old[follower] if old[follower] > 0 else None
    factor = new[key] / old[key]
    return factor if key in {"rated_power", "rated_frequency"} else 1 / factor


def _numbers(motor: Mapping[str, Any]) -> dict[str, float]:
    """What can be read of the values that are tied, in SI."""
    found: dict[str, float] = {}
    for key in ("rated_power", *PRODUCT, "rated_frequency", SPEED, "poles"):
        value = motor.get(key)
        leaf = leaf_at({"motor": motor}, ("motor", key))
        if value is None or isinstance(value, bool):
            continue
        try:
            found[key] = parse(value, leaf.unit).value if isinstance(leaf, Quantity) else float(value)
        except (InputError, ValueError, TypeError):
            continue
    return found

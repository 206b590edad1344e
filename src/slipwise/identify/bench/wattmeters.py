"""Two wattmeters on three wires: power and the sign of the smaller reading."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show

REVERSED = "counts as negative"  # part of the words when a sign was turned
AGREES = 0.12  # apparent power by the wattmeters against that by voltage and current: meter errors and some unbalance


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoWattmeters:
    """power: of all three phases, W. reversed_sign: the smaller reading counts as negative although entered positive.

    words: what was concluded and why.
    """

    power: float
    reversed_sign: bool
    words: str


def two_wattmeters(
    first: float, second: float, voltage: float, current: float, field: str = "wattmeters"
) -> TwoWattmeters:
    """Total power of a balanced three-wire load from two wattmeters, with the sign of the smaller one made sure of.

    Below a power factor of 0.5 one wattmeter reads backwards; on a pointer instrument its leads are then changed over and a
    plain number is written down. The two readings also give the reactive power, sqrt(3) (W1 - W2), so that the apparent
    power tells which sign it was.

    Args:
        first, second: readings, negative when entered so. [W]   voltage, current: line rms. [V], [A]
        field: where the readings stand, for the message.

    Raises:
        InputError: neither sign agrees with voltage times current, or the signs entered contradict it.

    Source: two-wattmeter method, Chapman, 4th ed., appendix A (from memory); apparent power agreement is ours.
    """
    apparent = sqrt(3) * voltage * current
    high, low = (first, second) if abs(first) >= abs(second) else (second, first)
    as_entered, turned = _apparent(high, low), _apparent(high, -low)
    miss, other = abs(as_entered / apparent - 1), abs(turned / apparent - 1)
    stated = low < 0 or high < 0
    entered = f"{show(first, 'W')} and {show(second, 'W')}"
    if miss <= other or low == 0:
        if miss > AGREES:
            raise _unequal(field, entered, as_entered, apparent)
        return TwoWattmeters(power=first + second, reversed_sign=False, words=f"{entered} added as entered")
    if other > AGREES:
        raise _unequal(field, entered, turned if other < miss else as_entered, apparent)
    if stated:
        reason = f"with these signs the apparent power is {show(as_entered, 'VA')}, by voltage and current {show(apparent, 'VA')}"
        raise InputError.of(field, entered, reason, f"the smaller reading seems to be {show(-low, 'W')}")
    words = (
        f"the smaller wattmeter, {show(low, 'W')}, {REVERSED}: the apparent power is then {show(turned, 'VA')} "
        f"against {show(apparent, 'VA')} by voltage and current, and {show(as_entered, 'VA')} otherwise"
    )
    return TwoWattmeters(power=high - low, reversed_sign=True, words=words)


def _apparent(first: float, second: float) -> float:
    return sqrt((first + second) ** 2 + 3 * (first - second) ** 2)


def _unequal(field: str, entered: str, found: float, apparent: float) -> InputError:
    reason = f"the wattmeters give {show(found, 'VA')}, voltage and current {show(apparent, 'VA')}"
    return InputError.of(field, entered, reason, "check ranges, current-transformer ratio and wiring")

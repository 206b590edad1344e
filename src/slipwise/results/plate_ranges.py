"""What a partial plate leaves open, as ranges over the motors that agree with it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateRange:
    """One value over the ensemble: nine motors in ten lie between `low` and `high`, half of them below `middle`.

    name: field of `[motor]`, or of `[motor.circuit]` as `circuit.R1`. unit: SI. given: whether the plate says it, and
    only its rounding is left.
    """

    name: str
    title: str
    unit: str
    low: float
    middle: float
    high: float
    given: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateRanges:
    """Every range of a plate, from `members` motors out of `tried` draws of the random numbers of `seed`."""

    rows: tuple[PlateRange, ...]
    members: int
    tried: int
    seed: int

"""What harmonic currents the point of common coupling may carry, beside the currents of a way."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class HarmonicBand:
    """Orders from `order_from` up to below `order_to` may each carry `limit` of the demand current. [pu]"""

    order_from: float
    order_to: float
    limit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HarmonicLimits:
    """Limits at one busbar.

    ratio: short-circuit over demand current, which decides the row of the table. demand: greatest load current there, at
    the motor's voltage level, A; all limits are per unit of it. total: of all harmonics together, root of the sum of
    squares. [pu]
    """

    busbar: str
    ratio: float
    demand: float
    bands: tuple[HarmonicBand, ...]
    total: float
    source: str

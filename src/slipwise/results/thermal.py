"""Temperatures along a duty, and where the heat went."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.ledger import Ledger
from slipwise.results.series import Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatTrace:
    """Temperatures of the bodies over time.

    time: shape (n,) [s]; bodies: names; temperature: shape (bodies, n) [degC]; limits: one a body, None where unknown
    [degC]; ambient [degC]; energy: generated = stored + removed [J].
    """

    time: Array
    bodies: tuple[str, ...]
    temperature: Array
    limits: tuple[float | None, ...]
    ambient: float
    energy: Ledger

    def peak(self, body: str) -> float:
        """Highest temperature of a body. [degC]"""
        return float(self.temperature[self.bodies.index(body)].max())

    @property
    def final(self) -> Array:
        """Temperatures at the end, shape (bodies,). [degC]"""
        return self.temperature[:, -1]

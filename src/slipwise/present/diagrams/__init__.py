"""Power circuits drawn from `results.wiring`."""

from __future__ import annotations

from slipwise.present.diagrams.power_circuit import described, diagram

__all__ = ["described", "diagram"]

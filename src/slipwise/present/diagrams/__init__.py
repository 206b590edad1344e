"""Power circuits and windings drawn from `results.wiring` and `results.winding`."""

from __future__ import annotations

from slipwise.present.diagrams.power_circuit import described, diagram
from slipwise.present.diagrams.winding import winding_described, winding_diagram

__all__ = ["described", "diagram", "winding_described", "winding_diagram"]

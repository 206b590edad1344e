"""Figures of a study: one catalogue of what can be drawn, drawn without any screen, saved as SVG, PDF or PNG."""

from __future__ import annotations

from slipwise.present.figures.catalogue import Entry, catalogue, draw, file_name
from slipwise.present.figures.look import Look

__all__ = ["Entry", "Look", "catalogue", "draw", "file_name"]

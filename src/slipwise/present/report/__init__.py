"""The typeset PDF report."""

from __future__ import annotations

from slipwise.present.report.build import report

__all__ = ["report"]

"""A lecture of one motor: every picture of starting and speed control, computed from the study at hand."""

from __future__ import annotations

from slipwise.teach.lecture.build import lecture, moving_start

__all__ = ["lecture", "moving_start"]

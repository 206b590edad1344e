"""One dial of a way, as set."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One dial of a way. `value` in `unit` (SI; shown through quantity.show). origin and why as for Sourced."""

    key: str
    title: str
    value: float | None
    unit: str
    origin: str
    why: str
    text: str = ""

"""One way asked for in a study file, whether of starting, of speed control or of stopping."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class WayRequest:
    """One way asked for. given: settings in SI by their key; absent ones are designed."""

    key: str
    given: Mapping[str, float | str]

"""What is asked about stopping, as plain validated data."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.limits.thresholds import Threshold
from slipwise.study.request import WayRequest

FORWARD, REVERSE = "forward", "reverse"


@dataclass(frozen=True, slots=True, kw_only=True)
class StoppingStudy:
    """Ways to be compared and limits of their own.

    direction: in which the drive runs before the stop. stop_time [s], turns [1]: limits. load_case: state of the load;
    "" for the one that stops slowest by itself. arrangement: of a tapped winding, "" without one.
    """

    direction: str
    ways: tuple[WayRequest, ...]
    order: tuple[str, ...]
    stop_time: Threshold
    turns: Threshold
    stops_per_hour: float | None
    load_case: str
    arrangement: str
    switching_angles: int
    pause_scatter: float  # s

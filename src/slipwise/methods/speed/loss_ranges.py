"""How far the losses that rest on typical figures may be off, by part: for the range of a year's energy."""

from __future__ import annotations

from collections.abc import Mapping

from slipwise.model.converter.dc_link import LINK_RANGE
from slipwise.model.converter.harmonics import LOSS_RANGE
from slipwise.model.converter.inverter import VALVE_RANGE
from slipwise.results.speed import OperatingPoint, Part

# Least and greatest over the value shown, for a motor behind an inverter (common practice, no source).
INVERTER_FED: Mapping[Part, tuple[float, float]] = {
    Part.RECTIFIER: LINK_RANGE,
    Part.LINK: LINK_RANGE,
    Part.SERIES: LINK_RANGE,
    Part.INVERTER: VALVE_RANGE,
    Part.HARMONIC: LOSS_RANGE,
}


def line_power_range(point: OperatingPoint, ranges: Mapping[Part, tuple[float, float]]) -> tuple[float, float]:
    """Least and greatest line power when every typical loss is at the low, or at the high end of its range at once. [W]

    Parts without a range stay as they are.
    """
    low, high = (
        point.line_power + sum(row.power * (ranges[row.part][end] - 1) for row in point.losses if row.part in ranges)
        for end in (0, 1)
    )
    return low, high

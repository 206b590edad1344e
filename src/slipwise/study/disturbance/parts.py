"""What the answers about bad supplies share: short ways to say a number or a curve, and the temperature that losses make."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from slipwise.model.thermal.parameters import CAGE, FRAME, IRON, WINDING
from slipwise.results.disturbance import Finding, Trace
from slipwise.results.series import Array
from slipwise.solve.heat import steady_rise
from slipwise.study.model import Study

FIND_CAUSE = "Find the cause and remove it; do not raise the setting of the overload relay to keep the motor running."


def finding(key: str, title: str, value: float | None, unit: str) -> Finding:
    """One number of an answer."""
    return Finding(key=key, title=title, value=None if value is None else float(value), unit=unit)


def trace(label: str, x: Array, x_unit: str, values: Array, unit: str) -> Trace:
    """One curve of an answer."""
    return Trace(
        label=label,
        x_unit=x_unit,
        unit=unit,
        x=np.asarray(x, dtype=np.float64),
        values=np.asarray(values, dtype=np.float64),
    )


def warmth(study: Study, stator: float, rotor: float, core: float) -> float | None:
    """Settled winding temperature with these losses (W), the rest as at rated load; None when `[thermal]` is not given. [degC]"""
    asked = study.thermal
    if asked is None:
        return None
    losses: Mapping[str, float] = {WINDING: stator, CAGE: rotor, IRON: core, FRAME: asked.motor.losses.other}
    network = asked.motor.network
    return asked.ambient + float(steady_rise(network, losses)[network.names.index(WINDING)])


def driven(study: Study) -> str:
    """What the study calls its driven machine: "pump", "fan", "conveyor", "crusher", "hoist", or ""."""
    said = " ".join([study.title, *(row.text for row in study.inputs if row.value is None)]).lower()
    return next((word for word in ("pump", "fan", "conveyor", "crusher", "hoist") if word in said), "")


def of_rated(study: Study, current: float) -> float:
    """A line current (A) per unit of the rated one."""
    return current / study.motor.rating.current

"""Two-level inverter: how much voltage it can give, and what its valves lose."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import pi, sqrt
from typing import Any

import numpy as np


class Modulation(StrEnum):
    """How the pulses are made. SIX_STEP: space-vector pulses, over-modulated into six steps when more voltage is asked."""

    SINUSOIDAL = "sinusoidal"
    SPACE_VECTOR = "space_vector"
    SIX_STEP = "six_step"


SINUSOIDAL_RATIO = sqrt(3) / (2 * sqrt(2))
SPACE_VECTOR_RATIO = 1 / sqrt(2)
SIX_STEP_RATIO = sqrt(6) / pi
_RATIOS = {
    Modulation.SINUSOIDAL: SINUSOIDAL_RATIO,
    Modulation.SPACE_VECTOR: SPACE_VECTOR_RATIO,
    Modulation.SIX_STEP: SIX_STEP_RATIO,
}


def greatest_ratio(modulation: Modulation) -> float:
    """Greatest fundamental line voltage (rms) over the dc voltage: 0.612, 0.707, 0.780. [1]

    Source: Mohan, Undeland, Robbins, Power Electronics, 3rd ed., ch. 8 (0.612 linear, 0.78 square wave); space vectors:
    Holmes and Lipo, Pulse Width Modulation for Power Converters, ch. 6 (2/sqrt 3 times the sinusoidal).
    """
    return _RATIOS[modulation]


@dataclass(frozen=True, slots=True, kw_only=True)
class Valves:
    """Typical insulated-gate transistors with their diodes, scaled to the converter.

    threshold: forward voltage at little current, V. slope: ohm. switching: energy of one on, off and diode recovery per
    ampere and volt, s.
    """

    threshold: float
    slope: float
    switching: float


# Forward voltage 1.0 V at little current, 2.0 V at the peak of the rated current; 0.5 us of switching loss per ampere and
# volt (common practice, no source; makers' sheets of 1200 V parts give 0.8 to 1.2 V, 1.6 to 2.4 V, 0.25 to 1.0 us).
TYPICAL_THRESHOLD, TYPICAL_RISE, TYPICAL_SWITCHING = 1.0, 1.0, 0.5e-6
VALVE_RANGE = (0.7, 1.6)  # of the losses so computed
VALVE_NOTE = "valve losses by typical figures, 0.7 to 1.6 times (common practice, no source)"


def typical_valves(current: float) -> Valves:
    """Valves of a converter of this rated output current (rms, A)."""
    return Valves(threshold=TYPICAL_THRESHOLD, slope=TYPICAL_RISE / (sqrt(2) * current), switching=TYPICAL_SWITCHING)


def valve_loss(
    valves: Valves, current: Any, power_factor: Any, ratio: Any, dc_voltage: Any, switching_frequency: float
) -> Any:
    """Conduction and switching loss of all six transistors and diodes. [W]

    Args:
        current: fundamental output current, rms A, number or array; the others of the same shape.
        power_factor: displacement factor of the motor, negative when it returns power. [1]
        ratio: fundamental line voltage over dc voltage, rms. [1]
        dc_voltage: V. switching_frequency: of each leg, Hz.

    Source: averaged over a period of the output with sinusoidal current, transistor and diode alike: conduction
    V0 I/(2 pi) + r I^2/8 with the modulation depth shifting current between them (which cancels for equal parts)
    (Holmes and Lipo, ch. 1, from memory); switching energy in proportion to current and voltage.
    """
    peak = sqrt(2) * np.asarray(current)
    shift = np.abs(ratio / SINUSOIDAL_RATIO * power_factor)
    transistor = valves.threshold * peak * (1 / (2 * pi) + shift / 8) + valves.slope * peak**2 * (
        1 / 8 + shift / (3 * pi)
    )
    diode = valves.threshold * peak * (1 / (2 * pi) - shift / 8) + valves.slope * peak**2 * (1 / 8 - shift / (3 * pi))
    switching = switching_frequency * valves.switching * dc_voltage * peak / pi
    return 6 * (transistor + np.maximum(diode, 0.0) + switching)

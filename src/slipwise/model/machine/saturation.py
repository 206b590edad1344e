"""Saturation laws: leakage at high current and the main flux at high voltage, both smooth in their argument.

The same law serves the steady state and the transient, because it is written on the length of the space vector: in a
balanced steady state that length is the peak phase current (or flux) and does not vary in time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from slipwise.model.machine.checks import require_positive
from slipwise.quantity.errors import DomainError


def two_slope_factor(peak: Any, knee: float) -> Any:
    """Describing function of a leakage path whose slope drops to nothing at the knee: 1 below, falling to 0 above.

    With r = knee / peak: (2/pi) (asin r + r sqrt(1 - r^2)). The fundamental of the flux under a sinusoidal current of
    the given peak, over that of the unsaturated path. Continuous with its first derivative.

    Args:
        peak: peak of the current, any shape. [A]
        knee: current at which the path saturates. [A]

    Raises:
        DomainError: the knee is not above zero.

    Source: describing function of a saturation, in every text on nonlinear control (from memory).
    """
    require_positive("knee", knee)
    r = np.minimum(1.0, knee / np.maximum(np.abs(peak), 1e-300))
    return 2 / np.pi * (np.arcsin(r) + r * np.sqrt(1 - r * r))


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakageSaturation:
    """How leakage reactance falls at high current: tooth tips and closed slots saturate, end windings do not.

    X(I) = X (1 - share (1 - floor) (1 - factor(I))), the factor being `two_slope_factor`.

    knee: peak phase current of the star equivalent, the length of the space vector, at which saturation begins. [A]
        The stator's own current counts for X1, each rotor branch's own current for its X.
    stator_share, rotor_share: part of X1 and of each rotor X that saturates. [1]
    floor: slope left in the saturable part far above the knee, over its slope below. [1]
    """

    knee: float
    stator_share: float
    rotor_share: float
    floor: float = 0.1

    def __post_init__(self) -> None:
        """Refuses shares outside 0 to 1."""
        require_positive("leakage_saturation.knee", self.knee)
        for name in ("stator_share", "rotor_share", "floor"):
            value = getattr(self, name)
            if not 0 <= value <= 1:
                raise DomainError.of(
                    f"leakage_saturation.{name}", value, "a share lies between 0 and 1", "give it in pu"
                )

    def _factor(self, peak: Any, share: float) -> Any:
        return 1 - share * (1 - self.floor) * (1 - two_slope_factor(peak, self.knee))

    def stator(self, peak: Any) -> Any:
        """Factor on X1 at a stator current of this peak; shape of `peak`."""
        return self._factor(peak, self.stator_share)

    def rotor(self, peak: Any) -> Any:
        """Factor on a rotor branch's X at a branch current of this peak; shape of `peak`."""
        return self._factor(peak, self.rotor_share)


@dataclass(frozen=True, slots=True, kw_only=True)
class MainSaturation:
    """How the magnetising reactance falls with flux: 1/X = 1/Xu + (1/Xm - 1/Xu) (flux / rated flux)^exponent.

    rated_gap_voltage: rms phase voltage behind the stator impedance at which the circuit's Xm holds, at its frequency;
        flux is measured as gap voltage x (circuit frequency / supply frequency). [V]
    unsaturated: Xu / Xm, the reactance at little flux over that at rated flux, at least 1. [1]
    exponent: how sharp the knee is; 6 to 8 is common practice, no source.
    """

    rated_gap_voltage: float
    unsaturated: float
    exponent: float = 7.0

    def __post_init__(self) -> None:
        """Refuses what is no saturation."""
        require_positive("main_saturation.rated_gap_voltage", self.rated_gap_voltage)
        if not self.unsaturated >= 1:
            raise DomainError.of(
                "main_saturation.unsaturated", self.unsaturated, "reactance at little flux is not smaller", "at least 1"
            )
        if not 1 <= self.exponent <= 20:
            raise DomainError.of("main_saturation.exponent", self.exponent, "it lies between 1 and 20", "take 7")

    def susceptance_factor(self, gap_voltage: Any) -> Any:
        """Factor on 1/Xm at a gap voltage referred to the circuit's frequency (V rms); shape of the voltage."""
        level = (np.abs(gap_voltage) / self.rated_gap_voltage) ** self.exponent
        least = 1 / self.unsaturated
        return least + (1 - least) * level

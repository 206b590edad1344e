"""The simplified torque-slip formula and the relations that follow from it, for checks by hand and for thin data."""

from __future__ import annotations

from math import sqrt
from typing import Any

from slipwise.model.machine.checks import require_finite, require_positive
from slipwise.quantity.errors import DomainError


def torque_ratio(slip: Any, breakdown_slip: float, q: float = 0.0) -> Any:
    """Torque as a fraction of breakdown torque: (2 + q) / (s/sm + sm/s + q); shape of `slip`, 0 at slip 0.

    Args:
        slip: number or array. [1]
        breakdown_slip: sm, above zero. [1]
        q: 2 sm R / R2, with the resistance R of the source seen by the rotor; 0 neglects it. [1]

    Raises:
        DomainError: slip not finite or breakdown slip not above zero.

    Source: any machines text, e.g. Chapman, 4th ed., ch. 7; exact for a single cage with constant values.
    """
    require_finite("slip", slip)
    require_positive("breakdown_slip", breakdown_slip)
    return (2 + q) * slip * breakdown_slip / (slip * slip + breakdown_slip**2 + q * slip * breakdown_slip)


def breakdown_slip_from_current(locked_rotor_current_ratio: float, rated_slip: float) -> float:
    """Breakdown slip from locked-rotor current over rated current and rated slip, stator impedance and magnetising
    current neglected. [1]

    Raises:
        DomainError: the current ratio is not above 1, or too large for the rated slip (ratio x slip must be below 1).

    Source: Nagrath & Kothari, Electric Machines, Example 9.10: (I1/In)^2 = (sm^2 + sn^2) / (sn^2 (sm^2 + 1)).
    """
    require_positive("rated_slip", rated_slip)
    ratio = locked_rotor_current_ratio
    if not 1 < ratio < 1 / rated_slip:
        raise DomainError.of(
            "locked_rotor_current_ratio",
            ratio,
            f"must lie between 1 and 1/rated slip = {1 / rated_slip:.4g}",
            "check the current ratio and the rated speed",
        )
    square = (ratio * rated_slip) ** 2
    return sqrt((square - rated_slip**2) / (1 - square))


def locked_rotor_current_at(current: float, voltage_ratio: float, frequency_ratio: float = 1.0) -> float:
    """Locked-rotor current at another voltage and frequency by the reactance-only rule I ~ V/f. [A]

    Source: Hubert, Electric Machines, Example 5.7. Leakage saturation makes the true fall with voltage steeper.
    """
    require_positive("frequency_ratio", frequency_ratio)
    return current * voltage_ratio / frequency_ratio


def locked_rotor_torque_at(torque: float, voltage_ratio: float, frequency_ratio: float = 1.0) -> float:
    """Locked-rotor torque at another voltage and frequency by the rule T ~ (V/f)^2. [N m]

    Source: Hubert, Electric Machines, Example 5.8.
    """
    require_positive("frequency_ratio", frequency_ratio)
    return torque * (voltage_ratio / frequency_ratio) ** 2


def ohms_from_per_unit(value: float, line_voltage: float, base_power: float) -> float:
    """Per-unit impedance in ohm per phase of the star equivalent: value x V^2 / three-phase base power. [ohm]

    base_power: three-phase; name openly whether it is the shaft rating or the input apparent power. [VA]
    Source: Hubert, Electric Machines, Example 5.15 (base = shaft rating).
    """
    require_positive("base_power", base_power)
    return value * line_voltage**2 / base_power

"""The double-cage circuit that reproduces rated, locked-rotor and breakdown values together, in per unit.

Per unit here: phase voltage 1, rated current 1. The rated point fixes core loss and magnetising reactance once the
stator impedance is chosen; the locked-rotor point fixes the rotor admittance at slip 1. With T = X/R of each cage, two
cages meet that admittance in closed form for any T3 < phi < T2, phi being the admittance's own X/R. What is left are two
equations (rated slip, breakdown torque) in T2 and T3; where they have no solution the split of the stator impedance
moves away from its usual value, and last the plate values move inside their own rounding.
"""

from __future__ import annotations

from dataclasses import dataclass


class NoCircuitError(Exception):
    """No circuit exists at this trial point; the words say which part of it fails."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One ratio the circuit should show: its value, how far it may move (relative), and whether it was given at all.

    A given value is met exactly where a circuit allows, else inside `slack`; a typical value may move over `slack` freely.
    """

    value: float
    slack: float
    given: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """What the circuit must reproduce. Ratios to rated current and rated torque; pull_up may be None,
    and torque harmonics, which no circuit holds, lower it.

    shares: of the loss that is neither rotor loss nor output, how much is mechanical and how much stray; the rest is
    divided between stator copper (`stator_share`) and core.  stator_leakage: share of the locked-rotor reactance in X1.
    """

    slip: Wish
    power_factor: float
    efficiency: float
    current: Wish
    torque: Wish
    breakdown: Wish
    pull_up: float | None = None
    pull_up_slack: float = 0.01  # relative, as the slack of a Wish
    mechanical: float | None = None  # given loss, per unit of rated apparent power
    mechanical_share: float = 0.12
    stray_share: float = 0.18
    stator_share: float = 0.6
    stator_leakage: float = 0.5

    @property
    def first_peak(self) -> bool:
        """Whether breakdown is the first peak from synchronous speed because standstill shows more torque still."""
        return self.torque.value > self.breakdown.value * (1 + self.breakdown.slack) * (1 + self.torque.slack)

    @property
    def monotone(self) -> bool:
        """Whether the highest torque is that of standstill, so that nowhere else may there be more."""
        return not self.first_peak and self.torque.value >= self.breakdown.value


@dataclass(frozen=True, slots=True)
class Cages:
    """A fitted circuit in per unit; mechanical and stray loss at the rated point, rated output and slip beside it."""

    slip: float
    R1: float
    X1: float
    core: float  # conductance of Rfe
    magnetising: float  # susceptance of Xm
    R2: float
    X2: float
    R3: float
    X3: float
    mechanical: float
    stray: float
    output: float
    conductance_ratio: float  # rotor conductance at rated slip over the wanted one

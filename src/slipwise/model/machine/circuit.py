"""The per-phase equivalent circuit: stator, magnetising branch and any number of parallel rotor branches."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import Any

from slipwise.model.machine.saturation import LeakageSaturation, MainSaturation


@dataclass(frozen=True, slots=True, kw_only=True)
class RotorBranch:
    """One rotor circuit referred to the stator: a resistance and a leakage reactance in series. [ohm]

    One branch is a single cage or a wound rotor, two are a double cage, more are a fitted ladder of a deep bar.
    """

    R: float
    X: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """Per-phase circuit, star equivalent of the running connection, seen from the stator. [ohm]

    frequency: at which the reactances hold. [Hz]
    Rfe: core-loss resistance across the magnetising reactance; infinite when core loss is not modelled there.
    leakage_saturation, main_saturation: laws by which reactances fall at high current and high flux; None: constant. The
        reactances here then hold at small current and at rated flux; `saturated.py` gives those that hold at a point.
    """

    frequency: float
    R1: float
    X1: float
    Xm: float
    rotor: tuple[RotorBranch, ...]
    Rfe: float = inf
    leakage_saturation: LeakageSaturation | None = None
    main_saturation: MainSaturation | None = None

    def rotor_admittance(self, slip: Any, frequency: Any, external: float = 0.0) -> Any:
        """Admittance of the rotor behind the air gap, zero at slip 0; shape of `slip`. [S]

        external: resistance added per phase in a wound rotor's only branch, referred to the stator. [ohm]
        """
        x = frequency / self.frequency
        total: Any = 0.0
        for branch in self.rotor:
            total = total + slip / (branch.R + external + 1j * slip * branch.X * x)
        return total

    def magnetising_admittance(self, frequency: Any) -> Any:
        """Magnetising reactance and core-loss resistance in parallel. [S]"""
        return 1 / self.Rfe + 1 / (1j * self.Xm * frequency / self.frequency)

    def stator_impedance(self, frequency: Any) -> Any:
        """R1 + jX1 at the given frequency. [ohm]"""
        return self.R1 + 1j * self.X1 * frequency / self.frequency

    def with_rotor_resistance(self, factor: float) -> Circuit:
        """The same circuit with every rotor resistance multiplied by `factor`."""
        return replace(self, rotor=tuple(RotorBranch(R=b.R * factor, X=b.X) for b in self.rotor))

    def warmed(self, stator: float, rotor: float) -> Circuit:
        """The same circuit with stator and rotor resistances multiplied (temperature, see `temperature.py`)."""
        warm = self.with_rotor_resistance(rotor)
        return replace(warm, R1=self.R1 * stator)

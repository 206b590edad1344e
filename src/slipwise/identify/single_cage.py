"""What one cage would show: for the note that says why two are used."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

from slipwise.identify.cage_fit import Goal, NoCircuitError, stator_side


def single_cage_torque(goal: Goal) -> float | None:
    """Locked-rotor torque over rated torque of a single cage with the rated point and locked-rotor current of `goal`.

    None when no single cage shows both. The stator keeps its usual proportions; the cage's reactance is found by
    bisection on the locked-rotor current, its resistance from the rated slip.
    """
    torque = goal.torque.value
    for _ in range(40):
        found = _torque(goal, torque)
        if found is None:
            return None
        if abs(found - torque) < 1e-6 * torque:
            return found
        torque = sqrt(found * torque)
    return torque


def _torque(goal: Goal, assumed: float) -> float | None:
    """One pass: stator leakage for an assumed locked-rotor torque, then the cage, then its torque."""
    try:
        side = stator_side(replace(goal, torque=replace(goal.torque, value=assumed)))
    except NoCircuitError:
        return None
    slip, output = side.slip, side.output
    low, high = 1e-4, 2.0

    def cage(x: float) -> tuple[float, complex, float] | None:
        root = 1 - (2 * side.conductance * x) ** 2
        if root < 0:
            return None
        r = slip * (1 + sqrt(root)) / (2 * side.conductance)
        magnetising = side.susceptance - slip * slip * x / (r * r + slip * slip * x * x)
        y = side.core - 1j * magnetising + 1 / complex(r, x)
        return r, complex(side.R1, side.X1) + 1 / y, magnetising

    for _ in range(60):
        x = sqrt(low * high)
        found = cage(x)
        if found is None or 1 / abs(found[1]) < goal.current.value:
            high = x
        else:
            low = x
    found = cage(low)
    if found is None or abs(1 / abs(found[1]) / goal.current.value - 1) > 0.01 or found[2] <= 0:
        return None
    r, impedance, _ = found
    gap = 1 - complex(side.R1, side.X1) / impedance
    return abs(gap) ** 2 * r / (r * r + low * low) * (1 - slip) / output

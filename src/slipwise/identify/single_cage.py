"""What one cage would show: for the note that says why two are used."""

from __future__ import annotations

from math import sqrt

from slipwise.identify import cage_kernel as k
from slipwise.identify.cage_fit import Goal
from slipwise.identify.cage_search import packed


def single_cage_torque(goal: Goal) -> float | None:
    """Locked-rotor torque over rated torque of a single cage with the rated point and locked-rotor current of `goal`.

    None when no single cage shows both. The stator keeps its usual proportions; the cage's reactance is found by
    bisection on the locked-rotor current, its resistance from the rated slip.
    """
    torque = goal.torque.value
    for _ in range(20):
        found = _torque(goal, torque)
        if found is None:
            return None
        if abs(found - torque) < 2e-3 * torque:
            return found
        torque = sqrt(found * torque)
    return torque


def _torque(goal: Goal, assumed: float) -> float | None:
    """One pass: stator leakage for an assumed locked-rotor torque, then the cage, then its torque."""
    row = packed(goal)
    row[k.G_TORQUE] = assumed
    stator, side = k.room(k.CIRCUIT), k.room(4)
    if k.stator_of(row, 0.0, 0.0, k.room(4), side, stator) != k.FINE:
        return None
    slip, output = stator[k.C_SLIP], stator[k.C_OUTPUT]
    behind = complex(stator[k.C_R1], stator[k.C_X1])
    conductance, susceptance = side[k.S_CONDUCTANCE], side[k.S_SUSCEPTANCE]
    low, high = 2e-3, 2.0

    def cage(x: float) -> tuple[float, complex, float] | None:
        root = 1 - (2 * conductance * x) ** 2
        if root < 0:
            return None
        r = slip * (1 + sqrt(root)) / (2 * conductance)
        magnetising = susceptance - slip * slip * x / (r * r + slip * slip * x * x)
        y = stator[k.C_CORE] - 1j * magnetising + 1 / complex(r, x)
        return r, behind + 1 / y, magnetising

    for _ in range(24):  # to 0.001 % of x: enough for a note in whole per cent
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
    gap = 1 - behind / impedance
    return float(abs(gap) ** 2 * r / (r * r + low * low) * (1 - slip) / output)

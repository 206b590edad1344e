"""Stator-voltage control against a circuit simulator that switches every thyristor.

Both start from the same machine at a held speed and the same firing angle; the simulator marches from a dead machine until
its waveform repeats, the closed form needs no march.
"""

from __future__ import annotations

from math import degrees, radians
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks import page
from tests.independent.test_switched_stator_voltage import WITH_CORE, WITHOUT_CORE, both, power

SLIPS = (0.05, 0.1, 0.2, 0.33, 0.6, 1.0)
HOLD_OFFS = (15.0, 30.0, 45.0, 70.0, 90.0)  # degrees
COLUMNS = ("slip", "hold-off °", "firing °", "conduction", "torque N m", "torque", "current", "5th harmonic", "power")


def row(slip: float, hold_off: float, core: float) -> tuple[str, ...]:
    """One comparison: our torque, and how far we lie from the simulator in torque, current, fifth harmonic and power."""
    with TemporaryDirectory() as folder:
        ours, theirs = both(slip, hold_off, core, Path(folder))
    pairs = (
        (float(ours.torque[0, 0]), theirs.torque),
        (float(ours.current[0, 0]), theirs.current),
        (float(ours.harmonics[0, 0, 1]), theirs.harmonics[5]),
        (power(ours), theirs.power),
    )
    conduction = "two or three phases" if radians(hold_off) <= radians(60) else "two phases or none"
    off = [f"{100 * (a / b - 1):+.2f} %" for a, b in pairs]
    firing = degrees(float(ours.firing[0, 0]))
    return (f"{slip:g}", f"{hold_off:g}", f"{firing:.1f}", conduction, f"{pairs[0][0]:.4g}", *off)


def sections() -> list[str]:
    """Every slip at every hold-off, almost without core loss and with it."""
    notes = {
        WITHOUT_CORE: "Percentages: ours over the simulator's, whose valves drop some millivolts.",
        WITH_CORE: "The closed form takes the core loss into its source, exact at the fundamental; while all phases are off "
        "it has none, and the simulator's field dies away faster. Torques in that mode are small.",
    }
    found = []
    for core, note in notes.items():
        rows = [row(slip, hold_off, core) for slip in SLIPS for hold_off in HOLD_OFFS]
        title = f"3 hp, 220 V, 60 Hz, 4 poles, core-loss resistance {core:g} ohm"
        found.append(page.section(title, COLUMNS, rows, note))
    return found

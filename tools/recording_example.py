"""Writes the recorded start of the examples: bench machine B7, simulated, with noise and the steps of a 12-bit recorder.

    python -m tools.recording_example

The machine behind it is that of `bench_b7.toml`, but for what a commissioning is to find out: its load is heavier to turn
and takes more torque, and its windings are warmer.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from slipwise.identify.csv_recording import write_csv
from slipwise.identify.recording_simulated import Recorder, simulated
from slipwise.solve.plan import Drive, Stage, elapsed
from slipwise.study.reader import load

EXAMPLES = Path(__file__).parent.parent / "examples"
HEAVIER, HARDER, WARMER = 1.3, 1.15, 1.1
PLAN = (Stage(name="running", until=elapsed(0.55)),)
COMMENT = (
    "Recorded direct start of bench machine B7, workshop of Tarnhill. Invented: simulated by slipwise,\n"
    "with 1 % noise and 12 bits. No real machine was recorded."
)


def recording() -> bytes:
    """The text table."""
    study = load(EXAMPLES / "bench_b7.toml")
    circuit = study.motor.circuit
    assert circuit is not None
    motor = replace(study.motor, circuit=circuit.warmed(WARMER, WARMER))
    terms = tuple(replace(term, coefficient=HARDER * term.coefficient) for term in study.load.terms)
    driven = replace(study.load, terms=terms, inertia=HEAVIER * study.load.inertia)
    drive = Drive(motor=motor, load=driven, supply=study.supply.nominal)
    made = simulated(PLAN, drive, recorder=Recorder(rate=2500.0), seed=7, switching_angle=1.9)
    return write_csv(made, comment=COMMENT, digits=5)


if __name__ == "__main__":
    (EXAMPLES / "bench_b7_recording.csv").write_bytes(recording())

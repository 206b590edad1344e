"""A whole study in a warm process, piece by piece."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

from benchmarks.page import section
from slipwise import load, run
from slipwise.present.export import write_outputs
from slipwise.present.report import report

WHOLE = Path(__file__).parent.parent / "examples" / "pump_p3.toml"
RUNS = 5
TARGET = 5.0  # s, three ways with transients and PDF


def timed(work: Callable[[], Any]) -> float:
    """Median seconds of several runs, after one that warms up."""
    work()
    times = []
    for _ in range(RUNS):
        begin = perf_counter()
        work()
        times.append(perf_counter() - begin)
    return median(times)


def sections() -> list[str]:
    """Each piece, and the whole."""
    study = load(WHOLE)
    result = run(study)
    with tempfile.TemporaryDirectory() as name:
        out = Path(name) / "out"
        pieces: list[tuple[str, Callable[[], Any]]] = [
            ("read the file, fit the motor to its plate", lambda: load(WHOLE)),
            ("three ways in three cases, run-up", lambda: run(study, transients=False, whole=False)),
            ("the same with the transients over the switching angle", lambda: run(study, whole=False)),
            ("the same with the reach and the spread of the best ways", lambda: run(study)),
            ("figures, data, PDF", lambda: write_outputs(result, out, ("svg",), report=report)),
            (
                "all of it, from file to PDF",
                lambda: write_outputs(run(load(WHOLE)), out, ("svg",), report=report),
            ),
        ]
        rows = [(name, f"{timed(work):.3f}") for name, work in pieces]
    note = f"Median of {RUNS} runs. Target for all of it: {TARGET:.0f} s. Study file: examples/{WHOLE.name}."
    return [section("A whole study in a warm process", ("work", "s"), rows, note)]

"""What a fresh process takes from the command to the answer."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from time import perf_counter

from benchmarks.page import section

ROOT = Path(__file__).parent.parent
WHOLE = ROOT / "examples" / "pump_p3.toml"
CACHES = ("PYTHONPYCACHEPREFIX", "NUMBA_CACHE_DIR", "MPLCONFIGDIR")
RUNS = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Timed:
    """One command line after `slipwise`, what it is, and the target in seconds where one was set."""

    name: str
    words: tuple[str, ...]
    target: float | None = None


def commands(direct: Path, whole: Path, out: Path) -> tuple[Timed, ...]:
    """What is timed, shortest first."""
    return (
        Timed(name="`slipwise --help`", words=("--help",), target=0.2),
        Timed(name="one direct start, run-up", words=("start", str(direct), "--no-transients"), target=0.8),
        Timed(name="one direct start, with the electrical transient", words=("start", str(direct))),
        Timed(name="three ways, with transients", words=("start", str(whole))),
        Timed(name="the same as a study: figures, data and PDF too", words=("study", str(whole), "--out", str(out))),
    )


def seconds(words: tuple[str, ...], environment: dict[str, str]) -> float:
    """Seconds one fresh process takes; it must succeed."""
    begin = perf_counter()
    subprocess.run([sys.executable, "-m", "slipwise", *words], env=environment, check=True, capture_output=True)
    return perf_counter() - begin


def direct_only(file: Path, folder: Path) -> Path:
    """A copy of a study file that asks for the direct start alone."""
    text = file.read_text(encoding="utf-8")
    copy = folder / "direct.toml"
    copy.write_text(text[: text.index("[starting]")] + '[starting]\nways = ["direct"]\n', encoding="utf-8")
    return copy


def measured(item: Timed, out: Path, place: Path) -> tuple[str, str, str, str, str]:
    """One row: cold (no bytecode, no compiled kernel, no font list yet), then warm."""
    usual = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    cold = seconds(item.words, usual | {name: str(place / name) for name in CACHES})
    shutil.rmtree(out, ignore_errors=True)
    seconds(item.words, usual)
    shutil.rmtree(out, ignore_errors=True)
    warm = []
    for _ in range(RUNS):
        warm.append(seconds(item.words, usual))
        shutil.rmtree(out, ignore_errors=True)
    target = f"{item.target:.1f}" if item.target else ""
    return (item.name, f"{cold:.2f}", f"{median(warm):.3f}", f"{max(warm):.3f}", target)


def sections() -> list[str]:
    """Latency of fresh processes."""
    with tempfile.TemporaryDirectory() as name:
        place, out = Path(name), Path(name) / "out"
        todo = commands(direct_only(WHOLE, place), WHOLE, out)
        rows = [measured(item, out, place / str(number)) for number, item in enumerate(todo)]
    note = (
        f"Study file: examples/{WHOLE.name} (a motor fitted to its plate, three busbars, three cases). Cold: the first time "
        f"ever, nothing compiled before. Warm: median and greatest of {RUNS} fresh processes."
    )
    columns = ("command", "cold, s", "warm, median, s", "warm, greatest, s", "target, s")
    return [section("A fresh process", columns, rows, note)]

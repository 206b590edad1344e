"""What a fresh process takes from the command to the answer, and a whole study in a warm process."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

from benchmarks.page import section

ROOT = Path(__file__).parent.parent
EXAMPLES = ROOT / "examples"
RUNS = 9


def commands(file: Path, folder: Path) -> dict[str, tuple[list[str], float | None]]:
    """What is timed: the words after `slipwise`, and the target in seconds where one was set."""
    return {
        "`slipwise --help`": (["--help"], 0.2),
        "one direct start from a study file, run-up": (["start", str(file), "--no-transients"], 0.8),
        "the same with the electrical transient": (["start", str(file)], None),
        "whole study: all ways, transients, figures, PDF": (["study", str(file), "--out", str(folder / "out")], None),
    }


def timed(words: list[str], environment: dict[str, str]) -> float:
    """Seconds one fresh process takes; it must succeed."""
    begin = perf_counter()
    subprocess.run([sys.executable, "-m", "slipwise", *words], env=environment, check=True, capture_output=True)
    return perf_counter() - begin


def one_way(file: Path, folder: Path) -> Path:
    """A copy of a study file that asks for the direct start alone."""
    copy = folder / "direct.toml"
    text = file.read_text(encoding="utf-8")
    begin = text.index("[starting]")
    end = text.find("\n[", begin + 1)
    copy.write_text(
        text[:begin] + '[starting]\nways = ["direct"]\n' + (text[end:] if end > 0 else ""), encoding="utf-8"
    )
    return copy


def latency(folder: Path) -> list[tuple[str, str, str, str]]:
    """Cold (no compiled bytecode, no compiled kernel) and warm times of fresh processes."""
    whole = sorted(EXAMPLES.glob("*.toml"))[0]
    direct = one_way(whole, folder)
    rows = []
    for number, (name, (words, target)) in enumerate(commands(direct, folder).items()):
        if "whole" in name:
            words[1] = str(whole)
        cold_place = folder / f"cold{number}"
        cold_env = os.environ | {
            "PYTHONPYCACHEPREFIX": str(cold_place / "bytecode"),
            "NUMBA_CACHE_DIR": str(cold_place / "kernel"),
            "MPLCONFIGDIR": str(cold_place / "fonts"),
        }
        cold = timed(words, cold_env)
        shutil.rmtree(folder / "out", ignore_errors=True)
        times = []
        for _ in range(RUNS):
            times.append(timed(words, dict(os.environ)))
            shutil.rmtree(folder / "out", ignore_errors=True)
        shown = f"{target:.1f}" if target else ""
        rows.append((name, f"{cold:.2f}", f"{median(times):.3f}", f"{max(times):.3f}", shown))
    return rows


def sections() -> list[str]:
    """Latency of fresh processes."""
    with tempfile.TemporaryDirectory() as place:
        rows = latency(Path(place))
    note = f"Seconds. Cold: the first time ever, nothing compiled before. Warm: median and greatest of {RUNS} fresh processes."
    return [section("A fresh process", ("command", "cold", "warm, median", "warm, greatest", "target"), rows, note)]

"""How long a whole lecture takes: every figure and diagram, light and dark, slides, and a film of one start.

python -m benchmarks.lecture [STUDY]
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

PUMP = Path(__file__).parent.parent / "examples" / "pump_p3.toml"
TARGET = 60.0  # s, on two processors
WORDS = ("--animation", "html", "--animation", "mp4", "--slides")


def main(file: Path = PUMP) -> int:
    """One fresh process with everything asked for; its own progress shows on the standard error stream. 1: over the target."""
    with tempfile.TemporaryDirectory() as name:
        out = Path(name) / "lecture"
        before = os.times()
        begin = perf_counter()
        command = [sys.executable, "-m", "slipwise", "teach", "lecture", str(file), "--out", str(out), *WORDS]
        subprocess.run(command, check=True)
        taken, after = perf_counter() - begin, os.times()
        files = [path for path in out.rglob("*") if path.is_file()]
        work = after.children_user + after.children_system - before.children_user - before.children_system
        size = sum(path.stat().st_size for path in files) / 1e6
    print(
        f"{file.name}: {len(files)} files, {size:.0f} MB, {taken:.1f} s by the clock, {work:.1f} s of processor time, "
        f"load of the machine {os.getloadavg()[0]:.1f}, {os.cpu_count()} processors (target {TARGET:.0f} s)"
    )
    return int(taken > TARGET)


if __name__ == "__main__":
    sys.exit(main(*(Path(word) for word in sys.argv[1:2])))

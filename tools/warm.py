"""Builds the compiled kernels once and leaves them in the cache, so that tests and measurements start warm."""

from __future__ import annotations

import sys
from pathlib import Path
from time import perf_counter

import numpy as np

EXAMPLE = Path(__file__).parent.parent / "examples" / "bench_b7.toml"


def main() -> None:
    """One short study with transients compiles everything that a study uses."""
    from slipwise import load, run
    from slipwise.identify.cage_search import kernel
    from slipwise.identify.plate import fit_plate
    from slipwise.identify.records import Plate
    from slipwise.solve.transient.engine import lanes

    begin = perf_counter()
    run(load(EXAMPLE))
    kernel(1000)  # fits of plates use what is compiled from here on
    fit_plate(Plate(power=11e3, voltage=400.0, frequency=50.0, poles=4, connection="delta"))
    for cages in (1, 2):  # of a batch of starts: marching none of them compiles it
        lanes(cages, compiled=True).many(np.zeros(1), np.zeros(1), 0, 0, np.zeros(1))
    took = perf_counter() - begin
    if took > 3:
        print(f"prepared the solver in {took:.0f} s", file=sys.stderr)


if __name__ == "__main__":
    main()

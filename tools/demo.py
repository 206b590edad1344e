"""`make demo`: studies of the examples; the tables here, the rest in a folder. Usage: demo.py FOLDER [NAME ...].

Without names the few are run that show each part of the job once; with `all` every example.
"""

from __future__ import annotations

import sys
from pathlib import Path

from slipwise.doors.cli.app import main as slipwise

EXAMPLES = Path(__file__).parent.parent / "examples"
FEW = ("pump_p3", "fan_f2", "crusher_k1_year", "waterworks_w1")


def main(folder: Path, names: list[str]) -> int:
    """Runs `slipwise study` on each example; the first that does not compute ends the demo with its exit code."""
    for example in chosen(names):
        place = folder / example.stem
        print(f"$ slipwise study examples/{example.name} --out {place}\n", flush=True)
        code = slipwise(["study", str(example), "--out", str(place)])
        if code:
            return code
        print("\n" + "=" * 80 + "\n")
    print(f"Look into {folder}: a report (report.pdf), figures and data for each study.")
    print("Every other example: make demo STUDIES=all, or by name, as in make demo STUDIES='conveyor_c1 hoist_h1'.")
    return 0


def chosen(names: list[str]) -> list[Path]:
    """The files of the examples named."""
    if names == ["all"]:
        return sorted(EXAMPLES.glob("*.toml"))
    return [EXAMPLES / f"{name}.toml" for name in names or FEW]


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), sys.argv[2:]))

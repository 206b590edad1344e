"""`make demo`: a study of each example; the tables here, the rest in a folder. Usage: demo.py FOLDER."""

from __future__ import annotations

import sys
from pathlib import Path

from slipwise.doors.cli.app import main as slipwise

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*.toml"))


def main(folder: Path) -> int:
    """Runs `slipwise study` on each example; the first that does not compute ends the demo with its exit code."""
    for example in EXAMPLES:
        place = folder / example.stem
        print(f"$ slipwise study examples/{example.name} --out {place}\n", flush=True)
        code = slipwise(["study", str(example), "--out", str(place)])
        if code:
            return code
        print("\n" + "=" * 80 + "\n")
    print(f"Look into {folder}: a report (report.pdf), figures and data for each study.")
    return 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))

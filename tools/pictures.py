"""The pictures of the README, from the study it shows. Usage: pictures.py FOLDER."""

from __future__ import annotations

import sys
from pathlib import Path

from slipwise import run
from slipwise.present.figures import Look, draw
from slipwise.present.figures.canvas import save

EXAMPLE = Path(__file__).parent.parent / "examples" / "pump_p3.toml"
PICTURES = {
    "comparison": "comparison.svg",
    "{way}.torque_speed": "torque-speed.svg",
    "{way}.transient": "transient.svg",
}


def main(folder: Path) -> None:
    """Draws them for the recommended way."""
    result = run(EXAMPLE)
    folder.mkdir(parents=True, exist_ok=True)
    for key, name in PICTURES.items():
        save(draw(result, key.format(way=result.recommendation.way), Look()), folder / name, "svg")
        print(f"drawn: {folder / name}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))

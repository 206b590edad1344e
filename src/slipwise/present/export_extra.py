"""What the folder of outputs holds besides tables and figures: points of speed control as CSV, circuits and windings as SVG."""

from __future__ import annotations

import re
from pathlib import Path

from slipwise.present.diagrams import diagram, winding_diagram
from slipwise.present.speed_csv import duty_csv, points_csv
from slipwise.results.speed import SpeedResult
from slipwise.results.study import StudyResult
from slipwise.results.wiring import Wiring


def write_points(folder: Path, result: SpeedResult) -> None:
    """The demands and every operating point into a folder that exists."""
    for name, content in (("speed_duty.csv", duty_csv(result)), ("speed_points.csv", points_csv(result))):
        (folder / name).write_text(content, encoding="utf-8", newline="\n")


def write_diagrams(folder: Path, result: StudyResult) -> None:
    """Power circuits of all ways in every stage, and windings at every speed; no folder without any."""
    circuits = [(way.key, way.wiring) for way in result.ways]
    if result.speed is not None:
        circuits += [(way.key, way.wiring) for way in result.speed.ways]
    if result.stopping is not None:
        circuits += [(f"stop_{way.key}", way.wiring) for way in result.stopping.ways]
    found: dict[str, bytes] = {}
    for key, wiring in circuits:
        found |= _of(key, wiring)
    if found:
        folder.mkdir(exist_ok=True)
    for name, content in found.items():
        (folder / f"{re.sub(r'[^A-Za-z0-9._-]+', '_', name)}.svg").write_bytes(content)


def _of(key: str, wiring: Wiring) -> dict[str, bytes]:
    """The drawings of one way by name."""
    found = {f"{key}.circuit.{stage}": diagram(wiring, stage) for stage in wiring.stages if wiring.devices}
    for number, winding in enumerate(wiring.windings, start=1):
        for speed in winding.speeds:
            found[f"{key}.winding_{number}.{speed.name}"] = winding_diagram(winding, speed.name)
    return found

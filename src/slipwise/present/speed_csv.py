"""The duty and every operating point as numbers for other programs: one row a point, SI units at the end of each heading."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from math import isfinite

from slipwise.results.speed import DutyPoint, OperatingPoint, Part, SpeedResult
from slipwise.results.units import key_of

Cell = str | float | None
DUTY = ("name", "speed", "torque", "hours", "flow", "useful")
POINT = (
    "speed",
    "torque",
    "slip",
    "stability",
    "frequency",
    "flux",
    "line_power",
    "shaft_power",
    "returned",
    "efficiency",
    "motor_efficiency",
    "line_current",
    "motor_current",
    "displacement_factor",
    "power_factor",
    "distortion",
    "winding_heat",
)


def duty_csv(result: SpeedResult) -> str:
    """The demands, as asked for."""
    rows = ([getattr(demand, field) for field in DUTY] for demand in result.duty)
    return _text([key_of(DutyPoint.__name__, field) for field in DUTY], rows)


def points_csv(result: SpeedResult) -> str:
    """Every way at every demand: held or not and why, all that is felt, each loss, the settings in words."""
    parts = [part for part in Part if any(p.loss(part) for way in result.ways for p in way.points)]
    headings = ["way", "demand", "hours_h", "held", "stable", "reason"]
    headings += [key_of(OperatingPoint.__name__, field) for field in POINT]
    headings += [f"lost_{part.value.replace(' ', '_')}_W" for part in parts]
    rows: list[list[Cell]] = []
    for way in result.ways:
        for point in way.points:
            first: list[Cell] = [way.key, point.duty.name, point.duty.hours]
            first += ["yes" if point.feasible else "no", "yes" if point.stable else "no", point.reason]
            numbers = [getattr(point, field) for field in POINT]
            rows.append([*first, *numbers, *(point.loss(part) for part in parts), _settings(point)])
    return _text([*headings, "settings"], rows)


def _settings(point: OperatingPoint) -> str:
    told = (f"{s.key}={s.text or f'{s.value:.9g}'}{'' if s.text else f' {s.unit}'.rstrip()}" for s in point.settings)
    return "; ".join(told)


def _text(headings: list[str], rows: Iterable[Iterable[Cell]]) -> str:
    out = io.StringIO()
    written = csv.writer(out, lineterminator="\n")
    written.writerow(headings)
    written.writerows([_cell(cell) for cell in row] for row in rows)
    return out.getvalue()


def _cell(cell: Cell) -> str:
    """Nine significant figures; nothing where there is no number."""
    if isinstance(cell, str):
        return cell
    return "" if cell is None or not isfinite(cell) else f"{cell:.9g}"

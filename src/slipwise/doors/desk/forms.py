"""The fields of a study as a form receives them: number box, unit, slider, origin and range."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from math import floor, isfinite, log10
from typing import Any

from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Sourced
from slipwise.quantity.show import show, show_range
from slipwise.quantity.units import parse
from slipwise.study.assemble.book import plain_name
from slipwise.study.fields import StudyField, fields_of
from slipwise.study.text.scanner import dotted
from slipwise.study.ties import tie_of

STEPS = 200  # of a slider, about
# How far a slider goes from the value that stands, as factors: what a hand wants to try, no limit of the file.
FAR, NEAR = (0.5, 2.0), (0.8, 1.2)
REACH: dict[str, tuple[float, float]] = {
    "rated_speed": (0.97, 1.01),
    "rated_voltage": NEAR,
    "rated_frequency": NEAR,
    "efficiency": (0.9, 1.05),
    "power_factor": (0.85, 1.1),
    "rated_current": NEAR,
    "locked_rotor_current_ratio": (0.6, 1.5),
    "locked_rotor_torque_ratio": (0.6, 1.5),
    "breakdown_torque_ratio": (0.7, 1.4),
    "inertia": (0.25, 4.0),
    "fault_level": (0.3, 3.0),
    "length": (0.0, 3.0),
    "tap": (-2.0, 2.0),
}
ZERO = {"pu": 0.1, "": 1.0}  # half width of a slider about nought


def form(text: str, inputs: tuple[Sourced, ...]) -> dict[str, Any]:
    """All fields of a study, its sections, and what was derived besides.

    inputs: `Study.inputs` when the text could be read.
    """
    fields = fields_of(text, inputs)
    known = {dotted(field.path) for field in fields}
    motor = {str(field.path[-1]): field.text for field in fields if field.section == "motor" and field.written}
    sections = dict.fromkeys(field.section for field in fields)
    return {
        "fields": [field_dict(field) | {"along": _along(field, motor)} for field in fields],
        "sections": [{"key": key, "title": _title(key)} for key in sections],
        "others": [_other(row) for row in inputs if row.name not in known],
    }


def field_dict(field: StudyField) -> dict[str, Any]:
    """One field."""
    plain = asdict(field)
    for key in ("path", "least", "most", "display", "choices"):
        del plain[key]
    return {
        **plain,
        "path": dotted(field.path),
        "key": str(field.path[-1]),
        "unit_text": field.display,
        "shown": field.text if field.value is None else show(field.value, field.unit, digits=4),
        "range_text": "" if field.low is None else show_range(field.value, field.low, field.high, field.unit),
        "choices": list(field.choices),
        "slider": slider(field),
        "file": _file(field),
    }


def _file(field: StudyField) -> str | None:
    """Plain name of the file that a value names."""
    names = field.path[-2:] == ("recording", "file") or (field.path[0] == "group" and field.path[-1] == "study")
    return plain_name(field.text) if names and field.written else None


def _along(field: StudyField, motor: Mapping[str, str]) -> dict[str, str] | None:
    """What follows when this value is moved; motor: what the plate says, by key."""
    tie = tie_of(motor, str(field.path[-1])) if field.section == "motor" else None
    return None if tie is None else {"path": f"motor.{tie.key}", "label": tie.key.replace("_", " "), "why": tie.why}


def slider(field: StudyField) -> dict[str, float] | None:
    """Least, greatest and step in the unit of the number box; None where there is nothing to drag."""
    if field.kind not in {"quantity", "whole"} or field.number is None or field.value is None:
        return None
    if field.kind == "whole":
        return _whole(field)
    if not isfinite(field.number) or abs(field.number) > 1e9:
        return None
    low, high = _reach(field)
    least, most = (_boxed(bound, field) for bound in (field.least, field.most))
    low = low if least is None else max(low, least)
    high = high if most is None else min(high, most)
    if not low < high:
        return None
    step = 10.0 ** floor(log10((high - low) / STEPS))
    step *= next(factor for factor in (1, 2, 5, 10) if factor * step * STEPS >= high - low)
    first = max(_on(step, low), step if least == 0.0 else low if least is not None else -1e300)
    return {"min": float(f"{first:.10g}"), "max": float(f"{_on(step, high):.10g}"), "step": float(f"{step:.10g}")}


def _reach(field: StudyField) -> tuple[float, float]:
    """From where to where, in the unit of the box."""
    number = field.number or 0.0
    below, above = REACH.get(str(field.path[-1]), FAR)
    edges = (
        sorted((number * below, number * above)) if number else [-ZERO.get(field.unit, 0.0), ZERO.get(field.unit, 0.0)]
    )
    for bound in (_boxed(field.low, field), _boxed(field.high, field)):
        if bound is not None:
            edges = [min(edges[0], bound), max(edges[1], bound)]
    return edges[0], edges[1]


def _boxed(value: float | None, field: StudyField) -> float | None:
    """A value in SI in the unit of the box: by the scale between the two values that are known to be the same."""
    if value is None:
        return None
    try:
        one = parse(f"1 {field.display}" if field.display else 1.0, field.unit).value
        nought = parse(f"0 {field.display}" if field.display else 0.0, field.unit).value
    except (InputError, KeyError):
        return None
    return (value - nought) / (one - nought)


def _on(step: float, value: float) -> float:
    return round(value / step) * step


def _whole(field: StudyField) -> dict[str, float]:
    number = field.number or 0.0
    step = 2.0 if field.path[-1] == "poles" else 1.0
    most = min(field.most or number * 2, max(12.0, number * 2))
    return {"min": field.least or 0.0, "max": most, "step": step}


def _title(section: str) -> str:
    return section.replace("_", " ").replace(".", ", ") or "study"


def _other(row: Sourced) -> dict[str, Any]:
    shown = row.text if row.value is None else show(row.value, row.unit, digits=4)
    between = "" if row.low is None else show_range(row.value, row.low, row.high, row.unit)
    return {"name": row.name, "shown": shown, "range_text": between, "origin": row.origin.value, "why": row.why}

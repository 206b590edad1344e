"""The studies a new page can begin with: those of the invented waterworks and quarry Tarnhill."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

SHIPPED = ("pump_p3", "conveyor_c1", "fan_f2", "crusher_k1", "hoist_h1", "pump_p3_year")


@cache
def start_studies() -> list[dict[str, str]]:
    """Key, title, first comment and text of each."""
    found = []
    for key in SHIPPED:
        text = (files("slipwise.doors.desk") / "start_studies" / f"{key}.toml").read_text(encoding="utf-8")
        summary = text.partition("\n")[0].lstrip("# ") if text.startswith("#") else ""
        found.append({"key": key, "title": str(tomllib.loads(text)["title"]), "summary": summary, "text": text})
    return found

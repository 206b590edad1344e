"""The studies a new page can begin with: those of the invented waterworks and quarry Tarnhill."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from itertools import takewhile

SHIPPED = ("pump_p3", "conveyor_c1", "fan_f2", "crusher_k1", "hoist_h1", "filters_w3", "pump_p7", "pump_p3_year")
OWN = ("filters_w3",)  # no example: the one that has a group names another file


@cache
def start_studies() -> list[dict[str, str]]:
    """Key, title, the comment at its head and text of each."""
    found = []
    for key in SHIPPED:
        text = (files("slipwise.doors.desk") / "start_studies" / f"{key}.toml").read_text(encoding="utf-8")
        head = takewhile(lambda line: line.startswith("#"), text.splitlines())
        summary = " ".join(line.lstrip("# ") for line in head)
        found.append({"key": key, "title": str(tomllib.loads(text)["title"]), "summary": summary, "text": text})
    return found

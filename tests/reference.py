"""Published check values, with the source beside each, and the way tests compare against them."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest

UNCONFIRMED: list[str] = []  # mismatches with values from memory: printed at the end of the run, never a failure


@cache
def _all() -> dict[str, dict[str, Any]]:
    rows = json.loads((Path(__file__).parent / "published" / "references.json").read_text(encoding="utf-8"))
    return {row["id"]: row for row in rows}


def reference(key: str) -> dict[str, Any]:
    """One published entry: source, confirmation, inputs, expected, tolerance."""
    return _all()[key]


def published(source: str, status: str = "") -> pytest.MarkDecorator:
    """Marks a test with the publication its number comes from."""
    return pytest.mark.published(source=source, status=status)


def from_reference(key: str) -> pytest.MarkDecorator:
    """Marks a test with the source and status of a published entry."""
    row = reference(key)
    return published(row["source"], row["confirmation"])


def compare(key: str, computed: Mapping[str, Any], relative: float | None = None, into: str = "expected") -> None:
    """Compares computed values with those of the same name in a published entry, at the entry's own tolerance.

    A mismatch with an entry that is wholly from memory and unconfirmed is reported at the end of the run, not failed.
    """
    row = reference(key)
    tolerance = relative if relative is not None else row["tolerance"]["relative"]
    expected = row[into]
    missing = set(computed) - set(expected)
    assert not missing, f"{key} prints no {sorted(missing)}"
    for name, value in computed.items():
        wanted = pytest.approx(expected[name], rel=tolerance)
        if value != wanted and row["confirmation"].startswith("from memory"):
            UNCONFIRMED.append(f"{key} {name}: computed {value}, from memory {expected[name]}")
            continue
        assert value == wanted, f"{key} {name}: computed {value}, published {expected[name]} ({row['source']})"


def sampled(cases: int) -> Callable[[Any], Any]:
    """Hypothesis settings shared by the property tests: `cases` examples, no deadline, repeatable."""
    from hypothesis import HealthCheck, settings

    return settings(max_examples=cases, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])

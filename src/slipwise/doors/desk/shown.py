"""Results as the page and a script receive them: numbers in the units they are shown in, and every text already made."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import floor, isfinite, log10
from typing import Any

import numpy as np

from slipwise.present import tables
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.criteria import Criterion, Verdict
from slipwise.results.setting import Setting
from slipwise.results.table import Table
from slipwise.results.wiring import Wiring

FIGURES = 5  # significant figures of the greatest value of an array


def numbers(values: Any) -> list[Any]:
    """An array as plain numbers, rounded to five figures of its greatest; what is not finite becomes null."""
    array = np.asarray(values, dtype=float)
    top = max(float(array.max()), -float(array.min())) if array.size else 0.0
    if not isfinite(top):
        finite = np.abs(array[np.isfinite(array)])
        top = float(finite.max(initial=0.0)) if finite.size else 0.0
    places = FIGURES - 1 - floor(log10(top)) if top > 0 else 0
    rounded: list[Any] = array.round(min(max(places, -12), 15)).tolist()
    return rounded


class Units:
    """The unit in which each kind of quantity is shown throughout one answer."""

    def __init__(self, **largest: tuple[float, str]) -> None:
        self.names = {name: display_unit([value], unit) for name, (value, unit) in largest.items()}
        self.factors = {name: in_display(1.0, unit, self.names[name]) for name, (_, unit) in largest.items()}

    def of(self, name: str, values: Any) -> list[Any]:
        """An array in the unit of its kind."""
        return numbers(self.factors[name] * np.asarray(values, dtype=float))

    def one(self, name: str, value: float | None) -> float | None:
        """A number in the unit of its kind."""
        if value is None:
            return None
        shown = value * self.factors[name]
        return float(f"{shown:.{FIGURES}g}") if isfinite(shown) else None


def table_dict(table: Table) -> dict[str, Any]:
    """A table as it is."""
    columns = [{"title": c.title, "unit": c.unit, "numeric": c.numeric} for c in table.columns]
    return {"title": table.title, "columns": columns, "rows": [list(row) for row in table.rows], "note": table.note}


def tables_dict(found: Iterable[tuple[str, Table]]) -> dict[str, Any]:
    """Tables by key."""
    return {key: table_dict(table) for key, table in found}


@lru_cache(maxsize=2048)  # held settings come again with every move of a slider
def setting_dict(section: str, setting: Setting) -> dict[str, Any]:
    """One setting of a way; path: where it stands in the study file."""
    return {
        "key": setting.key,
        "title": setting.title,
        "shown": tables.setting_text(setting),
        "origin": setting.origin,
        "why": setting.why,
        "path": f"{section}.{setting.key}",
    }


def held_dict(settings: Sequence[Setting]) -> dict[str, float | str]:
    """The settings as they are handed in again."""
    return {row.key: row.text if row.value is None else row.value for row in settings}


def criterion_dict(row: Criterion, explained: dict[str, str], way: str) -> dict[str, Any]:
    """One criterion in words; explain: the name under which the number is explained, or null."""
    name = f"{way}.{row.key}"
    return {
        "key": row.key,
        "title": row.title,
        "value_text": show(row.value, row.unit),
        "limit_text": tables.limit_text(row),
        "margin_text": tables.signed(row.margin),
        "margin": row.margin,
        "status": tables.STATUS_WORDS[row.status],
        "case": row.case,
        "load_case": row.load_case,
        "source": row.source,
        "condition": row.condition,
        "explain": name if name in explained else None,
    }


def judged_dict(owner: str, verdict: Verdict, explained: dict[str, str]) -> dict[str, Any]:
    """A verdict with its criteria, the tightest first; owner: what the names of their explanations begin with."""
    binding = verdict.binding
    return {
        "status": tables.STATUS_WORDS[verdict.status],
        "reason": verdict.reason,
        "binding": None if binding is None else criterion_dict(binding, explained, owner),
        "criteria": [criterion_dict(row, explained, owner) for row in tables.by_margin(verdict.criteria)],
    }


def contacts_dict(wiring: Wiring) -> dict[str, Any]:
    """Which contacts are closed in each stage of a way."""
    closed = [list(names) for names in wiring.closed]
    return {"stages": list(wiring.stages), "closed": closed, "notes": list(wiring.notes)}

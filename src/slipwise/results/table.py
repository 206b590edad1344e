"""Neutral tables that every renderer (terminal, report, CSV) draws."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """title and unit as shown; numeric columns are right-aligned."""

    title: str
    unit: str = ""
    numeric: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Cells are already text (see quantity.show); rows have one cell per column."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""

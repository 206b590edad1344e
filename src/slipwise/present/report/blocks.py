"""The pieces a report is made of, as plain data: what the template can set, and nothing about how it looks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from slipwise.results.criteria import Status
from slipwise.results.table import Column, Table

Block = dict[str, Any]

TEXT_WIDTH = 172 * 72 / 25.4
"""Width between the margins of the page. [pt]"""
LETTER = 3.9
"""Mean width of a letter in a table. [pt]"""
CELL_INSET = 8.6
"""Room beside the text in a cell, both sides. [pt]"""
WORDY = 16
"""A column of words longer than this may be broken over lines."""


def heading(text: str, level: int = 1) -> Block:
    return {"kind": "heading", "level": level, "text": text}


def paragraph(text: str) -> Block:
    return {"kind": "text", "text": text}


def note(text: str) -> Block:
    return {"kind": "note", "text": text}


def new_page() -> Block:
    return {"kind": "break"}


def bullets(items: Iterable[str]) -> Block:
    return {"kind": "list", "items": list(items)}


def verdict(text: str, lines: Iterable[str]) -> Block:
    return {"kind": "verdict", "text": text, "lines": [line for line in lines if line]}


def signature() -> Block:
    """Lines for those who answer for the report."""
    heads = ["", "Name and signature", "Licence or registration no.", "Date"]
    return {"kind": "signature", "heads": heads, "roles": ["Prepared", "Checked", "Approved"]}


def table(found: Table, *, title: str | None = None) -> Block:
    """A neutral table; wordy columns share the width that the others leave."""
    strong = f"{Status.FAILS.value}"
    rows = [
        [{"text": cell, "strong": cell == strong or cell.startswith(f"{strong}:")} for cell in row]
        for row in found.rows
    ]
    shares = _shares(found.columns, found.rows)
    columns = [
        {"title": column.title, "unit": column.unit, "numeric": column.numeric, "share": share}
        for column, share in zip(found.columns, shares, strict=True)
    ]
    return {
        "kind": "table",
        "title": found.title if title is None else title,
        "columns": columns,
        "rows": rows,
        "note": found.note,
    }


def _shares(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> list[float | None]:
    """For each column None (as wide as its text) or its share of what is left.

    When everything fits, every column is as wide as its text. Otherwise the wordy ones share the rest by the root of
    the length of their text, which gives long explanations more room but not all of it.
    """
    widest = [
        max([max((len(word) for word in column.title.split()), default=0), *(len(row[i]) for row in rows)])
        for i, column in enumerate(columns)
    ]
    if sum(width * LETTER + CELL_INSET for width in widest) <= TEXT_WIDTH:
        return [None] * len(columns)
    limit = WORDY if any(width > WORDY for width in widest) else 0
    lengths = [sum(len(row[i]) for row in rows) / max(1, len(rows)) for i in range(len(columns))]
    return [
        max(lengths[i], 0.5 * widest[i], 8.0) ** 0.5 if widest[i] > limit and not column.numeric else None
        for i, column in enumerate(columns)
    ]


@dataclass(slots=True, kw_only=True)
class Images:
    """The pictures of a report by file name; a picture is added once."""

    files: dict[str, bytes] = field(default_factory=dict)

    def put(self, name: str, svg: bytes) -> str:
        file = "".join(letter if letter.isalnum() or letter in "-_" else "_" for letter in name) + ".svg"
        self.files[file] = svg
        return file


def figure(file: str, alt: str, caption: str, width: float = TEXT_WIDTH) -> Block:
    """One picture across the page. width: [pt]."""
    return {"kind": "figure", "file": file, "alt": alt, "caption": caption, "width": width}


def row(items: Sequence[Block]) -> Block:
    """Pictures side by side."""
    return {"kind": "row", "items": list(items)}

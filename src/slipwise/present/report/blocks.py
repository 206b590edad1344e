"""The pieces a report is made of, as plain data: what the template can set, and nothing about how it looks."""

from __future__ import annotations

import math
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
BOLD = 4.5
"""The same in a column title. [pt]"""


def heading(text: str, level: int = 1) -> Block:
    return {"kind": "heading", "level": level, "text": text}


def paragraph(text: str, *, leads_in: bool = False) -> Block:
    """leads_in: stays on the page of what follows."""
    return {"kind": "text", "text": text, "sticky": leads_in}


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


def table(found: Table, *, title: str | None = None, leads_in: bool = False) -> Block:
    """A neutral table; wordy columns share the width that the others leave. leads_in: stays on the page of what follows."""
    strong = Status.FAILS.value
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
        "sticky": leads_in,
    }


def _shares(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> list[float | None]:
    """For each column None (as wide as its text) or its share of what is left.

    When everything fits, every column is as wide as its text. Otherwise columns that need no more than an equal part
    of the page keep their width, and the others share the rest: by the root of the length of their texts, which gives
    long explanations more room but not all of it, and never less than their longest word.
    """
    cells = [[column.title, *(row[i] for row in rows)] for i, column in enumerate(columns)]
    natural = [max(len(text) for text in column) * LETTER + CELL_INSET for column in cells]
    natural = [
        max(width, len(column.title) * BOLD + CELL_INSET) for width, column in zip(natural, columns, strict=True)
    ]
    if sum(natural) <= TEXT_WIDTH:
        return [None] * len(columns)
    left, wide = TEXT_WIDTH, set(range(len(columns)))
    while narrow := [i for i in wide if natural[i] <= left / len(wide)]:
        wide -= set(narrow)
        left -= sum(natural[i] for i in narrow)
        if not wide:
            return [None] * len(columns)
    return [_weight(column, left) if i in wide else None for i, column in enumerate(cells)]


def _weight(texts: Sequence[str], left: float) -> float:
    """Share of `left` points for a column of these texts."""
    mean = sum(map(len, texts)) / len(texts)
    longest_word = max((len(word) for text in texts for word in text.split()), default=1)
    return max(4.0 * math.sqrt(math.sqrt(mean * max(map(len, texts)))), longest_word * LETTER * 40 / left)


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

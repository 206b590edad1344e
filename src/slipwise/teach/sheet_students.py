"""The list of students: CSV with a column `student` (a key) and, if wanted, `name`."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

from slipwise.quantity.errors import Fault, InputError
from slipwise.study.reader import text_of
from slipwise.teach.sheet import Student

MOST_STUDENTS = 2000
KEY = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")


def rows_of(path: Path, kind: str, needed: tuple[str, ...], known: tuple[str, ...]) -> list[tuple[int, dict[str, str]]]:
    """The rows of a CSV file with their line numbers; comma or semicolon between the cells, columns by their headings.

    Raises:
        InputError: it cannot be read, a column is missing, unknown or stands twice, or a row has too many cells.
    """
    text = _text(path, kind).removeprefix("\ufeff")
    first = text.partition("\n")[0]
    reader = csv.reader(
        io.StringIO(text, newline=""), delimiter=";" if first.count(";") > first.count(",") else ",", strict=True
    )
    try:
        heads = [cell.strip().lower() for cell in next(reader, [])]
        _require_heads(path, kind, heads, needed, known)
        found = []
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if len(cells) > len(heads):
                reason = f"{len(cells)} cells under {len(heads)} headings"
                raise _fault(
                    path, reader.line_num, kind, ", ".join(cells)[:80], reason, "put quotes around cells with commas"
                )
            row = dict.fromkeys(heads, "") | dict(zip(heads, (cell.strip() for cell in cells), strict=False))
            found.append((reader.line_num, row))
    except csv.Error as error:
        raise _fault(path, reader.line_num, kind, "", f"it is no CSV ({error})", "save it as CSV with commas") from None
    return found


def _text(path: Path, kind: str) -> str:
    try:
        return text_of(path)
    except InputError as error:
        fault = error.faults[0]
        remedy = f"name the CSV file of the {kind}" if "study file" in fault.remedy else fault.remedy
        raise InputError(Fault(field=kind, value="", reason=fault.reason, remedy=remedy, file=path)) from None


def _require_heads(path: Path, kind: str, heads: list[str], needed: tuple[str, ...], known: tuple[str, ...]) -> None:
    for name in needed:
        if name not in heads:
            raise _fault(
                path, 1, kind, ", ".join(heads)[:80], f"it has no column {name}", f"give the columns {', '.join(known)}"
            )
    for name in heads:
        if name not in known:
            raise _fault(path, 1, kind, name[:80], "the column is not known", f"the columns are {', '.join(known)}")
        if heads.count(name) > 1:
            raise _fault(path, 1, kind, name, "the column stands twice", "keep one")


def _fault(path: Path, line: int, field: str, value: str, reason: str, remedy: str) -> InputError:
    return InputError(Fault(field=field, value=value, reason=reason, remedy=remedy, file=path, line=line))


def load_students(path: Path) -> tuple[Student, ...]:
    """Reads the list.

    Raises:
        InputError: it cannot be read, is empty, or a key is missing, unfit for a file name, or stands twice.
    """
    found: dict[str, Student] = {}
    faults = []
    for line, row in rows_of(path, "students", ("student",), ("student", "name")):
        key, name = row["student"], row.get("name", "")
        reason, remedy = _wrong(key, name, found)
        if reason:
            faults.append(Fault(field="student", value=key[:80], reason=reason, remedy=remedy, file=path, line=line))
        else:
            found[key.lower()] = Student(key=key, name=name)
    if faults:
        raise InputError(*faults)
    if not 1 <= len(found) <= MOST_STUDENTS:
        raise _fault(path, 1, "students", str(len(found)), f"1 to {MOST_STUDENTS} rows are needed", "one row a student")
    return tuple(found.values())


def _wrong(key: str, name: str, before: dict[str, Student]) -> tuple[str, str]:
    if not KEY.fullmatch(key):
        return "it is no key for a student", "write letters, figures, - _ and . without spaces, as in 2026-014"
    if key.lower() in before:
        return "it stands twice", "give each student one row"
    if len(name) > 80 or not name.isprintable():
        return f"the name is longer than 80 letters, or cannot be printed: {name[:20]!r}", "shorten it"
    return "", ""

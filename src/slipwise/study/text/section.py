"""Puts a section found elsewhere in the place of the one a study file has: values that stay keep their lines and comments."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from slipwise.quantity.errors import InputError
from slipwise.study.text.edit import insert_value, remove_value, replace_value
from slipwise.study.text.scanner import Path, Scan, scan

_WORDS = re.compile(r"(\w+) = (.*)")


def with_section(text: str, lines: str) -> str:
    """The text with the values and tables of `lines` in one of its sections.

    Args:
        text: a valid study file, in which the section is written under a header of its own, as `[motor]`.
        lines: the section as it should be, `[motor]` first and its tables behind it, one plain value a line.

    Returns:
        The text in which the section's tables are those of `lines`, and its plain values too; a plain value that `lines`
        does not name stays, and so does every other byte. Comments inside tables that are taken out go with them.

    Raises:
        InputError: the section has no header of its own.
    """
    ((name, new),) = tomllib.loads(lines).items()
    old = tomllib.loads(text)[name]
    if (name,) not in scan(text).headers:
        raise InputError.of(name, "", "it is not written as a table of its own", f"write its values under [{name}]")
    tables = lines[lines.find(f"[{name}.") :].rstrip() if f"[{name}." in lines else ""
    for path in _inside(text, name):
        text = remove_value(text, path)
    text = _with_tables(text, scan(text), name, tables)
    written = dict(_WORDS.findall(lines.partition(f"[{name}.")[0]))
    for key, value in new.items():
        if isinstance(value, dict) or _same(old.get(key), value):
            continue
        change = replace_value if key in old else insert_value
        text = change(text, (name, key), written[key])
    return text


def _same(old: Any, new: Any) -> bool:
    return type(old) is type(new) and bool(old == new)


def _with_tables(text: str, found: Scan, name: str, tables: str) -> str:
    """With `tables` where the section's own tables stood, or behind the section when it had none."""
    end = "\r\n" if "\r\n" in text else "\n"
    tables = tables.replace("\n", end)
    runs = _runs(text, found, name)
    if not runs:
        at = _end_of_line(text, found.headers[(name,)].end)
        gap = "" if text[:at].endswith("\n") else end
        return f"{text[:at]}{gap}{end}{tables}{end}{text[at:]}" if tables else text
    for place, (first, last) in reversed(list(enumerate(runs))):
        text = text[:first] + (tables + end if place == 0 and tables else "") + text[last:]
    return text


def _runs(text: str, found: Scan, name: str) -> list[tuple[int, int]]:
    """From where to where the section's own tables reach, those without another between them together."""
    order = sorted(found.headers.values(), key=lambda header: header.start)
    runs: list[tuple[int, int]] = []
    behind = False  # the table before is one of ours
    for header in order:
        mine = header.path[0] == name and len(header.path) > 1
        if mine:
            first = runs.pop()[0] if behind else text.rfind("\n", 0, header.start) + 1
            runs.append((first, _end_of_line(text, header.end)))
        behind = mine
    return runs


def _end_of_line(text: str, at: int) -> int:
    return text.find("\n", at) + 1 or len(text)


def _inside(text: str, name: str) -> list[Path]:
    """Keys of tables that are written in the section itself: `circuit = {...}`, `circuit.R1 = ...`; last ones first."""
    found = scan(text)
    section = tomllib.loads(text)[name]
    inner = {key for key, value in section.items() if isinstance(value, dict)}
    inner -= {str(path[1]) for path in found.headers if path[0] == name and len(path) > 1}
    spans = [path for path in found.spans if path[0] == name and len(path) > 1 and path[1] in inner]
    return [path for path in reversed(spans) if not any(path[:size] in found.spans for size in range(1, len(path)))]

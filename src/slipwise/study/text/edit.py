"""Edits a study file in place: one value replaced, added or taken out, every other byte and all comments kept."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from slipwise.quantity.errors import InputError
from slipwise.study.text.scanner import Path, Scan, dotted, scan

_PLAIN = re.compile(r"[A-Za-z0-9_-]+\Z")


def replace_value(text: str, path: Path, new_value_text: str) -> str:
    """The text with the value at `path` written anew.

    Args:
        text: a valid TOML text.
        path: keys and indices (from 0), as ("supply", "path", 1, "rating").
        new_value_text: a TOML value as it should stand, quotes included: '"95 kW"'.

    Raises:
        InputError: the key is not written in the text, or the new text is not a TOML value.
    """
    _value(path, new_value_text)
    span = scan(text).spans.get(path)
    if span is None:
        raise InputError.of(dotted(path), "", "it is not written in the file", "add it with `insert_value`")
    return text[: span.start] + new_value_text + text[span.end :]


def insert_value(text: str, path: Path, new_value_text: str) -> str:
    """The text with a new key at the end of its table; the table is added at the end of the file when there is none.

    Arguments and errors as for `replace_value`; also InputError when the key is there already or cannot be placed.
    """
    value = _value(path, new_value_text)
    found = scan(text)
    if path in found.spans or path in found.headers:
        raise InputError.of(dotted(path), "", "it is already in the file", "change it with `replace_value`")
    if not path or not isinstance(path[-1], str):
        raise _no_place(path)
    new = _inserted(text, found, path, f"{_key(path[-1])} = {new_value_text}")
    if _read(new, path) != value:
        raise _no_place(path)
    return new


def remove_value(text: str, path: Path) -> str:
    """The text without the key at `path`: its line with any comment behind it, or its place in an inline table.

    Raises:
        InputError: the key is not written in the text, or is an entry of an array.
    """
    found = scan(text)
    span = found.spans.get(path)
    if span is None:
        raise InputError.of(dotted(path), "", "it is not written in the file", "there is nothing to take out")
    if path[:-1] in found.spans:
        if text[found.spans[path[:-1]].start] != "{":
            raise InputError.of(dotted(path), "", "it is an entry of an array", "write the whole array anew")
        return _out_of_inline(text, span.key, span.end)
    first = text.rfind("\n", 0, span.key) + 1
    last = text.find("\n", span.end) + 1 or len(text)
    return text[:first] + text[last:]


def remove_empty_table(text: str, path: Path) -> str:
    """The text without the bare line `[table]` and the blank line before it, as `insert_value` adds them.

    Unchanged when keys or tables stand in it, a comment on its line, or when it is an entry of an array of tables.
    """
    found = scan(text)
    header = found.headers.get(path)
    inside = any(other[: len(path)] == path and other != path for other in (*found.spans, *found.headers))
    if header is None or inside or any(isinstance(part, int) for part in path):
        return text
    first = text.rfind("\n", 0, header.start) + 1
    last = text.find("\n", header.start) + 1 or len(text)
    line = text[first:last].strip()
    if not (line.startswith("[") and line.endswith("]")) or "#" in line:
        return text
    before = re.sub(r"(?<=\n)\r?\n\Z", "", text[:first])
    return before + text[last:]


def _out_of_inline(text: str, start: int, end: int) -> str:
    """Without a pair and one comma beside it."""
    behind = re.compile(r"[ \t]*,[ \t]*").match(text, end)
    if behind is not None:
        return text[:start] + text[behind.end() :]
    before = re.search(r"[ \t]*,[ \t]*\Z", text[:start])
    return text[: start if before is None else before.start()] + text[end:]


def _inserted(text: str, found: Scan, path: Path, line: str) -> str:
    """Into an inline table, after the last key of a table, before the first table, or in a new table at the end."""
    table = path[:-1]
    end_of_line = "\r\n" if "\r\n" in text else "\n"
    if table in found.spans:
        span = found.spans[table]
        return _into_inline(text, span.start, span.end, line)
    if table in found.headers:
        at = found.headers[table].end
        return text[:at] + _rest_of_line(text, at) + end_of_line + line + text[at + len(_rest_of_line(text, at)) :]
    if not table:
        return _at_top(text, found, line, end_of_line)
    if any(isinstance(part, int) for part in table) and not _array_is_last(found, table):
        raise _no_place(path)
    gap = "" if not text or text.endswith("\n") else end_of_line
    name = ".".join(_key(part) for part in table if isinstance(part, str))
    return f"{text}{gap}{end_of_line}[{name}]{end_of_line}{line}{end_of_line}"


def _array_is_last(found: Scan, table: Path) -> bool:
    """A sub-table of an array of tables can be added at the end only for the array's last table."""
    for size, part in enumerate(table, start=1):
        if isinstance(part, int):
            prefix = table[: size - 1]
            inside = [path[size - 1] for path in found.headers if path[: size - 1] == prefix and len(path) >= size]
            if not inside or part != max(index for index in inside if isinstance(index, int)):
                return False
    return True


def _into_inline(text: str, start: int, end: int, pair: str) -> str:
    inside = text[start + 1 : end - 1]
    if text[start] != "{":
        return text
    if not inside.strip():
        return f"{text[:start]}{{ {pair} }}{text[end:]}"
    kept = inside.rstrip()
    return f"{text[: start + 1]}{kept}, {pair}{inside[len(kept) :]}{text[end - 1 :]}"


def _rest_of_line(text: str, at: int) -> str:
    """What stands behind a value on its line, a comment for example."""
    match = re.compile(r"[^\r\n]*").match(text, at)
    return match.group() if match else ""


def _at_top(text: str, found: Scan, line: str, end_of_line: str) -> str:
    """After the last key outside any table, else before the first table."""
    tops = [span.end for path, span in found.spans.items() if not _inside_header(found, path)]
    if tops:
        at = max(tops)
        at += len(_rest_of_line(text, at))
        return f"{text[:at]}{end_of_line}{line}{text[at:]}"
    if found.headers:
        at = min(header.start for header in found.headers.values())
        return f"{text[:at]}{line}{end_of_line}{end_of_line}{text[at:]}"
    gap = "" if not text or text.endswith("\n") else end_of_line
    return f"{text}{gap}{line}{end_of_line}"


def _inside_header(found: Scan, path: Path) -> bool:
    return any(path[:size] in found.headers for size in range(1, len(path) + 1))


def _key(part: str) -> str:
    if _PLAIN.match(part):
        return part
    escaped = part.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _value(path: Path, new_value_text: str) -> Any:
    """The value meant by the new text."""
    try:
        read = tomllib.loads(f"x = {new_value_text}\n")
    except (ValueError, RecursionError):
        read = {}
    span = scan(f"x = {new_value_text}\n").spans.get(("x",))
    if set(read) != {"x"} or span is None or span.end != 4 + len(new_value_text):
        raise InputError.of(
            dotted(path), new_value_text, "it is not a TOML value", 'write one such as "95 kW" in quotes'
        )
    return read["x"]


def _read(text: str, path: Path) -> Any:
    try:
        value: Any = tomllib.loads(text)
        for part in path:
            value = value[part]
    except (ValueError, LookupError, TypeError):
        return None
    return value


def _no_place(path: Path) -> InputError:
    return InputError.of(dotted(path), "", "there is no place for it in the file", "write it by hand")

"""Finds where each key and value of a TOML text stands, so that messages can name the line and values be edited in place.

`tomllib` stays the judge of what is valid and what a value means; the scanner only measures.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass, field

Path = tuple[str | int, ...]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SPACE = re.compile(r"[ \t]*")
_BETWEEN = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_SCALAR = re.compile(r"[^,\]}#\r\n]*")
_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}
_DEEPEST = 60


class ScanError(ValueError):
    """The text is not TOML at `offset`; what was scanned before it stands."""

    def __init__(self, offset: int) -> None:
        super().__init__(f"cannot be read at offset {offset}")
        self.offset = offset


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One key and its value: offsets into the text (end exclusive), and the line of the key, counted from 1."""

    path: Path
    line: int
    key: int
    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """A `[table]` or `[[array]]` line: where it begins, and where its last key or the header itself ends."""

    path: Path
    line: int
    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Duplicate:
    """A key or table written twice, with both lines."""

    path: Path
    first: int
    second: int


@dataclass(slots=True)
class Scan:
    """What stands where. spans: every key and array element by path; headers: every table by path."""

    text: str
    spans: dict[Path, Span] = field(default_factory=dict)
    headers: dict[Path, Header] = field(default_factory=dict)
    duplicates: list[Duplicate] = field(default_factory=list)
    stopped: int | None = None  # offset where the text could not be read any further

    def line(self, path: Path) -> int | None:
        """The line of a key, or of the nearest table around it; None when nothing of it is in the text."""
        for size in range(len(path), 0, -1):
            here = path[:size]
            if here in self.spans:
                return self.spans[here].line
            if here in self.headers:
                return self.headers[here].line
        return None


def scan(text: str) -> Scan:
    """Measures the text as far as it can be read; never raises."""
    scanner = _Scanner(text)
    try:
        scanner.run()
    except ScanError as error:
        scanner.found.stopped = error.offset
    return scanner.found


def dotted(path: Path) -> str:
    """A path in words, tables of an array counted from 1: `supply.path[2].rating`."""
    parts = [f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in path]
    return "".join(parts).removeprefix(".")


class _Scanner:
    """One pass over the text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.found = Scan(text)
        self.table: Path = ()
        self.arrays: dict[Path, int] = {}
        self.lines = [0, *(match.end() for match in re.finditer("\n", text))]

    def run(self) -> None:
        """Statement by statement."""
        while True:
            self.skip(_BETWEEN)
            if self.at >= len(self.text):
                return
            if self.text[self.at] == "[":
                self.header()
            else:
                span = self.pair(self.table, 0)
                self.stretch(span.end)
            self.skip(_SPACE)
            if self.at < len(self.text) and self.text[self.at] not in "#\r\n":
                raise ScanError(self.at)

    def skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at
        return match.group() if match else ""

    def expect(self, mark: str) -> None:
        if not self.text.startswith(mark, self.at):
            raise ScanError(self.at)
        self.at += len(mark)

    def line_of(self, offset: int) -> int:
        return bisect_right(self.lines, offset)

    def stretch(self, end: int) -> None:
        """The current table reaches to the end of the key just read."""
        header = self.found.headers.get(self.table)
        if header is not None:
            self.found.headers[self.table] = Header(path=header.path, line=header.line, start=header.start, end=end)

    def header(self) -> None:
        """`[a.b]` or `[[a.b]]`."""
        start = self.at
        double = self.text.startswith("[[", start)
        self.expect("[[" if double else "[")
        keys = self.keys()
        self.expect("]]" if double else "]")
        self.table = self.resolve(keys, double)
        entry = Header(path=self.table, line=self.line_of(start), start=start, end=self.at)
        known = self.found.headers.get(self.table)
        if known is not None:
            self.found.duplicates.append(Duplicate(path=self.table, first=known.line, second=entry.line))
        self.found.headers[self.table] = entry

    def resolve(self, keys: Path, double: bool) -> Path:
        """The path of a header; a part that is an array of tables means its last table."""
        path: Path = ()
        for place, key in enumerate(keys):
            path = (*path, key)
            last = place == len(keys) - 1
            if last and double:
                self.arrays[path] = self.arrays.get(path, -1) + 1
            if path in self.arrays:
                path = (*path, self.arrays[path])
        return path

    def keys(self) -> tuple[str, ...]:
        """One key or several joined by dots."""
        parts = []
        while True:
            self.skip(_SPACE)
            parts.append(self.single_key())
            self.skip(_SPACE)
            if not self.text.startswith(".", self.at):
                return tuple(parts)
            self.at += 1

    def single_key(self) -> str:
        start = self.at
        if self.text[start : start + 1] in {'"', "'"}:
            self.string(single_line=True)
            return _unquoted(self.text[start : self.at])
        key = self.skip(_BARE)
        if not key:
            raise ScanError(self.at)
        return key

    def pair(self, table: Path, depth: int) -> Span:
        """`key = value`."""
        key = self.at
        path = (*table, *self.keys())
        self.expect("=")
        self.skip(_SPACE)
        return self.value(path, key, depth)

    def value(self, path: Path, key: int, depth: int) -> Span:
        """Any value; records its span and those inside it."""
        start = self.at
        known = self.found.spans.get(path)
        line = self.line_of(key)
        if known is not None:
            self.found.duplicates.append(Duplicate(path=path, first=known.line, second=line))
        mark = self.text[start : start + 1]
        if depth > _DEEPEST:
            raise ScanError(start)
        if mark in {'"', "'"}:
            self.string()
        elif mark == "[":
            self.array(path, depth + 1)
        elif mark == "{":
            self.inline_table(path, depth + 1)
        else:
            self.scalar()
        span = Span(path=path, line=line, key=key, start=start, end=self.at)
        self.found.spans[path] = span
        return span

    def scalar(self) -> None:
        """A number, truth value or date: up to the next mark, without the space before it."""
        start = self.at
        self.at += len(self.skip_peek(_SCALAR).rstrip(" \t"))
        if self.at == start:
            raise ScanError(start)

    def skip_peek(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        return match.group() if match else ""

    def string(self, *, single_line: bool = False) -> None:
        """A string of any of the four forms."""
        quote = self.text[self.at]
        if self.text.startswith(quote * 3, self.at) and not single_line:
            self.long_string(quote)
            return
        self.at += 1
        while self.at < len(self.text) and self.text[self.at] not in (quote, "\n"):
            self.at += 2 if self.text[self.at] == "\\" and quote == '"' else 1
        self.expect(quote)

    def long_string(self, quote: str) -> None:
        """Three quotes to three quotes; up to two more may belong to the string."""
        self.at += 3
        while self.at < len(self.text) and not self.text.startswith(quote * 3, self.at):
            self.at += 2 if self.text[self.at] == "\\" and quote == '"' else 1
        self.expect(quote * 3)
        for _ in range(2):
            if self.text.startswith(quote, self.at):
                self.at += 1

    def array(self, path: Path, depth: int) -> None:
        """`[a, b]`, over lines and comments."""
        self.expect("[")
        index = 0
        self.skip(_BETWEEN)
        while not self.text.startswith("]", self.at):
            self.value((*path, index), self.at, depth)
            index += 1
            self.skip(_BETWEEN)
            if not self.text.startswith("]", self.at):
                self.expect(",")
                self.skip(_BETWEEN)
        self.expect("]")

    def inline_table(self, path: Path, depth: int) -> None:
        """`{a = 1, b = 2}` on one line."""
        self.expect("{")
        self.skip(_SPACE)
        while not self.text.startswith("}", self.at):
            self.pair(path, depth)
            self.skip(_SPACE)
            if not self.text.startswith("}", self.at):
                self.expect(",")
                self.skip(_SPACE)
        self.expect("}")


def _unquoted(text: str) -> str:
    """The key meant by a quoted key."""
    inner = text[1:-1]
    if text[0] == "'" or "\\" not in inner:
        return inner
    return re.sub(r"\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|(.))", _unescaped, inner)


def _unescaped(match: re.Match[str]) -> str:
    short, long, letter = match.groups()
    if letter is not None:
        return _ESCAPES.get(letter, letter)
    code = int(short or long, 16)
    return chr(code) if code <= 0x10FFFF else "\ufffd"

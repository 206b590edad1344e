"""Edits of a study's text from what a person typed: quoted as its kind of value wants it, everything else kept."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Any

from slipwise.quantity.errors import InputError
from slipwise.study.fields import leaf_at
from slipwise.study.schema.fields import Keys, Leaf, Numbers, Quantity, Whole, Yes
from slipwise.study.text.edit import insert_value, remove_empty_table, remove_value
from slipwise.study.text.scanner import Path, Scan, Span, scan
from slipwise.study.text.values import note_written, values
from slipwise.study.ties import FOLLOW, followed, why

_PART = re.compile(r"([^.\[\]]+)|\[([0-9]+)\]")
_PLAIN = re.compile(r"[+-]?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?\Z")
_WHOLE = re.compile(r"[+-]?(?:0|[1-9][0-9]{0,17})\Z")
KEPT = 64  # texts whose measures are kept
MOTOR = "motor"
Edit = Mapping[str, Any]


def path_of(dotted: str) -> Path:
    """`supply.path[2].rating` as keys and indices from 0."""
    return tuple(int(index) - 1 if index else key for key, index in _PART.findall(dotted))


def edited(text: str, edits: Iterable[Edit]) -> str:
    """The text with every edit made, in order; an edit is one of `requests.Edit` as plain data.

    Raises:
        InputError: the text is no TOML where an edit needs it, or a value has no place in it.
    """
    mark = text[:1] if text.startswith("\ufeff") else ""
    text = text.removeprefix(mark)
    for edit in edits:
        text = _edited(text, edit)
    return mark + text


def _edited(text: str, edit: Edit) -> str:
    path, value = path_of(edit["path"]), edit["value"]
    span = _measured(text).spans.get(path)
    if value is None:
        left = text if span is None else remove_value(text, path)
        return remove_empty_table(left, path[:-1]) if edit.get("emptied") else left
    new = toml_value(value, leaf_at(_values(text), path))
    if span is None:
        return insert_value(text, path, new)
    changes = [(span, new)]
    if edit.get("along") and path[:-1] == (MOTOR,):
        changes += _tied(text, str(path[-1]), new, edit.get("kept", ()))
    after = text
    for place, words in sorted(changes, key=lambda change: -change[0].start):
        after = after[: place.start] + words + after[place.end :]
    if len(changes) == 1:
        note_written(text, after, path, new)
    return after


def _tied(text: str, key: str, new: str, kept: Iterable[str]) -> Iterator[tuple[Span, str]]:
    """Where the value of the plate stands that follows `key`, and what is to be written there; kept: paths."""
    before = _motor(text)
    staying = {path.removeprefix(f"{MOTOR}.") for path in kept}
    follows = followed(before, {**before, key: tomllib.loads(f"x = {new}")["x"]}, key, staying)
    if follows is not None:
        path = (MOTOR, follows[0])
        yield _measured(text).spans[path], toml_value(str(follows[1]), leaf_at(_values(text), path))


def _motor(text: str) -> Mapping[str, Any]:
    motor = _values(text).get(MOTOR)
    return motor if isinstance(motor, dict) else {}


def moved_along(before: str, after: str, edits: Iterable[Edit]) -> list[dict[str, str]]:
    """What followed the edits: path, text as it stands now, text as it was, and the path of the value it followed."""
    edits = [edit for edit in edits if edit.get("along")]
    if not edits:
        return []
    old, new = (_motor(text.removeprefix("\ufeff")) for text in (before, after))
    found = []
    for edit in edits:
        key = edit["path"].removeprefix(f"{MOTOR}.")
        for follower in FOLLOW.get(key, ()):
            if follower in old and old[follower] != new.get(follower):
                texts = {"text": str(new.get(follower, "")), "was": str(old[follower])}
                found.append({"path": f"{MOTOR}.{follower}", **texts, "by": edit["path"], "why": why(key)})
    return found


@lru_cache(maxsize=KEPT)
def _measured(text: str) -> Scan:
    """Where everything stands; a hand that drags a slider asks of the same text again and again."""
    return scan(text)


def _values(text: str) -> dict[str, Any]:
    """The values of the text; none when it is no TOML, which reading it then tells."""
    try:
        return values(text)
    except (ValueError, RecursionError):
        return {}


def toml_value(typed: str, leaf: Leaf | None) -> str:
    """What was typed, as it must stand in the file; a wrong value is written too, and the reader says what is wrong."""
    words = typed.strip()
    if isinstance(leaf, Quantity) and _PLAIN.match(words):
        return words
    if isinstance(leaf, Whole) and _WHOLE.match(words):
        return words
    if isinstance(leaf, Yes) and words in {"true", "false"}:
        return words
    if isinstance(leaf, Numbers):
        parts = [part.strip() for part in words.strip("[]").split(",") if part.strip()]
        return "[" + ", ".join(part if _PLAIN.match(part) else quoted(part) for part in parts) + "]"
    if isinstance(leaf, Keys):
        parts = [part.strip().strip("\"'") for part in words.strip("[]").split(",") if part.strip()]
        return "[" + ", ".join(quoted(part) for part in parts) + "]"
    return quoted(typed)


def quoted(text: str) -> str:
    """A basic string."""
    escapes = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\r": "\\r", "\t": "\\t"}
    return '"' + "".join(escapes.get(c) or (c if c >= " " and c != "\x7f" else f"\\u{ord(c):04x}") for c in text) + '"'


def checked_text(text: str, edits: Iterable[Edit]) -> tuple[str, InputError | None]:
    """The text after the edits, and what stood against one of them; then the text as far as it came."""
    for edit in edits:
        try:
            text = edited(text, [edit])
        except InputError as error:
            return text, error
    return text, None

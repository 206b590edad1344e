"""Names of ways as people write them: what the trade also calls a way leads to the name that the file knows."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

Also = tuple[tuple[str, str], ...]  # what the trade says, and the name it means
_ALIKE = 0.75


def also_called(ways: Sequence[Any]) -> Also:
    """Every other word for each of the ways, and its title, with the way's key."""
    return tuple((word, way.key) for way in ways for word in (way.title, *way.also))


def meant(word: object, known: Sequence[str], also: Also) -> tuple[str, ...]:
    """The names that `word` may mean: written otherwise, called otherwise, or nearly so; empty when none is like it.

    Two names when the trade uses one word for both.
    """
    plain = _plain(str(word)[:40])
    names: dict[str, list[str]] = {}
    for said, key in (*((name, name) for name in known), *also):
        found = names.setdefault(_plain(said), [])
        if key not in found:
            found.append(key)
    if not plain:
        return ()
    if plain in names:
        return tuple(names[plain])
    near = get_close_matches(plain, names, n=1, cutoff=_ALIKE)
    return tuple(names[near[0]]) if near else ()


def _plain(word: str) -> str:
    return "".join(c for c in word.casefold() if c.isalnum())

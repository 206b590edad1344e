"""What a handout shows of each topic; the recipes themselves stand in recipes.toml."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """A value of the example itself, as entered. unit: SI unit wanted, None when the symbol says it."""

    symbol: str
    entered: str
    name: str
    unit: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """One handout. topic: of the registry; words: what to remember.

    needed, welcome: symbols of `values` that must be there, and those that need not.
    steps: lines of `teach.steps.Work.line`; one that begins with "symbol? " only when that symbol is there, with "symbol! "
        only when it is not.
    checks: symbols whose value the whole computation gives as well. claims: keys of shorthands that belong here.
    """

    topic: str
    words: tuple[str, ...]
    needed: tuple[str, ...]
    welcome: tuple[str, ...]
    chosen: tuple[Chosen, ...]
    steps: tuple[str, ...]
    checks: tuple[str, ...]
    claims: tuple[str, ...]


@cache
def recipes() -> tuple[Recipe, ...]:
    """Every recipe, in the order of the file."""
    text = (files("slipwise.teach.handout") / "recipes.toml").read_text(encoding="utf-8")
    found = []
    for row in tomllib.loads(text)["recipe"]:
        given = row["given"].split()
        recipe = Recipe(
            topic=row["topic"],
            words=tuple(row["words"]),
            needed=tuple(name for name in given if not name.endswith("?")),
            welcome=tuple(name.rstrip("?") for name in given if name.endswith("?")),
            chosen=tuple(
                Chosen(symbol=c[0], entered=c[1], name=c[2], unit=c[3] if len(c) > 3 else None)
                for c in row.get("chosen", [])
            ),
            steps=tuple(row["steps"]),
            checks=tuple(row.get("checks", [])),
            claims=tuple(row.get("claims", [])),
        )
        found.append(recipe)
    return tuple(found)

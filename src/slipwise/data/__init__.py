"""Tables from standards as text files; every row knows its source, clause and status."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

CONFIRMED = "confirmed"
FROM_MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its values by column, the publication and clause it stands in, and whether that was confirmed."""

    values: Mapping[str, Any]
    source: str
    clause: str
    status: str  # CONFIRMED: seen in a public text; FROM_MEMORY: check the edition before quoting

    def __getitem__(self, column: str) -> Any:
        return self.values[column]

    def get(self, column: str, default: Any = None) -> Any:
        """The value of a column, or `default` where the row has none."""
        return self.values.get(column, default)

    @property
    def cited(self) -> str:
        """Source, clause and, when unconfirmed, the warning, as shown beside a limit."""
        place = f"{self.source}, {self.clause}"
        return place if self.status == CONFIRMED else f"{place} ({self.status})"


@dataclass(frozen=True, slots=True)
class Table:
    """A table: title, the unit of its figures, a note, and its rows in the order of the print."""

    name: str
    title: str
    unit: str
    note: str
    rows: tuple[Row, ...]

    def find(self, **wanted: Any) -> Row | None:
        """First row whose columns equal all of `wanted`; None when there is none."""
        return next((row for row in self.rows if all(row.get(k) == v for k, v in wanted.items())), None)

    def where(self, **wanted: Any) -> tuple[Row, ...]:
        """All rows whose columns equal all of `wanted`."""
        return tuple(row for row in self.rows if all(row.get(k) == v for k, v in wanted.items()))


@cache
def table(name: str) -> Table:
    """The table called `name` (`names()` lists them).

    Raises:
        KeyError: there is no such table.
    """
    place = files(__name__) / "tables" / f"{name}.toml"
    if not place.is_file():
        raise KeyError(f"no table called {name!r}; there are {', '.join(names())}")
    raw = tomllib.loads(place.read_text(encoding="utf-8"))
    rows = tuple(_row(dict(entry), raw) for entry in raw["rows"])
    return Table(name=name, title=raw["title"], unit=raw["unit"], note=raw.get("note", ""), rows=rows)


def _row(entry: dict[str, Any], head: Mapping[str, Any]) -> Row:
    source, clause = entry.pop("source", head["source"]), entry.pop("clause", head["clause"])
    status = entry.pop("status")
    if status not in {CONFIRMED, FROM_MEMORY}:
        raise ValueError(f"{head['title']}: status {status!r} is neither confirmed nor from memory")
    return Row(values=MappingProxyType(entry), source=source, clause=clause, status=status)


@cache
def names() -> tuple[str, ...]:
    """Names of all tables, sorted."""
    found = (place.name for place in (files(__name__) / "tables").iterdir())
    return tuple(sorted(name.removesuffix(".toml") for name in found if name.endswith(".toml")))

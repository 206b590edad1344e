"""One way asked for in a study file, whether of starting, of speed control or of stopping."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import ClassVar, Protocol, TypeVar

from slipwise.quantity.errors import InputError


class Keyed(Protocol):
    """A way of anything, by its name in the study file."""

    key: ClassVar[str]


W = TypeVar("W", bound=Keyed)


@dataclass(frozen=True, slots=True, kw_only=True)
class WayRequest:
    """One way asked for. given: settings in SI by their key; absent ones are designed."""

    key: str
    given: Mapping[str, float | str]


def way_named(section: str, key: str, offered: Iterable[type[W]], kind: str) -> type[W]:
    """The way of that name among those offered; kind: of ways, in words.

    Raises:
        InputError: there is none.
    """
    ways = {way.key: way for way in offered}
    if key not in ways:
        remedy = f"write one of {', '.join(ways)}"
        raise InputError.of(f"{section}.ways", key, f"no {kind} has this name", remedy)
    return ways[key]

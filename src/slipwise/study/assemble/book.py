"""The book kept while a study is built: where every value came from, and every fault found on the way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from math import inf
from typing import Any

from pydantic import BaseModel

from slipwise.quantity.errors import Fault, InputError
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.quantity.units import Parsed
from slipwise.study.text.scanner import Path, dotted


@dataclass(slots=True)
class Book:
    """Rows in the order they were entered; a later row of the same name tells how the value was arrived at."""

    rows: list[Sourced] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    titles: dict[str, str] = field(default_factory=dict)
    folder: str = ""  # of the study file: what it names is looked for there
    files: Mapping[str, bytes] | None = (
        None  # contents by plain name, in place of a folder: nothing is read from disk then
    )

    def given(self, name: str, value: Any) -> None:
        """A value as the user wrote it; one that was converted by a rule gets a second, derived row."""
        if not isinstance(value, Parsed):
            number = float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
            text = " ".join(map(str, value)) if isinstance(value, tuple) else str(value)
            self.rows.append(Sourced(name=name, value=number, unit="", origin=Origin.GIVEN, text=text))
        elif value.rule:
            self.rows.append(Sourced(name=name, value=None, unit="", origin=Origin.GIVEN, text=value.text))
            self.derived(name, value.value, value.unit, f"{value.text}: {value.rule}")
        else:
            self.rows.append(
                Sourced(name=name, value=value.value, unit=value.unit, origin=Origin.GIVEN, text=value.text)
            )

    def derived(self, name: str, value: float, unit: str, why: str) -> float:
        """A value that follows from given ones by the formula named in `why`."""
        self.rows.append(Sourced(name=name, value=value, unit=unit, origin=Origin.DERIVED, why=why))
        return value

    def assumed(self, name: str, value: float, unit: str, between: tuple[float, float], why: str) -> float:
        """A default of the trade, with the range it may be off by."""
        self.rows.append(
            Sourced(name=name, value=value, unit=unit, origin=Origin.ASSUMED, low=between[0], high=between[1], why=why)
        )
        return value

    def assumed_word(self, name: str, text: str, why: str) -> str:
        """A choice in words that the user did not make."""
        self.rows.append(Sourced(name=name, value=None, unit="", origin=Origin.ASSUMED, text=text, why=why))
        return text

    def estimated(self, row: Sourced) -> None:
        """A row made elsewhere, by a fit."""
        self.rows.append(row)

    def fault(self, name: str, value: object, reason: str, remedy: str) -> None:
        """Something wrong that does not stop the search for more."""
        shown = f'"{value.text}"' if isinstance(value, Parsed) and not value.bare else getattr(value, "text", value)
        self.faults.append(Fault(field=name, value=str(shown), reason=reason, remedy=remedy))

    def give_up(self, name: str, value: object, reason: str, remedy: str) -> InputError:
        """As `fault`, where nothing can be built without it: `raise book.give_up(...)`."""
        self.fault(name, value, reason, remedy)
        return StopError(self.faults[-1])

    def held(self, name: str, written: str) -> str | None:
        """The plain name of a file among `files` that the study names; None, with a fault, when it is not there.

        name: of the field; written: what it says, of which the last part counts.
        """
        plain = plain_name(written)
        if plain in (self.files or {}):
            return plain
        self.fault(name, f'"{written[:80]}"', NOT_HELD, f"hand {plain[:80]} over together with the study")
        return None

    def close(self) -> None:
        """Raises InputError with all faults, if there are any."""
        if self.faults:
            raise InputError(*self.faults)


NOT_HELD = "the file it names is not at hand"


def plain_name(written: str) -> str:
    """The last part of a path as a study file names it."""
    return written.replace("\\", "/").rpartition("/")[2]


class StopError(InputError):
    """Raised by a part that cannot be built; its fault is in the book already."""


def enter_given(book: Book, section: BaseModel, path: Path = ()) -> None:
    """Enters every value of a section and of those inside it, in the order of the schema."""
    written = section.model_fields_set
    for name in _names(type(section)):
        if name not in written:
            continue
        value = getattr(section, name)
        here = (*path, name)
        if isinstance(value, BaseModel):
            enter_given(book, value, here)
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            for place, item in enumerate(value):
                enter_given(book, item, (*here, place))
        elif value is not None:
            book.given(dotted(here), value)


@cache
def _names(section: type[BaseModel]) -> tuple[str, ...]:
    return tuple(section.model_fields)


def in_range(value: float, low: float = 0.0, high: float = inf) -> bool:
    """True when low < value < high."""
    return low < value < high

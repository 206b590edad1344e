"""The kinds of values a study file has: quantity, word, whole number, line of text, list of numbers.

Each validates itself for pydantic with our own messages, and describes itself for the JSON Schema.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise
from math import isfinite
from typing import Any, NoReturn

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.quantity.units import Parsed, parse
from slipwise.study.schema.names import Also, meant

FAULT = "study_fault"
_FAR = 1e15  # in SI, and one over it
_QUANTITY_PATTERN = r"^\s*[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?\s*[^\s0-9.].*$"


class Section(BaseModel):
    """A table of the study file: only known keys, frozen once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


def refuse(value: object, reason: str, remedy: str) -> NoReturn:
    """Tells pydantic what is wrong, in our words; the reader adds field, file and line."""
    shown = f'"{value}"' if isinstance(value, str) else _short(value)
    raise PydanticCustomError(FAULT, "bad value", {"value": shown[:120], "reason": reason, "remedy": remedy})


def beyond(value: float) -> bool:
    """Whether a value in SI is so large, or so small without being zero, that products of such values are no numbers."""
    return not (value == 0 or 1 / _FAR <= abs(value) <= _FAR)


def _toml(item: object) -> str:
    return f'"{item}"' if isinstance(item, str) else _short(item)


def _like(value: object, known: tuple[str, ...], also: Also) -> str:
    """The names that a wrong one may mean, quoted; empty when it is like none."""
    near = meant(value, known, also) or get_close_matches(str(value)[:40], known, n=1)
    return " or ".join(f'"{name}"' for name in near)


def _short(value: object) -> str:
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, bool):
        return str(value).lower()
    try:
        return str(value)
    except ValueError:
        return "a very long whole number"


@dataclass(frozen=True, slots=True)
class Leaf(ABC):
    """A value that is not a table. doc: what it means; example: a right value as it stands in the file."""

    doc: str
    example: str

    @abstractmethod
    def read(self, value: object) -> Any:
        """The value as the study wants it, or `refuse`."""

    @abstractmethod
    def describe(self) -> dict[str, Any]:
        """Its JSON Schema."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"description": self.doc, **self.describe()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity(Leaf):
    """A number with its unit, within limits given in SI. `above`: greater than; low, high: at least, at most.

    bare_high: largest value a ratio written without a unit may have; beyond it per cent was probably meant.
    """

    unit: str | tuple[str, ...]
    above: float | None = None
    low: float | None = None
    high: float | None = None
    bare_high: float | None = None

    def read(self, value: object) -> Parsed:
        try:
            found = parse(value, self.unit, example=self.example.strip('"'))
        except InputError as error:
            fault = error.faults[0]
            raise PydanticCustomError(
                FAULT, "bad value", {"value": fault.value, "reason": fault.reason, "remedy": fault.remedy}
            ) from None
        self._within(found, value)
        return found

    def _within(self, found: Parsed, value: object) -> None:
        if found.unit == "pu":
            self._ratio(found, value)
        if self.above is not None and found.value <= self.above:
            refuse(value, f"it must be above {show(self.above, found.unit)}", f"write it as in {self.example}")
        if self.low is not None and found.value < self.low:
            refuse(value, f"it must be at least {show(self.low, found.unit)}", f"write it as in {self.example}")
        if self.high is not None and found.value > self.high:
            refuse(value, f"it must be at most {show(self.high, found.unit)}", f"write it as in {self.example}")
        if beyond(found.value):
            refuse(value, "it is beyond every machine, load and network", f"write it as in {self.example}")

    def _ratio(self, found: Parsed, value: object) -> None:
        """Per cent against per unit: 95 without %, or 0.95 %."""
        most = self.bare_high if self.bare_high is not None else self.high
        number = found.text.strip()
        if found.bare and most is not None and abs(found.value) > most:
            meant = self._meant(found.value, most, number)
            refuse(value, "per cent or per unit? Without a sign it is per unit", f"write {meant}")
        if not found.bare and number.endswith("%") and self.low is not None and 0 < found.value < self.low:
            plain = number.removesuffix("%").strip()
            refuse(
                value,
                f"per cent or per unit? {plain} % is {found.value:g}",
                f'write "{found.value * 1e4:g} %" or {found.value * 100:g}',
            )

    def _meant(self, value: float, most: float, number: str) -> str:
        """What a ratio above `most` may have been meant to be: per cent, or above 1 with its decimal point lost."""
        least = -most if self.low is None else self.low
        meant = [f'"{number} %"', f"{value / 100:g}"] if value / 100 >= least else []
        if max(1.0, least) < value / 10 <= most:
            meant.append(f"{value / 10:g}")
        if not meant:
            return f"it as in {self.example}"
        return " or ".join(meant) if len(meant) < 3 else f"{', '.join(meant[:-1])} or {meant[-1]}"

    def describe(self) -> dict[str, Any]:
        units = (self.unit,) if isinstance(self.unit, str) else self.unit
        text = {"type": "string", "pattern": _QUANTITY_PATTERN}
        example: str | float = self.example.strip('"')
        if example == self.example:  # a plain number
            example = int(example) if example.lstrip("-").isdigit() else float(example)
        if not {"", "pu"} & set(units):
            return {**text, "examples": [example]}
        return {"anyOf": [{"type": "number"}, {"type": "string"}], "examples": [example]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Word(Leaf):
    """One of a few words."""

    words: tuple[str, ...]
    also: Also = ()  # other words for some of them

    def read(self, value: object) -> str:
        if isinstance(value, str):
            plain = " ".join(value.replace("_", " ").split()).lower()
            for word in self.words:
                if plain == word.replace("_", " ").lower():
                    return word
        near = _like(value, self.words, self.also) if isinstance(value, str) else ""
        listed = ", ".join(f'"{word}"' for word in self.words)
        return refuse(
            value, f"it must be one of {listed}", f"did you mean {near}?" if near else f"write {self.example}"
        )

    def describe(self) -> dict[str, Any]:
        return {"type": "string", "enum": list(self.words)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole(Leaf):
    """A whole number within limits."""

    low: int
    high: int
    even: bool = False

    def read(self, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            return refuse(value, "a plain whole number is needed", f"write it as {self.example}")
        if not self.low <= value <= self.high:
            return refuse(value, f"it must lie between {self.low} and {self.high}", f"write it as {self.example}")
        if self.even and value % 2:
            return refuse(value, "a machine has an even number of poles", "write poles, not pole pairs, as 4")
        return value

    def describe(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line(Leaf):
    """One line of text; `pattern_words` for letters such as a design letter."""

    longest: int = 120

    def read(self, value: object) -> str:
        if not isinstance(value, str):
            return refuse(value, "a text is needed", f"write it in quotes, as {self.example}")
        text = " ".join(value.split())
        if not text or len(text) > self.longest or not text.isprintable():
            return refuse(value, f"one line of 1 to {self.longest} characters is needed", f"write it as {self.example}")
        return text

    def describe(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "maxLength": self.longest}


@dataclass(frozen=True, slots=True, kw_only=True)
class Yes(Leaf):
    """true or false."""

    def read(self, value: object) -> bool:
        if not isinstance(value, bool):
            return refuse(value, "true or false is needed", f"write it without quotes, as {self.example}")
        return value

    def describe(self) -> dict[str, Any]:
        return {"type": "boolean"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers(Leaf):
    """A list of plain numbers whose unit stands in a key of its own."""

    least: int = 2
    most: int = 120
    ascending: bool = False

    def read(self, value: object) -> tuple[float, ...]:
        if not isinstance(value, list):
            return refuse(value, "a list of numbers is needed", f"write it as {self.example}")
        numbers = tuple(self._one(item) for item in value)
        if len(numbers) < self.least:
            return refuse(value, f"at least {self.least} points are needed", f"write it as {self.example}")
        if len(numbers) > self.most:
            return refuse(f"{len(numbers)} points", f"at most {self.most} are read", "keep those where the curve bends")
        if self.ascending and any(b <= a for a, b in pairwise(numbers)):
            return refuse(value, "the speeds must rise from point to point", "sort the points by speed")
        return numbers

    def _one(self, item: object) -> float:
        if isinstance(item, bool) or not isinstance(item, int | float):
            return refuse(
                item, "a list of plain numbers is needed, the unit stands beside it", f"write it as {self.example}"
            )
        try:
            number = float(item)
        except OverflowError:
            number = float("inf")
        if not isfinite(number):
            return refuse(item, "the value is not finite", f"write it as {self.example}")
        if beyond(number):
            return refuse(item, "it is beyond every machine, load and network", f"write it as {self.example}")
        return number

    def describe(self) -> dict[str, Any]:
        return {"type": "array", "items": {"type": "number"}, "minItems": self.least, "maxItems": self.most}


@dataclass(frozen=True, slots=True, kw_only=True)
class Keys(Leaf):
    """A list of names out of a few, none twice; `known` may be empty when any name will do. also: other words for them."""

    known: tuple[str, ...]
    also: Also = ()

    def read(self, value: object) -> tuple[str, ...]:
        if not isinstance(value, list) or not value:
            return refuse(value, "a list of names is needed", f"write it as {self.example}")
        wrong = [item for item in value if not isinstance(item, str) or (self.known and item not in self.known)]
        if wrong:
            self._refuse(wrong)
        if len(set(value)) < len(value):
            return refuse(value, "a name stands twice", "write each once")
        return tuple(value)

    def _refuse(self, wrong: list[object]) -> NoReturn:
        """Every name that is none, with the one it is most like."""
        listed = ", ".join(self.known) or "names in quotes"
        found = [(item, _like(item, self.known, self.also)) for item in wrong]
        if len(wrong) == 1:
            near = found[0][1]
            remedy = f"did you mean {near}?" if near else f"write {self.example}"
            refuse(wrong[0], f"it must be among {listed}", remedy)
        like = [f"{near} for {_toml(item)}" for item, near in found if near]
        none = [_toml(item) for item, near in found if not near]
        remedy = f"did you mean {', '.join(like)}?" if like else f"write {self.example}"
        unlike = (
            f" {' and '.join(none)} {'is' if len(none) == 1 else 'are'} like none of them." if like and none else ""
        )
        refuse(wrong, f"each must be among {listed}", remedy + unlike)

    def describe(self) -> dict[str, Any]:
        items: dict[str, Any] = {"type": "string"}
        if self.known:
            items["enum"] = list(self.known)
        return {"type": "array", "items": items, "minItems": 1, "uniqueItems": True}

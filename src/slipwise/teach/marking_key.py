"""The key of a sheet as it was handed out, read from answers.json: marking never depends on the bank as it is today."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path
from typing import Any

from slipwise.quantity.errors import InputError
from slipwise.quantity.formula import FUNCTIONS, Number, calculate, names_in
from slipwise.quantity.unit_table import lookup
from slipwise.teach.sheet import Marking
from slipwise.teach.sheet_tables import VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyPart:
    """A part as asked. answer, full: in SI; full is None where the key is no short formula. tolerance: ratio."""

    part: str
    symbol: str
    unit: str
    answer: float
    tolerance: float
    marks: int
    full: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyProblem:
    """A problem of one paper. given: SI values; steps: symbol and expression, in order."""

    number: int
    name: str
    title: str
    given: Mapping[str, float] = field(hash=False)
    steps: tuple[tuple[str, str], ...]
    parts: tuple[KeyPart, ...]

    def follow(self, instead: Mapping[str, float]) -> dict[str, Number]:
        """The value of every step when some are what the student found; empty where that has no value.

        The steps up to the first impossible one are kept.
        """
        known: dict[str, Number] = dict(self.given)
        found: dict[str, Number] = {}
        for symbol, expression in self.steps:
            try:
                value = instead[symbol] if symbol in instead else calculate(expression, known, FUNCTIONS)
            except (ArithmeticError, ValueError, TypeError, KeyError):
                return found
            if not (isfinite(value.real) and isfinite(value.imag)):
                return found
            known[symbol] = found[symbol] = value
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyPaper:
    student: str
    name: str
    problems: tuple[KeyProblem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A sheet with the papers of the class."""

    title: str
    marking: Marking
    assumed: tuple[str, ...]
    papers: tuple[KeyPaper, ...]


def load_key(place: Path) -> Key:
    """Reads answers.json, or the one in a folder of `slipwise teach sheet`.

    Raises:
        InputError: it cannot be read, is no such file, or is of another version.
    """
    file = place / "answers.json" if place.is_dir() else place
    remedy = "name the folder that slipwise teach sheet wrote, or the answers.json in it"
    try:
        content = json.loads(file.read_bytes().decode("utf-8"))
        kind = content["format"]
        version = content["version"]
    except FileNotFoundError:
        raise InputError.of("answers", file, "there is no such file", remedy) from None
    except (OSError, ValueError, KeyError, TypeError):
        raise InputError.of("answers", file, "it is not the answers of a sheet", remedy) from None
    if kind != "slipwise answers" or version != VERSION:
        raise InputError.of("answers", file, f"it is {kind} {version}, not slipwise answers {VERSION}", remedy)
    try:
        return _key(content)
    except (KeyError, TypeError, ValueError) as error:
        raise InputError.of("answers", file, f"something in it is missing or changed ({error})", remedy) from None


def _key(content: Any) -> Key:
    return Key(
        title=str(content["title"]),
        marking=Marking(**{name: _number(content["marking"][name]) for name in Marking.__dataclass_fields__}),
        assumed=tuple(content["assumed"]),
        papers=tuple(
            KeyPaper(
                student=paper["student"],
                name=paper["name"],
                problems=tuple(_problem(number, item) for number, item in enumerate(paper["problems"], 1)),
            )
            for paper in content["students"]
        ),
    )


def _problem(number: int, item: Any) -> KeyProblem:
    steps = tuple((step["symbol"], step["expression"]) for step in item["steps"])
    for _, expression in steps:
        names_in(expression)  # refuses anything but arithmetic
    return KeyProblem(
        number=number,
        name=item["name"],
        title=item["title"],
        given={value["symbol"]: _number(value["value"]) for value in item["given"]},
        steps=steps,
        parts=tuple(_part(part, {symbol for symbol, _ in steps}) for part in item["parts"]),
    )


def _part(part: Any, found: set[str]) -> KeyPart:
    """Raises ValueError for a part whose step or unit is not there."""
    if part["symbol"] not in found:
        raise ValueError(f"no step gives {part['symbol']}")
    if part["unit"] and lookup(part["unit"]) is None:
        raise ValueError(f"unit {part['unit']}")
    return KeyPart(
        part=part["part"],
        symbol=part["symbol"],
        unit=part["unit"],
        answer=_number(part["answer"]),
        tolerance=_number(part["tolerance"]),
        marks=int(part["marks"]),
        full=None if part["full_computation"] is None else _number(part["full_computation"]),
    )


def _number(value: Any) -> float:
    """Raises ValueError for what is no finite number."""
    number = float(value)
    if not isfinite(number):
        raise ValueError(f"{value} is not finite")
    return number

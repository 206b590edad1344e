"""How a problem is written: `[[problem]]` in a sheet of the lecturer's own, and in the files of the bank."""

from __future__ import annotations

import re
from dataclasses import dataclass
from keyword import iskeyword
from typing import Annotated, Any

from pydantic import Field

from slipwise.quantity.formula import ARITY, CONSTANTS
from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Keys, Leaf, Line, Numbers, Quantity, Section, Whole, Yes, refuse

TOPICS = (
    "circuit", "torque", "starting", "rotor", "dip", "run_up", "heat", "frequency", "poles", "chopper", "recovery",
    "bench", "duty", "unbalance", "braking", "energy",
)  # fmt: skip
"""What the problems of the bank are about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Name(Leaf):
    """A symbol, written as in a formula."""

    def read(self, value: object) -> str:
        if not isinstance(value, str) or not re.fullmatch(r"[A-Za-z][A-Za-z0-9_]{0,39}", value):
            return refuse(value, "a symbol is needed: letters, figures and _", f"write it as {self.example}")
        if value in CONSTANTS or value in ARITY or iskeyword(value):
            return refuse(value, "it has a meaning of its own in expressions", f"choose another, as {self.example}")
        return value

    def describe(self) -> dict[str, Any]:
        return {"type": "string", "pattern": "^[A-Za-z][A-Za-z0-9_]{0,39}$"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Words(Leaf):
    """Text over several lines, read as one paragraph."""

    longest: int = 2000

    def read(self, value: object) -> str:
        text = " ".join(value.split()) if isinstance(value, str) else ""
        if not text or len(text) > self.longest or not text.isprintable():
            return refuse(value, f"a text of 1 to {self.longest} characters is needed", f"write it as {self.example}")
        return text

    def describe(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "maxLength": self.longest}


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit(Line):
    """A unit, or nothing for a plain number."""

    def read(self, value: object) -> str:
        return "" if value == "" else Line.read(self, value)

    def describe(self) -> dict[str, Any]:
        return {"type": "string", "maxLength": self.longest}


@dataclass(frozen=True, slots=True, kw_only=True)
class Number(Leaf):
    """A plain number, kept as it is written."""

    def read(self, value: object) -> str:
        if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= 1e12:
            return refuse(value, "a plain number is needed", f"write it as {self.example}")
        return repr(value)

    def describe(self) -> dict[str, Any]:
        return {"type": "number"}


def _expression(doc: str, example: str) -> Line:
    return Line(doc, example, longest=600)


class GivenSection(Section):
    """A quantity: drawn from a list or a range, fixed, or computed from those before it."""

    symbol: Annotated[str, Name("Its symbol, as in the formulas.", '"R1"')]
    unit: Annotated[str, Unit("Unit in which it is printed.", '"ohm"')] = ""
    of: Annotated[tuple[float, ...] | None, Numbers("The values it may take.", "[380, 400, 415]", least=1)] = None
    low: Annotated[str | None, Number("Least value.", "0.2")] = None
    high: Annotated[str | None, Number("Greatest value.", "0.6")] = None
    step: Annotated[str | None, Number("Distance between values, or what a computed one is rounded to.", "0.01")] = None
    expression: Annotated[str | None, _expression("From the quantities before it, in SI.", '"3 * I_n"')] = None
    hidden: Annotated[bool, Yes("Not stated to the student: the machine behind the readings.", "true")] = False


class StepSection(Section):
    """One step of the solution: a formula of the collection by its key, or an expression of one's own."""

    formula: Annotated[str | None, Line("Key of a formula of the collection.", '"machine.synchronous_speed"')] = None
    symbol: Annotated[str | None, Name("What it gives; that of the formula when not given.", '"omega_s"')] = None
    title: Annotated[str | None, Line("What it gives, in words.", '"Synchronous speed"')] = None
    expression: Annotated[str | None, _expression("In SI.", '"4 * pi * f / poles"')] = None
    unit: Annotated[str | None, Unit("SI unit of what it gives.", '"rad/s"')] = None
    source: Annotated[str | None, Line("Where it stands, or `common practice, no source`.", '"definition"')] = None
    rename: Annotated[
        tuple[str, ...] | None, Keys("Symbols of the formula by other names.", '["poles = poles_2"]', known=())
    ] = None


class PartSection(Section):
    """One thing asked."""

    ask: Annotated[str, Words("What to find, in words; the unit is added.", '"Find the slip."')]
    find: Annotated[str, Name("Symbol of the step that gives it.", '"s"')]
    unit: Annotated[str, Unit("Unit of the answer.", '"%"')] = ""
    marks: Annotated[int, Whole("Marks for it.", "2", low=1, high=50)] = 1
    tolerance: Annotated[
        Parsed | None, Quantity("How far an answer may be off.", '"2 %"', unit="pu", above=0.0, high=0.2)
    ] = None
    exact: Annotated[str | None, _expression("The full computation, where the step is a short formula.", '"..."')] = (
        None
    )
    within: Annotated[
        Parsed | None, Quantity("How close the short formula keeps to it.", '"5 %"', unit="pu", above=0.0, high=0.5)
    ] = None


class ProblemSection(Section):
    """A problem of the bank by `name`, one drawn from it by `topic` and `difficulty`, or one of the lecturer's own."""

    name: Annotated[str | None, Line("Its name in the bank; of an own problem, a name of your choice.", '"slip"')] = (
        None
    )
    topic: Annotated[str | None, Line("What it is about.", '"starting"')] = None
    difficulty: Annotated[int | None, Whole("1 easy, 2 middling, 3 hard.", "2", low=1, high=3)] = None
    title: Annotated[str | None, Line("Heading.", '"The loaded conveyor"')] = None
    text: Annotated[str | None, Words("The question; {U} prints the value, {U=} symbol and value.", '"..."')] = None
    given: tuple[GivenSection, ...] = Field(default=(), description="What is given.")
    step: tuple[StepSection, ...] = Field(default=(), description="The worked solution, step by step.")
    part: tuple[PartSection, ...] = Field(default=(), description="What is asked.")
    require: Annotated[
        tuple[str, ...], Keys("Comparisons in SI that every variant meets.", '["0.05 < s_b < 0.4"]', known=())
    ] = ()


class BankFile(Section):
    """A file of the bank."""

    topic: Annotated[str, Line("Of all its problems.", '"starting"')]
    problem: tuple[ProblemSection, ...] = Field(description="The problems.")

"""Worked steps: a chain of formulas in which every value is kept whole and printed as entered, or to four figures.

work = Work("Torque at rated slip")
work.given("U", "460 V"), work.given("s", "2.2 %"), ...
work.step("circuit.phase_voltage")
work.step("torque.near", result="T_r")
work.solution().lines("text")
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from math import pi

from slipwise.quantity.errors import InputError
from slipwise.quantity.formula import Formula, Number, renamed, shown_value, substituted, symbolic, typeset_symbol
from slipwise.quantity.notation import significant
from slipwise.quantity.show import MINUS, THIN, show
from slipwise.quantity.units import parse
from slipwise.teach.formulas import formula as by_key
from slipwise.teach.formulas.build import formula as own_formula
from slipwise.teach.formulas.build import unit_of

_SCALED = {"W", "VA", "var", "J", "s"}  # results of these are printed in kW, MJ, min where that suits
_TURN = 2 * pi / 60  # rad/s for one r/min
_PARSED = {"", "pu"}
_MATH = '<math xmlns="http://www.w3.org/1998/Math/MathML">'


def together(*parts: str) -> str:
    """Pieces of MathML as one formula: whole formulas, symbols, and signs such as "=" by themselves."""
    inner = "".join(
        part.replace(_MATH, "").replace("</math>", "") if "<" in part else f"<mo>{part}</mo>" for part in parts
    )
    return f"{_MATH}<mrow>{inner}</mrow></math>"


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """One value of a solution: what a formula takes in, and what it gives.

    value: in SI (`unit` names it), whole; complex for a phasor or an impedance. name: in words, "" for none.
    text: as entered, or "" for a computed value.
    """

    symbol: str
    value: Number
    unit: str
    name: str = ""
    text: str = ""

    def shown(self, form: str = "text") -> str:
        """The value with its unit: as entered, else four figures; complex in both forms; a speed in r/min as well.

        form: "text", "typst", "latex", "mathml". Raises InputError for another.
        """
        written = shown_value(_printed(self), form)
        if self.text or self.unit != "rad/s" or isinstance(self.value, complex):
            return written
        turning = shown_value(_in_turns(self), form)
        return f"{written} ({turning})" if form != "mathml" else together(written, "(", turning, ")")


def _printed(item: Known) -> Known:
    """With a text in the unit that suits its size, where the value was computed."""
    if item.text or isinstance(item.value, complex):
        return item
    if item.unit in _SCALED:
        return replace(item, text=show(item.value, item.unit, 4).replace(THIN, " ").replace(MINUS, "-"))
    if item.unit == "rad":
        return replace(item, text=f"{significant(item.value * 180 / pi)} °".replace(MINUS, "-"))
    return item


def _in_turns(item: Known) -> Known:
    return replace(item, text=f"{significant(round(item.value.real / _TURN, 9), 5)} r/min".replace(MINUS, "-"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One formula with its numbers. inputs: in the order of the formula's symbols; result: not rounded."""

    title: str
    formula: Formula
    inputs: tuple[Known, ...]
    result: Known
    note: str = ""

    def symbolic(self, form: str = "text") -> str:
        """`symbol = expression`. Raises InputError for an unknown form."""
        return symbolic(self.formula.symbol, self.formula.expression, form)

    def numbers(self, form: str = "text") -> str:
        """The expression with its numbers put in, without the left side. Raises InputError for an unknown form."""
        return substituted("", self.formula.expression, self._substitutions(), form)

    def outcome(self, form: str = "text") -> str:
        """The result with its unit. Raises InputError for an unknown form."""
        return self.result.shown(form)

    def line(self, form: str = "text") -> str:
        """All in one line: symbol = expression = numbers = result. Raises as `symbolic`."""
        parts = (self.symbolic(form), self.numbers(form), self.outcome(form))
        return together(parts[0], "=", parts[1], "=", parts[2]) if form == "mathml" else " = ".join(parts)

    def _substitutions(self) -> tuple[Known, ...]:
        """Speeds stand in one unit: where one was entered in r/min, all of the step do."""
        turns = any(item.text.endswith(("r/min", "rpm")) for item in self.inputs)
        speeds = [item for item in self.inputs if item.unit == "rad/s" and not item.text]
        return tuple(_in_turns(item) if turns and item in speeds else _printed(item) for item in self.inputs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """A problem worked out: what is given, then step by step. answers: symbols of the results asked for; empty: the last."""

    title: str
    givens: tuple[Known, ...]
    steps: tuple[Step, ...]
    answers: tuple[str, ...] = ()

    def value(self, symbol: str) -> Number:
        """The value of a given or a result, in SI. Raises InputError for an unknown symbol."""
        for item in (*self.givens, *(step.result for step in self.steps)):
            if item.symbol == symbol:
                return item.value
        raise InputError.of("symbol", symbol, "is neither given nor found in this solution", "name one of its steps")

    def lines(self, form: str = "text") -> Iterator[str]:
        """Givens, then the steps, one line each. Raises InputError for an unknown form."""
        for item in self.givens:
            left, right = typeset_symbol(item.symbol, form), item.shown(form)
            yield together(left, "=", right) if form == "mathml" else f"{left} = {right}"
        for step in self.steps:
            yield step.line(form)


@dataclass(slots=True)
class Work:
    """A solution in the making. Values are known by their symbols; a step adds its result to them."""

    title: str
    answers: tuple[str, ...] = ()
    _known: dict[str, Known] = field(default_factory=dict)
    _givens: list[Known] = field(default_factory=list)
    _steps: list[Step] = field(default_factory=list)

    def given(self, symbol: str, entered: object, name: str = "", *, unit: str | None = None) -> Known:
        """A value as entered, such as ("U", "460 V"); numbers where no unit is needed.

        unit: SI unit wanted; by default that of the symbol (`teach.formulas.build.unit_of`).

        Raises:
            InputError: the text is no such value, or the symbol is taken.
        """
        wanted = unit_of(symbol) if unit is None else unit
        parsed = parse(entered, ("", "pu") if wanted in _PARSED else wanted, symbol)
        return self.take(Known(symbol=symbol, value=parsed.value, unit=wanted, name=name, text=parsed.text))

    def take(self, item: Known) -> Known:
        """A given that is a value already, such as one of a study. Raises InputError when the symbol is taken."""
        self._free(item.symbol)
        self._known[item.symbol] = item
        self._givens.append(item)
        return item

    def step(
        self, formula: Formula | str, *, result: str = "", title: str = "", note: str = "", **symbols: str
    ) -> Number:
        """Evaluates a formula with what is known, and keeps the step.

        Args:
            formula: or its key in the registry.
            result: symbol of the result, when not that of the formula.
            title: instead of that of the formula. note: a remark below the step.
            symbols: symbol of the formula = symbol in this solution, where they differ.

        Returns:
            The value, not rounded. [SI]

        Raises:
            InputError: a symbol has no value, the result's symbol is taken, or the formula is unknown.
            DomainError: the formula has no value there.
        """
        own = self._renamed(by_key(formula) if isinstance(formula, str) else formula, symbols, result)
        self._free(own.symbol)
        inputs = tuple(self._value(name, own) for name in own.names)
        value = own.evaluate(**{item.symbol: item.value for item in inputs})
        found = Known(symbol=own.symbol, value=value, unit=own.result_unit, name=title or own.title)
        self._known[found.symbol] = found
        self._steps.append(Step(title=title or own.title, formula=own, inputs=inputs, result=found, note=note))
        return value

    def line(self, words: str, **units: str) -> Number:
        """A step written as one line: `key [its_symbol=our_symbol ...] [-> result]`, or an equation `m = T_Y / T_n`, which
        may have a title before a colon.

        units: of the symbols of an equation, where their first letters do not say them.

        Returns the value. Raises InputError and DomainError as `step`.
        """
        if " = " in words:
            title, _, equation = words.rpartition(": ")
            symbol = equation.split(maxsplit=1)[0]
            made = own_formula(f"own.{symbol}", title or "Arithmetic", equation, "arithmetic", "by definition", **units)
            return self.step(made)
        head, _, result = words.partition(" -> ")
        key, *renames = head.split()
        return self.step(key, result=result.strip(), **dict(one.split("=") for one in renames))

    def solution(self) -> Solution:
        """What stands so far."""
        return Solution(
            title=self.title, givens=tuple(self._givens), steps=tuple(self._steps), answers=tuple(self.answers)
        )

    def _free(self, symbol: str) -> None:
        if symbol in self._known:
            raise InputError.of(symbol, "", "has a value already", "give the new one another symbol")

    def _value(self, name: str, formula: Formula) -> Known:
        if name not in self._known:
            raise InputError.of(
                f"{formula.key}.{name}", "", "has no value in this solution", "give it, or find it by an earlier step"
            )
        return self._known[name]

    @staticmethod
    def _renamed(formula: Formula, symbols: Mapping[str, str], result: str) -> Formula:
        unknown = set(symbols) - set(formula.names)
        if unknown:
            raise InputError.of(
                formula.key, ", ".join(sorted(unknown)), "is not in the formula", f"it uses {', '.join(formula.names)}"
            )
        if not symbols and not result:
            return formula
        units = {symbols.get(name, name): unit for name, unit in formula.units.items()}
        expression = renamed(formula.expression, symbols)
        return replace(formula, symbol=result or formula.symbol, expression=expression, units=units)

"""The worksheet of a reduction: symbols with their values, and formulas worked one after the other.

The same formulas give the number, the printed step, the linear propagation and the random trials: a value may be an array
over trials, and then nothing is written down.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from slipwise.quantity.formula import Formula, calculate
from slipwise.results.study import Explanation, Input

FUNCTIONS: Mapping[str, Callable[..., Any]] = {
    "sqrt": np.sqrt,
    "abs": np.abs,
    "exp": np.exp,
    "log": np.log,
    "sin": np.sin,
    "cos": np.cos,
    "tan": np.tan,
    "atan2": np.arctan2,
    "min": np.minimum,
    "max": np.maximum,
    "re": np.real,
    "im": np.imag,
    "conj": np.conj,
}


@dataclass(slots=True)
class Sheet:
    """Values by symbol with what they mean; steps are kept while `writing`."""

    writing: bool = False
    values: dict[str, Any] = field(default_factory=dict)
    meanings: dict[str, tuple[str, str, str, str]] = field(default_factory=dict)  # name, unit, origin, text
    steps: list[Explanation] = field(default_factory=list)

    def enter(self, symbol: str, value: Any, unit: str, name: str, origin: str = "given", text: str = "") -> Any:
        """A value that no formula gives, or that comes from a search: a reading, a constant, a starting value."""
        self.values[symbol] = np.asarray(value)[()]
        self.meanings[symbol] = (name, unit, origin, text)
        return self.values[symbol]

    def work(self, formula: Formula, place: str) -> Any:
        """The value of a formula over the values on the sheet; it goes on the sheet under the formula's symbol.

        Where the arithmetic has no answer the value is not a number, never an error: the caller refuses it by name.
        """
        with np.errstate(all="ignore"):
            value = calculate(formula.expression, self.values, FUNCTIONS)
        self.values[formula.symbol] = value
        self.meanings[formula.symbol] = (formula.title, formula.result_unit, "derived", "")
        if self.writing:
            self.steps.append(self._step(formula, place, value))
        return value

    def found(self, symbol: str, value: Any, unit: str, title: str, how: tuple[str, str, str]) -> Any:
        """A value found otherwise than by a closed formula. how: place, method in words, source."""
        self.values[symbol] = value
        self.meanings[symbol] = (title, unit, "derived", "")
        if self.writing:
            place, method, source = how
            self.steps.append(
                Explanation(
                    name=f"{place}.{symbol}",
                    title=title,
                    value=float(value),
                    unit=unit,
                    formula="",
                    expression="",
                    inputs=(),
                    source=source,
                    method=method,
                    symbol=symbol,
                )
            )
        return value

    def _step(self, formula: Formula, place: str, value: Any) -> Explanation:
        inputs = tuple(self._input(symbol) for symbol in formula.names)
        return Explanation(
            name=f"{place}.{formula.symbol}",
            title=formula.title,
            value=float(value),
            unit=formula.result_unit,
            formula=formula.key,
            expression=formula.expression,
            inputs=inputs,
            source=formula.source,
            symbol=formula.symbol,
        )

    def _input(self, symbol: str) -> Input:
        name, unit, origin, text = self.meanings[symbol]
        value = float(self.values[symbol])
        return Input(symbol=symbol, name=name, value=value, unit=unit, origin=origin, text=text)

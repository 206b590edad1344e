"""Formula strings: one line of arithmetic that gives both the number and the typeset step.

A `Formula` stands beside the physics it describes. Its expression is parsed once by `ast` against a short white list,
so nothing but arithmetic can be in it; the order in which its author wrote the terms is kept everywhere.
"""

from __future__ import annotations

import ast
import cmath
import math
import operator
from collections.abc import Callable, Iterable, Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from slipwise.quantity.errors import DomainError, Fault, InputError
from slipwise.quantity.notation import LATEX, MATHML, TEXT, TYPST, Notation
from slipwise.quantity.typesetting import Substitution, equation, typeset_name, value_alone

Number = float | complex

OPERATORS: Mapping[type[ast.operator], Callable[[Any, Any], Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
ARITY: Mapping[str, tuple[int, int]] = {
    **dict.fromkeys(("sqrt", "abs", "exp", "log", "sin", "cos", "tan", "re", "im", "conj"), (1, 1)),
    "atan2": (2, 2),
    "min": (2, 9),
    "max": (2, 9),
}
CONSTANTS: Mapping[str, Number] = {"pi": math.pi, "j": 1j}


def _either(name: str) -> Callable[[Number], Number]:
    """The real function for real arguments, the complex one for complex."""
    real, complex_ = getattr(math, name), getattr(cmath, name)

    def apply(value: Number) -> Number:
        result: Number = complex_(value) if isinstance(value, complex) else real(value)
        return result

    return apply


FUNCTIONS: Mapping[str, Callable[..., Any]] = {
    **{name: _either(name) for name in ("sqrt", "exp", "log", "sin", "cos", "tan")},
    "abs": abs,
    "atan2": math.atan2,
    "min": min,
    "max": max,
    "re": lambda value: value.real,
    "im": lambda value: value.imag,
    "conj": lambda value: value.conjugate(),
}


def _refuse(expression: str, what: str) -> InputError:
    known = "names, numbers, + - * / **, parentheses, pi, j, " + ", ".join(ARITY)
    return InputError.of("expression", expression, what, f"write it with {known}")


def _check(node: ast.expr, expression: str) -> None:
    """Walk the tree; raise at the first thing that is not plain arithmetic."""
    match node:
        case ast.Name():
            if node.id in ARITY:
                raise _refuse(expression, f"{node.id} is a function and stands without arguments")
        case ast.Constant(value=value):
            if type(value) not in (int, float):
                raise _refuse(expression, f"{value!r} is not a real number")
        case ast.UnaryOp(op=ast.USub() | ast.UAdd(), operand=operand):
            _check(operand, expression)
        case ast.BinOp(left=left, op=op, right=right) if type(op) in OPERATORS:
            _check(left, expression)
            _check(right, expression)
        case ast.Call(func=ast.Name(id=name), args=arguments, keywords=[]) if name in ARITY:
            low, high = ARITY[name]
            if not low <= len(arguments) <= high:
                raise _refuse(expression, f"{name} takes {low if low == high else f'{low} to {high}'} argument(s)")
            for argument in arguments:
                _check(argument, expression)
        case _:
            raise _refuse(expression, f"{ast.unparse(node)!r} is not allowed")


@cache
def parse(expression: str) -> ast.expr:
    """The checked tree of an expression, parsed once.

    Raises:
        InputError: the text is not an expression, or uses something outside the white list.
    """
    try:
        tree = ast.parse(expression.strip(), mode="eval").body
    except (SyntaxError, ValueError) as error:
        raise _refuse(expression, f"is not an expression ({error})") from None
    _check(tree, expression)
    return tree


@cache
def names_in(expression: str) -> tuple[str, ...]:
    """The symbols an expression needs, in the order of their first appearance; constants and functions left out."""
    found: dict[str, None] = {}

    def visit(node: ast.expr) -> None:
        match node:
            case ast.Name(id=name) if name not in CONSTANTS:
                found.setdefault(name)
            case ast.UnaryOp(operand=operand):
                visit(operand)
            case ast.BinOp(left=left, right=right):
                visit(left)
                visit(right)
            case ast.Call(args=arguments):
                for argument in arguments:
                    visit(argument)

    visit(parse(expression))
    return tuple(found)


def renamed(expression: str, names: Mapping[str, str]) -> str:
    """The same expression with other symbols; the author's order is kept.

    names: old symbol to new, those not in it stay. Raises InputError as `parse`.
    """
    tree = deepcopy(parse(expression))
    for node in ast.walk(tree):
        if isinstance(node, ast.Name):
            node.id = names.get(node.id, node.id)
    return ast.unparse(tree)


def calculate(expression: str, values: Mapping[str, Any], functions: Mapping[str, Callable[..., Any]]) -> Any:
    """The value of an expression over any kind of number that has arithmetic: floats, complex, quantities with units.

    functions: what stands for sqrt, exp, ... in that kind. Errors of that arithmetic are passed on.
    """

    def value(node: ast.expr) -> Any:
        match node:
            case ast.Name(id=name):
                return values[name] if name in values else CONSTANTS[name]
            case ast.Constant(value=number):
                return number
            case ast.UnaryOp(op=op, operand=operand):
                return -value(operand) if isinstance(op, ast.USub) else value(operand)
            case ast.BinOp(left=left, op=op, right=right):
                return OPERATORS[type(op)](value(left), value(right))
            case ast.Call(func=ast.Name(id=name), args=arguments):
                return functions[name](*(value(argument) for argument in arguments))
        raise AssertionError(ast.dump(node))  # parse() lets nothing else through

    return value(parse(expression))


def _finite(value: Number) -> bool:
    return math.isfinite(value.real) and math.isfinite(value.imag)


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """One formula of the trade, as written, computed and typeset.

    key: stable, dotted, e.g. `machine.air_gap_torque`. title: what it gives, in words.
    symbol: left-hand side, an identifier such as `T` or `omega_s`.
    expression: right-hand side; + - * / **, sqrt abs exp log sin cos tan atan2 min max re im conj, pi and j.
        A number in it is a pure number: give a constant with a dimension (234.5 K) a symbol and a unit.
    units: unit of each symbol as in `quantity.units` ("V", "rad/s", "kg m2"), "" for pure numbers. result_unit: likewise.
    source: book and chapter, standard and clause, or `common practice, no source`.
    validity: where it holds ("steady state, no core loss").

    Raises:
        InputError: the expression is not plain arithmetic, or its symbols and `units` do not agree.
    """

    key: str
    title: str
    symbol: str
    expression: str
    units: Mapping[str, str] = field(hash=False)
    source: str
    validity: str
    result_unit: str

    def __post_init__(self) -> None:
        if not self.symbol.isidentifier():
            raise InputError.of(f"{self.key}.symbol", self.symbol, "is not an identifier", "write it like omega_s")
        needed, stated = set(self.names), set(self.units)
        if needed != stated:
            missing, extra = ", ".join(sorted(needed - stated)), ", ".join(sorted(stated - needed))
            reason = "; ".join(
                text for text in (missing and f"no unit for {missing}", extra and f"no use for {extra}") if text
            )
            raise InputError.of(f"{self.key}.units", self.expression, reason, "give one unit for each symbol used")

    @property
    def names(self) -> tuple[str, ...]:
        """The symbols needed, in the order of their first appearance."""
        return names_in(self.expression)

    def evaluate(self, **values: Number) -> Number:
        """The value for SI numbers, real or complex.

        Raises:
            InputError: a symbol is missing or unknown.
            DomainError: a value is not finite, or the arithmetic has no real answer there (names the symbols).
        """
        self._check_values(values)
        try:
            result: Number = calculate(self.expression, values, FUNCTIONS)
        except (ArithmeticError, ValueError, TypeError) as error:
            raise self._no_answer(values, str(error)) from error
        real_wanted = not any(isinstance(value, complex) for value in values.values()) and "j" not in _constants(self)
        if not _finite(result) or (real_wanted and isinstance(result, complex)):
            raise self._no_answer(values, f"gives {result}")
        return result

    def _check_values(self, values: Mapping[str, Number]) -> None:
        for name in self.names:
            if name not in values:
                raise InputError.of(
                    f"{self.key}.{name}", "", "has no value", f"give {name} in {self.units[name] or '1'}"
                )
        for name, value in values.items():
            if name not in self.units:
                raise InputError.of(f"{self.key}.{name}", value, "is not in the formula", f"it uses {self.names}")
            if not _finite(value):
                raise DomainError.of(f"{self.key}.{name}", value, "is not a finite number", "give a finite value")

    def _no_answer(self, values: Mapping[str, Number], why: str) -> DomainError:
        shown = ", ".join(f"{name} = {values[name]:.6g}" for name in self.names)
        reason = f"{self.expression} has no value there ({why})"
        return DomainError(Fault(field=self.key, value=shown, reason=reason, remedy=f"holds for: {self.validity}"))

    def _typeset(self, notation: Notation, given: Iterable[Substitution] | None = None) -> str:
        return equation(notation, self.symbol, parse(self.expression), given)

    def text(self) -> str:
        """`symbol = expression` in plain Unicode text."""
        return self._typeset(TEXT)

    def typst(self) -> str:
        """The same as typst mathematics, without the dollar signs."""
        return self._typeset(TYPST)

    def latex(self) -> str:
        """The same as LaTeX mathematics, without delimiters."""
        return self._typeset(LATEX)

    def mathml(self) -> str:
        """The same as a presentation MathML `math` element."""
        return self._typeset(MATHML)

    def substituted(self, inputs: Iterable[Substitution], form: str = "text") -> str:
        """`symbol = expression` with each symbol replaced by its number and unit, as entered where it was entered.

        inputs: records with symbol, value, unit and text (`results.study.Input` is one).
        form: "text", "typst", "latex" or "mathml".

        Raises:
            InputError: a symbol has no input, or the form is unknown.
        """
        return substituted(self.symbol, self.expression, inputs, form)


def _constants(formula: Formula) -> set[str]:
    return {node.id for node in ast.walk(parse(formula.expression)) if isinstance(node, ast.Name)} & set(CONSTANTS)


FORMS: Mapping[str, Notation] = {"text": TEXT, "typst": TYPST, "latex": LATEX, "mathml": MATHML}


def _form(form: str) -> Notation:
    if form not in FORMS:
        raise InputError.of("form", form, "is not a form of writing", "choose one of " + ", ".join(FORMS))
    return FORMS[form]


def symbolic(symbol: str, expression: str, form: str = "text") -> str:
    """`symbol = expression` typeset from the bare strings, as a saved study keeps them; "" as symbol gives only the right."""
    return equation(_form(form), symbol, parse(expression), None)


def substituted(symbol: str, expression: str, inputs: Iterable[Substitution], form: str = "text") -> str:
    """As `Formula.substituted`, from the bare strings, as a saved study keeps them."""
    given = tuple(inputs)
    known = {item.symbol for item in given}
    for name in names_in(expression):
        if name not in known:
            raise InputError.of(name, "", f"has no value in {expression}", "give an input for every symbol")
    return equation(_form(form), symbol, parse(expression), given)


def typeset_symbol(symbol: str, form: str = "text") -> str:
    """One symbol typeset: R1 -> R₁, omega_s -> ω_s, R2_prime -> R₂′."""
    return typeset_name(_form(form), symbol)


def shown_value(item: Substitution, form: str = "text") -> str:
    """A value with its unit as `substituted` puts it in; a complex one in rectangular and in polar form.

    Raises InputError for an unknown form.
    """
    return value_alone(_form(form), item)

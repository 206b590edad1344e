"""The chain of steps of a problem: values from what is given, and what follows when a value on the way is another."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Mapping

from slipwise.quantity.errors import DomainError, InputError
from slipwise.quantity.formula import FUNCTIONS, Formula, Number, calculate, names_in, parse

COMPARISONS = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">="}


def follow(
    steps: Iterable[Formula], given: Mapping[str, Number], instead: Mapping[str, Number] | None = None
) -> dict[str, Number]:
    """The value of every step.

    Args:
        steps: in order; each uses given symbols and those of steps before it.
        given: SI values by symbol.
        instead: values that stand in place of the computed ones of these steps, and are carried on.

    Raises:
        DomainError: a step has no value there.
    """
    instead = instead or {}
    known = dict(given)
    found: dict[str, Number] = {}
    for step in steps:
        value = instead[step.symbol] if step.symbol in instead else _step(step, known)
        known[step.symbol] = found[step.symbol] = value
    return found


def _step(step: Formula, known: Mapping[str, Number]) -> Number:
    return step.evaluate(**{name: known[name] for name in step.names})


def value_of(expression: str, known: Mapping[str, Number]) -> float:
    """A real number from an expression.

    Raises:
        DomainError: it has no value there, or a complex one.
    """
    try:
        value = calculate(expression, known, FUNCTIONS)
    except (ArithmeticError, ValueError, TypeError) as error:
        raise DomainError.of(expression, "", f"has no value ({error})", "choose other values") from error
    if isinstance(value, complex):
        raise DomainError.of(expression, value, "is complex", "take abs, re or im of it")
    return float(value)


def comparison(text: str) -> tuple[tuple[str, str, str], ...]:
    """`a < b < c` as pairs (a, "<", b), (b, "<", c), each side a checked expression.

    Raises:
        InputError: it is no comparison of expressions.
    """
    refused = InputError.of("require", text, "it is no comparison", 'write it as "0.05 < s_b < 0.4"')
    try:
        tree = ast.parse(text.strip(), mode="eval").body
    except (SyntaxError, ValueError):
        raise refused from None
    if not isinstance(tree, ast.Compare) or any(type(op) not in COMPARISONS for op in tree.ops):
        raise refused
    sides = [ast.unparse(side) for side in (tree.left, *tree.comparators)]
    for side in sides:
        parse(side)
    return tuple(
        (left, COMPARISONS[type(op)], right) for left, op, right in zip(sides, tree.ops, sides[1:], strict=False)
    )


def names_compared(text: str) -> tuple[str, ...]:
    """The symbols of a comparison."""
    return tuple(name for left, _, right in comparison(text) for side in (left, right) for name in names_in(side))


def holds(text: str, known: Mapping[str, Number]) -> bool:
    """Whether a comparison is true; one whose sides have no value is not."""
    for left, sign, right in comparison(text):
        try:
            a, b = value_of(left, known), value_of(right, known)
        except DomainError:
            return False
        if not {"<": a < b, "<=": a <= b, ">": a > b, ">=": a >= b}[sign]:
            return False
    return True

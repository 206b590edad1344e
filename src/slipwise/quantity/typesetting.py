"""One walk over the tree of an expression: precedence, order, and symbols against numbers; `notation` sets the pieces."""

from __future__ import annotations

import ast
import cmath
import re
from collections.abc import Iterable
from dataclasses import dataclass
from math import degrees
from typing import Protocol

from slipwise.quantity.notation import Notation, Symbol, significant, symbol_of, unit_text

NUMBER_WITH_UNIT = re.compile(r"\s*([+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)\s*(.*?)\s*")


class Substitution(Protocol):
    """What replaces a symbol: its number in `unit`, and the text the user entered if there was one."""

    @property
    def symbol(self) -> str: ...
    @property
    def value(self) -> float | complex: ...
    @property
    def unit(self) -> str: ...
    @property
    def text(self) -> str: ...


SUM, PRODUCT, POWER, ATOM = range(4)
"""How tightly a written piece holds together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A written part, how tightly it holds, whether it begins with a figure (then a product wants a sign), and whether
    it begins with a minus (then it is grouped after another sign)."""

    written: str
    holds: int
    figure: bool = False
    minus: bool = False


class _Writer:
    """The walk: precedence, order, and symbols against numbers."""

    def __init__(self, notation: Notation, given: dict[str, Substitution] | None) -> None:
        self.notation = notation
        self.given = given

    def first(self, piece: Piece, least: int) -> str:
        """A piece with nothing before it, grouped if it holds too loosely."""
        return piece.written if piece.holds >= least else self.notation.group(piece.written)

    def after(self, piece: Piece, least: int) -> str:
        """A piece with a sign before it."""
        return self.notation.group(piece.written) if piece.minus else self.first(piece, least)

    def write(self, node: ast.expr) -> Piece:
        match node:
            case ast.Name(id=name):
                return self.name(name)
            case ast.Constant(value=number):
                return Piece(written=self.notation.number(str(number), ""), holds=ATOM, figure=True)
            case ast.UnaryOp(op=op, operand=operand):
                inner = self.write(operand)
                return inner if isinstance(op, ast.UAdd) else self.negative(inner)
            case ast.Call(func=ast.Name(id=name), args=arguments):
                pieces = [self.write(argument).written for argument in arguments]
                return Piece(written=self.notation.call(name, pieces), holds=POWER if name == "exp" else ATOM)
            case ast.BinOp(left=left, op=op, right=right):
                return self.binary(self.write(left), type(op), self.write(right))
        raise AssertionError(ast.dump(node))

    def name(self, name: str) -> Piece:
        if self.given is None or name not in self.given:
            return Piece(written=self.notation.symbol(symbol_of(name)), holds=ATOM)
        return self.value(self.given[name])

    def negative(self, inner: Piece) -> Piece:
        return Piece(written=self.notation.negative(self.after(inner, PRODUCT)), holds=PRODUCT, minus=True)

    def value(self, item: Substitution) -> Piece:
        entered = NUMBER_WITH_UNIT.fullmatch(item.text)
        if entered is None and isinstance(item.value, complex):
            return self.complex_value(item.value, unit_text(item.unit))
        digits = entered[1] if entered else significant(item.value.real)
        unit = unit_text(entered[2] if entered else item.unit)
        minus = digits.startswith(("-", "−"))
        holds = PRODUCT if unit or minus or "e" in digits.lower() else ATOM
        return Piece(written=self.notation.number(digits, unit), holds=holds, figure=True, minus=minus)

    def complex_value(self, value: complex, unit: str) -> Piece:
        set_ = self.notation
        imaginary = set_.join(set_.symbol(Symbol(base="j")), "", set_.number(significant(abs(value.imag)), ""))
        pair = set_.join(set_.number(significant(value.real), ""), "-" if value.imag < 0 else "+", imaginary)
        unit_part = set_.number("", unit) if unit else ""
        return Piece(written=set_.group(pair) + unit_part, holds=PRODUCT if unit else ATOM)

    def binary(self, left: Piece, op: type[ast.operator], right: Piece) -> Piece:
        if op is ast.Pow:
            return self.power(left, right)
        if op is ast.Div:
            return self.quotient(left, right)
        if op is ast.Mult:
            sign = "times" if self.given is not None or right.figure else ""
            written = self.notation.join(self.first(left, PRODUCT), sign, self.after(right, PRODUCT))
            return Piece(written=written, holds=PRODUCT, figure=left.figure, minus=left.minus)
        sign, least = ("+", SUM) if op is ast.Add else ("-", PRODUCT)
        written = self.notation.join(left.written, sign, self.after(right, least))
        return Piece(written=written, holds=SUM, figure=left.figure)

    def power(self, base: Piece, exponent: Piece) -> Piece:
        above = exponent.written
        if not self.notation.ruled_fractions and exponent.holds < ATOM:
            above = self.notation.group(above)
        written = self.notation.power(self.first(base, ATOM), above)
        return Piece(written=written, holds=POWER, figure=base.figure and base.holds == ATOM)

    def quotient(self, above: Piece, below: Piece) -> Piece:
        if self.notation.ruled_fractions:
            return Piece(written=self.notation.fraction(above.written, below.written), holds=PRODUCT)
        written = self.notation.fraction(self.first(above, PRODUCT), self.after(below, POWER))
        return Piece(written=written, holds=PRODUCT, figure=above.figure, minus=above.minus)


def equation(notation: Notation, symbol: str, tree: ast.expr, given: Iterable[Substitution] | None) -> str:
    """`symbol = tree`, with numbers for symbols when `given` is not None; without the left side when symbol is ""."""
    values = None if given is None else {item.symbol: item for item in given}
    right = _Writer(notation, values).write(tree).written
    left = notation.symbol(symbol_of(symbol)) + notation.equals if symbol else ""
    return notation.finish(left + right)


def value_alone(notation: Notation, item: Substitution) -> str:
    """A value with its unit, as it is put in for its symbol; a complex one in rectangular and in polar form."""
    written = _Writer(notation, {item.symbol: item}).value(item).written
    if not isinstance(item.value, complex):
        return notation.finish(written)
    size = notation.number(significant(abs(item.value)), unit_text(item.unit))
    angle = notation.degrees(significant(degrees(cmath.phase(item.value))))
    return notation.finish(written + notation.equals + notation.join(size, "∠", angle))


def typeset_name(notation: Notation, name: str) -> str:
    """One symbol, set."""
    return notation.symbol(symbol_of(name))

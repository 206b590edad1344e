"""Draws a variant: the same seed, student and problem give the same numbers on every machine.

Each choice is SHA-256 of "seed/student/problem/round/symbol" in UTF-8, read as a whole number from the most significant
byte, modulo the number of values the quantity may take. Nothing depends on the order of the problems, on the other
students, or on a library's random generator.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from hashlib import sha256

from slipwise.quantity.errors import DomainError, InputError
from slipwise.quantity.formula import Number
from slipwise.quantity.unit_table import lookup
from slipwise.quantity.units import parse
from slipwise.teach.problems.chain import follow, holds, value_of
from slipwise.teach.problems.model import Given, Problem, Stated, Variant

ROUNDS = 2000
"""How often a variant is drawn anew until every requirement is met; a problem that needs more is refused."""


def choice(seed: str, problem: str, turn: int, symbol: str, count: int) -> int:
    """A whole number from 0 to count - 1. seed: of the sheet and the student together."""
    digest = sha256(f"{seed}/{problem}/{turn}/{symbol}".encode()).digest()
    return int.from_bytes(digest, "big") % count


def variant(problem: Problem, seed: str) -> Variant:
    """The variant of a problem for a seed.

    Raises:
        InputError: no draw in `ROUNDS` met the requirements.
    """
    for turn in range(ROUNDS):
        found = attempt(problem, seed, turn)
        if found is not None:
            return found
    raise InputError.of(
        f"problem {problem.key}",
        seed,
        f"none of {ROUNDS} draws meets its requirements",
        "widen the ranges of what is given, or loosen what is required",
    )


def attempt(problem: Problem, seed: str, turn: int) -> Variant | None:
    """One draw, or None when it misses a requirement."""
    try:
        given = _given(problem, seed, turn)
        known: dict[str, Number] = {symbol: item.value for symbol, item in given.items()}
        values = follow(problem.steps, known)
        known |= values
        if not all(holds(text, known) for text in problem.require):
            return None
        exact = {p.find: value_of(p.gap.exact, known) for p in problem.parts if p.gap is not None}
    except DomainError:
        return None
    found = Variant(problem=problem, given=given, values=values, exact=exact)
    return found if _sound(found) else None


def gap_of(found: Variant, symbol: str) -> float:
    """Answer over full computation, less one."""
    return float(found.values[symbol].real) / found.exact[symbol] - 1


def _sound(found: Variant) -> bool:
    """No answer is zero, and every short formula keeps within what it states."""
    for part in found.problem.parts:
        if abs(found.answer(part)) < 1e-12:
            return False
        if part.gap is not None and not abs(gap_of(found, part.find)) <= part.gap.within:
            return False
    return True


def _given(problem: Problem, seed: str, turn: int) -> dict[str, Stated]:
    known: dict[str, Stated] = {}
    for item in problem.given:
        if item.texts:
            text = item.texts[choice(seed, problem.key, turn, item.symbol, len(item.texts))]
            known[item.symbol] = _read(item, text)
        else:
            value = value_of(item.expression, {symbol: stated.value for symbol, stated in known.items()})
            if item.step:
                known[item.symbol] = _read(item, rounded(value, item.unit, item.step))
            else:
                known[item.symbol] = Stated(symbol=item.symbol, value=value, unit=item.si)
    return known


def _read(item: Given, text: str) -> Stated:
    found = parse(text, item.si, item.symbol)
    return Stated(symbol=item.symbol, value=found.value, unit=item.si, text=text)


def rounded(value: float, unit: str, step: str) -> str:
    """An SI value as printed: the nearest multiple of `step` in `unit`, with the unit."""
    size = Decimal(step)
    shown = Decimal(repr(in_unit(value, unit)))
    multiple = (shown / size).quantize(Decimal(1), rounding=ROUND_HALF_EVEN) * size
    return with_unit(plain(multiple, size), unit)


def plain(number: Decimal, step: Decimal) -> str:
    """A multiple of a step, with the decimals of the step."""
    return format(number.quantize(step) if step < 1 else number.quantize(Decimal(1)), "f")


def with_unit(digits: str, unit: str) -> str:
    """Digits and unit, as `quantity.units` reads them."""
    return f"{digits} {unit}" if unit else digits


def in_unit(value: float, unit: str) -> float:
    """An SI value in a printed unit."""
    known = lookup(unit) if unit else None
    return value if known is None else value / known.factor - known.offset


def from_unit(number: float, unit: str) -> float:
    """A number in a printed unit as SI value."""
    known = lookup(unit) if unit else None
    return number if known is None else (number + known.offset) * known.factor

"""The words of a question with its values in place, as pieces that PDF, plain text and learning platforms set."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from slipwise.quantity.formula import typeset_symbol
from slipwise.quantity.notation import significant, unit_text
from slipwise.quantity.show import MINUS, THIN
from slipwise.teach.problems.build import PLACE
from slipwise.teach.problems.draw import in_unit
from slipwise.teach.problems.model import Part, Variant


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A stretch of text, or the name of a symbol to be set as one."""

    text: str = ""
    symbol: str = ""


def pieces(text: str, variant: Variant) -> Iterator[Piece]:
    """The text of a question or of a part; {U} becomes the value, {U=} symbol and value."""
    here = 0
    for place in PLACE.finditer(text):
        if place.start() > here:
            yield Piece(text=text[here : place.start()])
        stated = variant.given[place[1]]
        value = printed(stated.text)
        if place[2]:
            yield Piece(symbol=stated.symbol)
            yield Piece(text=f"{THIN}={THIN}{value}")
        else:
            yield Piece(text=value)
        here = place.end()
    if here < len(text):
        yield Piece(text=text[here:])


def printed(text: str) -> str:
    """A stated value for print: thin space, unit signs, minus sign."""
    digits, _, unit = text.partition(" ")
    return joined(digits.replace("-", MINUS), unit)


def joined(digits: str, unit: str) -> str:
    """Digits and unit for print."""
    return f"{digits}{THIN}{unit_text(unit).replace(' ', THIN)}" if unit else digits


def answer_text(value: float, unit: str, digits: int = 4) -> str:
    """An SI value in the unit asked for, for print."""
    return joined(significant(in_unit(value, unit), digits), unit)


def asked_in(part: Part) -> str:
    """The unit an answer is wanted in, in words."""
    return f"in {unit_text(part.unit)}" if part.unit else "as a plain number"


def text_of(found: Iterator[Piece]) -> str:
    """The pieces as one line of text."""
    return "".join(piece.text or typeset_symbol(piece.symbol) for piece in found)


def typst_of(found: Iterator[Piece]) -> list[dict[str, str]]:
    """The pieces for the template."""
    return [
        {"text": piece.text}
        if piece.text
        else {"code": typeset_symbol(piece.symbol, "typst"), "alt": typeset_symbol(piece.symbol)}
        for piece in found
    ]

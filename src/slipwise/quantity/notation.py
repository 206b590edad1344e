"""How formulas are written: plain text, typst, LaTeX, MathML. One walk over the tree, four ways to set each piece."""

from __future__ import annotations

import ast
import re
from abc import ABC, abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass, replace
from html import escape
from typing import Protocol

GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "eta": "η", "theta": "θ", "kappa": "κ",
    "lambda": "λ", "mu": "μ", "nu": "ν", "xi": "ξ", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "φ", "psi": "ψ",
    "omega": "ω", "Gamma": "Γ", "Delta": "Δ", "Theta": "Θ", "Lambda": "Λ", "Sigma": "Σ", "Phi": "Φ", "Psi": "Ψ",
    "Omega": "Ω", "pi": "π", "lam": "λ",
}  # fmt: skip
SQUARES = {"GD2", "WK2"}  # inertia as some makers write it: one symbol, not a product
UNIT_SIGNS = {"ohm": "Ω", "degC": "°C", "deg": "°", "K": "K", "pu": "p.u."}
SUBSCRIPT_DIGITS = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
SUPERSCRIPT_DIGITS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """An identifier taken apart: base letter, subscripts, prime; `word` for a name that is a word, set upright."""

    base: str
    sub: str = ""
    prime: bool = False
    word: bool = False


def symbol_of(name: str) -> Symbol:
    """R1 -> R with 1; Rfe -> R with Fe; omega_s -> ω with s; R2_prime -> R with 2 and a prime; slip -> the word slip;
    Delta_U -> ΔU; cos_phi -> cos φ; GD2 -> GD²."""
    head, *rest = name.split("_")
    if head in SQUARES:
        return Symbol(base=f"{head[:2]}²", sub=",".join(rest), word=True)
    if head == "Delta" and rest:
        inner = symbol_of("_".join(rest))
        return replace(inner, base=f"Δ{inner.base}")
    prime = "prime" in rest
    rest = [GREEK.get(part, part) for part in rest if part and part != "prime"]
    if head in GREEK:
        return Symbol(base=GREEK[head], sub=",".join(rest), prime=prime)
    if head in {"sin", "cos"} and rest:  # cos_phi is one quantity: the power factor
        return Symbol(base=f"{head} {''.join(rest)}", prime=prime, word=True)
    split = re.fullmatch(r"([A-Z])([A-Za-z]{0,2}\d*)", head) or re.fullmatch(r"([a-z])([A-Za-z]?\d*)", head)
    if split is None:
        return Symbol(base=head, sub=",".join(rest), prime=prime, word=True)
    own = {"fe": "Fe"}.get(split[2], split[2])
    return Symbol(base=split[1], sub=",".join(part for part in (own, *rest) if part), prime=prime)


def unit_text(unit: str) -> str:
    """A unit as printed: `kg m2` -> kg·m², `ohm` -> Ω, `rad/s2` -> rad/s²; "" and "1" -> nothing."""
    if unit in ("", "1"):
        return ""

    def piece(match: re.Match[str]) -> str:
        return UNIT_SIGNS.get(match[1], match[1]) + match[2].translate(SUPERSCRIPT_DIGITS)

    shown = re.sub(r"([A-Za-z°µ%]+)((?:-?\d+)?)", piece, unit)
    return re.sub(r"(?<=[\w²³Ω])[ *](?=\w)(?!GD²|WK²)", "·", shown)


def significant(value: float, digits: int = 4) -> str:
    """A number to so many significant figures, no exponent between 1e-4 and 1e6; a number that is exact with fewer
    figures (4 poles, 0.332 ohm as given) is printed with those."""
    if 1e-4 <= abs(value) < 1e6 or value == 0:
        rounded = float(f"{value:.{digits - 1}e}")
        if rounded == value:
            return f"{value:.10f}".rstrip("0").rstrip(".").replace("-", "−")
        order = int(f"{rounded:e}".rpartition("e")[2])
        return f"{rounded:.{max(digits - 1 - order, 0)}f}".replace("-", "−")
    mantissa, _, exponent = f"{value:.{digits - 1}e}".partition("e")
    return f"{mantissa}e{int(exponent)}"


class Notation(ABC):
    """How each piece is set. Precedence and order are settled by the walk, not here."""

    equals: str
    ruled_fractions = True  # a fraction bar groups by itself: no parentheses needed above and below it

    @abstractmethod
    def symbol(self, symbol: Symbol) -> str: ...
    @abstractmethod
    def number(self, digits: str, unit: str) -> str: ...
    @abstractmethod
    def group(self, inner: str) -> str: ...
    @abstractmethod
    def fraction(self, above: str, below: str) -> str: ...
    @abstractmethod
    def power(self, base: str, exponent: str) -> str: ...
    @abstractmethod
    def call(self, name: str, arguments: list[str]) -> str: ...
    @abstractmethod
    def join(self, left: str, operator: str, right: str) -> str:
        """operator: "+", "-", "times" (a sign is wanted) or "" (side by side)."""

    def negative(self, inner: str) -> str:
        return "−" + inner

    def finish(self, written: str) -> str:
        return written


class Text(Notation):
    """One line of Unicode."""

    equals = " = "
    ruled_fractions = False

    def symbol(self, symbol: Symbol) -> str:
        sub = symbol.sub.translate(SUBSCRIPT_DIGITS) if symbol.sub.isdigit() else symbol.sub and f"_{symbol.sub}"
        return symbol.base + sub + ("′" if symbol.prime else "")

    def number(self, digits: str, unit: str) -> str:
        mantissa, _, exponent = digits.replace("−", "-").partition("e")
        power = "·10" + exponent.translate(SUPERSCRIPT_DIGITS) if exponent else ""
        return mantissa.replace("-", "−") + power + (f" {unit}" if unit else "")

    def group(self, inner: str) -> str:
        return f"({inner})"

    def fraction(self, above: str, below: str) -> str:
        return f"{above} / {below}"

    def power(self, base: str, exponent: str) -> str:
        return base + (exponent.translate(SUPERSCRIPT_DIGITS) if exponent.isdigit() else f"^{exponent}")

    def call(self, name: str, arguments: list[str]) -> str:
        if name == "abs":
            return f"|{arguments[0]}|"
        if name == "conj":
            return f"{arguments[0]}*" if arguments[0].isalnum() else f"({arguments[0]})*"
        shown = {"sqrt": "√", "re": "Re", "im": "Im", "log": "ln"}.get(name, name)
        return f"{shown}({', '.join(arguments)})"

    def join(self, left: str, operator: str, right: str) -> str:
        return f"{left} {({'-': '−', 'times': '·', '': '·'}).get(operator, operator)} {right}"


class Typst(Notation):
    """Typst mathematics. Every name and unit is a quoted string, so that entered text cannot become code."""

    equals = " = "

    @staticmethod
    def quoted(text: str) -> str:
        return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'

    def symbol(self, symbol: Symbol) -> str:
        base = self.quoted(symbol.base) if symbol.word else symbol.base
        sub = f"_{self.quoted(symbol.sub)}" if symbol.sub else ""
        return base + sub + ("^prime" if symbol.prime else "")

    def number(self, digits: str, unit: str) -> str:
        digits = digits.replace("-", "−")
        mantissa, _, exponent = digits.partition("e")
        written = self.quoted(mantissa) + (f" dot 10^{self.quoted(exponent)}" if exponent else "")
        return written + (f" thin {self.quoted(unit)}" if unit else "")

    def group(self, inner: str) -> str:
        return f"lr(({inner}))"

    def fraction(self, above: str, below: str) -> str:
        return f"frac({above}, {below})"

    def power(self, base: str, exponent: str) -> str:
        return f"{self.group(base) if base.endswith('^prime') else base}^({exponent})"

    def call(self, name: str, arguments: list[str]) -> str:
        match name:
            case "sqrt" | "abs":
                return f"{name}({arguments[0]})"
            case "conj":
                return f"overline({arguments[0]})"
            case "exp":
                return f"e^({arguments[0]})"
        shown = {"re": '"Re"', "im": '"Im"', "log": "ln", "atan2": '"atan2"'}.get(name, name)
        return f"{shown} lr(({', '.join(arguments)}))"

    def join(self, left: str, operator: str, right: str) -> str:
        return f"{left} {({'-': '−', 'times': 'dot', '': 'thin'}).get(operator, operator)} {right}"


class Latex(Notation):
    """LaTeX mathematics with nothing beyond the kernel and amsmath's \\text."""

    equals = " = "

    @staticmethod
    def words(text: str) -> str:
        special = {"%": r"\%", "&": r"\&", "#": r"\#", "$": r"\$", "_": r"\_", "{": r"\{", "}": r"\}", "~": " ",
                   "^": " ", "\\": " ", "°": r"$^\circ$", "Ω": r"$\Omega$", "·": r"$\cdot$", "²": "$^2$",
                   "³": "$^3$"}  # fmt: skip
        return r"\text{" + "".join(special.get(letter, letter) for letter in text) + "}"

    def symbol(self, symbol: Symbol) -> str:
        by_sign = {sign: "\\" + name for name, sign in GREEK.items() if name != "lam"}
        letters = " ".join(by_sign.get(letter, letter) for letter in symbol.base)
        base = self.words(symbol.base) if symbol.word else letters
        parts = "".join(by_sign.get(part, part) for part in symbol.sub)
        return base + (rf"_{{\mathrm{{{parts}}}}}" if symbol.sub else "") + ("'" if symbol.prime else "")

    def number(self, digits: str, unit: str) -> str:
        mantissa, _, exponent = digits.replace("−", "-").partition("e")
        power = rf" \cdot 10^{{{exponent}}}" if exponent else ""
        return mantissa + power + (rf"\,{self.words(unit)}" if unit else "")

    def group(self, inner: str) -> str:
        return rf"\left({inner}\right)"

    def fraction(self, above: str, below: str) -> str:
        return rf"\frac{{{above}}}{{{below}}}"

    def power(self, base: str, exponent: str) -> str:
        return f"{{{base}}}^{{{exponent}}}"

    def call(self, name: str, arguments: list[str]) -> str:
        match name:
            case "sqrt":
                return rf"\sqrt{{{arguments[0]}}}"
            case "abs":
                return rf"\left|{arguments[0]}\right|"
            case "conj":
                return rf"\overline{{{arguments[0]}}}"
            case "exp":
                return f"e^{{{arguments[0]}}}"
        shown = {"re": r"\mathrm{Re}", "im": r"\mathrm{Im}", "log": r"\ln", "atan2": r"\mathrm{atan2}"}
        return rf"{shown.get(name, chr(92) + name)}\left({', '.join(arguments)}\right)"

    def negative(self, inner: str) -> str:
        return "-" + inner

    def join(self, left: str, operator: str, right: str) -> str:
        sign = {"times": r"\cdot", "": r"\,"}.get(operator, operator)
        return f"{left} {sign} {right}"


class MathML(Notation):
    """Presentation MathML 3."""

    equals = "<mo>=</mo>"

    def symbol(self, symbol: Symbol) -> str:
        base = f"<mi>{escape(symbol.base)}</mi>" if not symbol.word else f"<mtext>{escape(symbol.base)}</mtext>"
        sub = f'<mi mathvariant="normal">{escape(symbol.sub)}</mi>' if symbol.sub else ""
        if symbol.prime:
            return f"<msubsup>{base}{sub or '<mrow></mrow>'}<mo>′</mo></msubsup>"
        return f"<msub>{base}{sub}</msub>" if sub else base

    def number(self, digits: str, unit: str) -> str:
        mantissa, _, exponent = digits.replace("-", "−").partition("e")
        power = f"<mo>·</mo><msup><mn>10</mn><mn>{exponent}</mn></msup>" if exponent else ""
        space = '<mspace width="0.17em"></mspace>'
        return f"<mrow><mn>{mantissa}</mn>{power}{space + f'<mtext>{escape(unit)}</mtext>' if unit else ''}</mrow>"

    def group(self, inner: str) -> str:
        return f"<mrow><mo>(</mo>{inner}<mo>)</mo></mrow>"

    def fraction(self, above: str, below: str) -> str:
        return f"<mfrac><mrow>{above}</mrow><mrow>{below}</mrow></mfrac>"

    def power(self, base: str, exponent: str) -> str:
        return f"<msup><mrow>{base}</mrow><mrow>{exponent}</mrow></msup>"

    def call(self, name: str, arguments: list[str]) -> str:
        match name:
            case "sqrt":
                return f"<msqrt>{arguments[0]}</msqrt>"
            case "abs":
                return f"<mrow><mo>|</mo>{arguments[0]}<mo>|</mo></mrow>"
            case "conj":
                return f"<mover><mrow>{arguments[0]}</mrow><mo>¯</mo></mover>"
            case "exp":
                return f"<msup><mi>e</mi><mrow>{arguments[0]}</mrow></msup>"
        shown = {"re": "Re", "im": "Im", "log": "ln"}.get(name, name)
        return f"<mrow><mi>{shown}</mi><mo>(</mo>{'<mo>,</mo>'.join(arguments)}<mo>)</mo></mrow>"

    def negative(self, inner: str) -> str:
        return f"<mrow><mo>−</mo>{inner}</mrow>"

    def join(self, left: str, operator: str, right: str) -> str:
        sign = {"-": "−", "times": "·", "": "\u2062"}.get(operator, operator)
        return f"{left}<mo>{sign}</mo>{right}"

    def finish(self, written: str) -> str:
        return f'<math xmlns="http://www.w3.org/1998/Math/MathML"><mrow>{written}</mrow></math>'


TEXT, TYPST, LATEX, MATHML = Text(), Typst(), Latex(), MathML()

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


def typeset_name(notation: Notation, name: str) -> str:
    """One symbol, set."""
    return notation.symbol(symbol_of(name))

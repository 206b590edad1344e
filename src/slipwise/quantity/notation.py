"""How the pieces of a formula are written: plain text, typst, LaTeX, MathML. `typesetting` puts the pieces together."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from dataclasses import dataclass, replace
from html import escape

GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "eta": "η", "theta": "θ", "kappa": "κ",
    "lambda": "λ", "mu": "μ", "nu": "ν", "xi": "ξ", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "φ", "psi": "ψ",
    "omega": "ω", "Gamma": "Γ", "Delta": "Δ", "Theta": "Θ", "Lambda": "Λ", "Sigma": "Σ", "Phi": "Φ", "Psi": "Ψ",
    "Omega": "Ω", "pi": "π", "lam": "λ",
}  # fmt: skip
SQUARES = {"GD2", "WK2"}  # inertia as some makers write it: one symbol, not a product
UNIT_SIGNS = {"ohm": "Ω", "mohm": "mΩ", "degC": "°C", "deg": "°", "K": "K", "pu": "p.u."}
SUBSCRIPT_DIGITS = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
SUPERSCRIPT_DIGITS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


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
        """operator: "+", "-", "times" (a sign is wanted), "∠" or "" (side by side)."""

    def degrees(self, digits: str) -> str:
        """An angle, its sign close to the figures."""
        return f"{digits}°"

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
        base = (
            self.quoted(symbol.base) if symbol.word else " ".join(symbol.base)
        )  # two letters together are a name to it
        sub = f"_{self.quoted(symbol.sub)}" if symbol.sub else ""
        return base + sub + ("^prime" if symbol.prime else "")

    def degrees(self, digits: str) -> str:
        return self.quoted(f"{digits}°")

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

    def degrees(self, digits: str) -> str:
        return digits.replace("−", "-") + r"^{\circ}"

    def join(self, left: str, operator: str, right: str) -> str:
        sign = {"times": r"\cdot", "": r"\,", "∠": r"\angle"}.get(operator, operator)
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

    def degrees(self, digits: str) -> str:
        return f"<mn>{digits}°</mn>"

    def join(self, left: str, operator: str, right: str) -> str:
        sign = {"-": "−", "times": "·", "": "\u2062"}.get(operator, operator)
        return f"{left}<mo>{sign}</mo>{right}"

    def finish(self, written: str) -> str:
        return f'<math xmlns="http://www.w3.org/1998/Math/MathML"><mrow>{written}</mrow></math>'


TEXT, TYPST, LATEX, MATHML = Text(), Typst(), Latex(), MathML()

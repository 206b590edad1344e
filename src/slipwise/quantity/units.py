"""Quantities as text with their unit, read strictly: each trap of the trade has its own message.

`parse("0.435 ohm", "ohm", "motor.circuit.R1")` gives 0.435 in SI and keeps the text; `parse("0,435 ohm", ...)` raises.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from functools import lru_cache
from math import isfinite, sqrt
from typing import NoReturn

from slipwise.quantity.errors import InputError
from slipwise.quantity.otherwise import written_otherwise
from slipwise.quantity.unit_table import KINDS, SPELLINGS, Unit, lookup

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+(?![0-9A-Za-z]))?")
_BREAK = re.compile(
    r"(\s*[,'_.]\s*|\s+(?=[0-9]{3}(?![0-9/]))|\s*-\s*|\s*/\s*|\s*to\s+|\s*\.\.+\s*|\s*\+/-\s*|\s*±\s*)([0-9]+)"
)
_SAME = str.maketrans(
    {"²": "2", "³": "3", "·": " ", "⋅": " ", "*": " ", "^": "", "Ω": "ohm", "\u2126": "ohm", "−": "-", "–": "-"}
    | {"\u00a0": " ", "\u202f": " ", "\u2009": " ", "⁻": "-", "¹": "1"}
)
_LONGEST = 120
_IN_FULL = {  # names written out, without a plural s
    **{"watt": "W", "kilowatt": "kW", "megawatt": "MW", "volt": "V", "kilovolt": "kV", "amp": "A", "ampere": "A"},
    **{
        "hertz": "Hz",
        "second": "s",
        "sec": "s",
        "minute": "min",
        "hour": "h",
        "metre": "m",
        "meter": "m",
        "tonne": "t",
    },
    **{"ton": "t", "kilogram": "kg", "celsius": "degC", "newtonmetre": "N m", "newtonmeter": "N m", "kwatt": "kW"},
}
_UNLABELLED = {"kgfm2", "kgfm²", "lbft2", "lbfft2", "lbin2", "Nm2"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Parsed:
    """A value in SI with the text it came from.

    unit: SI unit of `value`. text: as written. rule: what was converted beyond a change of scale, in words ("" when nothing).
    bare: written without a unit.
    """

    value: float
    unit: str
    text: str
    rule: str = ""
    bare: bool = False


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a field wants, carried along for messages."""

    units: tuple[str, ...]
    field: str
    shown: str  # the value as the user wrote it
    example: str

    def refuse(self, reason: str, remedy: str) -> NoReturn:
        raise InputError.of(self.field, self.shown, reason, remedy)

    @property
    def words(self) -> str:
        return " or ".join(KINDS[unit].words for unit in self.units)


def parse(value: object, unit: str | tuple[str, ...], field: str = "value", *, example: str = "") -> Parsed:
    """Reads a quantity.

    Args:
        value: text such as "90 kW"; a number where no unit is needed (ratios, per unit, counts).
        unit: SI unit wanted, a key of `unit_table.KINDS`; a tuple where several kinds will do.
        field: dotted name used in the message.
        example: how a right value may look; by default that of the kind.

    Raises:
        InputError: anything that cannot be read as exactly one value of a wanted kind.
    """
    units = (unit,) if isinstance(unit, str) else unit
    asked = _Asked(units, field, _shown(value), example or KINDS[units[0]].example)
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        asked.refuse(f"{asked.words} is needed", f'write a text such as "{asked.example}"')
    if isinstance(value, str):
        return _parse_text(value, asked)
    return _bare(_finite(str(value), asked), str(value), asked)


def _shown(value: object) -> str:
    """The value as it stands in the file, shortened."""
    text = f'"{value}"' if isinstance(value, str) else _toml(value)
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    try:
        return str(value)
    except ValueError:  # an integer too long to be printed
        return "a very long whole number"


@lru_cache(maxsize=4096)  # a study is read again after every change of one value
def _parse_text(written: str, asked: _Asked) -> Parsed:
    """A number, then a unit, and nothing else."""
    text = written.translate(_SAME).strip()
    if said := written_otherwise(text, asked.units):
        asked.refuse(*said)
    found = _NUMBER.match(text)
    if found is None:
        _refuse_start(text, asked)
    rest = text[found.end() :]
    _refuse_separators(found.group(), rest, asked)
    number = _finite(found.group(), asked)
    if not rest.strip():
        return _bare(number, written, asked)
    return _with_unit(number, rest.strip(), written, asked)


def _refuse_start(text: str, asked: _Asked) -> NoReturn:
    """There is no number where one must stand."""
    if not text:
        asked.refuse("the text is empty", f'write a value such as "{asked.example}"')
    if re.match(r"[+-]?(inf|nan|∞)", text, re.IGNORECASE):
        asked.refuse("the value is not finite", f'write a finite value such as "{asked.example}"')
    if text[0] in "<>~≈±≤≥" or text.lower().startswith(("about", "ca", "approx")):
        asked.refuse("one plain value is needed, without a sign or word before it", f'write it as "{asked.example}"')
    asked.refuse("it does not begin with a number", f'write number and unit, as in "{asked.example}"')


def _refuse_separators(number: str, rest: str, asked: _Asked) -> None:
    """Decimal commas, thousands separators, fractions and ranges: all digits after the number ended."""
    after = _BREAK.match(rest)
    if after is None:
        return
    mark, digits = after.group(1).strip(), after.group(2)
    tail = rest[after.end() :]
    more = re.match(r"[.,'_ ][0-9]", tail) is not None
    if mark == "," and len(digits) == 3 and number.lstrip("+-") != "0" and "." not in number and not more:
        asked.refuse(
            "the comma may be a decimal comma or a thousands separator",
            f'write "{number}.{digits}{tail}" or "{number}{digits}{tail}"',
        )
    if mark == "," and "." not in number and not more:
        asked.refuse("it has a decimal comma", f'write "{number}.{digits}{tail}"')
    if mark in {",", "'", "_", ".", ""}:
        breaks = r"\.(?=[0-9])" if mark == "." else r"[\s,'_]+(?=[0-9])"
        whole = re.sub(breaks, "", number + rest)
        asked.refuse("it has a thousands separator", f'write the digits without a break, as in "{whole}"')
    if mark == "/":
        asked.refuse("it is written as a fraction", f'write a decimal number, as in "{asked.example}"')
    asked.refuse("it is a range, and one value is needed", f'write one value, as in "{asked.example}"')


def _finite(number: str, asked: _Asked) -> float:
    """The number as a float; refuses what a float cannot hold."""
    try:
        value = float(number)
    except (ValueError, OverflowError):
        asked.refuse("it cannot be read as a number", f'write a value such as "{asked.example}"')
    if not isfinite(value):
        asked.refuse("the value is not finite", f'write a finite value such as "{asked.example}"')
    mantissa = number.lower().partition("e")[0]
    if value == 0 and re.search(r"[1-9]", mantissa):
        asked.refuse("the value is too small to be held", f'write a value such as "{asked.example}"')
    return value


def _bare(number: float, written: str, asked: _Asked) -> Parsed:
    """A number without a unit: right for plain numbers and per unit only."""
    plain = next((unit for unit in asked.units if unit in {"", "pu"}), None)
    if plain is not None:
        return Parsed(value=number, unit=plain, text=written, bare=True)
    return asked.refuse(
        f"the unit is missing: {asked.words} is needed", f'write number and unit, as in "{asked.example}"'
    )


def _with_unit(number: float, name: str, written: str, asked: _Asked) -> Parsed:
    """Finds the unit, allows for a word that says line or phase, and checks the kind."""
    name, word = _reference_word(name)
    unit = lookup(name)
    if unit is None:
        _refuse_unit(name, asked)
    if unit.si == "K" and "degC" in asked.units:
        unit = Unit("degC", 1.0, offset=-273.15, rule="0 degC is 273.15 K")
    if unit.si not in asked.units:
        _refuse_kind(name, unit, asked)
    value = _scaled(number, unit)
    if not isfinite(value):
        asked.refuse("the value is not finite", f'write a finite value such as "{asked.example}"')
    if word:
        return _line_value(value, unit, word, written, asked)
    return Parsed(value=value, unit=unit.si, text=written, rule=unit.rule)


def _scaled(number: float, unit: Unit) -> float:
    """In SI, rounded once: in decimal arithmetic 95 % is 0.95 and not 0.9500000000000001."""
    return float((Decimal(repr(number)) + Decimal(repr(unit.offset))) * Decimal(repr(unit.factor)))


def _reference_word(name: str) -> tuple[str, str]:
    """Splits "V phase" into "V" and "phase"."""
    words = name.replace("-", " ").split()
    said = [word for word in words if word.lower() in {"line", "phase"}]
    if not said or name in {"line", "phase"}:
        return name, ""
    fillers = {"line", "phase", "to", "neutral", "rms"}
    phase = "neutral" in words or [word.lower() for word in said] == ["phase"]  # "phase to phase" is a line value
    return " ".join(word for word in words if word.lower() not in fillers), "phase" if phase else "line"


def _line_value(value: float, unit: Unit, word: str, written: str, asked: _Asked) -> Parsed:
    """Voltages are line values throughout; a phase value is converted openly, a winding current is not guessed at."""
    if unit.si == "V" and word == "phase":
        rule = "line voltage = sqrt(3) x phase voltage"
        return Parsed(value=sqrt(3) * value, unit="V", text=written, rule=rule)
    if unit.si not in {"V", "A"}:
        asked.refuse(f'"{word}" means nothing for {asked.words}', f'write it as in "{asked.example}"')
    if word == "phase":
        asked.refuse(
            "a phase current is the line current in star and the winding current in delta",
            "write the line current, which is what the plate says (in delta sqrt(3) x the winding current)",
        )
    return Parsed(value=value, unit=unit.si, text=written)


def _refuse_unit(name: str, asked: _Asked) -> NoReturn:
    """The unit is unknown, or is one of those that mean several things."""
    if asked.units == ("",):
        asked.refuse(
            f'a plain number is needed, without "{_clip(name)}"', f"write the number alone, as in {asked.example}"
        )
    key = "".join(name.split())
    if key.lower() in {"hp", "bhp"}:
        asked.refuse(
            '"hp" alone is not one unit',
            'say which: "hp (mechanical)" is 745.7 W, "hp (electric)" is 746 W, "hp (metric)" is 735.5 W',
        )
    if key in _UNLABELLED:
        asked.refuse(
            f'"{name}" may be GD2, WK2 or J, and they differ by up to four times',
            'say which: "kgf m2 GD2", "lb ft2 WK2", or J itself in "kg m2"',
        )
    if key.upper() in {"GD2", "WK2"}:
        asked.refuse(f'"{key}" is no unit by itself', 'name the unit too: "kgf m2 GD2" or "lb ft2 WK2"')
    near = _nearest(key, asked)
    hint = f'did you mean "{near}"?' if near else f'write it as in "{asked.example}"'
    asked.refuse(f'the unit "{_clip(name)}" is not known', hint)


def _nearest(key: str, asked: _Asked) -> str | None:
    """The known unit of a wanted kind most like `key`: other capitals first, then other letters."""
    fitting = [k for k, name in SPELLINGS.items() if (unit := lookup(name)) and unit.si in asked.units]
    for known in fitting:
        if known.lower() == key.lower():
            return SPELLINGS[known]
    spelled = _IN_FULL.get(key.lower().removesuffix("s"))
    if spelled is not None and "".join(spelled.split()) in fitting:
        return spelled
    close = get_close_matches(key[:40], fitting, n=1, cutoff=0.6)
    return SPELLINGS[close[0]] if close else None


def _refuse_kind(name: str, unit: Unit, asked: _Asked) -> NoReturn:
    """A known unit of the wrong kind, or any unit where a plain number is wanted."""
    if asked.units == ("",):
        asked.refuse(
            f'a plain number is needed, without the unit "{name}"', f"write the number alone, as in {asked.example}"
        )
    if unit.si == "Hz" and "rad/s" in asked.units and name == "1/s":
        asked.refuse('"1/s" may mean turns or radians each second', 'write "r/s", "r/min" or "rad/s"')
    if unit.si == "H" and "ohm" in asked.units:
        asked.refuse("it is an inductance, and a reactance is needed", "write X = 2 pi f L in ohm")
    if unit.si == "VA/W":
        asked.refuse(f"it is {KINDS[unit.si].words}", "write it as code_letter")
    asked.refuse(
        f'"{name}" is the unit of {KINDS[unit.si].words}; {asked.words} is needed', f'write it as in "{asked.example}"'
    )


def _clip(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:40]}..."

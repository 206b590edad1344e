"""Published examples worked out step by step: worked.toml read, inputs put in as printed, answers in the units of the print."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from math import pi
from pathlib import Path
from typing import Any

from slipwise.teach.formulas.build import unit_of
from slipwise.teach.steps import Known, Solution, Work
from tests.reference import reference

SUFFIXES = {  # of a published name: unit as entered, and one of it in SI
    **{"V": ("V", 1.0), "A": ("A", 1.0), "Hz": ("Hz", 1.0), "ohm": ("ohm", 1.0), "W": ("W", 1.0), "Nm": ("N m", 1.0)},
    **{"rpm": ("r/min", pi / 30), "hp": ("hp (electric)", 746.0), "kW": ("kW", 1e3), "kVA": ("kVA", 1e3), "kJ": ("kJ", 1e3)},
    **{"s": ("s", 1.0), "min": ("min", 60.0), "h": ("h", 3600.0), "C": ("K", 1.0), "kgm2": ("kg m2", 1.0)},
    **{"percent": ("%", 0.01), "deg": ("deg", pi / 180)},
}  # fmt: skip
OWN_UNITS = {"c": "VA/W", "c_1": "VA/W", "c_2": "VA/W", "z": "1/h", "z_1": "1/h", "z_2": "1/h", "z_b": "1/h"}
YEAR = 365.25 * 86400.0


@dataclass(frozen=True)
class Example:
    """One example: its solution, and the symbol or symbols of each published answer."""

    key: str
    solution: Solution
    answers: dict[str, Any]

    def computed(self) -> dict[str, Any]:
        """The answers under their published names, in the units printed; magnitudes of phasors."""
        return {
            name: [self._one(name, s) for s in symbols] if isinstance(symbols, list) else self._one(name, symbols)
            for name, symbols in self.answers.items()
        }

    def _one(self, name: str, symbol: str) -> float:
        value = self.solution.value(symbol)
        value = abs(value) if isinstance(value, complex) else value
        return value / (YEAR if name.endswith("_years") else _unit(name)[1])


def _unit(name: str) -> tuple[str, float]:
    words = name.split("_")
    if name.startswith("code_letter") or "kVA_per_hp" in name:
        return "kVA/hp", 1.0
    found = next((SUFFIXES[word] for word in reversed(words) if word in SUFFIXES), ("", 1.0))
    return ("", 1.0) if words[-1] in {"pu", "factor"} or "over" in words else found


@cache
def examples() -> tuple[Example, ...]:
    """All of worked.toml."""
    text = (Path(__file__).parent / "worked.toml").read_text(encoding="utf-8")
    return tuple(_example(row) for row in tomllib.loads(text)["example"])


def _example(row: dict[str, Any]) -> Example:
    symbols = [s for found in row["answers"].values() for s in (found if isinstance(found, list) else [found])]
    work = Work(row["title"], answers=tuple(symbols))
    inputs = reference(row["id"])["inputs"]
    for line in row["given"]:
        _give(work, line, inputs)
    for line in row["steps"]:
        work.line(line, **OWN_UNITS)
    return Example(row["id"], work.solution(), row["answers"])


def _give(work: Work, line: str, inputs: dict[str, Any]) -> None:
    if " = " in line:
        symbol, _, entered = line.partition(" = ")
        work.given(symbol, entered, "chosen in the text", unit="K" if entered.endswith(" K") else None)
        return
    symbol, place = line.split()
    name, _, index = place.partition(".")
    value = inputs[name][int(index)] if index else inputs[name]
    words = name.replace("_", " ")
    if name.endswith("_years"):
        work.take(Known(symbol=symbol, value=value * YEAR, unit="s", name=words, text=f"{value} years"))
        return
    unit = _unit(name)[0]
    si = "VA/W" if unit == "kVA/hp" else unit_of(symbol)
    work.given(symbol, f"{value} {unit}".strip(), words, unit=si)

"""Settings of a way: checking what was given, keeping it, and writing down what was chosen and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from math import isfinite
from typing import Any, TypeVar, cast

from slipwise.methods.way import Designed, Dial, dials
from slipwise.quantity.errors import Fault, InputError
from slipwise.quantity.provenance import Origin
from slipwise.quantity.show import THIN, show
from slipwise.results.study import Setting

W = TypeVar("W")
Given = Mapping[str, float | str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A setting that was not given: its value in the unit of its dial, how it came about, and the reason in words.

    low, high: range of an assumed value, same unit; None when it was computed for this drive.
    """

    value: float | str
    origin: Origin
    why: str
    low: float | None = None
    high: float | None = None


def computed(value: float | str, why: str) -> Choice:
    """A choice that follows from the drive by computation."""
    return Choice(value=value, origin=Origin.DERIVED, why=why)


def assumed(value: float | str, why: str, low: float | None = None, high: float | None = None) -> Choice:
    """A choice of the trade, with the range it may be off by."""
    return Choice(value=value, origin=Origin.ASSUMED, why=why, low=low, high=high)


def checked(way: type[Any], given: Given, section: str = "starting") -> Given:
    """The given settings, each against its dial; `section` of the study file is named in every fault.

    Raises:
        InputError: all settings that are unknown, of the wrong kind, or outside the range or the words of their dial.
    """
    offered = dials(way)
    faults = [
        fault
        for name, value in given.items()
        if (fault := _fault(f"{section}.{way.key}", name, value, offered)) is not None
    ]
    if faults:
        raise InputError(*faults)
    return given


def number(given: Given, name: str) -> float | None:
    """A given number, or None. Call `checked` first."""
    return float(given[name]) if name in given else None


def _fault(place: str, name: str, value: float | str, offered: Mapping[str, Dial]) -> Fault | None:
    """What is wrong with one given setting; None when nothing is."""
    field, shown = f"{place}.{name}", str(value)
    if name not in offered:
        near = get_close_matches(name, offered, n=1)
        hint = f"did you mean `{near[0]}`?" if near else f"it offers: {', '.join(offered) or 'no settings'}"
        return Fault(field=field, value=shown, reason="this way has no such setting", remedy=hint)
    dial = offered[name]
    if dial.choices:
        if value in dial.choices:
            return None
        words = ", ".join(f'"{word}"' for word in dial.choices)
        return Fault(
            field=field, value=shown, reason="not one of the words this setting knows", remedy=f"write {words}"
        )
    if isinstance(value, (str, bool)) or not isfinite(value):
        return Fault(
            field=field, value=shown, reason="a finite number is needed", remedy=f"give {dial.title} in {dial.unit}"
        )
    low = dial.low if dial.low is not None else value
    high = dial.high if dial.high is not None else value
    if low <= value <= high:
        return None
    between = " and ".join(f"{edge:.4g} {dial.unit}".strip() for edge in (dial.low, dial.high) if edge is not None)
    bound = f"between {between}" if dial.low is not None and dial.high is not None else f"not beyond {between}"
    return Fault(
        field=field, value=f"{value:.4g} {dial.unit}".strip(), reason="outside its range", remedy=f"choose {bound}"
    )


def assemble(way: type[W], given: Given, chosen: Mapping[str, Choice], words: str) -> Designed[W]:
    """The way with its given settings kept and the others as chosen; each with its origin."""
    rows, values = [], {}
    for name, dial in dials(way).items():
        if name in given:
            values[name] = given[name]
            rows.append(_row(name, dial, given[name], Origin.GIVEN, "given by user"))
        else:
            choice = chosen[name]
            values[name] = choice.value
            rows.append(_row(name, dial, choice.value, choice.origin, choice.why + _range(choice, dial)))
    return Designed(way=way(**cast(dict[str, Any], values)), settings=tuple(rows), words=words)


def _row(name: str, dial: Dial, value: float | str, origin: Origin, why: str) -> Setting:
    text = value if isinstance(value, str) else ""
    amount = None if isinstance(value, str) else float(value)
    return Setting(key=name, title=dial.title, value=amount, unit=dial.unit, origin=origin.value, why=why, text=text)


def _range(choice: Choice, dial: Dial) -> str:
    if choice.low is None or choice.high is None:
        return ""
    low, high = (show(edge, dial.unit).replace(THIN, " ") for edge in (choice.low, choice.high))
    return f"; range {low} to {high}"

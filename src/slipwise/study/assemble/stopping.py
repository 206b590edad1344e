"""From `[stopping]` to what is asked about stopping."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any

from slipwise.limits.thresholds import Threshold
from slipwise.methods.stopping import STOPPING
from slipwise.model.load.load import Load
from slipwise.model.machine.motor import Rating
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book
from slipwise.study.assemble.starting import pause_scatter, switching_angles
from slipwise.study.assemble.ways import order, requests
from slipwise.study.speed.model import SpeedStudy
from slipwise.study.stopping.model import FORWARD, StoppingStudy

_TAPPED = "tapped_winding"


def build_stopping(
    section: Any, starting: Any, rating: Rating, loads: tuple[tuple[str, Load], ...], speed: SpeedStudy | None, book: Book
) -> StoppingStudy | None:  # fmt: skip
    """What `[stopping]` asks for; None without it.

    starting: `[starting]`, for the switching angles and the scatter of pauses. loads: the load in each of its states.
    speed: tells whether the motor has a tapped winding.
    """
    if section is None:
        return None
    direction = section.direction or book.assumed_word(
        "stopping.direction", FORWARD, "as it is started, a hoist lifting"
    )
    return StoppingStudy(
        direction=direction,
        ways=requests("stopping", section, STOPPING, rating, book),
        order=order("stopping", section, STOPPING, book),
        stop_time=_limit(section.stop_time, "stop_time", "s", book),
        turns=_limit(section.turns, "turns", "", book),
        stops_per_hour=None if section.stops_per_hour is None else section.stops_per_hour.value,
        load_case=_load_case(section, loads, book),
        arrangement=_arrangement(speed),
        switching_angles=_once("starting.switching_angles", starting, switching_angles, book),
        pause_scatter=_once("starting.pause_scatter", starting, pause_scatter, book),
    )


def _limit(given: Parsed | None, key: str, unit: str, book: Book) -> Threshold:
    if given is not None:
        return Threshold(value=given.value, unit=unit, source="given by user")
    book.assumed_word(f"stopping.{key}", "none", "no limit given: shown, not judged")
    return Threshold(value=None, unit=unit, source="not given")


def _load_case(section: Any, loads: tuple[tuple[str, Load], ...], book: Book) -> str:
    name = section.load_case
    names = [known for known, _ in loads]
    if name is None:
        if names:
            book.assumed_word("stopping.load_case", "the slowest to stop", "the state that stops slowest by itself")
        return ""
    if name in names:
        return str(name)
    near = get_close_matches(name, names, n=1)
    remedy = f'did you mean "{near[0]}"?' if near else f"name one of {', '.join(names)}"
    if not names:
        remedy = "leave it out, or describe the states under [[load.case]]"
    book.fault("stopping.load_case", name, "the load has no such state", remedy)
    return ""


def _arrangement(speed: SpeedStudy | None) -> str:
    """That of the tapped winding of the speed control."""
    if speed is None:
        return ""
    asked = next((request for request in speed.ways if request.key == _TAPPED), None)
    if asked is None:
        return ""
    return str(asked.given.get("arrangement", ""))


def _once(name: str, section: Any, read: Any, book: Book) -> Any:
    """A value of `[starting]` that stops use too, entered in the book once."""
    rows = len(book.rows)
    value = read(section, book)
    if any(row.name == name for row in book.rows[:rows]):
        del book.rows[rows:]
    return value

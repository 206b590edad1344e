"""From `[starting]`, `[limits]` and `[tolerances]` to way requests, limits and tolerances."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from slipwise.limits.running_voltage import published_deviation
from slipwise.limits.thresholds import Limits, Threshold
from slipwise.model.machine.motor import Rating
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book
from slipwise.study.model import Tolerances
from slipwise.study.schema.starting import LimitsSection, TolerancesSection

_PRACTICE = "common practice, no source"
_IEC = "IEC 60034-1, table of tolerances (from memory)"
_ANGLES = 12
_SCATTER = 0.01  # s


def switching_angles(section: Any, book: Book) -> int:
    """Number of switching angles; a band over one half-turn needs several."""
    if section.switching_angles is not None:
        return int(section.switching_angles)
    return int(
        book.assumed("starting.switching_angles", _ANGLES, "", (1, 360), "evenly spread; more make the band finer")
    )


def pause_scatter(section: Any, book: Book) -> float:
    """How much contactors vary a pause: it decides at which angle the residual voltage is met. [s]"""
    if section.pause_scatter is not None:
        return float(section.pause_scatter.value)
    return book.assumed(
        "starting.pause_scatter",
        _SCATTER,
        "s",
        (0.0, 0.02),
        "contactors differ from start to start; common practice, no source",
    )


def build_limits(section: LimitsSection, rating: Rating, book: Book) -> Limits:
    """Each limit as given, or that of the trade where there is one, or none."""
    return Limits(
        terminal_voltage=_limit(section, "terminal_voltage", "pu", book, (0.85, 0.80, 0.90)),
        torque_margin=_limit(section, "torque_margin", "pu", book, (0.10, 0.05, 0.10)),
        run_up_time=_limit(section, "run_up_time", "s", book),
        heat=_limit(section, "heat", "pu", book, (0.90, 0.80, 0.90)),
        line_current=_scaled(
            _limit(section, "line_current", "A", book), section.line_current, "line_current", rating, book
        ),
        peak_current=_scaled(
            _limit(section, "peak_current", "A", book), section.peak_current, "peak_current", rating, book
        ),
        shaft_torque=_of_rated(_limit(section, "shaft_torque", "pu", book), section.shaft_torque, rating, book),
        belt_acceleration=_belt(section),
        running_voltage=_running(section, book),
    )


def _belt(section: LimitsSection) -> Threshold:
    """Of loads that move in a line alone; those without one need no row on what was not given."""
    given = section.belt_acceleration
    source = "not given" if given is None else "given by user"
    return Threshold(value=None if given is None else given.value, unit="m/s2", source=source)


def _running(section: LimitsSection, book: Book) -> Threshold:
    """As given, else what motors are made for."""
    if section.running_voltage is not None:
        return Threshold(value=section.running_voltage.value, unit="pu", source="given by user")
    usual = published_deviation()
    assert usual.value is not None
    why = f"either way, at rated frequency; {usual.source}"
    return replace(usual, value=book.assumed("limits.running_voltage", usual.value, "pu", (0.05, usual.value), why))


def _limit(
    section: LimitsSection, key: str, unit: str, book: Book, usual: tuple[float, float, float] | None = None
) -> Threshold:
    given: Parsed | None = getattr(section, key)
    if given is not None:
        return Threshold(value=given.value, unit=unit, source="given by user")
    if usual is None:
        book.assumed_word(f"limits.{key}", "none", "no limit given: shown, not judged")
        return Threshold(value=None, unit=unit, source="not given")
    value, *between = usual
    return Threshold(
        value=book.assumed(f"limits.{key}", value, unit, (between[0], between[1]), _PRACTICE),
        unit=unit,
        source=_PRACTICE,
    )


def _scaled(limit: Threshold, given: Parsed | None, key: str, rating: Rating, book: Book) -> Threshold:
    """A current given as a ratio to rated current, in A."""
    if given is None or given.unit == "A":
        return limit
    current = book.derived(f"limits.{key}", given.value * rating.current, "A", f"{given.text} x rated current")
    return Threshold(value=current, unit="A", source=limit.source)


def _of_rated(limit: Threshold, given: Parsed | None, rating: Rating, book: Book) -> Threshold:
    """A torque given in N m, per unit of rated torque."""
    if given is None or given.unit == "pu":
        return limit
    share = book.derived("limits.shaft_torque", given.value / rating.torque, "pu", f"{given.text} / rated torque")
    return Threshold(value=share, unit="pu", source=limit.source)


def build_tolerances(section: TolerancesSection, book: Book, *, regulated: bool = False) -> Tolerances:
    """What the worst case takes off, as given or as standards and the trade have it; `regulated`: fed by a generator."""

    def of(key: str, usual: float, unit: str, between: tuple[float, float], why: str) -> float:
        given: Parsed | None = getattr(section, key)
        return given.value if given is not None else book.assumed(f"tolerances.{key}", usual, unit, between, why)

    zone = "IEC 60034-1, zone A, +-5 % (from memory)"
    held = f"what a voltage regulator leaves, +-1 %; {_PRACTICE}"
    low = (0.99, (0.975, 1.0), held) if regulated else (0.95, (0.90, 1.0), zone)
    high = (1.01, (1.0, 1.025), held) if regulated else (1.05, (1.0, 1.10), zone)
    found = Tolerances(
        low_voltage=of("low_voltage", low[0], "pu", low[1], low[2]),
        high_voltage=of("high_voltage", high[0], "pu", high[1], high[2]),
        torque=of("torque", -0.15, "pu", (-0.15, 0.0), f"locked-rotor torque, {_IEC}"),
        current=of("current", 0.20, "pu", (0.0, 0.20), f"locked-rotor current, {_IEC}"),
        cold_temperature=of("cold_temperature", 20.0, "degC", (-20.0, 40.0), _PRACTICE),
        hot_temperature=of("hot_temperature", 95.0, "degC", (75.0, 130.0), f"warm from running, {_PRACTICE}"),
    )
    if found.hot_temperature <= found.cold_temperature:
        book.fault(
            "tolerances.hot_temperature",
            section.hot_temperature or "",
            "it is not above the cold temperature",
            "exchange or change the two",
        )
    return found

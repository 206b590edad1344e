"""The readings as one flat table of numbers by name, each with the largest error it may carry: what the trials shake."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt
from typing import Any

from slipwise.identify.bench.records import Bench, LoadReading, LockedReading, NoLoadReading, Split
from slipwise.results.identification import ReadingRow

Numbers = Mapping[str, Any]
Row = NoLoadReading | LockedReading | LoadReading
UNITS = {
    "voltage": "V", "current": "A", "power": "W", "frequency": "Hz", "speed": "rad/s", "torque": "N m",
    "temperature": "degC", "resistance": "ohm",
}  # fmt: skip
TESTS = {"dc": "Direct current", "no_load": "No load", "locked_rotor": "Locked rotor", "load": "Load"}
WARMER = 40.0  # K by which a winding may be warmer in a test than at the dc reading, when the sheet does not say
MECHANICAL_SHARE = (0.4, 0.2, 0.6)  # of the no-load loss less copper loss, when one voltage cannot tell
PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """One number: its value, the largest error either way around `middle`, its unit; `known` False: assumed, not read."""

    value: float
    unit: str
    limit: float | None = None
    middle: float | None = None
    known: bool = True
    why: str = ""

    @property
    def bounds(self) -> tuple[float, float]:
        """Between these the truth is supposed to lie, evenly."""
        centre = self.value if self.middle is None else self.middle
        return centre - (self.limit or 0.0), centre + (self.limit or 0.0)


def leaves(bench: Bench, split: Split) -> dict[str, Leaf]:
    """Every number of the reduction by its name, such as `no_load[0].voltage`, as seen in the running connection."""
    meters = bench.meters
    volts, amps = seen_running(bench)
    found: dict[str, Leaf] = {"dc.temperature": _leaf(bench.dc.temperature, "degC", meters.temperature)}
    for name, meter, value in (
        ("resistance", meters.resistance, bench.dc.resistance),
        ("voltage", meters.dc_voltage, bench.dc.voltage),
        ("current", meters.dc_current, bench.dc.current),
    ):
        if value is not None:
            found[f"dc.{name}"] = _leaf(value, UNITS[name], meter)
    tests: tuple[tuple[str, tuple[Row, ...]], ...] = (
        ("no_load", bench.no_load), ("locked_rotor", bench.locked), ("load", bench.loads)
    )  # fmt: skip
    for test, rows in tests:
        for place, row in enumerate(rows):
            for name, factor in (("voltage", volts), ("current", amps), ("power", 1.0), ("frequency", 1.0)):
                if hasattr(row, name):
                    leaf = _leaf(getattr(row, name), UNITS[name], getattr(meters, name), factor)
                    found[f"{test}[{place}].{name}"] = leaf
            for name in ("speed", "torque"):
                if hasattr(row, name):
                    found[f"{test}[{place}].{name}"] = _leaf(getattr(row, name), UNITS[name], getattr(meters, name))
            found[f"{test}[{place}].temperature"] = _temperature(row.temperature, bench)
    found["split"] = Leaf(
        value=split.ratio,
        unit="",
        limit=None if split.given else (split.high - split.low) / 2,
        middle=(split.high + split.low) / 2,
        known=split.given,
        why=split.why,
    )
    value, low, high = MECHANICAL_SHARE
    why = f"one no-load voltage cannot tell core loss from friction; {PRACTICE}"
    found["mechanical_share"] = Leaf(
        value=value, unit="pu", limit=(high - low) / 2 if uses_share(bench) else None, known=False, why=why
    )
    return found


def uses_share(bench: Bench) -> bool:
    """Whether core loss and friction had to be told apart by an assumed share."""
    volts = [row.voltage for row in bench.no_load]
    return bench.friction is None and bench.core_in_circuit and max(volts) < 1.2 * min(volts)


def seen_running(bench: Bench) -> tuple[float, float]:
    """Factors on line voltage and line current that turn readings in the test connection into those in the running one.

    The winding sees the same voltage and current; a delta takes line voltage = winding voltage and line current sqrt(3)
    times that of the winding, a star the other way round.
    """
    if bench.tested == bench.connection:
        return 1.0, 1.0
    return (1 / sqrt(3), sqrt(3)) if bench.connection == "delta" else (sqrt(3), 1 / sqrt(3))


def _leaf(value: float, unit: str, meter: Any, factor: float = 1.0) -> Leaf:
    limit = None if meter is None else float(meter.limit(value)) * factor
    return Leaf(value=value * factor, unit=unit, limit=limit)


def _temperature(value: float | None, bench: Bench) -> Leaf:
    """Of a test: as read, or between that of the dc reading and some warmer."""
    if value is not None:
        return _leaf(value, "degC", bench.meters.temperature)
    cold = bench.dc.temperature
    why = f"winding temperature not read: that of the dc reading, or up to {WARMER:g} K warmer; {PRACTICE}"
    return Leaf(value=cold, unit="degC", limit=WARMER / 2, middle=cold + WARMER / 2, known=False, why=why)


def reading_rows(bench: Bench, found: Mapping[str, Leaf]) -> tuple[ReadingRow, ...]:
    """What was read, as entered, with the limit of error; what was assumed stands elsewhere."""
    texts = dict(bench.texts)
    rows = []
    for key, leaf in found.items():
        test, _, name = key.partition(".")
        if not leaf.known or not name:
            continue
        head, _, place = test.partition("[")
        number = f" {int(place[:-1]) + 1}" if place else ""
        rows.append(
            ReadingRow(
                test=f"{TESTS[head]}{number}",
                quantity=name,
                value=leaf.value,
                unit=leaf.unit,
                text=texts.get(key, ""),
                limit=leaf.limit,
            )
        )
    return tuple(rows)

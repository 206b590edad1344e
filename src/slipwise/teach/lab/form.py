"""The blank form of the bench tests: cautions, how to do each test, empty cells, and what this motor should read."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files

from slipwise.present.report.blocks import Block, bullets, heading, new_page, note, paragraph, table
from slipwise.quantity.notation import unit_text
from slipwise.quantity.show import MISSING, show
from slipwise.results.table import Column, Table
from slipwise.study.cautions import all_cautions
from slipwise.teach.formulas import formula
from slipwise.teach.lab.expected import ROOM, Expected, Reading
from slipwise.teach.paper import cautions, paper

PAIRS = ("first and second", "second and third", "third and first")


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchTest:
    """One test of the form, as tests.toml has it. columns: title and unit of what is written down, after the setpoint."""

    key: str
    title: str
    purpose: str
    steps: tuple[str, ...]
    setpoint: str
    columns: tuple[tuple[str, str], ...]
    formulas: tuple[str, ...]
    cautions: tuple[str, ...]


@cache
def bench_tests() -> tuple[BenchTest, ...]:
    """Every test, in the order in which a class does them."""
    rows = tomllib.loads((files("slipwise.teach.lab") / "tests.toml").read_text(encoding="utf-8"))["test"]
    return tuple(
        BenchTest(
            key=row["key"],
            title=row["title"],
            purpose=row["purpose"],
            steps=tuple(row["steps"]),
            setpoint=row["setpoint"],
            columns=tuple((title, unit) for title, unit in row["columns"]),
            formulas=tuple(row["formulas"]),
            cautions=tuple(row["cautions"]),
        )
        for row in rows
    )


def blank_form(found: Expected, title: str, *, day: date | None = None) -> bytes:
    """The form as PDF, one test a page.

    Args:
        found: what the motor should read.
        title: of the motor, at the head. day: printed in the head of each page; None prints none.

    Raises:
        RuntimeError: the typesetting failed.
    """
    words = "Blank form of bench tests with cautions, procedure, empty tables and expected readings"
    return paper(title, "Laboratory: blank form", list(_blocks(found)), description=words, day=day)


def _blocks(found: Expected) -> Iterator[Block]:
    yield _lines("Group", "Date", "Bench")
    yield _lines("Names")
    yield heading("Before anything is switched on")
    yield bullets((*laboratory_cautions(), *cautions("isolation")))
    yield _lines("Wiring looked at and released by", "Time")
    yield heading("The motor and the meters")
    yield table(plate(found))
    yield _form(
        "Meters", (("Meter", ""), ("Type and number", ""), ("Class", ""), ("Range", "")), _meters(), (3, 4, 1, 2)
    )
    for test in bench_tests():
        yield new_page()
        yield from _test(test, found)
    yield heading("Afterwards")
    yield paragraph(
        "Type the readings into [motor.readings] of a study file. The command “slipwise identify FILE --out FOLDER” reduces "
        "them step by step, with the uncertainty of the meters; “slipwise teach lab FILE --measured READINGS” lays them over "
        "what was expected."
    )


def _test(test: BenchTest, found: Expected) -> Iterator[Block]:
    yield heading(test.title)
    yield paragraph(test.purpose)
    yield bullets(test.steps)
    if test.key == "locked_rotor":
        yield paragraph(f"Torque the clamp must bear at rated voltage: {show(found.clamp, 'N m')}.")
    for words in cautions(*test.cautions):
        yield note(words)
    yield _form(
        "Readings",
        ((test.setpoint, ""), *((name, unit_text(unit)) for name, unit in test.columns)),
        setpoints(test.key, found),
        (1.3, *(1.0 for _ in test.columns)),
    )
    yield table(expectation(test.key, found))
    yield paragraph("Used afterwards:", leads_in=True)
    for key in test.formulas:
        one = formula(key)
        yield {
            "kind": "step", "number": "", "title": one.title, "symbolic": {"code": one.typst(), "alt": one.text()},
            "numbers": {"code": "", "alt": ""}, "result": "", "note": f"Source: {one.source}.",
        }  # fmt: skip


def laboratory_cautions() -> tuple[str, ...]:
    """Those of the table that belong to a teaching laboratory, with their basis."""
    return tuple(f"{one.text} [{one.basis}]" for one in all_cautions() if "laboratory" in one.when)


def plate(found: Expected) -> Table:
    """What the plate says of the motor on the bench."""
    rating = found.motor.rating
    rows = (
        ("Rated power", show(rating.power, "W")),
        ("Rated voltage", f"{show(rating.voltage, 'V')}, {rating.connection}"),
        ("Rated current", show(rating.current, "A")),
        ("Rated frequency", show(rating.frequency, "Hz")),
        ("Rated speed", show(rating.speed, "rad/s")),
        ("Number of poles", str(rating.poles)),
    )
    return Table(title="Plate", columns=(Column(title="Of the motor"), Column(title="Value", numeric=True)), rows=rows)


def setpoints(key: str, found: Expected) -> list[list[str]]:
    """First cells of the empty rows: what to set, for this motor."""
    made: dict[str, Sequence[str]] = {
        "dc": PAIRS,
        "no_load": [show(r.voltage, "V") for r in found.no_load],
        "locked_rotor": [show(r.current, "A") for r in found.locked_rotor] * 2,
        "load": [show(r.torque, "N m") for r in found.load],
        "retardation": [show(r.speed, "rad/s") for r in found.coasting] or [""] * 6,
    }
    wide = {test.key: len(test.columns) for test in bench_tests()}
    return [[cell, *([""] * wide[key])] for cell in made[key]]


def expectation(key: str, found: Expected) -> Table:
    """What the model says the motor should read."""
    if key == "dc":
        row = (f"between two terminals at {ROOM:g} °C", show(found.resistance, "ohm"))
        return _expected((("Resistance", False), ("Value", True)), [row])
    if key == "retardation":
        pairs = [(show(r.speed, "rad/s"), show(r.time, "s")) for r in found.coasting]
        missing = "The model has no friction and windage, or no inertia: nothing can be expected."
        return _expected((("Speed", True), ("After", True)), pairs, "" if pairs else missing)
    shown = {
        "no_load": ("voltage", "current", "power", "speed"),
        "locked_rotor": ("current", "voltage", "power", "torque"),
        "load": ("torque", "speed", "current", "power", "efficiency"),
    }[key]
    readings: tuple[Reading, ...] = getattr(found, key)
    return _expected(
        [(name.capitalize(), True) for name in shown], [[quantity(r, name) for name in shown] for r in readings]
    )


_UNITS = {
    "voltage": "V",
    "current": "A",
    "power": "W",
    "speed": "rad/s",
    "torque": "N m",
    "efficiency": "pu",
    "time": "s",
}


def quantity(reading: Reading, name: str) -> str:
    """One value of a reading as printed; a dash for one that is not read."""
    value: float = getattr(reading, name)
    return show(value, _UNITS[name]) if value else MISSING


def _expected(heads: Sequence[tuple[str, bool]], rows: Sequence[Sequence[str]], remark: str = "") -> Table:
    columns = tuple(Column(title=title, numeric=numeric) for title, numeric in heads)
    words = (
        remark
        or "From the model of the study, before measuring; a real machine differs by its tolerances and its temperature."
    )
    return Table(title="Expected", columns=columns, rows=tuple(tuple(row) for row in rows), note=words)


def _meters() -> list[list[str]]:
    kinds = (
        "Voltmeter",
        "Ammeter",
        "Wattmeters",
        "Direct voltage and current",
        "Tachometer",
        "Torque meter",
        "Thermometer",
    )
    return [[kind, "", "", ""] for kind in kinds]


def _form(title: str, columns: Sequence[tuple[str, str]], rows: list[list[str]], shares: Sequence[float]) -> Block:
    heads = [{"title": name, "unit": unit, "share": share} for (name, unit), share in zip(columns, shares, strict=True)]
    return {"kind": "form", "title": title, "columns": heads, "rows": rows}


def _lines(*labels: str) -> Block:
    return {"kind": "lines", "labels": list(labels)}

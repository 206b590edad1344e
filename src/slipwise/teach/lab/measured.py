"""Measured points over the expected curves: figures for the reduced lab sheet, and each reading beside what was expected."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from math import isclose

import numpy as np

from slipwise.present.figures.bench import Line, Plot, plot
from slipwise.present.figures.catalogue import Entry
from slipwise.quantity.show import show
from slipwise.results.identification import Identification
from slipwise.results.table import Column, Table
from slipwise.teach.lab.expected import Expected, held, on_brake, running_free

_FINE_FREE = tuple(float(x) for x in np.linspace(0.2, 1.12, 24))
_FINE_LOAD = tuple(float(x) for x in np.linspace(0.05, 1.4, 28))
_NOTE = "Line: computed from the model of the study before measuring."
Points = Sequence[tuple[float, float]]


def figures(found: Expected, measured: Identification | None = None) -> list[Entry]:
    """Expected curves by the keys of the lab sheet, with the readings on them where there are any."""
    free = list(running_free(found.motor, _FINE_FREE))
    held_at = [
        held(found.motor, k * found.motor.rating.current) for k in np.linspace(0.1, _highest(found, measured), 20)
    ]
    load = list(on_brake(found.motor, _FINE_LOAD))
    m = measured
    made = (
        ("no_load.expected_current", _plot("Running free: current", "line voltage, V", "line current, A",
         [(r.voltage, r.current) for r in free], [(p.voltage, p.current) for p in m.no_load] if m else ())),
        ("no_load.expected_power", _plot("Running free: power", "line voltage, V", "input power, W",
         [(r.voltage, r.power) for r in free], [(p.voltage, p.power) for p in m.no_load] if m else ())),
        ("locked_rotor.expected_current", _plot("Rotor held: current at rated frequency", "line voltage, V", "line current, A",
         [(r.voltage, r.current) for r in held_at],
         [(p.voltage, p.current) for p in m.locked if _rated(found, p.frequency)] if m else ())),
        ("load.expected_current", _plot("On the brake: current", "torque, N m", "line current, A",
         [(r.torque, r.current) for r in load], [(p.torque, p.current) for p in m.loads] if m else ())),
        ("load.expected_efficiency", _plot("On the brake: efficiency", "torque, N m", "efficiency, %",
         [(r.torque, 100 * r.efficiency) for r in load], [(p.torque, 100 * p.direct) for p in m.loads] if m else ())),
        ("retardation.expected", _plot("Coasting down", "time, s", "speed, r/min",
         [(r.time, r.speed * 30 / np.pi) for r in found.coasting], ())),
    )  # fmt: skip
    return [Entry(key, one.title, partial(plot, one)) for key, one in made if one is not None]


def _highest(found: Expected, measured: Identification | None) -> float:
    """Largest current of the held rotor over rated, to which its curve is drawn."""
    read = [p.current for p in measured.locked if _rated(found, p.frequency)] if measured else []
    return max(1.3, 1.05 * max(read, default=0.0) / found.motor.rating.current)


def _rated(found: Expected, frequency: float) -> bool:
    return isclose(frequency, found.motor.rating.frequency, rel_tol=0.02)


def _plot(title: str, across: str, up: str, line: Points, points: Points) -> Plot | None:
    """One figure; None when there is nothing expected."""
    if len(line) < 2:
        return None
    x, y = (np.array(column) for column in zip(*sorted(line), strict=True))
    lines = [Line(name="expected", words="expected", x=x, y=y, marked=False, dashed=True, prefer=0.35)]
    if points:
        a, b = (np.array(column) for column in zip(*sorted(points), strict=True))
        lines.append(Line(name="read", words="measured", x=a, y=b, drawn=False))
    return Plot(title=title, note=_NOTE, across=across, up=up, lines=tuple(lines))


def compared(found: Expected, measured: Identification) -> Table:
    """Each reading beside what the model gives at the same setpoint, with the difference over the expected value."""
    columns = (
        Column(title="Test"), Column(title="At", numeric=True), Column(title="Quantity"), Column(title="Expected", numeric=True),
        Column(title="Measured", numeric=True), Column(title="Measured is off by", numeric=True),
    )  # fmt: skip
    remark = "Expected from the model before measuring; load readings at the voltage of the plate."
    return Table(title="Measured against expected", columns=columns, rows=tuple(_rows(found, measured)), note=remark)


def _rows(found: Expected, measured: Identification) -> Iterator[tuple[str, ...]]:
    motor, rating = found.motor, found.motor.rating
    for free in measured.no_load:
        for one in running_free(motor, (free.voltage / rating.voltage,)):
            at = show(free.voltage, "V", 4)
            yield _row("running free", at, "current", (one.current, free.current), "A")
            yield _row("running free", at, "power", (one.power, free.power), "W")
    for locked in measured.locked:
        one = held(motor, locked.current, locked.frequency)
        at = f"{show(locked.current, 'A', 4)}, {show(locked.frequency, 'Hz')}"
        yield _row("rotor held", at, "voltage", (one.voltage, locked.voltage), "V")
        yield _row("rotor held", at, "power", (one.power, locked.power), "W")
    for load in measured.loads:
        for one in on_brake(motor, (load.torque / rating.torque,)):
            at = show(load.torque, "N m", 4)
            yield _row("on the brake", at, "speed", (one.speed, load.speed), "rad/s")
            yield _row("on the brake", at, "current", (one.current, load.current), "A")
            yield _row("on the brake", at, "efficiency", (one.efficiency, load.direct), "pu")


def _row(test: str, at: str, name: str, pair: tuple[float, float], unit: str) -> tuple[str, ...]:
    expected, read = pair
    off = read / expected - 1
    return (test, at, name, show(expected, unit), show(read, unit), ("+" if off > 0 else "") + show(off, "pu", 2))

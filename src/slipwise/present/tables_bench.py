"""What bench readings say of a motor, as neutral tables."""

from __future__ import annotations

from slipwise.present.tables import plate_rows, signed, value_text
from slipwise.quantity.formula import typeset_symbol
from slipwise.quantity.show import MISSING, show, show_range
from slipwise.results.identification import Identification
from slipwise.results.table import Column, Table


def _column(title: str, *, numeric: bool = True) -> Column:
    return Column(title=title, numeric=numeric)


QUANTITIES = ("resistance", "voltage", "current", "power", "frequency", "speed", "torque", "temperature")


def readings(found: Identification) -> Table:
    """One row a reading, as entered, each number with the largest error its meter may make."""
    cells: dict[str, dict[str, str]] = {}
    for row in found.readings:
        words = row.text or show(row.value, row.unit, digits=4)
        if row.limit is not None:
            words += f" ± {show(row.limit, _error_unit(row.unit), digits=2)}"
        cells.setdefault(row.test, {})[row.quantity] = words
    shown = [name for name in QUANTITIES if any(name in row for row in cells.values())]
    columns = (_column("Test", numeric=False), *(_column(name.capitalize()) for name in shown))
    rows = tuple((test, *(row.get(name, "") for name in shown)) for test, row in cells.items())
    note = "±: largest error the class of the meter allows; none shown where no class was given."
    return Table(title="Readings", columns=columns, rows=rows, note=note)


def _error_unit(unit: str) -> str:
    return "K" if unit == "degC" else unit


def values(found: Identification) -> Table:
    """The circuit and the losses, with both intervals and the reading that matters most."""
    columns = (
        _column("Value", numeric=False),
        _column("Symbol", numeric=False),
        _column("Value, and 95 % of random trials"),
        _column("95 %, linear"),
        _column("Widest part from", numeric=False),
    )
    rows = tuple(
        (
            row.title,
            typeset_symbol(row.symbol),
            show_range(row.value, row.low, row.high, row.unit),
            MISSING
            if row.linear_low is None or row.linear_high is None
            else f"{show(row.linear_low, row.unit)} to {show(row.linear_high, row.unit)}",
            f"{row.cause} ({row.share:.0%})" if row.share else MISSING,
        )
        for row in found.values
    )
    return Table(title="Circuit and losses", columns=columns, rows=rows, note=found.errors)


def reductions(found: Identification) -> Table:
    """Each value by the three reductions."""
    columns = (
        _column("Value", numeric=False),
        _column("Symbol", numeric=False),
        _column("Shortest"),
        _column("Reactances in series"),
        _column("Exact"),
        _column("Shortest against exact"),
    )
    rows = tuple(
        (
            row.title,
            typeset_symbol(row.symbol),
            show(row.short, row.unit, digits=4),
            show(row.series, row.unit, digits=4),
            show(row.exact, row.unit, digits=4),
            MISSING if row.short is None else signed(row.short / row.exact - 1),
        )
        for row in found.reductions
    )
    note = (
        "Shortest: no-load impedance taken as a reactance, magnetising branch left out of the locked test, all no-load loss "
        "less copper loss mechanical. Reactances in series: as the textbooks have it, the magnetising reactance kept beside "
        "the rotor's. Exact: every value of the circuit solved for together. All at the flux and current of the readings."
    )
    return Table(title="Textbook and exact reductions", columns=columns, rows=rows, note=note)


def no_load(found: Identification) -> Table:
    """Losses and magnetising reactance at each no-load voltage."""
    titles = ("Line voltage", "Current", "Power", "Less copper loss", "Core", "Friction", "Gap voltage", "Reactance")
    rows = tuple(
        (
            show(p.voltage, "V", digits=4),
            show(p.current, "A"),
            show(p.power, "W", digits=4),
            show(p.constant_loss, "W", digits=4),
            show(p.core_loss, "W"),
            show(p.mechanical_loss, "W"),
            show(p.gap_voltage, "V"),
            show(p.reactance, "ohm"),
            "yes" if p.on_line else "",
        )
        for p in found.no_load
    )
    columns = (*(_column(title) for title in titles), _column("On the loss line", numeric=False))
    return Table(title="No load", columns=columns, rows=rows)


def locked_rotor(found: Identification) -> Table:
    """Resistance, reactance and torque of each locked-rotor reading."""
    titles = ("Frequency", "Line voltage", "Current", "Power", "Resistance", "Reactance at rated frequency", "Torque")
    rows = tuple(
        (
            show(p.frequency, "Hz"),
            show(p.voltage, "V", digits=4),
            show(p.current, "A"),
            show(p.power, "W", digits=4),
            show(p.resistance, "ohm"),
            show(p.reactance, "ohm"),
            show(p.torque, "N m"),
        )
        for p in found.locked
    )
    note = "Torque: air-gap power over synchronous speed of the test; at the voltage of the test, not at rated."
    return Table(title="Locked rotor", columns=tuple(map(_column, titles)), rows=rows, note=note)


def loads(found: Identification) -> Table:
    """Losses set apart at each load reading."""
    titles = (
        "Torque", "Speed", "Input", "Output", "Stator", "Core", "Rotor", "Friction", "Left over", "Stray, smoothed",
        "Efficiency, direct", "Efficiency, by losses",
    )  # fmt: skip
    rows = tuple(
        (
            show(p.torque, "N m"),
            show(p.speed, "rad/s"),
            show(p.input_power, "W"),
            show(p.output_power, "W"),
            show(p.stator_loss, "W"),
            show(p.core_loss, "W"),
            show(p.rotor_loss, "W"),
            show(p.mechanical_loss, "W"),
            show(p.residual, "W"),
            show(p.stray, "W"),
            show(p.direct, "pu"),
            show(p.segregated, "pu"),
        )
        for p in found.loads
    )
    columns = tuple(map(_column, titles))
    return Table(title="Load test: losses set apart", columns=columns, rows=rows, note=stray_words(found))


def stray_words(found: Identification) -> str:
    """The line through the residual losses, in a sentence; "" without one."""
    line = found.stray
    if line is None:
        return ""
    return (
        f"Loss left over = {show(line.slope, '')} W/(N m)² × torque² + {show(line.offset, 'W')}; {line.words}. Stray load "
        f"loss at rated torque: {show(line.at_rated, 'W')}."
    )


def compared(found: Identification) -> Table:
    """Plate and load readings against the model: value, model, difference, tolerance."""
    table = plate_rows(found.plate)
    titles = ("Quantity", "Plate or reading", "Model", "Difference", "Tolerance", "Source")
    columns = tuple(Column(title=t, numeric=c.numeric) for t, c in zip(titles, table.columns, strict=True))
    return Table(title="Plate and load readings against the model", columns=columns, rows=table.rows)


def assumed(found: Identification) -> Table:
    """What the readings did not say."""
    columns = (_column("Value", numeric=False), _column("Taken"), _column("Why", numeric=False))
    rows = tuple((row.name, value_text(row), row.why) for row in found.estimated if row.origin == "assumed")
    return Table(title="Assumed", columns=columns, rows=rows)


def all_of(found: Identification) -> tuple[tuple[str, Table], ...]:
    """Every table that has rows, by the name of its file."""
    named = (
        ("values", values), ("reductions", reductions), ("readings", readings), ("no_load", no_load),
        ("locked_rotor", locked_rotor), ("load", loads), ("compared", compared), ("assumed", assumed),
    )  # fmt: skip
    return tuple((name, table) for name, made in named if (table := made(found)).rows)

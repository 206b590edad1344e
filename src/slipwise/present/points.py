"""Operating points as a table: one row a quantity, one column a point."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from slipwise.quantity.show import show
from slipwise.results.points import OperatingPoint
from slipwise.results.table import Column, Table

Cell = Callable[[OperatingPoint], str]

ROWS: tuple[tuple[str, Cell], ...] = (
    ("Speed", lambda p: show(p.speed, "rad/s")),
    ("Slip", lambda p: show(p.slip, "pu")),
    ("Shaft torque", lambda p: show(p.torque, "N m")),
    ("Shaft power", lambda p: show(p.shaft_power, "W")),
    ("Line current", lambda p: show(p.line_current, "A")),
    ("Winding current", lambda p: show(p.winding_current, "A")),
    ("Terminal voltage", lambda p: show(p.terminal_voltage, "V")),
    ("Input power", lambda p: show(p.input_power, "W")),
    ("Power factor", lambda p: show(p.power_factor, "")),
    ("Efficiency", lambda p: show(p.efficiency, "pu")),
    ("Loss in the stator winding", lambda p: show(p.stator_loss, "W")),
    ("Loss in the rotor", lambda p: show(p.rotor_loss, "W")),
    ("Loss in the core", lambda p: show(p.core_loss, "W")),
    ("Friction and windage", lambda p: show(p.mechanical_loss, "W")),
    ("Stray load loss", lambda p: show(p.stray_loss, "W")),
)


def points_table(points: Sequence[OperatingPoint]) -> Table:
    """Every quantity of every point, with its unit."""
    columns = (Column(title="Quantity"), *(Column(title=point.asked, numeric=True) for point in points))
    rows = tuple((title, *(cell(point) for point in points)) for title, cell in ROWS)
    return Table(title="Steady operating points", columns=columns, rows=rows)

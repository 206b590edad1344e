"""One way of speed control as neutral tables: demand by demand, losses, harmonics, changes of speed, what to buy.

Demands stand in columns: a duty has few of them and much is said of each. Numbers of a row share the unit in its name.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from slipwise.quantity.show import MISSING, display_unit, show, show_number
from slipwise.results.speed import Harmonic, OperatingPoint, Part, SpeedWayResult
from slipwise.results.table import Column, Table
from slipwise.results.winding import WindingDiagram

Pick = Callable[[OperatingPoint], float]
BEYOND = "more than needed"  # at a valve or damper, or by running faster than asked
HIGHEST = 25.0  # order of the last harmonic in the table; all are in the data

QUANTITIES: tuple[tuple[str, str, Pick], ...] = (
    ("Speed", "rad/s", lambda point: point.speed),
    ("Torque", "N m", lambda point: point.torque),
    ("Slip", "pu", lambda point: point.slip),
    ("Stator frequency", "Hz", lambda point: point.frequency),
    ("Air-gap flux", "pu", lambda point: point.flux),
    ("Line power", "W", lambda point: point.line_power),
    ("Given back by the rotor", "W", lambda point: point.returned),
    ("Shaft power", "W", lambda point: point.shaft_power),
    ("Efficiency, line to shaft", "pu", lambda point: point.efficiency),
    ("Motor efficiency", "pu", lambda point: point.motor_efficiency),
    ("Line current", "A", lambda point: point.line_current),
    ("Motor current", "A", lambda point: point.motor_current),
    ("Displacement factor", "", lambda point: point.displacement_factor),
    ("True power factor", "", lambda point: point.power_factor),
    ("Current distortion", "pu", lambda point: point.distortion),
    ("Load less motor slope", "N m s", lambda point: point.stability),
    ("Winding heat", "pu", lambda point: point.winding_heat),
)
"""Name, SI unit and value of each row; a row that is zero at every demand is left out."""


def chief(way: SpeedWayResult) -> list[Table]:
    """What is looked at first: demand by demand, losses, changes of speed, what to buy; those that have rows."""
    found = [points(way), losses(way)] if way.points else []
    return [table for table in (*found, changes(way), ratings(way)) if table.rows]


def further(way: SpeedWayResult) -> list[Table]:
    """The rest: harmonics and windings; those that have rows."""
    return [table for table in (harmonics(way), windings(way)) if table.rows]


def _columns(title: str, points: Sequence[OperatingPoint]) -> tuple[Column, ...]:
    return (Column(title=title), *(Column(title=point.duty.name, numeric=True) for point in points))


def _numbers(name: str, unit: str, values: Sequence[float | None]) -> tuple[str, ...]:
    """A row in the unit that suits it, named after it."""
    shown = display_unit(values, unit)
    heading = f"{name}, {shown}" if shown else name
    return (heading, *(show_number(value, unit, shown) for value in values))


def points(way: SpeedWayResult) -> Table:
    """Settings and everything that is felt, at each demand; whether it is held and by what."""
    rows = [_numbers(name, unit, [pick(p) for p in way.points]) for name, unit, pick in QUANTITIES if _any(way, pick)]
    held = tuple("yes" if point.feasible else "no" for point in way.points)
    stable = tuple(MISSING if not p.feasible else "itself" if p.stable else "speed loop" for p in way.points)
    rows = [*rows[:2], *_settings(way), *rows[2:], ("Held", *held), ("Kept stable by", *stable)]
    said = [f"{point.duty.name}: {point.reason}." for point in way.points if point.reason]
    heat = "Winding heat: of what the cooling carries away at this speed; 100 % is the limit of continuous running."
    title = f"{way.title}, demand by demand"
    return Table(
        title=title, columns=_columns("At the demand", way.points), rows=tuple(rows), note=" ".join([heat, *said])
    )


def _any(way: SpeedWayResult, pick: Pick) -> bool:
    return any(pick(point) for point in way.points)


def _settings(way: SpeedWayResult) -> list[tuple[str, ...]]:
    """One row for each dial, in the order of the first demand that has it."""
    names = dict.fromkeys((s.key, s.title, s.unit) for point in way.points for s in point.settings)
    rows = []
    for key, title, unit in names:
        found = [next((s for s in point.settings if s.key == key), None) for point in way.points]
        name = f"Set: {title}"
        if any(s is not None and s.text for s in found):
            rows.append((name, *(MISSING if s is None else s.text or show(s.value, s.unit) for s in found)))
        else:
            rows.append(_numbers(name, unit, [None if s is None else s.value for s in found]))
    return rows


def losses(way: SpeedWayResult) -> Table:
    """Where the power goes at each demand, from the line to what the process needs, all in one unit."""
    parts = [part for part in Part if any(point.loss(part) for point in way.points)]
    unit = display_unit([point.line_power for point in way.points], "W")
    picks: list[tuple[str, Pick]] = [("line", lambda point: point.line_power)]
    if any(point.returned for point in way.points):
        picks.append(("of which the rotor gave back", lambda point: point.returned))
    picks += [(f"lost: {part.value}", _loss(part)) for part in parts if part is not Part.THROTTLE]
    picks.append(("shaft", lambda point: point.shaft_power))
    if Part.THROTTLE in parts:
        picks.append((f"of which {BEYOND}", _loss(Part.THROTTLE)))
    rows = tuple((name, *(show_number(pick(point), "W", unit) for point in way.points)) for name, pick in picks)
    notes = ["The line's power is net of what the rotor gave back."] if any(p.returned for p in way.points) else []
    if Part.THROTTLE in parts:
        notes.append("More than needed: what a valve or damper takes, or running faster than asked.")
    title = f"{way.title}, where the power goes"
    return Table(title=title, columns=_columns(f"Power, {unit}", way.points), rows=rows, note=" ".join(notes))


def part_words(part: Part) -> str:
    """Where a loss arises, in words."""
    return BEYOND if part is Part.THROTTLE else part.value


def _loss(part: Part) -> Pick:
    return lambda point: point.loss(part)


def harmonics(way: SpeedWayResult) -> Table:
    """Harmonics of the line current by order at each demand, with the limit of the order where it is known."""
    limits = way.harmonic_limits
    orders = sorted({round(h.order, 6) for p in way.points for h in p.harmonics if abs(h.order - 1) > 1e-6})
    rows = []
    for order in (order for order in orders if order <= HIGHEST):
        found = [_at(point.harmonics, order) for point in way.points]
        rows.append((f"{order:.3g}", *(show(None if h is None else h.current, "A") for h in found)))
    note = f"Up to order {HIGHEST:.3g}; all are in the data." if any(order > HIGHEST for order in orders) else ""
    if limits is not None:
        bands = "; ".join(f"{b.order_from:.3g} to {b.order_to:.3g}: {show(b.limit, 'pu')}" for b in limits.bands)
        note += (
            f" Limits at {limits.busbar}, of a demand current of {show(limits.demand, 'A')}, orders {bands}; all together: "
            f"{show(limits.total, 'pu')} ({limits.source})."
        )
    title = f"{way.title}, harmonics of the line current"
    table = Table(title=title, columns=_columns("Order", way.points), rows=tuple(rows), note=note.strip())
    return table if rows else Table(title=title, columns=table.columns, rows=())


def _at(found: Sequence[Harmonic], order: float) -> Harmonic | None:
    return next((h for h in found if abs(h.order - order) < 1e-6), None)


def ratings(way: SpeedWayResult) -> Table:
    """What must be bought."""
    columns = (Column(title="To buy"), Column(title="Rating", numeric=True), Column(title="Why"))
    rows = tuple((s.title, s.text or show(s.value, s.unit), s.why) for s in way.ratings)
    return Table(title=f"{way.title}, what must be bought", columns=columns, rows=rows)


def changes(way: SpeedWayResult) -> Table:
    """Each change between fixed speeds: pause, torque after it, what comes back to the line."""
    columns = (
        Column(title="Change"),
        Column(title="Poles"),
        Column(title="Pause", numeric=True),
        Column(title="Switched at", numeric=True),
        Column(title="Greatest torque", numeric=True),
        Column(title="at", numeric=True),
        Column(title="Given back", numeric=True),
        Column(title="Takes", numeric=True),
    )
    rows = tuple(
        (
            change.title,
            f"{change.from_poles} to {change.to_poles}",
            show(change.pause, "s"),
            show(change.switched_at, "rad/s"),
            show(change.extreme_torque, "N m"),
            show(change.extreme_speed, "rad/s"),
            show(change.returned, "J"),
            show(float(change.run.time[-1]), "s"),
        )
        for change in way.changeovers
    )
    note = "Torque below zero brakes." if any(change.extreme_torque < 0 for change in way.changeovers) else ""
    return Table(title=f"{way.title}, changes of speed", columns=columns, rows=rows, note=note)


def windings(way: SpeedWayResult) -> Table:
    """The winding at each speed: how it is connected, terminals, winding factor, flux."""
    columns = (
        Column(title="Winding"),
        Column(title="Speed"),
        Column(title="Poles", numeric=True),
        Column(title="Connected"),
        Column(title="Fed"),
        Column(title="Joined"),
        Column(title="Phases"),
        Column(title="Winding factor", numeric=True),
        Column(title="Flux density", numeric=True),
    )
    rows = tuple(cells for winding in way.wiring.windings for cells in _winding(winding))
    note = "Flux density: of the air gap at the same voltage, of that of the plate." if rows else ""
    return Table(title=f"{way.title}, the winding at each speed", columns=columns, rows=rows, note=note)


def _winding(winding: WindingDiagram) -> list[tuple[str, ...]]:
    return [
        (
            winding.name,
            speed.name,
            str(speed.poles),
            speed.connection,
            ", ".join(speed.fed),
            ", ".join(speed.joined) or MISSING,
            "two swapped against the other speed" if speed.swapped else "in order",
            show(speed.factor, ""),
            show(speed.flux_density, "pu"),
        )
        for speed in winding.speeds
    ]

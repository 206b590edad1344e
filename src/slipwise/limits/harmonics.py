"""Harmonic currents against what the point of common coupling may carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from slipwise.data import Row, table
from slipwise.limits.judge import judge
from slipwise.model.supply.path import SupplyPath
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.harmonic_limits import HarmonicBand, HarmonicLimits
from slipwise.results.speed import Harmonic, OperatingPoint

LOWEST, HIGHEST = 1.5, 50.0  # orders that count as harmonics of the current


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupling:
    """The point of common coupling. busbar: its name; ratio: short-circuit current over demand current.

    demand: greatest load current there, at the motor's voltage level [A]. rows: the limits that belong to the ratio.
    impedance: of the path up to there, per phase at the fundamental [ohm]; volts: phase voltage behind it, rms [V]; both at
    the motor's level. voltage: the limits of voltage distortion at the busbar's own voltage.
    """

    busbar: str
    ratio: float
    demand: float
    rows: tuple[Row, ...]
    impedance: complex
    volts: float
    voltage: Row

    def limit(self, order: float) -> float | None:
        """Permitted current of one order per unit of the demand current; None outside the table.

        Below order 3 the first band holds; an order that is not whole has the band it falls into.
        """
        for row in self.rows:
            if not row.get("total") and row["order_from"] <= max(order, 3.0) < _end(row):
                return float(row["percent"]) / 100
        return None

    @property
    def total(self) -> float:
        """Permitted total demand distortion, per unit."""
        return next(float(row["percent"]) for row in self.rows if row.get("total")) / 100

    @property
    def source(self) -> str:
        """Where the limits stand."""
        return self.rows[0].cited

    def limits(self) -> HarmonicLimits:
        """The same as a result."""
        bands = tuple(
            HarmonicBand(
                order_from=float(row["order_from"]), order_to=float(row["order_to"]), limit=float(row["percent"]) / 100
            )
            for row in self.rows
            if not row.get("total")
        )
        return HarmonicLimits(
            busbar=self.busbar, ratio=self.ratio, demand=self.demand, bands=bands, total=self.total, source=self.source
        )


def _end(row: Row) -> float:
    return float(row["order_to"]) if row["order_to"] < HIGHEST else HIGHEST + 1e-9


def coupling(path: SupplyPath, place: int, current: float) -> Coupling | None:
    """The point of common coupling at busbar `place` of the path; None when the path is ideal up to there.

    current: greatest line current of the drive itself (A). The demand current is that and the base loads at and beyond
    the busbar, magnitudes added.  Source: IEEE 519-2014, clause 3 (from memory).
    """
    impedance = sum(link.impedance for link in path.links[: place + 1])
    if abs(impedance) == 0:
        return None
    volts = path.voltage
    loads = sum(abs(bar.load.power) for bar in path.busbars[place:] if bar.load is not None)
    demand = current + loads / (sqrt(3) * volts)
    ratio = volts / sqrt(3) / abs(impedance) / demand
    rows = [r for r in table("harmonic_current_limits").rows if r["ratio_from"] <= ratio < r.get("ratio_below", 1e99)]
    return Coupling(
        busbar=path.busbars[place].name,
        ratio=ratio,
        demand=demand,
        rows=tuple(rows),
        impedance=impedance,
        volts=volts / sqrt(3),
        voltage=_voltage_row(path.busbars[place].nominal),
    )


def _voltage_row(volts: float) -> Row:
    """The limits of voltage distortion at a nominal line voltage. [V]"""
    return next(r for r in table("harmonic_voltage_limits").rows if r["above_V"] < volts <= r.get("to_V", 1e99))


def harmonic_rows(points: Sequence[OperatingPoint], place: Coupling | None) -> tuple[Criterion, ...]:
    """The order nearest to its limit, and the total, of current and of voltage, each at its worst demand.

    Empty when no way draws harmonics.
    """
    found = [point for point in points if point.feasible and point.harmonics]
    if place is None or not found:
        return ()
    return (*_single(found, place), _total(found, place), *_voltage(found, place))


def _single(points: Sequence[OperatingPoint], place: Coupling) -> tuple[Criterion, ...]:
    """The order that uses most of its limit."""
    used: list[tuple[float, OperatingPoint, Harmonic, float]] = []
    for point in points:
        for harmonic in _counted(point):
            limit = place.limit(harmonic.order)
            if limit is not None:
                used.append((harmonic.current / place.demand / limit, point, harmonic, limit))
    if not used:
        return ()
    _, point, harmonic, limit = max(used, key=lambda row: row[0])
    row = judge(
        "harmonic_order",
        f"Harmonic of order {harmonic.order:.3g} at {place.busbar}, of demand current",
        {point.duty.name: harmonic.current / place.demand},
        limit,
        unit="pu",
        sense=Sense.AT_MOST,
        source=_source(place),
    )
    return (row,)


def _total(points: Sequence[OperatingPoint], place: Coupling) -> Criterion:
    distortion = {p.duty.name: sqrt(sum(h.current**2 for h in _counted(p))) / place.demand for p in points}
    name = max(distortion, key=lambda key: distortion[key])
    return judge(
        "total_demand_distortion",
        f"Total demand distortion at {place.busbar}",
        {name: distortion[name]},
        place.total,
        unit="pu",
        sense=Sense.AT_MOST,
        source=_source(place),
    )


def harmonic_voltages(point: OperatingPoint, place: Coupling) -> tuple[tuple[float, float], ...]:
    """Order, and the voltage that its current makes at the point of common coupling, of the voltage behind the path. [pu]

    U_h = |R + j h X| I_h with the impedance of the path; other loads there, which would take a part, are left out, and so
    is distortion that is there without the drive. Source: Ohm's law; IEEE 519-2014, clause 5 (from memory).
    """
    return tuple(
        (h.order, abs(complex(place.impedance.real, h.order * place.impedance.imag)) * h.current / place.volts)
        for h in _counted(point)
    )


def _voltage(points: Sequence[OperatingPoint], place: Coupling) -> tuple[Criterion, ...]:
    """The greatest single harmonic voltage, and all of them together."""
    found = {point.duty.name: harmonic_voltages(point, place) for point in points if _counted(point)}
    if not found:
        return ()
    single = {name: max(share for _, share in shares) for name, shares in found.items()}
    total = {name: sqrt(sum(share**2 for _, share in shares)) for name, shares in found.items()}
    worst, most = max(single, key=lambda name: single[name]), max(total, key=lambda name: total[name])
    order = max(found[worst], key=lambda pair: pair[1])[0]
    limit = place.voltage
    note = "of this drive alone"
    return (
        judge(
            "harmonic_voltage",
            f"Harmonic voltage of order {order:.3g} at {place.busbar}",
            {worst: single[worst]},
            limit["single"] / 100,
            unit="pu",
            sense=Sense.AT_MOST,
            source=limit.cited,
            note=note,
        ),
        judge(
            "voltage_distortion",
            f"Voltage distortion at {place.busbar}",
            {most: total[most]},
            limit["total"] / 100,
            unit="pu",
            sense=Sense.AT_MOST,
            source=limit.cited,
            note=note,
        ),
    )


def _counted(point: OperatingPoint) -> list[Harmonic]:
    return [harmonic for harmonic in point.harmonics if LOWEST < harmonic.order <= HIGHEST]


def _source(place: Coupling) -> str:
    return f"{place.source}, short-circuit over demand current {place.ratio:.3g}"

"""A motor on a bad supply against what is agreed or published: one function for each row or pair of rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import inf, isfinite

from slipwise.data import Row, table
from slipwise.limits.judge import conditional, failing, judge, unjudged
from slipwise.limits.thresholds import Threshold
from slipwise.model.machine.sequence import derating
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.solve.disturbed.interruption import SAFE_RESIDUAL, SAFE_RESULTANT

_PRACTICE = "common practice, no source"
_RATED = "rated value of the motor"
_RETURN = "IEEE C37.96; NEMA MG 1, 20.33 (clause from memory)"
GREATEST_UNBALANCE = 0.05  # pu by greatest deviation, NEMA MG 1, 14.36


def _one(
    key: str,
    title: str,
    value: float,
    limit: float | None,
    unit: str,
    source: str,
    *,
    sense: Sense = Sense.AT_MOST,
    span: float | None = None,
) -> Criterion:
    """A row of one case."""
    return judge(key, title, {"nominal": value}, limit, unit=unit, sense=sense, source=source, span=span)


def unbalance_rows(deviation: float, load: float, winding: float) -> tuple[Criterion, ...]:
    """Unbalance against what is recommended; load against the derating; hottest winding against its rated current.

    deviation: greatest deviation over the mean, pu. load: shaft power, pu of rated. winding: pu of its rated current.
    Source: NEMA MG 1, 14.36; the last by definition.
    """
    readings = table("nema_unbalance_derating")
    cited = readings.rows[-1].cited
    most = _one("unbalance", "Voltage unbalance, greatest deviation", deviation, GREATEST_UNBALANCE, "pu", cited)
    known = deviation <= GREATEST_UNBALANCE
    factor = derating(deviation) if known else None
    derated = _one("derated_load", "Load, of rated power", load, factor, "pu", cited)
    if not known:
        derated = unjudged(derated, "the published derating ends at 5 %")
    hot = _one("hottest_winding", "Hottest winding, of its rated current", winding, 1.0, "pu", _RATED)
    if hot.status is Status.FAILS and known and derated.status is not Status.FAILS:
        hot = conditional(hot, "the published derating allows this load, yet one winding is above its rated current")
    return most, derated, hot


def open_line_running(winding: float, trips: float, allowed: float) -> Criterion:
    """Running on two lines: hottest winding (pu of its rated current), and whether the overload relay ends it.

    trips: tripping time of the slowest relay of its class, s, infinite when it never trips. allowed: greatest current the
    hottest winding may carry for good in this row, pu. Source: rated current of the winding.
    """
    row = _one(
        "open_line_running", "Hottest winding on two lines, of its rated current", winding, allowed, "pu", _RATED
    )
    if row.status is not Status.FAILS:
        return row
    if isfinite(trips):
        return conditional(
            row, f"the overload relay must end it, after {show(trips, 's')} at the latest from this load"
        )
    return failing(row, "the overload relay does not see it: take one that is sensitive to the loss of a phase")


def open_line_heat(trips: float, bears: float) -> Criterion:
    """Running on two lines: tripping time of the slowest relay against the time until the hottest winding is too warm. [s]

    trips, bears: infinite when never. Source: thermal network of the study.
    """
    title, source = "Tripping before the winding is too warm", "thermal network, permitted winding temperature"
    if not isfinite(bears):
        row = _one("open_line_heat", title, trips if isfinite(trips) else 0.0, None, "s", source)
        words = "the hottest winding stays below its permitted temperature"
        return replace(row, value=trips if isfinite(trips) else None, condition=words)
    if not isfinite(trips):
        row = _one("open_line_heat", title, 2 * bears, bears, "s", source)
        return replace(failing(row, "the relay never trips at this current"), value=None, margin=-1.0)
    return _one("open_line_heat", title, trips, bears, "s", source)


def open_line_standing(trips: float, bears: float | None) -> Criterion:
    """Standing on two lines: tripping time of the slowest relay from warm against the time the motor bears it. [s]

    bears: hot stall time turned to the current of the hottest winding (heat of constant current squared times time);
    None when the stall time is not known. Source: stall time given by user.
    """
    title = "Tripping at rest with a line open"
    if bears is None:
        row = _one("open_line_standing", title, trips, None, "s", "given by user")
        return unjudged(row, "no hot stall time is given, ask the maker for it")
    return _one("open_line_standing", title, trips, bears, "s", "given by user: hot stall time at this current")


def dip_return(speed: float, least: float, before: float) -> Criterion:
    """Speed when the voltage returns against the least from which the motor comes back. [rad/s]

    before: running speed, which the margin is measured by. Source: torque balance.
    """
    source = "unstable balance of motor and load torque"
    span = before - least
    return _one(
        "dip_return", "Speed when the voltage returns", speed, least, "rad/s", source, sense=Sense.AT_LEAST, span=span
    )  # fmt: skip


def contactor(remaining: float, drop_out: float, source: str) -> Criterion:
    """Voltage during the dip against that at which a contactor lets go. [pu of rated]"""
    row = _one(
        "drop_out", "Voltage left for contactors", remaining, drop_out, "pu", source, sense=Sense.AT_LEAST
    )  # fmt: skip
    if row.status is Status.FAILS:
        words = (
            "a contactor fed from this supply opens: the motor is cut off, and starts again only if its control lets it"
        )
        return conditional(row, words)
    return row


def returns(resultant: Sequence[float], voltage: Sequence[float]) -> tuple[Criterion, Criterion]:
    """Resultant of volts per hertz, and residual voltage, when the supply returns: one of both must be kept. [pu]

    resultant, voltage: over the scatter of the dead time; the greatest counts. Source: NEMA MG 1, IEEE C37.96.
    """
    first, second = max(resultant), max(voltage)
    over = ", greatest over the scatter" if len({*resultant}) > 1 else ""
    title, other = f"Volts-per-hertz resultant at the return{over}", f"Residual voltage at the return{over}"
    if second <= SAFE_RESIDUAL:
        free = _one("resultant", title, first, None, "pu", _RETURN)
        free = replace(free, condition="not asked for: the residual voltage is low enough")
        return free, _one("residual_voltage", other, second, SAFE_RESIDUAL, "pu", _RETURN)
    free = _one("residual_voltage", other, second, None, "pu", _RETURN)
    free = replace(free, condition="not asked for where the resultant is low enough")
    return _one("resultant", title, first, SAFE_RESULTANT, "pu", _RETURN), free


def swing(torque: float, current: float, shaft: Threshold, peak: Threshold) -> tuple[Criterion, Criterion]:
    """Greatest torque (pu of rated) and instantaneous current (A) after the return against the study's own limits."""
    return (
        _one("return_torque", "Torque peak at the return, of rated", torque, shaft.value, "pu", shaft.source),
        _one("return_current", "Current peak at the return", current, peak.value, "A", peak.source),
    )


def reversal_heat(seconds: float, hot: float | None, limit: Threshold) -> Criterion:
    """Heat of running into reverse against the hot stall time: share of it used. [pu]

    seconds: as long at standstill and rated voltage heats as much. hot: stall time, s. Source: as `limits.heat`.
    """
    if hot is None:
        row = _one("reversal_heat", "Heat of the reversal", seconds, None, "s", limit.source)
        return unjudged(row, "no hot stall time is given, ask the maker for it (value: equal time at standstill)")
    return _one(
        "reversal_heat", "Heat of the reversal, of the stall limit", seconds / hot, limit.value, "pu", limit.source
    )


def direction(speed: float) -> Criterion:
    """A row that always asks for proof of the direction. speed: rad/s, negative backwards."""
    row = _one("direction", "Speed with two lines swapped", speed, None, "rad/s", _PRACTICE)
    words = "prove the direction with the coupling open before the driven machine is turned"
    return replace(row, status=Status.CONDITION, condition=words)


def deviations(voltage: float, frequency: float) -> tuple[Criterion, ...]:
    """Voltage and frequency (pu of rated) against the zones of IEC 60034-1 and the deviations of NEMA MG 1.

    Within zone B but not zone A is a condition. Source: IEC 60034-1, 7.3 (from memory); NEMA MG 1, 12.44.1.
    """
    zones = table("voltage_frequency_zones")
    rows = [_zone(name, value, zones.where(quantity=name)) for name, value in _named(voltage, frequency).items()]
    off = {name: round(abs(value - 1), 9) for name, value in _named(voltage, frequency).items()}
    off["sum of magnitudes"] = round(sum(off.values()), 9)  # as printed: 6 % and 4 % are 10 %, not a little more
    for limit in table("nema_voltage_frequency").rows:
        name = str(limit["quantity"])
        title = f"Deviation, {name if name in _named(1, 1) else 'voltage and frequency together'}"
        rows.append(_one(f"deviation:{name}", title, off[name], limit["percent"] / 100, "pu", limit.cited))
    return tuple(rows)


def _named(voltage: float, frequency: float) -> Mapping[str, float]:
    return {"voltage": voltage, "frequency": frequency}


def _zone(name: str, value: float, zones: Sequence[Row]) -> Criterion:
    inner, outer = zones
    end = outer["high"] if value >= 1 else outer["low"]
    sense = Sense.AT_MOST if value >= 1 else Sense.AT_LEAST
    span = abs(end - 1)
    row = _one(f"zone:{name}", f"{name.capitalize()}, of rated", value, end, "pu", outer.cited, sense=sense, span=span)
    if row.status is Status.FAILS:
        return failing(row, "outside zone B")
    if not inner["low"] <= value <= inner["high"]:
        return conditional(
            row, "within zone B, outside zone A: not for long, and the motor may get hotter than at rated"
        )
    return replace(row, status=Status.PASSES, condition="within zone A")


def load_current(current: float) -> Criterion:
    """Line current on this load, per unit of the rated one. [pu]"""
    return _one("load_current", "Line current on this load, of rated", current, 1.0, "pu", _RATED)


def temperature(value: float, permitted: float) -> Criterion:
    """Settled winding temperature against what its class permits. [degC]"""
    source = "IEC 60034-1, Table 8, and the ambient of the study"
    return _one("temperature", "Winding temperature", value, permitted, "degC", source)


def stall_bearing(hot: float | None, locked: float, current: float) -> float | None:
    """Time a winding current (A) may flow from hot, from the stall time at `locked` (A): t (I_l / I)^2; None when unknown. [s]

    Source: adiabatic heating, IEEE 620 on thermal limits.
    """
    return None if hot is None else inf if current <= 0 else hot * (locked / current) ** 2

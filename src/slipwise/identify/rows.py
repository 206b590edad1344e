"""A fitted motor measured against its plate: computed afresh from the motor, not from the fit's own arithmetic."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np

from slipwise.data import Row, table
from slipwise.identify.records import Plate
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import operating_point
from slipwise.results.study import PlateRow

_SCAN = np.geomspace(1e-3, 1.0, 241)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a motor shows at rated voltage and frequency. Speed rad/s, current A; ratios to the values of its rating."""

    speed: float
    slip: float
    current: float
    power_factor: float
    efficiency: float
    locked_rotor_current_ratio: float
    locked_rotor_torque_ratio: float
    breakdown_torque_ratio: float
    pull_up_torque_ratio: float
    breakdown_slip: float


def shaft_torque(motor: Motor, slip: Any) -> Any:
    """Torque at the shaft, after friction, windage and stray loss, at rated voltage and frequency; shape of `slip`. [N m]"""
    assert motor.circuit is not None
    rating = motor.rating
    sync = rating.synchronous_speed
    p = operating_point(motor.circuit, slip, rating.phase_voltage, rating.frequency, sync)
    speed = (1 - slip) * sync
    return p.torque - motor.mechanical_torque(speed) - motor.stray_torque(speed, abs(p.stator_current))


def shown_by(motor: Motor, *, first_peak: bool = False) -> Shown:
    """Rated point, standstill, breakdown and pull-up of a motor with a circuit.

    first_peak: take as breakdown the first peak from synchronous speed, although standstill may show more.
    """
    assert motor.circuit is not None
    rating = motor.rating
    slip = _rated_slip(motor)
    sync = rating.synchronous_speed
    p = operating_point(motor.circuit, slip, rating.phase_voltage, rating.frequency, sync)
    locked = operating_point(motor.circuit, 1.0, rating.phase_voltage, rating.frequency, sync)
    torque = shaft_torque(motor, _SCAN)
    at = int(np.argmax(torque))
    if first_peak:
        falls = np.flatnonzero(torque[1:] < torque[:-1])
        at = int(falls[0]) if falls.size else len(_SCAN) - 1
    top_slip, top = _finer(motor, at)
    low = float(torque[at:].min())
    if at < len(_SCAN) - 1:
        low = min(low, -_finer(motor, at + int(np.argmin(torque[at:])), sign=-1)[1])
    return Shown(
        speed=(1 - slip) * sync,
        slip=slip,
        current=float(abs(p.stator_current)),
        power_factor=float(p.input_power.real / abs(p.input_power)),
        efficiency=rating.power / float(p.input_power.real),
        locked_rotor_current_ratio=float(abs(locked.stator_current)) / rating.current,
        locked_rotor_torque_ratio=float(shaft_torque(motor, 1.0)) / rating.torque,
        breakdown_torque_ratio=top / rating.torque,
        pull_up_torque_ratio=low / rating.torque,
        breakdown_slip=top_slip,
    )


def _finer(motor: Motor, at: int, sign: int = 1) -> tuple[float, float]:
    """Slip and (signed) torque of the top near place `at` of the scan."""
    if at in {0, len(_SCAN) - 1}:
        return float(_SCAN[at]), sign * float(shaft_torque(motor, float(_SCAN[at])))
    fine = np.linspace(_SCAN[at - 1], _SCAN[at + 1], 101)
    torque = sign * shaft_torque(motor, fine)
    best = int(np.argmax(torque))
    return float(fine[best]), float(torque[best])


def _rated_slip(motor: Motor) -> float:
    """Slip at which the shaft gives rated power, on the running side of the curve, by regula falsi."""
    rating = motor.rating
    sync = rating.synchronous_speed
    slips = np.concatenate([[0.0], np.geomspace(1e-5, 0.6, 60)])
    power = shaft_torque(motor, slips) * (1 - slips) * sync
    over = np.flatnonzero(power >= rating.power)
    if not over.size:
        return float(slips[int(np.argmax(power))])
    at = int(over[0])
    low, high = float(slips[max(at - 1, 0)]), float(slips[at])
    below, above = float(power[max(at - 1, 0)]) - rating.power, float(power[at]) - rating.power
    last, middle = 0.0, high
    for _ in range(60):  # regula falsi; the end that stays is halved in weight, so that both ends move
        middle = high - above * (high - low) / (above - below) if above > below else high
        here = float(shaft_torque(motor, middle)) * (1 - middle) * sync - rating.power
        if abs(here) < 1e-12 * rating.power:
            break
        if here > 0:
            high, above, below = middle, here, 0.5 * below if last > 0 else below
        else:
            low, below, above = middle, here, 0.5 * above if last < 0 else above
        last = here
    return middle


def _tolerance(quantity: str, power: float) -> Row:
    rows = table("tolerances").where(quantity=quantity)
    return next(row for row in rows if row.get("above_kW", 0.0) < power / 1e3 <= row.get("to_kW", inf))


def plate_rows(plate: Plate, motor: Motor, shown: Shown) -> tuple[PlateRow, ...]:
    """Given values against the motor, each with the tolerance of IEC 60034-1 as relative bounds on the value shown."""
    loss = 1 - (plate.efficiency or shown.efficiency)
    cosine = 1 - (plate.power_factor or shown.power_factor)
    slip = motor.rating.slip
    rows = [
        _row("rated current", plate.current, shown.current, "A", None),
        _row("power factor", plate.power_factor, shown.power_factor, "", _tolerance("power factor", plate.power)),
        _row("efficiency", plate.efficiency, shown.efficiency, "pu", _tolerance("efficiency", plate.power)),
        _row("rated speed", plate.speed, shown.speed, "rad/s", _tolerance("slip", plate.power)),
    ]
    scale = {
        "power factor": min(max(cosine / 6, 0.02), 0.07) * 6 / (1 - cosine),
        "efficiency": loss / (1 - loss),
        "rated speed": -slip / (1 - slip),
    }
    for name, quantity in (
        ("locked_rotor_current_ratio", "locked-rotor current"),
        ("locked_rotor_torque_ratio", "locked-rotor torque"),
        ("breakdown_torque_ratio", "breakdown torque"),
        ("pull_up_torque_ratio", "pull-up torque"),
    ):
        limit = _tolerance(quantity, plate.power)
        rows.append(_row(f"{quantity} / rated", getattr(plate, name), getattr(shown, name), "", limit))
    found = (_scaled(row, scale.get(row.name, 1.0)) for row in rows if row is not None)
    return (*found, *full_load_rows(plate, motor))


_HORSEPOWER = 745.7  # W
_SAME_POWER = 0.02  # a rated power counts as one of the table's within this share of it
_COLUMN = (440.0, 480.0)  # V, the systems that the 460 V column serves


def full_load_rows(plate: Plate, motor: Motor) -> tuple[PlateRow, ...]:
    """The plate's current beside the full-load current of the code's table, where it has the motor: 460 V, 60 Hz.

    What stands as the model is the table's. It is a plausibility check without a tolerance: the table is one for sizing
    conductors, and a plate may lie well below it. Source: NEC Table 430.250 (from memory).
    """
    rating = motor.rating
    if plate.current is None or rating.frequency != 60.0 or not _COLUMN[0] <= rating.voltage <= _COLUMN[1]:
        return ()
    power = rating.power / _HORSEPOWER
    rows = (r for r in table("full_load_currents").rows if abs(power / r["power_hp"] - 1) <= _SAME_POWER)
    return tuple(
        PlateRow(
            name="rated current, beside the full-load table",
            plate=plate.current,
            model=row["current_A"],
            unit="A",
            tolerance_low=None,
            tolerance_high=None,
            source=f"{row.cited}, for sizing conductors",
        )
        for row in rows
    )


def _row(name: str, given: float | None, model: float, unit: str, limit: Row | None) -> PlateRow | None:
    if given is None:
        return None
    return PlateRow(
        name=name,
        plate=given,
        model=model,
        unit=unit,
        tolerance_low=None if limit is None else limit.get("low"),
        tolerance_high=None if limit is None else limit.get("high"),
        source="" if limit is None else limit.cited,
    )


def _scaled(row: PlateRow, factor: float) -> PlateRow:
    """A tolerance on loss, on 1 - power factor or on slip, as one on the value itself; a negative factor swaps the ends."""
    low = None if row.tolerance_low is None else row.tolerance_low * factor
    high = None if row.tolerance_high is None else row.tolerance_high * factor
    if factor < 0:
        low, high = high, low
    return PlateRow(
        name=row.name,
        plate=row.plate,
        model=row.model,
        unit=row.unit,
        tolerance_low=low,
        tolerance_high=high,
        source=row.source,
    )

"""The motor's rated values and what follows from them, for the heading of a report."""

from __future__ import annotations

import numpy as np

from slipwise.model.machine.motor import Motor
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.results.start import Curves
from slipwise.solve.plan import Stage, settled
from slipwise.solve.steady import characteristic
from slipwise.study.model import Study
from slipwise.study.points import drive_of

_CURVE = "torque curve at rated voltage held at the terminals"


def at_rated_voltage(study: Study) -> Curves:
    """Direct characteristics at rated voltage on a stiff supply, standstill to synchronous speed."""
    return characteristic(Stage(name="rated voltage", until=settled()), drive_of(study, stiff=True))


def rated_values(study: Study) -> tuple[Sourced, ...]:
    """Plate values as the study has them, then synchronous speed, rated torque and slip, and the marks of the curve."""
    rating = study.motor.rating
    known = {row.name: row for row in study.inputs}
    plate = (
        ("power", rating.power, "W"),
        ("voltage", rating.voltage, "V"),
        ("frequency", rating.frequency, "Hz"),
        ("speed", rating.speed, "rad/s"),
        ("current", rating.current, "A"),
    )
    rows = [
        known.get(f"motor.rated_{n}", _row(f"rated_{n}", value, unit, Origin.DERIVED, "")) for n, value, unit in plate
    ]
    rows += [
        _row("synchronous_speed", rating.synchronous_speed, "rad/s", Origin.DERIVED, "4 pi x frequency / poles"),
        _row("torque", rating.torque, "N m", Origin.DERIVED, "rated power / rated speed"),
        _row("slip", rating.slip, "pu", Origin.DERIVED, "1 - rated speed / synchronous speed"),
    ]
    return (*rows, *_marks(study.motor, at_rated_voltage(study)))


def _marks(motor: Motor, curves: Curves) -> tuple[Sourced, ...]:
    torque, current = motor.rating.torque, motor.rating.current
    breakdown = last_peak(curves)
    pull_up = float(curves.torque[: breakdown + 1].min())
    return (
        _row("locked_rotor_current_ratio", float(curves.line_current[0]) / current, "", Origin.DERIVED, _CURVE),
        _row("locked_rotor_torque_ratio", float(curves.torque[0]) / torque, "", Origin.DERIVED, _CURVE),
        _row("pull_up_torque_ratio", pull_up / torque, "", Origin.DERIVED, _CURVE),
        _row("breakdown_torque_ratio", float(curves.torque[breakdown]) / torque, "", Origin.DERIVED, _CURVE),
    )


def last_peak(curves: Curves) -> int:
    """Place of the torque peak met first when slowing down from the top; 0 when the curve falls all the way."""
    rising = np.flatnonzero(np.diff(curves.torque) > 0)
    return int(rising[-1]) + 1 if rising.size else 0


def _row(name: str, value: float, unit: str, origin: Origin, why: str) -> Sourced:
    return Sourced(name=f"motor.{name}", value=value, unit=unit, origin=origin, why=why)

"""The motor running on with one line open: its currents, and whether and when the overload relay sees it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

from slipwise.data import table
from slipwise.limits.overload_relay import class_named, time_constant, tripping_time
from slipwise.limits.protection import WINDING, winding_share
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor, Rating
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.sequence import UnbalancedPoint, open_line
from slipwise.results.protection import RelayCheck
from slipwise.results.protection_devices import PhaseLoss

MUST_TRIP = 1.2  # times the setting, all three poles (IEC 60947-4-1, Table 3, from memory)
_FURTHER, _LAST, _HALVINGS = 1.15, 0.8, 34  # steps up the torque curve, where it ends, halvings between two steps


def pole_limits() -> tuple[float, float]:
    """Times the setting at which two poles trip while the third carries nothing: without and with phase-loss detection."""
    rows = [row for row in table("relay_limits").rows if str(row["state"]).startswith("two poles")]
    return max(float(r["multiple"]) for r in rows), min(float(r["multiple"]) for r in rows)


def phase_loss(motor: Motor, relay: RelayCheck, loads: Sequence[float]) -> tuple[PhaseLoss, ...]:
    """One row for each load (share of rated torque, constant); none for a motor known by its curves only.

    The relay warms as with three poles, its multiple scaled so that it trips just where the standard asks it to with one
    pole cold; warm from running at the load. Supply stiff, rated voltage between the two live lines.

    Source: sequence circuits in series (see `open_line`); limits of IEC 60947-4-1, Tables 3 and 4 (from memory).
    """
    circuit = motor.circuit
    if circuit is None:
        return ()
    return tuple(_row(motor, circuit, relay, load) for load in loads)


def _row(motor: Motor, circuit: Circuit, relay: RelayCheck, load: float) -> PhaseLoss:
    slip, line, winding, before = _currents(circuit, motor.rating, load)
    rated = _balanced(circuit, motor.rating, 1.0)
    share = winding_share(motor)
    multiple = (winding if relay.place == WINDING else line) / relay.setting
    warm = min((before * (share if relay.place == WINDING else 1.0) / relay.setting) ** 2, 1.0)
    slow = time_constant(class_named(relay.trip_class).high)
    plain, sensitive = (tripping_time(multiple * MUST_TRIP / pole, slow, warm) for pole in pole_limits())
    return PhaseLoss(
        load=load,
        runs=slip is not None,
        slip=1.0 if slip is None else slip,
        line_current=float(line),
        winding_current=float(winding),
        winding_share=float(winding / (rated * share)),
        multiple=float(multiple),
        plain=plain,
        sensitive=sensitive,
    )


@lru_cache(maxsize=64)  # the same for every way of a study
def _currents(circuit: Circuit, rating: Rating, load: float) -> tuple[float | None, float, float, float]:
    """Slip with one line open, None when the motor stalls; greatest line and winding current; line current before. [A]"""
    slip = _slip(lambda s: _open(circuit, rating, s).torque, load * rating.torque, rating.slip)
    at = _open(circuit, rating, 1.0 if slip is None else slip)
    return slip, max(map(abs, at.lines)), max(map(abs, at.windings)), _balanced(circuit, rating, load)


def _open(circuit: Circuit, rating: Rating, slip: float) -> UnbalancedPoint:
    return open_line(circuit, slip, rating.voltage, rating.synchronous_speed, connection=rating.connection)


@lru_cache(maxsize=64)
def _balanced(circuit: Circuit, rating: Rating, load: float) -> float:
    """Line current at a load with all three lines, rms. [A]"""

    def point(slip: float) -> float:
        at = operating_point(circuit, slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
        return float(at.torque)

    slip = _slip(point, load * rating.torque, rating.slip)
    at = operating_point(circuit, slip or rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    return float(abs(at.stator_current))


def _slip(torque: Callable[[float], float], wanted: float, rated: float) -> float | None:
    """The least slip at which the motor gives a torque (N m), bisected; None when it never does on its way to breakdown."""
    low, high = 0.0, rated * 0.02
    while torque(high) < wanted:
        if high > _LAST:
            return None
        low, high = high, high * _FURTHER
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if torque(middle) >= wanted else (middle, high)
    return high

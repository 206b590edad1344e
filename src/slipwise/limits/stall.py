"""The motor that stands still under voltage: what the relay sees, how long the motor bears it, and the rows of both."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from slipwise.limits.heat import locked_rotor
from slipwise.limits.judge import judge
from slipwise.limits.overload_relay import class_named, time_constant, tripping_time
from slipwise.limits.protection import WINDING, protection_row, winding_share
from slipwise.model.machine.motor import Motor
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.protection import Protection, RelayCheck, Stall
from slipwise.results.series import Array
from slipwise.results.start import Outcome, RunUp
from slipwise.solve import steady
from slipwise.solve.plan import Drive, Stage, settled

RUNNING = Stage(name="running connection", until=settled())


def stalled_first(drive: Drive, stage: Stage) -> Array:
    """Line and winding current at standstill in a stage, at the end of its voltage law; rms A, shape (2,)."""
    at = _at_rest(drive, stage)
    return np.array([float(at.line), float(at.winding)])


def _at_rest(drive: Drive, stage: Stage) -> steady.Point:
    end = 0.0 if stage.voltage is None else stage.voltage.x[-1]
    return steady.solve(drive, stage, 0.0, end)


def stalls(relay: RelayCheck, motor: Motor, drives: Sequence[tuple[str, Drive, Stage]]) -> tuple[Stall, ...]:
    """One row at rated voltage, then one for each drive and stage named: trip times against stall times.

    The stall time goes with the inverse square of the current in the winding (adiabatic heating, IEEE 620 on thermal
    limit curves, from memory).
    """
    at_rest = locked_rotor(motor).winding_current
    share, rating = winding_share(motor), motor.rating
    rows = [("rated voltage", 1.0, at_rest / share, at_rest)]
    for name, drive, stage in drives:
        at = _at_rest(drive, stage)
        rows.append((name, abs(at.motor_voltage) / rating.phase_voltage, float(at.line), float(at.winding)))
    return tuple(_stall(relay, motor, at_rest, row) for row in rows)


def _stall(relay: RelayCheck, motor: Motor, at_rest: float, row: tuple[str, float, float, float]) -> Stall:
    label, voltage, line, winding = row
    slow = time_constant(class_named(relay.trip_class).high)
    multiple = (winding if relay.place == WINDING else line) / relay.setting
    longer = (at_rest / winding) ** 2
    cold, hot = motor.stall.cold, motor.stall.hot
    return Stall(
        label=label,
        voltage=float(voltage),
        line_current=line,
        winding_current=winding,
        trip_cold=tripping_time(multiple, slow),
        trip_hot=tripping_time(multiple, slow, warm=1.0),
        limit_cold=None if cold is None else cold * longer,
        limit_hot=None if hot is None else hot * longer,
    )


def relay_rows(found: Protection, run_ups: Mapping[str, RunUp], motor: Motor) -> tuple[Criterion, ...]:
    """The row of the relay, and that of a speed switch the user states."""
    nominal = next(iter(run_ups.values()))
    place = found.relay.place if found.relay else "line"
    currents = nominal.winding_current if place == WINDING else nominal.line_current
    rated = motor.rating.current * (winding_share(motor) if place == WINDING else 1.0)
    row = protection_row(found, float(currents[-1]), rated)
    return (row, *_switch_row(found, run_ups))


def _switch_row(found: Protection, run_ups: Mapping[str, RunUp]) -> tuple[Criterion, ...]:
    switch = found.speed_switch
    if switch is None or not switch.given:
        return ()
    arrived = [name for name, run in run_ups.items() if run.outcome is Outcome.ARRIVED]
    values = {name: _reached(run_ups[name], switch.speed) for name in arrived}
    return (
        judge(
            "speed_switch",
            "Time to the speed switch",
            values,
            switch.delay,
            unit="s",
            sense=Sense.AT_MOST,
            source="given by user",
        ),
    )


def _reached(run_up: RunUp, speed: float) -> float:
    past = np.flatnonzero(run_up.speed >= speed)
    return float(run_up.time[past[0]]) if past.size else float("inf")

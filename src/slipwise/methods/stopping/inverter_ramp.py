"""What the two ways of braking on an inverter share: the frequency ramp downwards, and its design."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from slipwise.methods.settings import Choice, assumed, computed
from slipwise.methods.starting.frequency_ramp import voltage_at
from slipwise.methods.stopping.tools import tried, unsaturated
from slipwise.methods.stopping.way import StopTask
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Dial
from slipwise.results.start import Outcome
from slipwise.solve.plan import Drive, Law, Plan, Stage, elapsed, settled
from slipwise.solve.stop import off

# Short-time current of an inverter, voltage at frequency zero, and where the ramp ends: common practice, no source.
LIMIT, LOW_LIMIT, HIGH_LIMIT = 1.5, 1.1, 2.0
END = 0.015
SHORTEST, LONGEST = 0.2, 600.0
IN_TIME = 0.9  # of the time allowed, used up by a design

RAMP_DIAL = Dial(
    title="ramp time",
    unit="s",
    example="8 s",
    doc="From rated frequency to the end of the ramp.",
    low=0.05,
    high=3600.0,
)
LIMIT_DIAL = Dial(
    title="current limit",
    unit="pu",
    example="150 %",
    doc="Motor current the ramp is designed for, of rated.",
    low=0.5,
    high=5.0,
)
BOOST_DIAL = Dial(
    title="boost", unit="pu", example="3 %", doc="Voltage at frequency zero, of rated.", low=0.0, high=0.3
)


def full(contacts: tuple[str, ...]) -> Stage:
    """Running on the inverter at rated frequency."""
    at = Law(x=(0.0,), y=(1.0,))
    return Stage(name="running", until=settled(), frequency=at, voltage=at, contacts=contacts)


def ramp(drive: Drive, ramp_time: float, boost: float, contacts: tuple[str, ...]) -> Plan:
    """Frequency and voltage down a straight line, then no supply."""
    times = (0.0, ramp_time)
    frequency = Law(x=times, y=(1.0, END))
    voltage = Law(x=times, y=(1.0, voltage_at(END, boost)))
    stage = Stage(
        name="frequency ramp", until=elapsed(ramp_time), frequency=frequency, voltage=voltage, contacts=contacts
    )
    return (stage, off(drive))


def limit_choice() -> Choice:
    """The current the ramp is designed for."""
    why = "short-time current of an inverter of the motor's size (common practice, no source)"
    return assumed(LIMIT, why, LOW_LIMIT, HIGH_LIMIT)


def boost_choice(task: StopTask) -> Choice:
    """Stator drop at rated current."""
    motor = task.nominal.motor
    drop = 0.0 if motor.circuit is None else motor.circuit.R1 * motor.rating.current / motor.rating.phase_voltage
    return computed(min(drop, 0.3), f"stator drop at rated current, {percent(drop)} of rated voltage")


def ramp_choice(task: StopTask, limit: float, boost: float) -> Choice:
    """Most of the time allowed, or braking at rated current; never quicker than the current limit lets, both cases."""
    return _ramp_for(unsaturated(task.nominal), unsaturated(task.worst), limit, boost, task.stop_time)


@lru_cache(maxsize=4)
def _ramp_for(nominal: Drive, worst: Drive, limit: float, boost: float, stop_time: float | None) -> Choice:
    """The same; either way of braking on an inverter asks for it."""
    rated = nominal.motor.rating.current

    def kept(seconds: float, most: float) -> bool:
        return all(_greatest(ramp(drive, seconds, boost, ()), drive) <= most * rated for drive in (nominal, worst))

    wanted = None if stop_time is None else IN_TIME * stop_time
    if wanted is not None and kept(wanted, limit):
        return computed(wanted, f"nine tenths of the {amount(stop_time or 0.0)} s allowed")
    fastest = _shortest(lambda s: kept(s, limit))
    if fastest is None:
        return computed(
            10.0, f"no ramp keeps the motor current below {amount(limit)} times rated: the load asks for more"
        )
    if wanted is not None:
        return computed(fastest, f"the shortest at {amount(limit)} times rated current, worst case")
    gentle = _shortest(lambda s: kept(s, 1.0)) or fastest
    words = "rated current" if gentle > fastest else f"{amount(limit)} times rated current"
    return computed(gentle, f"the shortest that brakes with {words}, worst case")


def _greatest(plan: Plan, drive: Drive) -> float:
    """Greatest motor current along the ramp. [A]"""
    found = tried(plan, drive, full(()))
    if found.outcome is not Outcome.STOPPED:
        return float("inf")
    return float(found.motor_current.max())


def _shortest(kept: Callable[[float], bool]) -> float | None:
    """The shortest ramp for which `kept` holds, to two per cent; None when the longest does not. [s]"""
    if kept(SHORTEST):
        return SHORTEST
    low, high = SHORTEST, 1.0
    while not kept(high):
        low, high = high, 4 * high
        if high > LONGEST:
            return None
    while high > 1.02 * low:
        middle = (low * high) ** 0.5
        low, high = (low, middle) if kept(middle) else (middle, high)
    return high

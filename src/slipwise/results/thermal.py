"""Temperatures along starts and duties, where the heat went, and what the motor bears."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.ledger import Ledger
from slipwise.results.series import Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatTrace:
    """Temperatures of the bodies over time.

    time: shape (n,) [s]; bodies: names; temperature: shape (bodies, n) [degC]; limits: one a body, None where unknown
    [degC]; ambient [degC]; energy: generated = stored + removed [J].
    """

    time: Array
    bodies: tuple[str, ...]
    temperature: Array
    limits: tuple[float | None, ...]
    ambient: float
    energy: Ledger

    def peak(self, body: str) -> float:
        """Highest temperature of a body. [degC]"""
        return float(self.temperature[self.bodies.index(body)].max())

    @property
    def final(self) -> Array:
        """Temperatures at the end, shape (bodies,). [degC]"""
        return self.temperature[:, -1]

    @property
    def within(self) -> bool:
        """Whether every body with a limit stays below it."""
        pairs = zip(self.temperature, self.limits, strict=True)
        return all(limit is None or float(row.max()) <= limit for row, limit in pairs)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LimitCurve:
    """One part of the thermal limit: how long each current may flow. Shape (n,).

    label: part and state in words; part: "running", "accelerating" or "locked rotor"; state: "hot" or "cold".
    The running part holds the winding to its steady permitted temperature, the others to that of a short stall.
    current: line current, rms A; seconds: until the first body is at its limit, infinite when none gets there.
    """

    label: str
    part: str
    state: str
    current: Array
    seconds: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StallCurve:
    """Safe stall time against terminal voltage. Shape (n,). voltage: per unit of rated; hot, cold: s."""

    voltage: Array
    hot: Array
    cold: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FanCurve:
    """Steady torque at reduced speed that keeps the rated rise, flux constant. Shape (n,).

    speed: per unit of rated; own_fan, forced: torque per unit of rated with the fan on the shaft, and with one of its own.
    """

    speed: Array
    own_fan: Array
    forced: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyState:
    """One body of the network. heat_capacity J/K; rated: temperature at rated load, degC; limit: degC, None if unknown."""

    name: str
    heat_capacity: float
    rated: float
    limit: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MotorHeat:
    """What the motor bears whatever way it is started.

    ambient degC; rated_loss W; permitted: winding temperature in steady duty, degC.
    """

    bodies: tuple[BodyState, ...]
    ambient: float
    rated_loss: float
    permitted: float
    limits: tuple[LimitCurve, ...]
    stall: StallCurve
    fan: FanCurve


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DutyHeat:
    """One duty repeated until it settles (or once, from ambient, for short-time and non-periodic duty).

    label: its name; duty_type: S1 to S9; highest, mean: of the winding, degC; within: highest winding temperature at most
    the permitted one and every body below its limit.
    """

    label: str
    duty_type: str
    highest: float
    mean: float
    within: bool
    trace: HeatTrace


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyPeak:
    """Highest temperature of a body in one start. state: "hot" or "cold", before it; temperature: degC."""

    case: str
    state: str
    body: str
    temperature: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WayHeat:
    """What the starts of one way heat.

    stator_heat, rotor_heat, resistor_heat: of one start, J, the last in resistors on the rings.
    rotor_rise: of the rotor by one start without cooling, K.
    cold_starts, hot_starts: starts in a row (coasting and `rest` between) before a body passes its limit, at most `most`.
    rest_standing, rest_running: s before another start after one from rated temperature; infinite when none is possible.
    balance: starts an hour that the cooling at rated load carries away, without running heat. [1/h]
    rate: starts an hour between which the motor runs at rated load, by the network; 0 when it bears none. [1/h]
    table_cold, table_hot: starts that the published table permits, with its source and validity in `table_note`.
    peaks: of every body in one start, by case, from rated temperature and from cold.
    """

    stator_heat: float
    rotor_heat: float
    resistor_heat: float
    rotor_rise: float
    rest: float
    cold_starts: int
    hot_starts: int
    most: int
    rest_standing: float
    rest_running: float
    balance: float
    rate: float
    table_cold: int
    table_hot: int
    table_note: str
    starts: HeatTrace
    duties: tuple[DutyHeat, ...]
    peaks: tuple[BodyPeak, ...] = ()

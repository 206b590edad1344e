"""How an inverter's voltage follows its frequency, and the state in which a motor under such a law meets a demand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np

from slipwise.methods.speed.search import Crossing, first_rise
from slipwise.results.series import Array
from slipwise.solve.converter_feed import Fed, Feed, Hold

# The frequency cannot be none at all; at rest without slip compensation it stands at this. [Hz]
LEAST_FREQUENCY = 0.05
_GRID = 81


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Shaft speed (rad/s), the load torque against speed that passes through the demand, and how much slip is made good.

    compensation: share of the slip by which the frequency is raised; 1 keeps the speed exactly.
    """

    speed: float
    load: Callable[[Any], Any]
    compensation: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Met:
    """How a motor meets a demand. fed: one state (numbers as arrays of one). reached: whether it can.

    peak: greatest shaft torque the law can give at this speed by raising the frequency, N m. breakdown: greatest at this
    frequency, N m. no_load_flux: at this frequency, pu.
    slope: d(motor torque)/d(speed) at this frequency, N m s.
    """

    fed: Fed
    reached: bool
    peak: float
    breakdown: float
    no_load_flux: float
    slope: float


class VoltageLaw(Protocol):
    """What a way of feeding must know to be computed."""

    def fed(self, feed: Feed, frequency: Any, slip_frequency: Any, top: float) -> Fed:
        """States under the law; `top`: greatest terminal voltage per phase, V."""
        ...

    def met(self, feed: Feed, demand: Demand, top: float) -> Met:
        """The state at a demand, or the nearest to it."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class StraightLaw:
    """Held voltage = start + slope x frequency, at one place of the stator. [V per phase], [V per Hz]

    Plain and boosted volts per hertz hold the terminals; a boost by the stator's own drop holds what lies behind R1; the
    third holds the air gap; slope 0 is a fixed voltage.
    Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.11 to 6.13.
    """

    hold: Hold
    start: float
    slope: float

    def fed(self, feed: Feed, frequency: Any, slip_frequency: Any, top: float = np.inf) -> Fed:
        return feed.at(frequency, slip_frequency, self.start + self.slope * frequency, self.hold, top)

    def met(self, feed: Feed, demand: Demand, top: float = np.inf) -> Met:
        def state(slip_frequency: Any) -> Fed:
            raised = demand.speed / feed.per_hertz + demand.compensation * slip_frequency
            return self.fed(feed, np.maximum(raised, LEAST_FREQUENCY), slip_frequency, top)

        found = _first_meeting(state, demand, slip_grid(feed, demand))
        return _met(self, feed, state(np.array([found.x])), found, demand, top)


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstantSlip:
    """Slip frequency held and the flux set to the torque, up to rated flux; beyond that the slip rises at rated flux. [Hz]

    Source: Dubey, 2nd ed., sect. 6.13 (slip control); torque at constant slip frequency goes with flux squared.
    """

    slip_frequency: float

    def full_flux(self, feed: Feed) -> StraightLaw:
        """Rated air-gap flux at every frequency."""
        return StraightLaw(hold=Hold.AIR_GAP, start=0.0, slope=feed.gap_voltage / feed.motor.rating.frequency)

    def fed(self, feed: Feed, frequency: Any, slip_frequency: Any, top: float = np.inf) -> Fed:
        """Rated flux above the held slip frequency; below it the flux is what the torque there would need, at most rated."""
        return self.full_flux(feed).fed(feed, frequency, slip_frequency, top)

    def met(self, feed: Feed, demand: Demand, top: float = np.inf) -> Met:
        full = self.full_flux(feed)
        wanted = float(np.asarray(demand.load(np.array([demand.speed]))).ravel()[0])
        slip = np.copysign(self.slip_frequency, wanted)
        frequency = max(demand.speed / feed.per_hertz + slip, LEAST_FREQUENCY)

        def at_flux(share: Array) -> Fed:
            return feed.at(
                np.full(share.shape, frequency),
                np.full(share.shape, slip),
                share * full.slope * frequency,
                Hold.AIR_GAP,
                top,
            )

        sign = np.copysign(1.0, wanted)
        found = first_rise(lambda x: sign * (at_flux(x).torque - wanted), np.linspace(0.02, 1.0, 33))
        if not found.found or found.x <= 0.02:
            return full.met(feed, Demand(speed=demand.speed, load=demand.load), top)
        fed = at_flux(np.array([found.x]))
        held = StraightLaw(hold=Hold.AIR_GAP, start=float(found.x) * full.slope * frequency, slope=0.0)
        peak, breakdown = _greatest(full, feed, fed, demand, top)
        return replace(_met(held, feed, fed, found, demand, top), peak=peak, breakdown=breakdown)


def slip_grid(feed: Feed, demand: Demand, points: int = _GRID) -> Array:
    """Slip frequencies from nearly none to well past every breakdown, denser near none; shape (points,). [Hz]"""
    last = steepest_slip(feed)
    if demand.compensation < 1:
        last = min(last, demand.speed / feed.per_hertz / (1 - demand.compensation))
    grid: Array = np.maximum(last * np.linspace(0.0, 1.0, points) ** 1.6, 1e-5 * last)
    return grid


def steepest_slip(feed: Feed) -> float:
    """A slip frequency beyond which no law of this motor has its first peak. [Hz]"""
    return min(4.0 * feed.breakdown_slip, 1.5) * feed.motor.rating.frequency


def _first_meeting(state: Callable[[Any], Fed], demand: Demand, grid: Array) -> Crossing:
    """The slip frequency, of the sign the load needs, at which motor and load are first equal."""

    def surplus(slip_frequency: Any) -> Any:
        fed = state(slip_frequency)
        return fed.torque - demand.load(fed.speed)

    if float(surplus(grid[:1])[0]) <= 0:
        return first_rise(surplus, grid)
    found = first_rise(lambda x: -surplus(-x), grid)
    return Crossing(x=-found.x, found=found.found)


def _met(law: StraightLaw, feed: Feed, fed: Fed, found: Crossing, demand: Demand, top: float) -> Met:
    frequency, slip = float(fed.frequency[0]), float(fed.frequency[0] * fed.slip[0])
    step = 1e-5 * steepest_slip(feed)
    around = np.array([slip - step, slip + step, 1e-9 * frequency])
    near = law.fed(feed, np.full(3, frequency), around, top)
    peak, breakdown = _greatest(law, feed, fed, demand, top)
    return Met(
        fed=fed,
        reached=found.found,
        peak=peak,
        breakdown=breakdown,
        no_load_flux=float(near.flux[2]),
        slope=float((near.torque[1] - near.torque[0]) / (near.speed[1] - near.speed[0])),
    )


def _greatest(law: StraightLaw, feed: Feed, fed: Fed, demand: Demand, top: float) -> tuple[float, float]:
    """Greatest shaft torque, in the direction the load asks for: at the speed reached, and at the frequency. [N m]"""
    sign = 1.0 if float(fed.slip[0]) >= 0 else -1.0
    grid = sign * slip_grid(feed, Demand(speed=demand.speed, load=demand.load), 61)
    follows = np.maximum(float(fed.speed[0]) / feed.per_hertz + grid, LEAST_FREQUENCY)
    stays = np.full(grid.shape, float(fed.frequency[0]))
    torque = sign * law.fed(feed, np.stack((follows, stays)), np.stack((grid, grid)), top).torque
    here = float(sign * fed.torque[0])
    return max(float(np.max(torque[0])), here), max(float(np.max(torque[1])), here)

"""How often a drive may be stopped: from the heat balance at rated load, and by the thermal network where there is one."""

from __future__ import annotations

from math import inf, isfinite

import numpy as np

from slipwise.model.thermal.parameters import CAGE, WINDING, fan_cooling
from slipwise.results.series import Array
from slipwise.results.start import Outcome
from slipwise.results.stopping import Stop, StopRate
from slipwise.results.study import WayResult
from slipwise.solve.heat import Piece
from slipwise.solve.heat_limits import shortest_period
from slipwise.solve.plan import Drive
from slipwise.solve.steady import solve
from slipwise.solve.stop import RUNNING
from slipwise.study.model import Study
from slipwise.study.thermal.motor import running_losses
from slipwise.study.thermal.way import start_pieces

SLICES = 8  # of a stop; the sum of each heat is exact whatever their number
HOUR = 3600.0


def rate_of(study: Study, starts: tuple[WayResult, ...], stop: Stop) -> StopRate:
    """Stops an hour of the nominal case, the start before each counted where one was computed and arrives.

    Source: heat balance (Pillai, A First Course on Electrical Drives, ch. 5), and the thermal network of `solve.heat`.
    """
    start = next((way for way in starts if way.run_ups and way.run_ups[0].outcome is Outcome.ARRIVED), None)
    started = 0.0 if start is None else start.run_ups[0].stator_heat + start.run_ups[0].rotor_heat
    heat = stop.stator_heat + stop.rotor_heat
    loss = rated_loss(study)
    asked = study.thermal
    network = rise = None
    if asked is not None:
        pieces = (*(() if start is None else start_pieces(start.run_ups[0])), *stop_pieces(stop))
        network = _by_network(study, pieces)
        bodies = asked.motor.network
        rise = stop.rotor_heat / bodies.bodies[bodies.names.index(CAGE)].heat_capacity
    return StopRate(
        heat=heat,
        start_heat=started,
        start="" if start is None else start.title,
        rated_loss=loss,
        balance=HOUR * loss / (heat + started) if heat + started > 0 else inf,
        network=network,
        rotor_rise=rise,
    )


def rated_loss(study: Study) -> float:
    """Losses at rated load: by the thermal model, by the plate's efficiency, or by the motor on its own supply. [W]"""
    rating = study.motor.rating
    if study.thermal is not None:
        return study.thermal.motor.losses.total
    if rating.efficiency is not None:
        return rating.power * (1 / rating.efficiency - 1)
    at = solve(Drive(motor=study.motor, load=study.load, supply=study.supply.nominal), RUNNING, rating.speed)
    return float(at.power - at.torque * rating.speed)


def stop_pieces(stop: Stop) -> tuple[Piece, ...]:
    """The stop in slices: both heats shared out with the square of winding current; the fan follows the speed."""
    run, end = stop.run, float(stop.run.time[-1])
    if not end > 0:
        return ()
    edges = np.linspace(0.0, end, SLICES + 1)
    area = np.concatenate(
        ([0.0], np.cumsum(0.5 * (run.winding_current[1:] ** 2 + run.winding_current[:-1] ** 2) * np.diff(run.time)))
    )
    seconds = end / SLICES
    share = np.diff(np.interp(edges, run.time, area)) / area[-1] if area[-1] > 0 else np.zeros(SLICES)
    middle = 0.5 * (edges[1:] + edges[:-1])
    speed = np.abs(np.interp(middle, run.time, run.speed)) / stop.begin_speed
    return tuple(
        Piece(
            seconds=seconds,
            losses={WINDING: stop.stator_heat * float(s) / seconds, CAGE: stop.rotor_heat * float(s) / seconds},
            cooling=fan_cooling(min(float(n), 1.0)),
        )
        for s, n in zip(share, speed, strict=True)
    )


def _by_network(study: Study, pieces: tuple[Piece, ...]) -> float:
    """Cycles an hour of start, stop and rated load between whose settled temperatures stay permitted. [1/h]"""
    asked = study.thermal
    assert asked is not None
    network, place = asked.motor.network, asked.motor.network.names.index(WINDING)

    def fits(time: Array, temperature: Array) -> bool:
        mean = np.trapezoid(temperature[place], time) / (time[-1] - time[0])
        return bool(mean <= asked.permitted)

    running = Piece(seconds=1.0, losses=running_losses(study, 1.0), cooling=1.0)
    period = shortest_period(network, pieces, running, fits, asked.ambient)
    return HOUR / period if isfinite(period) else 0.0

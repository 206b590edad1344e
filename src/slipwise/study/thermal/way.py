"""What the starts of one way heat: starts in a row, rest, starts an hour, and the duties they belong to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from slipwise.data import table
from slipwise.limits.heat import locked_rotor
from slipwise.limits.temperature import HeatTask, heat_rows
from slipwise.model.thermal.parameters import CAGE, WINDING, fan_cooling
from slipwise.model.thermal.ratings import starts_from_heat_balance
from slipwise.quantity.provenance import Origin
from slipwise.results.criteria import Criterion
from slipwise.results.series import Array
from slipwise.results.start import Outcome, RunUp
from slipwise.results.study import LoadCase, WayResult
from slipwise.results.thermal import BodyPeak, DutyHeat, HeatTrace, WayHeat
from slipwise.solve.heat import Piece, heat, limit_cycle
from slipwise.solve.heat_limits import rest_before, shortest_period, starts_in_a_row
from slipwise.study.cases import NOMINAL, WORST
from slipwise.study.model import Study
from slipwise.study.thermal.model import DutyRequest, ThermalStudy
from slipwise.study.thermal.motor import cold_state, running_losses, running_state
from slipwise.study.verdict import ignored, overall, rank, verdict

SLICES = 16  # of a start; the sum of each heat is exact whatever their number
MOST = 20  # starts counted
POINTS = 16  # recorded in each stretch of a row of starts
HOUR = 3600.0
SETTLED = 6.0  # time constants after which a steady duty is drawn as settled
# Rotor heat of braking per unit of the kinetic energy at synchronous speed: from Dubey, Fundamentals of Electrical Drives,
# 2nd ed., ch. 5 (plugging three times, dynamic braking once).
BRAKING = {"direct current": 1.0, "plugging": 3.0}


def with_heat(study: Study, way: WayResult, note: Callable[[str], None] | None = None) -> WayResult:
    """The way with the heat of its starts, judged with the rest; unchanged when none is asked for or it does not arrive.

    note: is told before it is computed.
    """
    asked = study.thermal
    if asked is None or not way.run_ups or way.run_ups[0].outcome is not Outcome.ARRIVED:
        return way
    if note is not None:
        note(f"heat: {way.title}")
    found = replace(_way_heat(study, asked, way.run_ups[0]), peaks=tuple(_peaks(study, asked, way.run_ups)))
    rows = [replace(row, load_case=way.load_case) for row in heat_rows(found, _task(study, asked))]
    judged = verdict((*way.verdict.criteria, *rows))
    return replace(way, heat=found, verdict=judged, load_cases=_load_cases(way, rows))


def _peaks(study: Study, asked: ThermalStudy, run_ups: Sequence[RunUp]) -> Iterator[BodyPeak]:
    """Highest temperatures of one start in the nominal and the worst case, from rated temperature and from cold."""
    states = {"hot": running_state(study, 1.0), "cold": cold_state(asked)}
    judged = [run for run in run_ups if run.case in (NOMINAL, WORST) and run.outcome is Outcome.ARRIVED]
    for run in judged:
        pieces = start_pieces(run)
        for state, begin in states.items():
            trace = heat(asked.motor.network, pieces, ambient=asked.ambient, start=begin)
            for body in trace.bodies:
                yield BodyPeak(case=run.case, state=state, body=body, temperature=trace.peak(body))


def _task(study: Study, asked: ThermalStudy) -> HeatTask:
    """What the rows are judged against; starts in a row count when the user asked for them."""
    stall = study.motor.stall
    given = any(row.name == "thermal.starts_in_a_row" and row.origin is Origin.GIVEN for row in study.inputs)
    return HeatTask(
        ambient=asked.ambient,
        permitted=asked.permitted,
        permitted_source="rise of the insulation class, IEC 60034-1, Table 8",
        sources=asked.motor.limit_sources,
        rotor_known=study.motor.wound_ratio is not None or stall.hot is not None or stall.cold is not None,
        starts_per_hour=study.starts_per_hour,
        starts_in_a_row=asked.starts if given else None,
    )


def _load_cases(way: WayResult, rows: Sequence[Criterion]) -> tuple[LoadCase, ...]:
    """The state of the load that the heat was taken from stands no better than the heat does."""
    worst = overall([row for row in rows if not ignored(row)])
    return tuple(
        replace(case, status=worst) if case.name == way.load_case and rank(worst) > rank(case.status) else case
        for case in way.load_cases
    )


def start_pieces(run_up: RunUp) -> tuple[Piece, ...]:
    """The start in slices: stator and rotor heat shared out with the square of winding current; the fan follows speed.

    Both sums are those of the run-up. Core loss and friction are left out: seconds of them do not count.
    """
    end = float(run_up.time[-1]) if run_up.run_up_time is None else run_up.run_up_time
    edges = np.linspace(0.0, end, SLICES + 1)
    until = np.union1d(run_up.time[run_up.time < end], edges)
    squared = np.interp(until, run_up.time, run_up.winding_current**2)
    area = np.concatenate(([0.0], np.cumsum(0.5 * (squared[1:] + squared[:-1]) * np.diff(until))))
    share = np.diff(np.interp(edges, until, area)) / area[-1]
    middle = 0.5 * (edges[1:] + edges[:-1])
    speed = np.interp(middle, run_up.time, run_up.speed) / run_up.final_speed
    seconds = end / SLICES
    return tuple(
        Piece(
            seconds=seconds,
            losses={WINDING: run_up.stator_heat * float(s) / seconds, CAGE: run_up.rotor_heat * float(s) / seconds},
            cooling=fan_cooling(float(n)),
        )
        for s, n in zip(share, speed, strict=True)
    )


def _way_heat(study: Study, asked: ThermalStudy, run_up: RunUp) -> WayHeat:
    network, ambient = asked.motor.network, asked.ambient
    one, cold, hot = start_pieces(run_up), cold_state(asked), running_state(study, 1.0)
    rest = (Piece(seconds=asked.rest, losses={}, cooling=0.0),) if asked.rest > 0 else ()
    counted = [starts_in_a_row(network, one, rest, start=s, ambient=ambient, most=MOST) for s in (cold, hot)]
    after = heat(network, one, ambient=ambient, start=hot).final
    standing = Piece(seconds=1.0, losses={}, cooling=0.0)
    running = Piece(seconds=1.0, losses=running_losses(study, 1.0), cooling=1.0)
    waits = [rest_before(network, one, idle, start=after, ambient=ambient) for idle in (standing, running)]
    allowed = asked.permitted
    place = network.names.index(WINDING)

    def fits(time: Array, temperature: Array) -> bool:
        return _mean(time, temperature[place]) <= allowed

    period = shortest_period(network, one, running, fits, ambient)
    cage = network.bodies[network.names.index(CAGE)]
    published = table("nema_starts")
    return WayHeat(
        stator_heat=run_up.stator_heat,
        rotor_heat=run_up.rotor_heat,
        resistor_heat=run_up.energy.get("rotor resistors"),
        rotor_rise=run_up.rotor_heat / cage.heat_capacity,
        rest=asked.rest,
        cold_starts=counted[0],
        hot_starts=counted[1],
        most=MOST,
        rest_standing=waits[0],
        rest_running=waits[1],
        balance=HOUR * starts_from_heat_balance(asked.motor.losses.total, run_up.stator_heat + run_up.rotor_heat),
        rate=HOUR / period,
        table_cold=int(published.rows[0]["starts"]),
        table_hot=int(published.rows[1]["starts"]),
        table_note=f"{published.rows[0].cited}; {published.note[:1].lower()}{published.note[1:]}",
        starts=_row_of_starts(asked, one, rest, cold),
        duties=tuple(_duty(study, asked, duty, one) for duty in asked.duties),
    )


def _row_of_starts(asked: ThermalStudy, one: Sequence[Piece], rest: Sequence[Piece], start: Array) -> HeatTrace:
    """The starts asked for, one after the other from ambient, and the cooling after the last."""
    pieces: list[Piece] = []
    for number in range(asked.starts):
        pieces += [*one, *(rest if number < asked.starts - 1 else ())]
    length = max(sum(piece.seconds for piece in pieces), 60.0)
    pieces.append(Piece(seconds=length, losses={}, cooling=0.0))
    return heat(asked.motor.network, pieces, ambient=asked.ambient, start=start, points=POINTS)


def _duty(study: Study, asked: ThermalStudy, duty: DutyRequest, one: Sequence[Piece]) -> DutyHeat:
    network, ambient = asked.motor.network, asked.ambient
    pieces = _pieces(study, asked, duty, one)
    if duty.kind in ("S1", "S2", "S9"):
        trace = heat(network, pieces, ambient=ambient, points=60)
    else:
        trace = limit_cycle(network, pieces, ambient=ambient)
    winding = trace.temperature[network.names.index(WINDING)]
    highest = float(winding.max())
    return DutyHeat(
        label=duty.name,
        duty_type=duty.kind,
        highest=highest,
        mean=_mean(trace.time, winding),
        within=trace.within and highest <= asked.permitted,
        trace=trace,
    )


def _pieces(study: Study, asked: ThermalStudy, duty: DutyRequest, one: Sequence[Piece]) -> list[Piece]:
    """Start, stretches and braking of one cycle."""
    network = asked.motor.network
    pieces = list(one) if duty.starts else []
    for place, step in enumerate(duty.steps):
        if duty.braking and place == 1:
            pieces.append(_braking(study, duty))
        seconds = step.seconds
        if duty.kind == "S1":
            out = float(network.to_ambient(1.0).sum())
            seconds = SETTLED * float(network.capacities().sum()) / out
        pieces.append(
            Piece(
                seconds=seconds,
                losses=running_losses(study, step.load, step.speed),
                cooling=fan_cooling(step.speed),
            )
        )
    if duty.braking and len(duty.steps) == 1:
        pieces.append(_braking(study, duty))
    return pieces


def _braking(study: Study, duty: DutyRequest) -> Piece:
    """The heat of one stop from synchronous speed, in one second; half of the fan."""
    motor = study.motor
    inertia = motor.inertia + study.load.inertia
    energy = BRAKING[duty.braking] * 0.5 * inertia * motor.rating.synchronous_speed**2
    at = _stator_share(study)
    return Piece(seconds=1.0, losses={CAGE: energy, WINDING: energy * at}, cooling=0.5)


def _stator_share(study: Study) -> float:
    """Stator heat per unit of rotor heat while the motor is far from its speed: that of standstill."""
    at = locked_rotor(study.motor)
    return at.stator_loss / at.rotor_loss


def _mean(time: Array, values: Array) -> float:
    return float(np.trapezoid(values, time) / (time[-1] - time[0]))

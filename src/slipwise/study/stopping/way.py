"""One way of stopping from request to judgement: designed, computed in its cases, judged."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slipwise.limits import stopping as limits
from slipwise.limits.current import coupling_share, line_current, peak_current, shaft_torque
from slipwise.limits.voltage import dip_criteria
from slipwise.methods.stopping import STOPPING
from slipwise.methods.stopping.tools import part
from slipwise.methods.stopping.way import Absorbs, CanFail, StoppingWay, StopTask, Uneven
from slipwise.methods.way import Designed
from slipwise.model.machine.saturated import is_saturable
from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion
from slipwise.results.setting import Setting
from slipwise.results.start import Curves, RunUp, TransientBand
from slipwise.results.stopping import Failure, Stop, StopRate, StopWayResult
from slipwise.results.study import WayResult
from slipwise.results.wiring import Wiring
from slipwise.solve import steady
from slipwise.solve.plan import Plan, Stage
from slipwise.solve.run_up import run_up
from slipwise.solve.stop import RUNNING, returned, revolutions, running_speed, stop, stop_time
from slipwise.study.cases import EXACT, NOMINAL, QUICK, STRONG, WORST, Case
from slipwise.study.model import Study
from slipwise.study.one_way import NO_CIRCUIT, NOT_ASKED
from slipwise.study.request import WayRequest, way_named
from slipwise.study.stopping.model import StoppingStudy
from slipwise.study.stopping.rate import HOUR, rate_of
from slipwise.study.verdict import impossible, verdict

NOTHING_ELECTRICAL = "no electrical transient: the motor is without supply"
_LEFT_ALONE = 600.0  # s, followed after a device has failed
_ON_LINE, _WITH_DC = 20.0, 120.0  # s of transient followed: what comes later on the line is steady, cycle after cycle
_WORTH_A_RESISTOR = 1.0  # J
_POINTS = 201  # of a braking curve


@dataclass(frozen=True, slots=True, kw_only=True)
class Stopped:
    """What all ways of stopping share: the study as it runs, what is asked, its cases, the starts judged before."""

    study: Study
    asked: StoppingStudy
    cases: Mapping[str, Case]
    starts: tuple[WayResult, ...]
    transients: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StopAnswer:
    """One way answered. way, plans, cases: None or empty when this motor cannot have it."""

    result: StopWayResult
    way: StoppingWay | None = None
    plans: Mapping[str, Plan] | None = None


def way_of(key: str) -> type[StoppingWay]:
    """The way of stopping of that name.

    Raises:
        InputError: there is none.
    """
    return way_named("stopping", key, STOPPING, "way of stopping")


def answer(about: Stopped, request: WayRequest, tell: Callable[[str], None] | None = None) -> StopAnswer:
    """Designs what was not given, computes every case, and judges; `tell` is told before the solver must be prepared."""
    way, note = way_of(request.key), tell or (lambda _words: None)
    try:
        designed = way.designed_for(_task(about), request.given)
        plans = {name: designed.way.stages(case.drive) for name, case in about.cases.items()}
        stops = {}
        for name, case in about.cases.items():
            note(f"{way.title}: {name} case")
            stops[name] = _stop(about, designed.way, plans[name], case)
    except InputError as error:
        return StopAnswer(result=_cannot_be(way, error))
    bands, words = _bands(about, designed.way, plans, stops, tell)
    note(f"{way.title}: how often it may stop")
    return StopAnswer(
        result=_result(about, designed, plans, stops, bands, words),
        way=designed.way,
        plans=plans,
    )


def _task(about: Stopped) -> StopTask:
    asked = about.asked
    return StopTask(
        nominal=about.cases[NOMINAL].drive,
        worst=about.cases[WORST].drive,
        limits=about.study.limits,
        stop_time=asked.stop_time.value,
        stops_per_hour=asked.stops_per_hour,
        arrangement=asked.arrangement,
    )


def _before(way: StoppingWay, case: Case) -> Stage:
    return way.running(case.drive) or RUNNING


def _stop(about: Stopped, way: StoppingWay, plan: Plan, case: Case) -> Stop:
    """The stop of one case, torques and energies of motion as they are with the case's torque tolerance."""
    drive, k = case.drive, case.torque_factor
    speed = running_speed(drive, _before(way, case))
    circuit = drive.motor.circuit
    fine = EXACT if circuit is None or not is_saturable(circuit) else QUICK  # each step then takes many times as long
    run = case.restored(stop(plan, drive, case=case.name, speed=speed, relative=fine))
    inertia = about.study.motor.inertia + about.study.load.inertia
    seconds = stop_time(run, about.study.motor.rating.synchronous_speed)
    back = returned(plan, drive, replace(run, torque=run.torque / k))
    return Stop(
        case=case.name,
        outcome=run.outcome,
        stop_time=seconds,
        begin_speed=speed,
        turns=revolutions(run, seconds),
        kinetic=0.5 * inertia * speed**2,
        rotor_heat=run.rotor_heat,
        stator_heat=run.stator_heat,
        resistor_heat=_resistors(plan, run) + (back.energy if isinstance(way, Absorbs) else 0.0),
        returned=back.energy,
        returned_power=back.power,
        braking_torque=max(-float(run.torque.min()), 0.0),
        line_current=float(run.line_current.max()),
        deceleration=max(float((run.load - run.torque).max()) / inertia, 0.0),
        run=run,
    )


def _resistors(plan: Plan, run: RunUp) -> float:
    """Heat in resistors on the rings and in the lines. [J]"""
    in_line = any(stage.line_series or stage.series for stage in plan)
    return run.energy.get("rotor resistors") + (run.energy.get("starter and series impedances") if in_line else 0.0)


def _bands(
    about: Stopped,
    way: StoppingWay,
    plans: Mapping[str, Plan],
    stops: Mapping[str, Stop],
    tell: Callable[[str], None] | None,
) -> tuple[dict[str, TransientBand], str]:
    """The transient in the nominal and the strong case, or none and why."""
    if not about.transients:
        return {}, NOT_ASKED
    if about.study.motor.circuit is None:
        return {}, NO_CIRCUIT
    if not any(stage.connected for stage in plans[NOMINAL]):
        return {}, NOTHING_ELECTRICAL
    from slipwise.solve.transient import stop_band

    found = {}
    try:
        for name in (NOMINAL, STRONG):
            case = about.cases[name]
            fast = case.at_once()
            before = way.running(case.drive)
            band = stop_band(
                fast.plan(plans[name]),
                fast.drive,
                running=None if before is None else fast.plan((before,))[0],
                speed=stops[name].begin_speed,
                case=name,
                angles=about.asked.switching_angles,
                pause_scatter=about.asked.pause_scatter,
                max_time=_WITH_DC if any(stage.dc is not None for stage in plans[name]) else _ON_LINE,
                note=tell,
            )
            found[name] = fast.peaks(band)
    except InputError as error:
        return {}, f"no electrical transient: {'; '.join(fault.reason for fault in error.faults)}"
    return found, ""


def _result(
    about: Stopped,
    designed: Designed[Any],
    plans: Mapping[str, Plan],
    stops: Mapping[str, Stop],
    bands: Mapping[str, TransientBand],
    note: str,
) -> StopWayResult:
    way: StoppingWay = designed.way
    case, nominal = about.cases[NOMINAL], stops[NOMINAL]
    rate = rate_of(about.study, about.starts, nominal)
    rows = (*_criteria(about, way, plans[NOMINAL], stops, bands, rate), *designed.conditions)
    band = bands.get(NOMINAL)
    return StopWayResult(
        key=way.key,
        title=way.title,
        settings=designed.settings,
        designed=designed.words,
        curves=tuple(
            _curves(case, stage, nominal) for stage in plans[NOMINAL] if stage.connected and not stage.frequency
        ),
        stops=tuple(stops.values()),
        band=band,
        transient_note=note,
        excess=_excess(band, nominal, len(plans[NOMINAL])),
        rate=rate,
        failure=_failure(way, case, nominal),
        parts=(*way.parts(case.drive, nominal.run), *_resistor_duty(about, nominal)),
        verdict=verdict(rows),
        wiring=way.wiring(),
    )


def _criteria(
    about: Stopped,
    way: StoppingWay,
    plan: Plan,
    stops: Mapping[str, Stop],
    bands: Mapping[str, TransientBand],
    rate: StopRate,
) -> tuple[Criterion, ...]:
    """Every row for one way, in the order in which they are shown."""
    study, asked = about.study, about.asked
    slow = {name: stops[name] for name in (NOMINAL, WORST)}
    fast = {name: stops[name].run for name in (NOMINAL, STRONG)}
    rows = [
        limits.at_rest(stops),
        limits.stop_time(slow, asked.stop_time),
        limits.turns(slow, asked.turns),
    ]
    if any(stage.connected and stage.dc is None for stage in plan):
        runs = {name: found.run for name, found in slow.items()}
        rows += [
            *dip_criteria(runs, study.supply.nominal.busbars),
            line_current(fast, study.limits.line_current),
        ]
    if bands:
        passed = coupling_share(study.motor.inertia, study.load.inertia)
        rated = study.motor.rating.torque
        rows += [
            peak_current(bands, study.limits.peak_current),
            shaft_torque(bands, rated, study.limits.shaft_torque, passed),
        ]
    hottest = way.hottest(about.cases[NOMINAL].drive) if isinstance(way, Uneven) else 1.0
    motors = {name: about.cases[name].motor for name in slow}
    rows += [
        limits.heat(slow, motors, hottest, study.limits.heat),
        *limits.belt_deceleration(slow, study.load.travel, study.limits.belt_acceleration),
        *limits.rate(rate, asked.stops_per_hour),
        *((limits.resistor(slow, way.capacity),) if isinstance(way, Absorbs) else ()),
        *limits.held(study.load.pull),
    ]
    return tuple(rows)


def _curves(case: Case, stage: Stage, nominal: Stop) -> Curves:
    """Braking characteristic from standstill to synchronous or running speed, true torques; a voltage law is taken at its end."""
    end = 0.0 if stage.voltage is None else stage.voltage.x[-1]
    top = max(nominal.begin_speed, case.motor.rating.synchronous_speed)
    speeds = np.linspace(0.0, top, _POINTS)
    found = steady.characteristic(stage, case.drive, speeds, end)
    return replace(found, torque=found.torque * case.torque_factor, load=found.load * case.torque_factor)


def _excess(band: TransientBand | None, nominal: Stop, stages: int) -> float | None:
    """Rotor heat of the transient per unit of the steady one, where it was followed to the end and is worth comparing."""
    if band is None or len(band.worst.stages) < stages or nominal.rotor_heat < 0.02 * nominal.kinetic:
        return None
    heat = sum(row.energy for row in band.worst.energy.rows if row.name.startswith("rotor branch"))
    return heat / nominal.rotor_heat


def _resistor_duty(about: Stopped, nominal: Stop) -> tuple[Setting, ...]:
    """Mean power of a resistor and share of the time it works, at the stops an hour asked for; nothing without either."""
    asked = about.asked.stops_per_hour
    energy = nominal.resistor_heat
    if asked is None or energy < _WORTH_A_RESISTOR or nominal.stop_time is None:
        return ()
    why = f"{show(asked, '')} stops an hour, {show(energy, 'J')} each, nominal case"
    return (
        part("mean_power", "mean power of the resistor", asked * energy / HOUR, "W", why),
        part("duty", "share of the time it works", asked * nominal.stop_time / HOUR, "pu", why),
    )


def _failure(way: StoppingWay, case: Case, nominal: Stop) -> Failure | None:
    """What follows when the device fails that the stop depends on."""
    if not isinstance(way, CanFail):
        return None
    what, plan = way.failed(case.drive)
    run = run_up(plan, case.drive, speed=nominal.begin_speed, max_time=_LEFT_ALONE)
    there = np.flatnonzero(np.abs(run.speed - run.final_speed) <= 0.01 * abs(run.final_speed))
    return Failure(
        what=what,
        outcome=run.outcome,
        speed=run.final_speed,
        time=float(run.time[there[0]]) if there.size else float(run.time[-1]),
    )


def _cannot_be(way: type[StoppingWay], error: InputError) -> StopWayResult:
    """A way that this motor cannot have; one with settings that cannot stand fails, each with its reason."""
    return StopWayResult(
        key=way.key,
        title=way.title,
        settings=(),
        designed="",
        curves=(),
        stops=(),
        band=None,
        transient_note="",
        excess=None,
        rate=None,
        failure=None,
        parts=(),
        verdict=impossible(error, f"stopping.{way.key}"),
        wiring=Wiring(devices=(), stages=(), closed=()),
    )

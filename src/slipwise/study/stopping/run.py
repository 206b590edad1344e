"""The stopping part of a study: every way asked for, judged and compared; one of them recommended."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from slipwise.model.load.load import Load
from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.results.start import Outcome
from slipwise.results.stopping import StoppingResult, StopWayResult
from slipwise.results.study import Explanation, WayResult
from slipwise.solve.plan import Drive
from slipwise.solve.stop import off, running_speed, stop, stop_time, turned_about
from slipwise.study.cases import NOMINAL, cases_of
from slipwise.study.model import Study
from slipwise.study.stopping.explain import explain_stop
from slipwise.study.stopping.model import REVERSE, StoppingStudy
from slipwise.study.stopping.way import Stopped, answer, way_of
from slipwise.study.verdict import recommend

Progress = Callable[[str, float], None]
_LONGEST = 3600.0  # s, of a load that coasts


def run_stopping(
    study: Study, starts: tuple[WayResult, ...] = (), progress: Progress | None = None, *, transients: bool = True
) -> tuple[StoppingResult | None, tuple[Explanation, ...]]:
    """Every way of stopping asked for, with the explanation of its numbers; None and nothing when none is.

    Args:
        study: as the reader builds it.
        starts: the ways of starting judged in the same study, the recommended one first: the start counted in stops an hour.
        progress: called with what is being done and the share that is done (0 to 1).
        transients: also compute the electrical transient of each way.

    Raises:
        InputError: a way has an unknown name; the motor does not carry the load.
    """
    asked = study.stopping
    if asked is None:
        return None, ()
    tell = progress or (lambda _words, _share: None)
    turned = _as_it_runs(study, asked)
    cases = cases_of(turned)
    begin = running_speed(cases[NOMINAL].drive)
    about = Stopped(study=turned, asked=asked, cases=cases, starts=starts, transients=transients)
    ways: list[StopWayResult] = []
    explained: list[Explanation] = []
    for place, request in enumerate(asked.ways):
        share = place / len(asked.ways)
        tell(f"stopping: {way_of(request.key).title}", share)
        found = answer(about, request, partial(_share, tell, share))
        ways.append(found.result)
        explained += explain_stop(turned, found)
    result = StoppingResult(
        direction=asked.direction,
        running_speed=begin,
        ways=tuple(ways),
        recommendation=recommend(ways, asked.order),
        notes=_notes(study, turned, asked),
    )
    return result, tuple(explained)


def _share(tell: Progress, share: float, words: str) -> None:
    tell(words, share)


def _as_it_runs(study: Study, asked: StoppingStudy) -> Study:
    """The study with the one state of the load that is stopped, seen with the running direction as positive."""
    states = study.loads or (("", study.load),)
    if asked.direction == REVERSE:
        states = tuple((name, turned_about(load)) for name, load in states)
    chosen = {name: load for name, load in states if name == asked.load_case} if asked.load_case else dict(states)
    name = max(chosen, key=lambda key: _coasting(study, chosen[key]))
    return replace(study, load=chosen[name], loads=(), title=name)


def _coasting(study: Study, load: Load) -> float:
    """How long this load keeps turning without the motor; infinite when it drives. [s]"""
    drive = Drive(motor=study.motor, load=load, supply=study.supply.nominal)
    try:
        found = stop((off(drive),), drive, speed=running_speed(drive), relative=1e-7, max_time=_LONGEST)
    except InputError:
        return 0.0
    seconds = stop_time(found, study.motor.rating.synchronous_speed)
    return float("inf") if seconds is None or found.outcome is Outcome.RUNS_AWAY else seconds


def _notes(study: Study, turned: Study, asked: StoppingStudy) -> tuple[str, ...]:
    """What the comparison rests on."""
    found = [
        "At rest: 2 % of synchronous speed. Times and heat in the nominal and worst case, currents and peaks in the strong "
        "one; the cases are those of starting.",
    ]
    if study.loads:
        why = "as asked for" if asked.load_case else "the slowest to stop by itself"
        found.append(f"Load: {turned.title}, {why}.")
    if asked.direction == REVERSE:
        found.append(
            "Running in reverse; speeds and torques are counted in that direction. Gear friction is left as it is."
        )
    pull = turned.load.pull
    if pull:
        side = "drives the motor" if pull < 0 else "helps to stop it and would turn it back"
        found.append(f"The load pulls with {show(abs(pull), 'N m')}: it {side}, and a brake must hold it at rest.")
    found.append(
        "Braking by capacitors at the terminals is no way on offer: self-excitation depends on the saturation curve."
    )
    return tuple(found)

"""Every way of starting as computed for the lecture, and the power circuit of every way of starting and of speed control."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from slipwise.methods.speed import SPEED
from slipwise.methods.speed.flow_demand import FixedSpeed
from slipwise.methods.speed.way import SpeedTask, SpeedWay
from slipwise.methods.starting import STARTING
from slipwise.methods.starting.direct import Direct
from slipwise.methods.starting.soft_starter import SoftStarter
from slipwise.methods.way import StartingWay
from slipwise.model.load.load import Load
from slipwise.quantity.errors import InputError
from slipwise.quantity.show import display_unit, show, show_number
from slipwise.results.lecture import CircuitPicture, Motion
from slipwise.results.start import Curves, Outcome, RunUp
from slipwise.results.table import Column, Table
from slipwise.results.wiring import Wiring
from slipwise.solve.run_up import run_up
from slipwise.study.cases import NOMINAL, QUICK, Case, cases_of
from slipwise.study.model import Study
from slipwise.study.one_way import task_of
from slipwise.study.request import WayRequest
from slipwise.teach.lecture.speed import ring_task
from slipwise.teach.lecture.subject import Subject

OWN = "The study's own motor."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Started:
    """One way of starting in the nominal case, designed or as the study gives it.

    words: whose motor it is. curves: of every stage; run: by the equation of motion.
    """

    key: str
    title: str
    words: str
    wiring: Wiring
    curves: tuple[Curves, ...]
    run: RunUp

    @property
    def arrived(self) -> bool:
        """Whether it reached its running speed."""
        return self.run.outcome is Outcome.ARRIVED


def started(subject: Subject, tell: Callable[[str], None]) -> dict[str, Started]:
    """Each way of starting by key: of the study's own motor, or of a companion where that cannot have the way."""
    studies = [(study, words, cases_of(study)) for study, words in _studies(subject)]
    found = {}
    for way in STARTING:
        tell(f"starting: {way.title}")
        for study, words, cases in studies:
            try:
                found[way.key] = _start(way, study, cases, words)
                break
            except InputError:
                continue  # this motor cannot have it; the next companion may
    return found


def with_load(subject: Subject, load: Load) -> dict[str, Started]:
    """Soft and direct start of the motor with another load, designed for it."""
    study = replace(subject.study, load=load, loads=(), pulses=(), ways=())
    cases = cases_of(study)
    return {way.key: _start(way, study, cases, OWN) for way in (SoftStarter, Direct)}


def _start(way: type[StartingWay], study: Study, cases: Mapping[str, Case], words: str) -> Started:
    made = way.designed_for(task_of(study, cases), _request(study, way.key).given).way
    nominal = cases[NOMINAL]
    plan = made.stages(nominal.drive)
    return Started(
        key=way.key,
        title=way.title,
        words=words,
        wiring=made.wiring(),
        curves=tuple(nominal.curves(stage) for stage in plan),
        run=run_up(plan, nominal.drive, case=nominal.name, relative=QUICK),
    )


def _request(study: Study, key: str) -> WayRequest:
    """As the study asks for the way, or with everything designed."""
    return next((request for request in study.ways if request.key == key), WayRequest(key=key, given={}))


def _studies(subject: Subject) -> list[tuple[Study, str]]:
    """The study; its slip-ring companion; the same motor in the other connection."""
    study, rating = subject.study, subject.motor.rating
    other = "star" if rating.connection == "delta" else "delta"
    turned = replace(subject.motor, rating=replace(rating, connection=other))
    return [
        (study, OWN),
        (replace(study, motor=subject.rings, nameplate=None), subject.rings_words),
        (replace(study, motor=turned), f"Companion: the same motor as if its plate said {other}."),
    ]


def starting_circuits(found: Mapping[str, Started]) -> tuple[CircuitPicture, ...]:
    """The power circuit of every way of starting."""
    return tuple(
        CircuitPicture(key=f"starting_{key}", title=way.title, kind="starting", wiring=way.wiring, note=way.words)
        for key, way in found.items()
    )


def speed_circuits(subject: Subject) -> tuple[CircuitPicture, ...]:
    """The power circuit of every way of speed control."""
    return tuple(
        CircuitPicture(key=f"speed_{way.key}", title=way.title, kind="speed control", wiring=wiring, note=words)
        for way in SPEED
        for wiring, words in _wired(subject, way)
    )


def _wired(subject: Subject, way: type[SpeedWay]) -> Iterator[tuple[Wiring, str]]:
    if issubclass(way, FixedSpeed):
        yield FixedSpeed().wiring(), "The flow is set in the process; the motor stays on the line."
        return
    for task, words in _tasks(subject):
        try:
            yield way.designed_for(task, {}).way.wiring(), words
        except InputError:
            continue
        return


def _tasks(subject: Subject) -> list[tuple[SpeedTask, str]]:
    return [(subject.speed_task, OWN), (ring_task(subject), subject.rings_words)]


def starting_table(found: Mapping[str, Started]) -> Table:
    """What each way gives and takes at switch-on, and how long it runs up, nominal case."""
    ways = list(found.values())
    torque = display_unit([float(way.run.torque[0]) for way in ways], "N m")
    amps = display_unit([float(way.run.line_current.max()) for way in ways], "A")
    rows = tuple(
        (
            way.title,
            show_number(float(way.run.torque[0]), "N m", torque),
            show_number(float(way.run.line_current.max()), "A", amps),
            show(way.run.run_up_time, "s") if way.arrived else way.run.outcome.value,
            show(float(way.run.rotor_heat), "J"),
        )
        for way in ways
    )
    columns = (
        Column(title="Way"),
        Column(title="Torque at switch-on", unit=torque, numeric=True),
        Column(title="Greatest line current", unit=amps, numeric=True),
        Column(title="Run-up", numeric=True),
        Column(title="Heat in the rotor", numeric=True),
    )
    companions = [way.title for way in ways if way.words != OWN]
    note = "Nominal case, settings as designed or given."
    if companions:
        note += f" With a companion motor, as its circuit says: {', '.join(companions)}."
    return Table(title="The ways of starting beside one another", columns=columns, rows=rows, note=note)


def motions(subject: Subject, found: Mapping[str, Started]) -> tuple[Motion, ...]:
    """Every start that moves."""
    return tuple(
        Motion(
            key=f"run_up_{key}",
            title=f"{way.title}: the point runs along the curve",
            caption=f"{subject.study.title}. {way.words}",
            run=way.run,
            speeds=way.curves[0].speed,
            torques=tuple(curve.torque for curve in way.curves),
            stages=tuple(curve.stage for curve in way.curves),
            load=way.curves[0].load,
            synchronous=subject.sync,
        )
        for key, way in found.items()
        if float(way.run.speed.max()) > 0.02 * subject.sync
    )

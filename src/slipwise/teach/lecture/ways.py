"""Every way of starting as computed for the lecture, and the power circuit of every way of starting and of speed control."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from slipwise.methods.speed import SPEED
from slipwise.methods.speed.flow_demand import FixedSpeed
from slipwise.methods.speed.way import SpeedTask, SpeedWay
from slipwise.methods.starting import STARTING
from slipwise.model.load.load import Load
from slipwise.quantity.errors import InputError
from slipwise.quantity.show import display_unit, show, show_number
from slipwise.results.lecture import CircuitPicture, Motion
from slipwise.results.study import WayResult
from slipwise.results.table import Column, Table
from slipwise.results.wiring import Wiring
from slipwise.study.cases import cases_of
from slipwise.study.model import Study, WayRequest
from slipwise.study.one_way import answer
from slipwise.teach.lecture.speed import ring_task
from slipwise.teach.lecture.subject import Subject

OWN = "The study's own motor."


def started(subject: Subject, tell: Callable[[str], None]) -> dict[str, tuple[WayResult, str]]:
    """Each way of starting by key, with whose motor it is: the study's own, or a companion where it cannot have the way."""
    studies = _studies(subject)
    cases = [cases_of(study) for study, _ in studies]
    found = {}
    for way in STARTING:
        tell(f"starting: {way.title}")
        for (study, words), case in zip(studies, cases, strict=True):
            result = answer(study, case, _request(study, way.key), False).result
            if result.wiring.devices:
                found[way.key] = (result, words)
                break
    return found


def with_load(subject: Subject, load: Load) -> dict[str, WayResult]:
    """Soft and direct start of the motor with another load, designed for it."""
    study = replace(subject.study, load=load, loads=(), pulses=())
    cases = cases_of(study)
    keys = ("soft_starter", "direct")
    return {key: answer(study, cases, WayRequest(key=key, given={}), False).result for key in keys}


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


def starting_circuits(found: dict[str, tuple[WayResult, str]]) -> tuple[CircuitPicture, ...]:
    """The power circuit of every way of starting."""
    return tuple(
        CircuitPicture(key=f"starting_{key}", title=way.title, kind="starting", wiring=way.wiring, note=words)
        for key, (way, words) in found.items()
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


def starting_table(found: dict[str, tuple[WayResult, str]]) -> Table:
    """What each way gives and takes at switch-on, and how long it runs up, nominal case."""
    ways = [way for way, _ in found.values() if way.curves and way.run_ups]
    torque = display_unit([float(way.curves[0].torque[0]) for way in ways], "N m")
    amps = display_unit([float(way.run_ups[0].line_current.max()) for way in ways], "A")
    rows = tuple(
        (
            way.title,
            show_number(float(way.run_ups[0].torque[0]), "N m", torque),
            show_number(float(way.run_ups[0].line_current.max()), "A", amps),
            show(way.run_ups[0].run_up_time, "s") if way.run_ups[0].run_up_time is not None else _ended(way),
            show(float(way.run_ups[0].rotor_heat), "J"),
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
    note = "Nominal case, settings as designed or given. A slip-ring way may stand for a companion motor, as its circuit says."
    return Table(title="The ways of starting beside one another", columns=columns, rows=rows, note=note)


def _ended(way: WayResult) -> str:
    return f"{way.run_ups[0].outcome.value}"


def motions(subject: Subject, found: dict[str, tuple[WayResult, str]]) -> tuple[Motion, ...]:
    """Every start that moves, the recommended order kept."""
    return tuple(
        Motion(
            key=f"run_up_{key}",
            title=f"{way.title}: the point runs along the curve",
            caption=f"{subject.study.title}. {words}",
            run=way.run_ups[0],
            speeds=way.curves[0].speed,
            torques=tuple(curve.torque for curve in way.curves),
            stages=tuple(curve.stage for curve in way.curves),
            load=way.curves[0].load,
            synchronous=subject.sync,
        )
        for key, (way, words) in found.items()
        if way.curves and way.run_ups and float(way.run_ups[0].speed.max()) > 0.02 * subject.sync
    )

"""One way of speed control from request to judgement: designed, computed at every demand, priced, judged."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from slipwise.limits import speed as asked
from slipwise.limits.harmonics import Coupling, coupling, harmonic_rows
from slipwise.methods.speed import SPEED
from slipwise.methods.speed.way import ChangesSpeed, SlowsBySlip, SpeedTask, SpeedWay
from slipwise.methods.starting import STARTING
from slipwise.methods.way import Designed
from slipwise.quantity.errors import InputError
from slipwise.results.changeover import Changeover
from slipwise.results.criteria import Criterion, Status
from slipwise.results.harmonic_limits import HarmonicLimits
from slipwise.results.slip_heat import SlipHeat
from slipwise.results.speed import DutyPoint, OperatingPoint, SpeedWayResult
from slipwise.results.study import WayResult
from slipwise.results.wiring import Wiring
from slipwise.solve.plan import Drive
from slipwise.study.model import Study
from slipwise.study.request import WayRequest, way_named
from slipwise.study.speed.model import SpeedStudy
from slipwise.study.speed.year import Spread, energy, spread, year
from slipwise.study.verdict import impossible, verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What every way of one study is computed for. variants: tasks with an assumed value at the ends of its range."""

    study: Study
    speed: SpeedStudy
    task: SpeedTask
    variants: tuple[tuple[SpeedTask, SpeedTask], ...]
    starting: tuple[WayResult, ...]


def way_of(key: str) -> type[SpeedWay]:
    """The way of speed control of that name.

    Raises:
        InputError: there is none.
    """
    return way_named("speed", key, SPEED, "way of speed control")


def asked_of(study: Study, speed: SpeedStudy, starting: tuple[WayResult, ...]) -> Asked:
    """The task, and the tasks at the ends of what was assumed."""
    plain = SpeedTask(
        drive=Drive(motor=study.motor, load=study.load, supply=study.supply.nominal),
        duty=speed.duty,
        site=speed.site,
        overload=speed.overload,
        process=speed.process,
    )
    task = _driving(plain)
    ends = [tuple(_driving(replace(plain, process=v.process, duty=v.duty)) for v in pair) for pair in speed.variants]
    return Asked(
        study=study,
        speed=speed,
        task=task,
        variants=tuple((low, high) for low, high in ends),
        starting=starting,
    )


def _driving(task: SpeedTask) -> SpeedTask:
    """The task with the load of its process, inertia and breakaway kept as the study has them."""
    if task.process is None:
        return task
    stated = task.drive.load
    load = replace(
        task.process.load(),
        inertia=stated.inertia,
        breakaway=stated.breakaway,
        breakaway_speed=stated.breakaway_speed,
    )
    return replace(task, drive=replace(task.drive, load=load))


def answer(about: Asked, request: WayRequest, note: Callable[[str], None] | None = None) -> SpeedWayResult:
    """Designs what was not given, computes every demand, and judges; `note` is told which.

    A way that this motor or duty cannot have does not apply, with its reason.
    """
    way, tell = way_of(request.key), note or (lambda _words: None)
    try:
        designed = way.designed_for(about.task, request.given)
        points = tuple(_point(designed.way, about.task, duty, tell) for duty in about.task.duty)
    except InputError as error:
        return _cannot_be(way, about, error)
    found = spread(points, about.task.drive.motor.rating, _ends(about, designed.way, tell))
    rows = criteria(about, designed.way, points)
    return _result(about, designed, points, found, rows)


def _point(way: SpeedWay, task: SpeedTask, duty: DutyPoint, tell: Callable[[str], None]) -> OperatingPoint:
    tell(f"{way.title}: {duty.name}")
    return way.point(task, duty)


def _ends(about: Asked, way: SpeedWay, tell: Callable[[str], None]) -> list[tuple[float, float]]:
    """Energy of the year with each assumed value at the ends of its range; a way that cannot be there keeps quiet."""
    found = []
    for pair in about.variants:
        energies = [energy([_point(way, task, duty, tell) for duty in task.duty]) for task in pair]
        found.append((energies[0], energies[1]))
    return found


def criteria(about: Asked, way: SpeedWay, points: Sequence[OperatingPoint]) -> tuple[Criterion, ...]:
    """Every row for one way, in the order in which they are shown."""
    limits = about.study.limits
    rows: list[Criterion | None] = [
        asked.reached(points),
        *asked.conditions(points),
        asked.stable(points),
        asked.winding_heat(points),
        asked.line_current(points, limits.line_current.value),
        asked.power_factor(points, about.speed.power_factor),
        *harmonic_rows(points, _coupling(about, points)),
        asked.started(starts(about, way)),
    ]
    return tuple(row for row in rows if row is not None)


def _coupling(about: Asked, points: Sequence[OperatingPoint]) -> Coupling | None:
    """The point of common coupling as this way loads it; None when it reaches no demand."""
    most = max((point.line_current for point in points if point.feasible), default=None)
    return None if most is None else coupling(about.task.drive.supply, about.speed.coupling_point, most)


def _harmonic_limits(about: Asked, points: Sequence[OperatingPoint]) -> HarmonicLimits | None:
    """What that point may carry, where the way draws harmonics."""
    place = _coupling(about, points) if any(point.harmonics for point in points) else None
    return None if place is None else place.limits()


def starts(about: Asked, way: SpeedWay) -> Mapping[str, Status]:
    """How the ways of starting that suit this way stand in the same study, by title."""
    suitable = way.started_by(about.task)
    return {row.title: row.verdict.status for row in about.starting if row.key in suitable}


def _result(
    about: Asked,
    designed: Designed[Any],
    points: tuple[OperatingPoint, ...],
    found: Spread,
    rows: tuple[Criterion, ...],
) -> SpeedWayResult:
    way, task = designed.way, about.task
    return SpeedWayResult(
        key=way.key,
        title=way.title,
        settings=designed.settings,
        designed=designed.words,
        points=points,
        families=way.families(task),
        envelope=way.envelope(task),
        year=year(points, found, about.speed.tariff, way.key),
        verdict=verdict(rows),
        started_by=way.started_by(task),
        ratings=way.ratings(task),
        wiring=way.wiring(),
        notes=_notes(about, way, points),
        heat=_heat(way, task),
        changeovers=_changeovers(way, task),
        harmonic_limits=_harmonic_limits(about, points),
    )


def _heat(way: SpeedWay, task: SpeedTask) -> SlipHeat | None:
    """Heat along the load, of a way that slows the motor by its slip and carries the load at all."""
    if not isinstance(way, SlowsBySlip):
        return None
    try:
        return way.heating(task)
    except InputError:
        return None  # the points say that the load is not carried


def _changeovers(way: SpeedWay, task: SpeedTask) -> tuple[Changeover, ...]:
    """The changes between fixed speeds, of a way that has them and carries the load before."""
    if not isinstance(way, ChangesSpeed):
        return ()
    try:
        return way.changeovers(task)
    except InputError:
        return ()  # the points say that the load is not carried


def _notes(about: Asked, way: SpeedWay, points: Sequence[OperatingPoint]) -> tuple[str, ...]:
    """What the points say, each once, and how the motor is started."""
    said = dict.fromkeys(note for point in points for note in point.notes)
    standing = starts(about, way)
    judged = "; ".join(f"{title} {status.value}" for title, status in standing.items())
    titles = [start.title for start in STARTING if start.key in way.started_by(about.task)]
    start = f"Started by {', '.join(titles) or 'nothing but itself'}"
    return (*said, f"{start}: in this study {judged}." if judged else f"{start}; not judged in this study.")


def _cannot_be(way: type[SpeedWay], about: Asked, error: InputError) -> SpeedWayResult:
    nothing = Spread(value=0.0, low=0.0, high=0.0)
    idle = year((), nothing, None, way.key)
    hours = sum(duty.hours for duty in about.task.duty)
    return SpeedWayResult(
        key=way.key,
        title=way.title,
        settings=(),
        designed="",
        points=(),
        families=(),
        envelope=None,
        year=replace(idle, hours_infeasible=hours),
        verdict=impossible(error, f"speed.{way.key}"),
        started_by=(),
        ratings=(),
        wiring=Wiring(devices=(), stages=(), closed=()),
    )

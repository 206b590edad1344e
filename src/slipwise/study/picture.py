"""The steady picture of all ways of a study, quick enough to follow a hand: settings held from before, or designed anew."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any

import numpy as np

from slipwise.methods.settings import checked
from slipwise.methods.survey import needed
from slipwise.methods.way import Designed, StartingWay, Task, dials
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from slipwise.results.picture import BusbarDip, Picture, PicturePoint, PointKind, WayPicture
from slipwise.results.series import Array
from slipwise.results.setting import Setting
from slipwise.results.start import Curves
from slipwise.solve import network
from slipwise.solve.plan import Drive, Ends, Plan, Stage
from slipwise.solve.steady import characteristics
from slipwise.study.cases import cases_of, nominal_of
from slipwise.study.load_cases import each_load, heaviest
from slipwise.study.model import Study
from slipwise.study.one_way import task_of, way_of
from slipwise.study.request import WayRequest

Held = Mapping[str, Mapping[str, float | str]]
DENSER = 1.6  # exponent by which the speeds crowd towards synchronous, where the curves are steep
HELD = "held while a value is changed"


def picture(study: Study, *, held: Held | None = None, points: int = 121) -> Picture:
    """Curves, points and dips of every way the study asks for, nominal case, the load in its heaviest state.

    Args:
        study: as the reader builds it.
        held: settings by way and key, in SI, that stand in place of a design; what the study gives goes before them.
        points: speeds on each curve, from rest to synchronous.

    Raises:
        InputError: a held setting that its way does not know or that is outside its range.
    """
    state = each_load(study)[heaviest(study)]
    maker = _Maker(state)
    speed = towards(maker.drive.motor.rating.synchronous_speed, points)
    known = _Known(maker.drive, speed)
    loads = tuple((name, found.load.torque(speed)) for name, found in each_load(study).items())
    plans = [_planned(request, maker, (held or {}).get(request.key, {})) for request in study.ways]
    known.learn(found[1] for found in plans if not isinstance(found, str))
    ways = tuple(_way(request, found, known) for request, found in zip(study.ways, plans, strict=True))
    return Picture(speed=speed, loads=loads, ways=ways)


def designed(study: Study, key: str, held: Held | None = None) -> StartingWay:
    """One way of the study with its settings, as `picture` has it.

    Raises:
        InputError: the study does not ask for that way, its motor cannot have it, or a setting cannot stand.
    """
    request = next((request for request in study.ways if request.key == key), None)
    if request is None:
        known = ", ".join(request.key for request in study.ways)
        raise InputError.of("way", key, "this study has no such way of starting", f"take one of {known or 'none'}")
    maker = _Maker(each_load(study)[heaviest(study)])
    found: StartingWay = maker.made(way_of(key), request.given, (held or {}).get(key, {})).way
    return found


def towards(synchronous: float, points: int) -> Array:
    """Speeds from rest to `synchronous`, crowded towards it; shape (points,). [rad/s]"""
    speed: Array = synchronous * (1 - (1 - np.linspace(0.0, 1.0, points)) ** DENSER)
    return speed


class _Maker:
    """Gives ways their settings: held ones where they are whole, else designed; what a design needs is made when one is."""

    def __init__(self, study: Study) -> None:
        self.study, self.drive = study, nominal_of(study).drive

    @cached_property
    def task(self) -> Task:
        """What a design is made for."""
        return task_of(self.study, cases_of(self.study))

    def made(
        self, way: type[StartingWay], given: Mapping[str, float | str], held: Mapping[str, float | str]
    ) -> Designed[Any]:
        """As held where everything is, else designed around what is given."""
        settings = {**held, **given}
        if set(settings) != set(dials(way)) or (settings and not held):
            return way.designed_for(self.task, given)
        checked(way, settings)
        rows = tuple(_row(name, settings[name], name in given, way) for name in dials(way))
        return Designed(way=way(**settings), settings=rows, words="")


class _Course:
    """One characteristic with what is read off it; ways that share it share that too."""

    def __init__(self, curve: Curves, asked: Array) -> None:
        self.curve, self.asked = curve, asked
        self._read: dict[float, tuple[float, float]] = {}

    @cached_property
    def balances(self) -> list[float]:
        """Speeds at which motor torque falls to the load's, ascending; straight lines between the points. [rad/s]"""
        net, speed = self.curve.torque - self.asked, self.curve.speed
        places = np.flatnonzero((net[:-1] > 0) & (net[1:] <= 0))
        share = net[places] / (net[places] - net[places + 1])
        speeds: list[float] = (speed[places] + share * (speed[places + 1] - speed[places])).tolist()
        return speeds

    @cached_property
    def breakdown(self) -> float | None:
        """Speed of the greatest torque; None when that is at an end of the curve. [rad/s]"""
        top = int(np.argmax(self.curve.torque))
        return float(self.curve.speed[top]) if 0 < top < self.curve.speed.size - 1 else None

    @cached_property
    def running_from(self) -> float:
        """Lowest speed that counts as running: that of the last torque peak, as in `solve.run_up.running_from`. [rad/s]"""
        rising = np.flatnonzero(np.diff(self.curve.torque) >= 0)
        return float(self.curve.speed[rising[-1] + 1]) if rising.size else 0.0

    def at(self, speed: float) -> tuple[float, float]:
        """Torque [N m] and line current [A] at a speed [rad/s]."""
        if speed not in self._read:
            found = (np.interp(speed, self.curve.speed, y) for y in (self.curve.torque, self.curve.line_current))
            torque, current = map(float, found)
            self._read[speed] = torque, current
        return self._read[speed]


class _Known:
    """The drive and the characteristics already computed: stages that feed the motor alike share one."""

    def __init__(self, drive: Drive, speed: Array) -> None:
        self.drive, self.speed = drive, speed
        self.found: dict[tuple[Any, ...], _Course] = {}
        self.asked = needed(drive, speed)
        self.before = np.array(network.per_unit(drive.supply, network.prestart(drive.supply)))

    def learn(self, plans: Iterable[Plan]) -> None:
        """Computes what the stages of all plans need, in as few sweeps as can be."""
        stages = {_fed(stage): stage for plan in plans for stage in plan}
        curves = characteristics(tuple(stages.values()), self.drive, self.speed)
        self.found.update((fed, _Course(curve, self.asked)) for fed, curve in zip(stages, curves, strict=True))

    def courses(self, plan: Plan) -> tuple[_Course, ...]:
        """Of the stages of a plan learnt."""
        return tuple(self.found[_fed(stage)] for stage in plan)


def _fed(stage: Stage) -> tuple[Any, ...]:
    """What tells the characteristics of two stages apart; a voltage or frequency law is taken at its end."""
    end = 0.0 if stage.voltage is None else stage.voltage.x[-1]
    volts = None if stage.voltage is None else stage.voltage.y[-1]
    hertz = None if stage.frequency is None else float(stage.frequency.at(end))
    laws = (volts, stage.voltage_cap, hertz)
    impedances = (stage.ratio, stage.series, stage.line_series, stage.shunt, stage.rotor_external)
    return (*laws, *impedances, stage.connected, stage.reversed, stage.dc, id(stage.motor))


def _planned(request: WayRequest, maker: _Maker, held: Mapping[str, float | str]) -> tuple[Designed[Any], Plan] | str:
    """One way with its settings and its plan; or why this motor cannot have it, or its settings cannot stand."""
    try:
        found = maker.made(way_of(request.key), request.given, held)
        return found, found.way.stages(maker.drive)
    except InputError as error:
        return "; ".join(fault.reason for fault in error.faults)


def _way(request: WayRequest, planned: tuple[Designed[Any], Plan] | str, known: _Known) -> WayPicture:
    way = way_of(request.key)
    if isinstance(planned, str):
        return WayPicture(key=way.key, title=way.title, reason=planned)
    made, plan = planned
    courses = known.courses(plan)
    used = _used(plan, courses)
    return WayPicture(
        key=way.key,
        title=way.title,
        settings=made.settings,
        held={row.key: row.text if row.value is None else row.value for row in made.settings},
        curves=tuple(replace(course.curve, stage=stage.name) for course, stage in zip(courses, plan, strict=True)),
        contacts=tuple(stage.contacts for stage in plan),
        used=used,
        points=_points(plan, courses, used),
        dips=_dips(plan, courses, used, known),
        wiring=made.way.wiring(),
    )


def _row(name: str, value: float | str, given: bool, way: type[StartingWay]) -> Setting:
    dial = dials(way)[name]
    words = isinstance(value, str)
    return Setting(
        key=name,
        title=dial.title,
        value=None if words else float(value),
        unit=dial.unit,
        origin=(Origin.GIVEN if given else Origin.DERIVED).value,
        why="given by user" if given else HELD,
        text=str(value) if words else "",
    )


def _used(plan: Plan, courses: Sequence[_Course]) -> tuple[tuple[float, float], ...]:
    """Speeds over which each stage is in use if nothing holds the motor up on the way. [rad/s]"""
    found, begin = [], 0.0
    for stage, course in zip(plan, courses, strict=True):
        end = begin
        if stage.until.ends is Ends.SPEED:
            end = stage.until.value
        elif stage.until.ends is Ends.CURRENT:
            above = np.flatnonzero(course.curve.line_current > stage.until.value)
            end = float(course.curve.speed[above[-1]]) if above.size else begin
        elif stage.until.ends is Ends.SETTLED or stage.controlled:
            end = next(reversed(course.balances), begin)
        found.append((begin, max(begin, end)))
        begin = max(begin, end)
    return tuple(found)


def _points(plan: Plan, courses: Sequence[_Course], used: Sequence[tuple[float, float]]) -> tuple[PicturePoint, ...]:
    """Standstill, changeovers, balances on the way up, breakdown and running point."""

    def point(kind: PointKind, place: int, speed: float) -> PicturePoint:
        torque, current = courses[place].at(speed)
        return PicturePoint(kind=kind, stage=place, speed=speed, torque=torque, current=current)

    last = len(courses) - 1
    fed = [place for place, stage in enumerate(plan) if stage.connected]
    ramped = [place for place in fed if plan[place].frequency is not None and place != last]
    fed = [place for place in fed if place not in ramped]  # the curve of a ramp's end says nothing of the way there
    found = [] if ramped else [point(PointKind.STANDSTILL, fed[0], 0.0)]
    for place in fed:
        begin, end = used[place]
        if place != last and end > begin:
            found.append(point(PointKind.CHANGEOVER, place, end))
        balances = [speed for speed in courses[place].balances if speed >= begin]
        if place == last and balances and balances[-1] >= courses[place].running_from:
            found.append(point(PointKind.OPERATING, place, balances.pop()))
        found += [
            point(PointKind.CRAWL, place, speed) for speed in balances if place == last or speed < end * (1 - 1e-9)
        ]
    top = courses[last].breakdown
    if top is not None:
        found.append(point(PointKind.BREAKDOWN, last, top))
    return tuple(found)


def _dips(
    plan: Plan, courses: Sequence[_Course], used: Sequence[tuple[float, float]], known: _Known
) -> tuple[BusbarDip, ...]:
    """The greatest dip of each busbar; none for a way whose voltage or frequency follows the clock."""
    if any(stage.frequency is not None or (stage.voltage is not None and stage.voltage.x[-1] > 0) for stage in plan):
        return ()
    lowest = known.before
    for stage, course, (begin, end) in zip(plan, courses, used, strict=True):
        speed = course.curve.speed
        inside = slice(speed.searchsorted(begin), speed.searchsorted(end, "right"))
        if stage.connected and inside.stop > inside.start:
            lowest = np.minimum(lowest, course.curve.busbar_voltage[:, inside].min(axis=1))
    busbars = known.drive.supply.busbars
    return tuple(
        BusbarDip(busbar=bus.name, dip=float((before - least) / before), limit=bus.dip_limit)
        for bus, before, least in zip(busbars, known.before, lowest, strict=True)
    )

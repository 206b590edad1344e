"""The largest inertia and load, the weakest supply and the lowest voltage that a way of starting still passes with.

Settings stay as designed; each quantity moves alone; the run-up judges, without the electrical transient.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import sqrt

from slipwise.methods.way import StartingWay
from slipwise.model.load.load import Load
from slipwise.model.supply.path import SupplyCases, SupplyPath
from slipwise.quantity.errors import InputError
from slipwise.results.boundary import Boundary, Edge
from slipwise.results.criteria import Criterion, Status, Verdict
from slipwise.solve import network
from slipwise.study.cases import STRONG, cases_of
from slipwise.study.judging import Evidence, criteria
from slipwise.study.load_cases import changed, each_load, named, worst
from slipwise.study.model import Study
from slipwise.study.verdict import against, impossible, verdict

FAR = 20.0  # a quantity is not moved further than this many times
RESOLUTION = 1.005  # the edge is found to half a per cent


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """A quantity that may be moved. at: the study with it at `factor` times its stated value, 1 being as stated.

    far: the factor beyond which it is not moved; below 1 for a quantity whose edge lies downwards.
    """

    key: str
    title: str
    unit: str
    stated: float
    far: float
    at: Callable[[float], Study]


def boundary(study: Study, way: StartingWay, note: Callable[[str], None] | None = None) -> Boundary:
    """The edges of `way`, with its settings as they are; `note` is told what is tried."""
    tell = note or (lambda _words: None)
    edges = tuple(_edge(way, _told(d, tell)) for d in directions(study))
    return Boundary(way=way.key, title=way.title, edges=edges)


def _told(direction: Direction, note: Callable[[str], None]) -> Direction:
    """The same, saying each time that it is moved."""

    def at(factor: float) -> Study:
        note(f"how far they carry: {direction.title[0].lower()}{direction.title[1:]}")
        return direction.at(factor)

    return replace(direction, at=at)


def directions(study: Study) -> tuple[Direction, ...]:
    """What can be moved in this study; a quantity that is zero or ideal is left out."""
    return tuple(d for d in (_inertia(study), _load(study), _fault_level(study), _voltage(study)) if d is not None)


def judged(study: Study, way: StartingWay) -> Verdict:
    """The verdict of `way` on quick run-ups alone, overload relays left out; one that cannot be computed fails."""
    try:
        rows = {name: _rows(one, way) for name, one in each_load(study).items()}
    except InputError as error:
        return impossible(error, "")
    return verdict(named(worst(rows)))


def _rows(study: Study, way: StartingWay) -> tuple[Criterion, ...]:
    """Every criterion with the load in one state."""
    cases = {name: case for name, case in cases_of(study).items() if name != STRONG}
    plans = {name: way.stages(case.drive) for name, case in cases.items()}
    run_ups = {name: case.run_up(plans[name], quick=True) for name, case in cases.items()}
    return criteria(Evidence(study=study, cases=cases, plans=plans, run_ups=run_ups, bands={}), relays=False)


def _edge(way: StartingWay, direction: Direction) -> Edge:
    """Stretches from the stated value until the way fails, then halves the ratio."""
    found = Edge(
        key=direction.key,
        title=direction.title,
        unit=direction.unit,
        stated=direction.stated,
        edge=None,
        open=False,
        binding="",
    )
    first = judged(direction.at(1.0), way)
    if first.status is Status.FAILS:
        return replace(found, binding=_words(first))
    good, bad, beyond = _bracket(way, direction)
    if beyond is None:
        return replace(found, edge=direction.stated * good, open=True)
    while max(good, bad) / min(good, bad) > RESOLUTION:
        middle = sqrt(good * bad)
        verdict_there = judged(direction.at(middle), way)
        if verdict_there.status is Status.FAILS:
            bad, beyond = middle, verdict_there
        else:
            good = middle
    return replace(found, edge=direction.stated * good, binding=_words(beyond))


def _bracket(way: StartingWay, direction: Direction) -> tuple[float, float, Verdict | None]:
    """Last factor that passed, first that failed, and its verdict; None when none failed up to `far`."""
    step = 1.5 if direction.far > 1 else 1 / 1.1
    good = 1.0
    while (good < direction.far) if step > 1 else (good > direction.far):
        next_ = min(good * step, direction.far) if step > 1 else max(good * step, direction.far)
        there = judged(direction.at(next_), way)
        if there.status is Status.FAILS:
            return good, next_, there
        good = next_
    return good, good, None


def _words(found: Verdict) -> str:
    return found.reason if found.binding is None else against(found.binding)


def _inertia(study: Study) -> Direction | None:
    stated = max(one.load.inertia for one in each_load(study).values())
    if stated <= 0:
        return None
    return Direction(
        key="inertia",
        title="Largest inertia of the load",
        unit="kg m2",
        stated=stated,
        far=FAR,
        at=lambda k: changed(study, lambda load: replace(load, inertia=load.inertia * k)),
    )


def _load(study: Study) -> Direction | None:
    loads = [one.load for one in each_load(study).values()]
    speed = study.motor.rating.speed
    running, holding = max(float(load.running(speed)) for load in loads), max(load.holding for load in loads)
    stated = max(running, holding)
    if stated <= 0:
        return None

    def heavier(load: Load, k: float) -> Load:
        terms = tuple(replace(term, coefficient=term.coefficient * k) for term in load.terms)
        curve = tuple(torque * k for torque in load.curve_torque)
        return replace(load, terms=terms, curve_torque=curve, breakaway=load.breakaway * k)

    title = "Largest load torque at rated speed" if stated > holding else "Largest breakaway torque"
    return Direction(
        key="load",
        title=title,
        unit="N m",
        stated=stated,
        far=FAR,
        at=lambda k: changed(study, lambda load: heavier(load, k)),
    )


def _fault_level(study: Study) -> Direction | None:
    first = study.supply.nominal.links[0]
    if first.impedance == 0:
        return None
    if first.engine_power is not None:
        return _generator(study)
    volts = first.busbar.nominal * first.busbar.referral
    return Direction(
        key="fault_level",
        title=f"Lowest fault level at {first.busbar.name}",
        unit="VA",
        stated=volts**2 / abs(first.impedance),
        far=1 / FAR,
        at=lambda k: replace(study, supply=_each(study.supply, lambda path: _weaker(path, k))),
    )


def _generator(study: Study) -> Direction:
    """A smaller set of the same reactances per unit, its engine smaller with it."""
    return Direction(
        key="fault_level",
        title="Smallest generating set, of the stated one",
        unit="pu",
        stated=1.0,
        far=1 / FAR,
        at=lambda k: replace(study, supply=_each(study.supply, lambda path: _smaller_set(path, k))),
    )


def _smaller_set(path: SupplyPath, factor: float) -> SupplyPath:
    """The path with a set of `factor` times the rating, its regulator holding the same voltage before the start."""
    first = path.links[0]
    level = float(network.per_unit(path, network.prestart(path))[0])
    engine = None if first.engine_power is None else first.engine_power * factor
    small = replace(first, impedance=first.impedance / factor, engine_power=engine)
    return network.held_at(replace(path, links=(small, *path.links[1:])), level)


def _voltage(study: Study) -> Direction:
    return Direction(
        key="voltage",
        title="Lowest source voltage, of the stated one",
        unit="pu",
        stated=1.0,
        far=0.5,
        at=lambda k: replace(study, supply=_each(study.supply, lambda path: replace(path, voltage=path.voltage * k))),
    )


def _weaker(path: SupplyPath, factor: float) -> SupplyPath:
    """The same path with `factor` times the fault level at its first busbar."""
    first = replace(path.links[0], impedance=path.links[0].impedance / factor)
    return replace(path, links=(first, *path.links[1:]))


def _each(supply: SupplyCases, change: Callable[[SupplyPath], SupplyPath]) -> SupplyCases:
    return SupplyCases(nominal=change(supply.nominal), weak=change(supply.weak), strong=change(supply.strong))

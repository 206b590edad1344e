"""The contract every way of stopping keeps: it designs itself, survives the file and back, runs, is documented and drawn."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import product
from math import isfinite
from typing import Any

import pytest

from slipwise.methods.stopping import STOPPING
from slipwise.methods.stopping.way import Absorbs, CanFail, StopTask, Uneven
from slipwise.methods.way import Designed, dials
from slipwise.present.diagrams import diagram
from slipwise.present.diagrams.symbol_table import SYMBOLS
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from slipwise.results.start import Outcome
from slipwise.results.study import Setting
from slipwise.solve.plan import Drive
from slipwise.solve.stop import REST, RUNNING, running_speed, stop
from slipwise.solve.transient import stop_band
from tests.behaviour.ways_drives import DRIVES, open_limits, refuses_bad_settings, worse

WOUND_FOR_TWO = {"arrangement": "variable torque"}


def task(drive: Drive, **limits: float) -> StopTask:
    """A task on a drive that must stop in two seconds, its worst case beside it."""
    return StopTask(nominal=drive, worst=worse(drive), limits=open_limits(**limits), stop_time=2.0)


def given_for(way: type[Any]) -> dict[str, Any]:
    """What a way cannot assume: that the motor has two pole numbers."""
    return WOUND_FOR_TWO if way.key == "more_poles" else {}


@cache
def designed(way: type[Any], name: str) -> Designed[Any]:
    """The way designed for one of the drives."""
    return way.designed_for(task(DRIVES[name]()), given_for(way))


def plain(settings: tuple[Setting, ...]) -> dict[str, float | str]:
    """Settings as they stand in a study file, in SI."""
    return {s.key: s.text if s.value is None else s.value for s in settings}


def designs_every_setting(way: type[Any], name: str) -> None:
    """Every dial is set within its range, each with an origin and a reason."""
    found, offered = designed(way, name), dials(way)
    assert [s.key for s in found.settings] == list(offered)
    for setting in found.settings:
        dial = offered[setting.key]
        assert setting.origin in {o.value for o in Origin}
        assert setting.why
        if dial.choices:
            assert setting.text in dial.choices
        else:
            assert setting.value is not None
            assert isfinite(setting.value)
            assert dial.low is None or setting.value >= dial.low
            assert dial.high is None or setting.value <= dial.high
    assert not offered or found.words


def settings_survive_the_round_trip(way: type[Any], name: str) -> None:
    """Given back, the designed settings make the same way, now all of them given."""
    found = designed(way, name)
    again = way.designed_for(task(DRIVES[name]()), plain(found.settings))
    assert again.way == found.way
    assert {s.origin for s in again.settings} <= {Origin.GIVEN.value}


def stops_and_its_energy_closes(way: type[Any], name: str) -> None:
    """The stop ends all but at rest through all its stages in order, and its ledger closes."""
    drive, made = DRIVES[name](), designed(way, name).way
    plan = made.stages(drive)
    run = stop(plan, drive, speed=running_speed(drive, made.running(drive) or RUNNING))
    assert run.outcome is Outcome.STOPPED
    assert abs(run.final_speed) <= 1.001 * REST * drive.motor.rating.synchronous_speed
    assert [m.name for m in run.stages] == [s.name for s in plan]
    assert abs(run.energy.closure) < 1e-8
    for part in made.parts(drive, run):
        assert part.why
        assert part.value is not None
        assert isfinite(part.value)


def wiring_is_whole_and_drawn(way: type[Any], name: str) -> None:
    """Contacts are devices, stages are those of the plan behind the running one, and every stage can be drawn."""
    made = designed(way, name).way
    wiring, plan = made.wiring(), made.stages(DRIVES[name]())
    labels = [d.label for d in wiring.devices]
    assert len(set(labels)) == len(labels)
    assert {d.kind for d in wiring.devices} <= set(SYMBOLS)
    assert {d.after for d in wiring.devices} <= {"", *labels}
    assert wiring.stages == ("running", *(s.name for s in plan))
    assert wiring.closed[1:] == tuple(s.contacts for s in plan)
    assert wiring.closed[0]
    assert wiring.closed[-1] == ()
    assert {c for closed in wiring.closed for c in closed} <= set(labels)
    assert all(diagram(wiring, stage).startswith(b"<svg") for stage in wiring.stages)


def electrical_transient_closes_and_brakes(way: type[Any], name: str) -> None:
    """The transient goes through the same stages from the running speed, and its books close."""
    drive, made = DRIVES[name](), designed(way, name).way
    plan = made.stages(drive)
    if not any(stage.connected for stage in plan):
        return
    running = made.running(drive)
    begin = running_speed(drive, running or RUNNING)
    full = stop_band(plan, drive, running=running, speed=begin, angles=1).worst
    assert [m.name for m in full.stages] == [s.name for s in plan]
    assert full.stages[0].begin == pytest.approx(0.0, abs=1e-12)
    assert full.speed[0] == pytest.approx(begin, rel=2e-3)
    assert abs(full.energy.closure) < 1e-6
    assert full.final_speed < 0.95 * begin


CHECKS: tuple[Callable[[type[Any], str], None], ...] = (
    designs_every_setting,
    settings_survive_the_round_trip,
    stops_and_its_energy_closes,
    wiring_is_whole_and_drawn,
    electrical_transient_closes_and_brakes,
)


@pytest.mark.parametrize(
    ("way", "check", "name"),
    list(product(STOPPING, CHECKS, ("small", "wound"))),
    ids=lambda x: getattr(x, "key", None) or getattr(x, "__name__", x),
)
def test_every_way_keeps_the_contract(way: type[Any], check: Callable[[type[Any], str], None], name: str):
    """Each way on each drive passes each check."""
    check(way, name)


@pytest.mark.parametrize("way", STOPPING, ids=lambda w: w.key)
def test_every_way_is_documented(way: type[Any]):
    """Title, summary of some sentences, doc strings, and words for every dial."""
    assert way.title
    assert way.summary.count(".") >= 2
    for thing in (way, way.designed_for, way.stages, way.wiring, way.running, way.parts):
        assert len(thing.__doc__ or "") > 20
    for name, dial in dials(way).items():
        assert dial.title, name
        assert dial.doc.endswith("."), name


def test_keys_are_unique_and_coasting_is_the_simplest():
    """The list is the published order, simplest first."""
    keys = [way.key for way in STOPPING]
    assert len(set(keys)) == len(keys)
    assert keys[0] == "coasting"
    assert keys.index("plugging") < keys.index("braking_resistor") < keys.index("regenerative")


def refused(way: type[Any], **given: Any) -> str:
    """The message a bad setting meets on the pump."""
    with pytest.raises(InputError) as caught:
        way.designed_for(task(DRIVES["small"]()), given)
    return str(caught.value)


@pytest.mark.parametrize("way", STOPPING, ids=lambda w: w.key)
def test_unknown_and_impossible_settings_are_refused(way: type[Any]):
    """An unknown name, a value outside the dial, a word that is none, a number that is not finite."""
    refuses_bad_settings(way, "stopping", refused)


def of(key: str) -> type[Any]:
    return next(way for way in STOPPING if way.key == key)


def test_a_shorter_stop_asks_for_more_direct_current_and_a_quicker_ramp():
    """Two seconds against half a one: the designs follow the limit."""
    drive = DRIVES["small"]()
    slow, fast = (
        StopTask(nominal=drive, worst=worse(drive), limits=open_limits(), stop_time=t, arrangement="")
        for t in (2.0, 0.5)
    )
    dc, ramp = of("dc_injection"), of("braking_resistor")
    assert dc.designed_for(fast, {}).way.current > dc.designed_for(slow, {}).way.current
    assert ramp.designed_for(fast, {}).way.ramp_time < ramp.designed_for(slow, {}).way.ramp_time
    assert ramp.designed_for(fast, {}).way.resistance < ramp.designed_for(slow, {}).way.resistance


def test_a_current_limit_puts_a_resistor_into_the_lines():
    """The resistor is the least that keeps the limit, and none is put in where the limit is kept anyway."""
    drive = DRIVES["pump"]()
    held = of("plugging").designed_for(task(drive, line_current=600.0), {}).way
    assert held.resistance > 0
    plan = held.stages(drive)
    assert stop(plan, drive, speed=running_speed(drive)).line_current.max() <= 600.0
    assert of("plugging").designed_for(task(drive, line_current=5000.0), {}).way.resistance == 0.0


def test_what_cannot_be_is_refused_with_a_remedy():
    """A rotor resistor for a cage, a switch above running speed, more poles of a motor for one speed."""
    assert "slip rings" in refused(of("plugging"), rotor_resistance=1.0)
    assert "open from the first" in refused(of("plugging"), switch_speed=200.0)
    assert "second pole number" in refused(of("more_poles"))


def test_optional_parts_of_the_contract_are_where_they_belong():
    """Plugging can fail, a resistor absorbs, direct current heats unevenly; nothing else claims to."""
    made = {way.key: designed(way, "small").way for way in STOPPING}
    assert [key for key, way in made.items() if isinstance(way, CanFail)] == ["plugging"]
    assert [key for key, way in made.items() if isinstance(way, Absorbs)] == ["braking_resistor"]
    assert [key for key, way in made.items() if isinstance(way, Uneven)] == ["dc_injection"]

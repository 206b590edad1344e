"""The contract every way of starting keeps: it designs itself, survives the file and back, runs, and is documented and drawn."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import product
from math import isfinite
from typing import Any

import pytest

from slipwise.methods.starting import STARTING
from slipwise.methods.way import Designed, dials
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from slipwise.results.start import Outcome
from slipwise.results.study import Setting
from slipwise.solve.plan import Ends
from slipwise.solve.run_up import run_up
from slipwise.solve.transient import transient
from tests.behaviour.ways_drives import DRIVES, refuses_bad_settings, task

KINDS = {
    "isolator",
    "fuse",
    "breaker",
    "contactor",
    "overload",
    "autotransformer",
    "reactor",
    "resistor",
    "thyristors",
    "inverter",
    "motor",
}


@cache
def designed(way: type[Any], name: str) -> Designed[Any] | InputError:
    """The way designed for one of the drives, or its refusal."""
    try:
        return way.designed_for(task(DRIVES[name]()), {})
    except InputError as refusal:
        return refusal


def plain(settings: tuple[Setting, ...]) -> dict[str, float | str]:
    """Settings as they stand in a study file, in SI."""
    return {s.key: s.text if s.value is None else s.value for s in settings}


def designs_every_setting_or_says_why_not(way: type[Any], name: str) -> None:
    """Every dial is set within its range, each with an origin and a reason; or the refusal names the way and a remedy."""
    found = designed(way, name)
    if isinstance(found, InputError):
        assert all(f.field.startswith(f"starting.{way.key}") and f.reason and f.remedy for f in found.faults)
        return
    offered = dials(way)
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
        assert getattr(found.way, setting.key) == (setting.text if dial.choices else setting.value)
    assert not offered or found.words


def settings_survive_the_round_trip(way: type[Any], name: str) -> None:
    """Given back, the designed settings make the same way, now all of them given."""
    found = designed(way, name)
    if isinstance(found, InputError):
        return
    again = way.designed_for(task(DRIVES[name]()), plain(found.settings))
    assert again.way == found.way
    assert {s.origin for s in again.settings} <= {Origin.GIVEN.value}


def plan_runs_and_its_energy_closes(way: type[Any], name: str) -> None:
    """The run-up ends in an answer, its ledger closes, and it went through stages of the plan in order."""
    found = designed(way, name)
    if isinstance(found, InputError):
        return
    drive = DRIVES[name]()
    plan = found.way.stages(drive)
    run = run_up(plan, drive, max_time=120.0)
    assert abs(run.energy.closure) < 1e-7
    assert [m.name for m in run.stages] == [s.name for s in plan][: len(run.stages)]
    assert (run.outcome is Outcome.ARRIVED) == (run.run_up_time is not None)
    assert run.outcome is not Outcome.ARRIVED or len(run.stages) == len(plan)


def wiring_names_every_contact_and_stage(way: type[Any], name: str) -> None:
    """Every contact named in a stage is a device, every stage is in the table, and every device hangs on another."""
    found = designed(way, name)
    if isinstance(found, InputError):
        return
    wiring, plan = found.way.wiring(), found.way.stages(DRIVES[name]())
    labels = [d.label for d in wiring.devices]
    assert len(set(labels)) == len(labels)
    assert {d.kind for d in wiring.devices} <= KINDS
    assert {d.after for d in wiring.devices} <= {"", *labels}
    assert wiring.stages == tuple(s.name for s in plan)
    assert wiring.closed == tuple(s.contacts for s in plan)
    assert {c for closed in wiring.closed for c in closed} <= set(labels)
    assert any(d.kind == "motor" for d in wiring.devices)
    assert plan[-1].until.ends is Ends.SETTLED


def electrical_transient_ends_where_the_run_up_does(way: type[Any], name: str) -> None:
    """Where the run-up arrives, the transient arrives at the same speed, through the same stages, and its energy closes."""
    found = designed(way, name)
    if isinstance(found, InputError):
        return
    drive = DRIVES[name]()
    plan = found.way.stages(drive)
    run = run_up(plan, drive, max_time=120.0)
    if run.outcome is not Outcome.ARRIVED:
        return
    full = transient(plan, drive, max_time=120.0)
    assert full.outcome is Outcome.ARRIVED
    assert full.final_speed == pytest.approx(run.final_speed, rel=1e-4)
    assert [m.name for m in full.stages] == [s.name for s in plan]
    assert abs(full.energy.closure) < 1e-6


CHECKS: tuple[Callable[[type[Any], str], None], ...] = (
    designs_every_setting_or_says_why_not,
    settings_survive_the_round_trip,
    plan_runs_and_its_energy_closes,
    wiring_names_every_contact_and_stage,
    electrical_transient_ends_where_the_run_up_does,
)


@pytest.mark.parametrize(
    ("way", "check", "name"),
    list(product(STARTING, CHECKS, DRIVES)),
    ids=lambda x: getattr(x, "key", None) or getattr(x, "__name__", x),
)
def test_every_way_keeps_the_contract(way: type[Any], check: Callable[[type[Any], str], None], name: str):
    """Each way on each drive passes each check."""
    check(way, name)


@pytest.mark.parametrize("way", STARTING, ids=lambda w: w.key)
def test_every_way_is_documented(way: type[Any]):
    """Title, summary of some sentences, doc strings, and words for every dial."""
    assert way.title
    assert way.summary.count(".") >= 2
    for thing in (way, way.designed_for, way.stages, way.wiring):
        assert len(thing.__doc__ or "") > 20
    for name, dial in dials(way).items():
        assert dial.title, name
        assert dial.doc.endswith("."), name
        assert bool(dial.choices) == (dial.unit == "" and dial.low is None), name


def test_keys_are_unique_and_direct_is_the_simplest():
    """The list is the published order, simplest first."""
    keys = [way.key for way in STARTING]
    assert len(set(keys)) == len(keys)
    assert keys[0] == "direct"
    assert keys[-1] == "inverter"
    assert keys.index("star_delta") < keys.index("autotransformer") < keys.index("soft_starter")


def refused(way: type[Any], **given: Any) -> str:
    """The message a bad setting meets on the pump."""
    with pytest.raises(InputError) as caught:
        way.designed_for(task(DRIVES["pump"]()), given)
    return str(caught.value)


@pytest.mark.parametrize("way", STARTING, ids=lambda w: w.key)
def test_unknown_and_impossible_settings_are_refused(way: type[Any]):
    """An unknown name, a value outside the dial, a word that is none, a number that is not finite."""
    refuses_bad_settings(way, "starting", refused)


def test_a_misspelt_setting_is_met_with_the_nearest_right_one():
    """`puase` is answered with `pause`."""
    star_delta = next(way for way in STARTING if way.key == "star_delta")
    assert "did you mean `pause`?" in refused(star_delta, puase=0.05)


def test_the_two_wirings_of_the_changeover_are_twins():
    """The twin differs only in the turn of the star stage; run-up and first currents are the same."""
    star_delta = next(way for way in STARTING if way.key == "star_delta")
    found = designed(star_delta, "pump")
    assert not isinstance(found, InputError)
    one, other = found.way.stages(DRIVES["pump"]())[0], found.way.twin().stages(DRIVES["pump"]())[0]
    assert one.ratio == pytest.approx(other.ratio.conjugate())
    assert abs(one.ratio - other.ratio) > 0.5
    assert found.way.twin().twin() == found.way


@pytest.mark.parametrize("key", ["star_delta", "autotransformer"])
@pytest.mark.parametrize("transition", ["open", "closed"])
def test_a_closed_transition_keeps_the_motor_connected(key: str, transition: str):
    """Open leaves it without supply for the pause, closed never; both arrive."""
    way = next(way for way in STARTING if way.key == key)
    drive = DRIVES["pump"]()
    plan = way.designed_for(task(drive), {"transition": transition}).way.stages(drive)
    assert all(stage.connected for stage in plan) == (transition == "closed")
    run = run_up(plan, drive, max_time=60.0)
    assert run.outcome is Outcome.ARRIVED
    assert abs(run.energy.closure) < 1e-7


def test_a_given_changeover_speed_is_kept_and_one_above_synchronous_refused():
    """140 rad/s stands; 160 rad/s is above the synchronous speed of a 4-pole 50 Hz motor."""
    for key in ("star_delta", "autotransformer"):
        way = next(way for way in STARTING if way.key == key)
        assert way.designed_for(task(DRIVES["pump"]()), {"changeover_speed": 140.0}).way.changeover_speed == 140.0
        assert "would never be reached" in refused(way, changeover_speed=160.0)

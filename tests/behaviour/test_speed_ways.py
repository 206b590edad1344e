"""The contract every way of speed control keeps: designs itself, survives the file and back, closes its balance."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import product
from math import isfinite
from typing import Any

import numpy as np
import pytest

from slipwise.methods.speed import SPEED
from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.methods.starting import STARTING
from slipwise.methods.way import Designed, dials
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from slipwise.results.speed import DutyPoint, Part
from slipwise.results.study import Setting
from slipwise.study.schema.speed import speed_section
from tests.behaviour.ways_drives import DRIVES
from tests.speed_studies import by_flow, process, task


def _by_speed(name: str) -> SpeedTask:
    """A drive of the tests with demands at and below rated speed, half torque, its own load law."""
    drive = DRIVES[name]()
    rating = drive.motor.rating
    duty = tuple(
        DutyPoint(name=f"{n:.0%}", speed=n * rating.speed, torque=0.5 * rating.torque * n**2, hours=1000.0)
        for n in (0.98, 0.85, 0.7)
    )
    return SpeedTask(drive=drive, duty=duty, site=Site(altitude=1500.0, ambient=45.0))


def _by_flow(kind: str) -> SpeedTask:
    on = process(kind, static_head=0.4 if kind == "pump" else 0.0)
    return task(on, *(by_flow(q, on) for q in (0.95, 0.7, 0.4)))


TASKS: dict[str, Callable[[], SpeedTask]] = {
    "small": lambda: _by_speed("small"),
    "wound": lambda: _by_speed("wound"),
    "pump": lambda: _by_flow("pump"),
    "fan": lambda: _by_flow("fan"),
}


@cache
def given_task(name: str) -> SpeedTask:
    """One task, made once."""
    return TASKS[name]()


@cache
def designed(way: type[Any], name: str) -> Designed[Any] | InputError:
    """The way designed for one of the tasks, or its refusal."""
    try:
        return way.designed_for(given_task(name), {})
    except InputError as refusal:
        return refusal


def plain(settings: tuple[Setting, ...]) -> dict[str, float | str]:
    """Settings as they stand in a study file, in SI."""
    return {s.key: s.text if s.value is None else s.value for s in settings}


def designs_every_setting_or_says_why_not(way: type[Any], name: str) -> None:
    """Every dial is set within its range, each with an origin and a reason; or the refusal names the way and a remedy."""
    found = designed(way, name)
    if isinstance(found, InputError):
        assert all(f.field.startswith(f"speed.{way.key}") and f.reason and f.remedy for f in found.faults)
        return
    assert [s.key for s in found.settings] == list(dials(way))
    for setting in found.settings:
        dial = dials(way)[setting.key]
        assert setting.origin in {origin.value for origin in Origin}
        assert setting.why
        if setting.value is not None:
            assert dial.low is None or setting.value >= dial.low * (1 - 1e-12)
            assert dial.high is None or setting.value <= dial.high * (1 + 1e-12)


def survives_the_file_and_back(way: type[Any], name: str) -> None:
    """Its own settings given back make the same way, and every setting has its key in the study file."""
    found = designed(way, name)
    table = speed_section().model_fields[way.key]
    assert table.description == way.summary
    if isinstance(found, InputError):
        return
    again = way.designed_for(given_task(name), plain(found.settings))
    assert again.way == found.way
    assert all(setting.origin == Origin.GIVEN for setting in again.settings)


def closes_its_balance(way: type[Any], name: str) -> None:
    """Line power = shaft power + losses at every demand, feasible or not; without return of slip power at most 1 - slip."""
    found = designed(way, name)
    if isinstance(found, InputError):
        return
    on = given_task(name)
    bounded = any(family.bound == "limit" for family in found.way.families(on))
    for duty in on.duty:
        point = found.way.point(on, duty)
        lost = sum(loss.power for loss in point.losses if loss.part is not Part.THROTTLE)
        scale = max(abs(point.line_power), abs(point.shaft_power), lost)
        assert abs(point.line_power - point.shaft_power - lost) <= 1e-9 * scale
        assert point.duty is duty
        assert point.feasible or point.reason
        assert 0 <= point.displacement_factor <= 1 + 1e-9
        assert point.power_factor <= point.displacement_factor + 1e-9 or point.distortion == 0
        assert all(isfinite(x) for x in (point.stability, point.winding_heat, point.flux, point.line_current))
        assert point.efficiency <= (1 - point.slip if bounded and point.slip > 0 else 1) + 1e-9


def draws_families_and_an_envelope(way: type[Any], name: str) -> None:
    """Curves of one length, finite torque, a label each, a load to meet them; the envelope rises by speed."""
    found = designed(way, name)
    if isinstance(found, InputError):
        return
    on = given_task(name)
    families = found.way.families(on)
    assert families
    for family in families:
        assert family.title
        assert family.bound in ("", "limit", "reference")
        assert len({curve.label for curve in family.curves}) == len(family.curves)
        for curve in family.curves:
            assert curve.speed.shape == curve.torque.shape == curve.current.shape
            assert np.all(np.isfinite(curve.torque))
    envelope = found.way.envelope(on)
    if envelope is not None:
        assert envelope.speed.shape == envelope.continuous.shape == envelope.short_time.shape
        assert len(envelope.continuous_limit) == len(envelope.speed)
        assert np.all(np.diff(envelope.speed) > 0)


def says_how_it_starts_what_to_buy_and_how_it_is_wired(way: type[Any], name: str) -> None:
    """Ways of starting that exist, ratings with their reason, devices that follow one another, contacts that are devices."""
    found = designed(way, name)
    if isinstance(found, InputError):
        return
    on = given_task(name)
    assert set(found.way.started_by(on)) <= {start.key for start in STARTING}
    assert found.way.started_by(on)
    assert all(setting.why and setting.title for setting in found.way.ratings(on))
    wiring = found.way.wiring()
    labels = [device.label for device in wiring.devices]
    assert len(set(labels)) == len(labels)
    assert all(device.after in {"", *labels} for device in wiring.devices)
    assert len(wiring.stages) == len(wiring.closed)
    assert {name for contacts in wiring.closed for name in contacts} <= set(labels)
    assert way.title
    assert way.summary.count(".") >= 2


CHECKS = (
    designs_every_setting_or_says_why_not,
    survives_the_file_and_back,
    closes_its_balance,
    draws_families_and_an_envelope,
    says_how_it_starts_what_to_buy_and_how_it_is_wired,
)


@pytest.mark.parametrize(
    ("way", "check", "name"),
    list(product(SPEED, CHECKS, TASKS)),
    ids=lambda item: getattr(item, "key", None) or getattr(item, "__name__", item),
)
def test_every_way_keeps_the_contract(way: type[Any], check: Callable[[type[Any], str], None], name: str) -> None:
    """One way, one promise, one task."""
    check(way, name)


def test_every_way_applies_somewhere() -> None:
    """No way refuses every task, or the battery would prove nothing of it."""
    for way in SPEED:
        assert any(not isinstance(designed(way, name), InputError) for name in TASKS), way.key

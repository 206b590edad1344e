"""Temperatures take part in the verdict: bodies, starts an hour and in a row, duties; the wound rotor is a winding."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from slipwise.limits.temperature import HeatTask, heat_rows
from slipwise.model.thermal.parameters import CAGE, WINDING, WINDING_LIMIT, Given, thermal_motor
from slipwise.results.criteria import Status
from slipwise.results.ledger import Ledger
from slipwise.results.study import StudyResult
from slipwise.results.thermal import BodyPeak, DutyHeat, HeatTrace, WayHeat
from slipwise.study.reader import loads
from slipwise.study.run import run
from tests.behaviour.test_study_heat import BASE, answer
from tests.studies import motor

TRACE = HeatTrace(
    time=np.array([0.0, 1.0]),
    bodies=(WINDING, CAGE, "iron"),
    temperature=np.full((3, 2), 100.0),
    limits=(185.0, 300.0, None),
    ambient=40.0,
    energy=Ledger(rows=()),
)
TASK = HeatTask(
    ambient=40.0,
    permitted=145.0,
    permitted_source="class F",
    sources={},
    rotor_known=True,
    starts_per_hour=4.0,
    starts_in_a_row=3,
)


def peaks(hot: float, cold: float, worst: float) -> tuple[BodyPeak, ...]:
    """The rotor at these temperatures, the winding cool."""
    found = [BodyPeak(case="nominal", state="hot", body=CAGE, temperature=hot)]
    found += [BodyPeak(case=c, state="cold", body=CAGE, temperature=cold) for c in ("nominal", "worst")]
    found.append(BodyPeak(case="worst", state="hot", body=CAGE, temperature=worst))
    found += [BodyPeak(case="nominal", state=s, body=WINDING, temperature=120.0) for s in ("hot", "cold")]
    return tuple(found)


def heat_of(**changes: object) -> WayHeat:
    """Heat written down by hand."""
    plain = WayHeat(
        stator_heat=1e4, rotor_heat=1e4, resistor_heat=0.0, rotor_rise=50.0, rest=0.0, cold_starts=3, hot_starts=2,
        most=20, rest_standing=0.0, rest_running=0.0, balance=8.0, rate=5.0, table_cold=2, table_hot=1, table_note="",
        starts=TRACE, duties=(), peaks=peaks(200.0, 150.0, 250.0),
    )  # fmt: skip
    return replace(plain, **changes)


@pytest.mark.parametrize(
    ("changes", "key", "status"),
    [
        ({}, "temperature:rotor", Status.PASSES),
        ({"peaks": peaks(200.0, 150.0, 320.0)}, "temperature:rotor", Status.CONDITION),  # not in the worst case
        ({"peaks": peaks(320.0, 250.0, 340.0)}, "temperature:rotor", Status.CONDITION),  # from cold only
        ({"peaks": peaks(420.0, 350.0, 440.0)}, "temperature:rotor", Status.FAILS),
        ({"peaks": peaks(200.0, 150.0, 290.0)}, "temperature:rotor", Status.CONDITION),  # by less than a twentieth
        ({}, "temperature:stator winding", Status.PASSES),
        ({}, "starts_per_hour", Status.PASSES),
        ({"rate": 3.9}, "starts_per_hour", Status.FAILS),
        ({}, "starts_in_a_row", Status.PASSES),
        ({"cold_starts": 2}, "starts_in_a_row", Status.FAILS),
    ],
)
def test_each_row_stands_as_its_numbers_say(changes: dict[str, object], key: str, status: Status) -> None:
    """Hot within its limit passes, cold only is a condition, neither fails; counts are exact."""
    rows = {row.key: row for row in heat_rows(heat_of(**changes), TASK)}
    assert rows[key].status is status


def test_a_body_without_a_limit_has_no_row_and_an_estimated_rotor_is_not_judged() -> None:
    """Iron has no limit; a rotor whose stall time nobody stated is shown, not judged."""
    rows = {row.key: row for row in heat_rows(heat_of(), replace(TASK, rotor_known=False, starts_per_hour=None))}
    assert "temperature:iron" not in rows
    assert "starts_per_hour" not in rows
    assert rows["temperature:rotor"].status is Status.UNKNOWN


def test_a_duty_fails_by_its_winding_or_by_another_body() -> None:
    """150 degC against 145 fails; 140 with a rotor past its limit fails too; 120 passes."""
    for highest, within, status in (
        (150.0, False, Status.FAILS),
        (140.0, False, Status.FAILS),
        (120.0, True, Status.PASSES),
    ):
        duty = DutyHeat(label="mill", duty_type="S4", highest=highest, mean=100.0, within=within, trace=TRACE)
        row = next(r for r in heat_rows(heat_of(duties=(duty,)), TASK) if r.key == "duty:mill")
        assert row.status is status


def studied(duty: str) -> StudyResult:
    """The small motor with one continuous duty."""
    text = BASE.replace('inertia = "0.05 kg m2"', 'inertia = "0.05 kg m2"\nstall_time_hot = "20 s"')
    heat = (
        f'\n[thermal]\nrise = "80 K"\nduty = [{{ type = "S1", load = "{duty}" }}]\n\n[starting]'
        if duty
        else "\n[starting]"
    )
    return run(loads(text.replace("\n[starting]", heat)), transients=False, boundaries=False, ensemble=0)


def test_heat_decides_in_a_study() -> None:
    """A duty the motor does not bear makes every way fail, by name; a light one leaves the verdict as it was."""
    heavy, light, without = studied("140 %"), studied("60 %"), studied("")
    assert {way.verdict.status for way in heavy.ways} == {Status.FAILS}
    assert all("duty S1" in way.verdict.reason for way in heavy.ways)
    assert [w.verdict.status for w in light.ways] == [w.verdict.status for w in without.ways]
    assert {row.name for row in light.explanations} >= {"direct.temperature:rotor", "direct.temperature:stator winding"}


def test_rows_agree_with_what_heat_says() -> None:
    """Every duty of the tables has its row, and it stands as the table says."""
    for way in answer().ways:
        rows = {row.key: row for row in way.verdict.criteria}
        assert way.heat is not None
        for duty in way.heat.duties:
            assert (rows[f"duty:{duty.label}"].status is Status.FAILS) is (not duty.within)


def test_a_wound_rotor_is_a_winding() -> None:
    """Its limit is that of a winding, and it bears the stated stall with its rings short-circuited."""
    single = replace(motor().circuit, rotor=(motor().circuit.rotor[0],))
    wound = thermal_motor(motor(circuit=single, wound_ratio=0.9), Given(rise=80.0))
    cage = thermal_motor(motor(circuit=single), Given(rise=80.0))
    by_name = {body.name: body for body in wound.network.bodies}
    assert by_name[CAGE].limit == WINDING_LIMIT.value
    assert wound.limit_sources[CAGE] == WINDING_LIMIT.source != cage.limit_sources[CAGE]
    assert by_name[CAGE].heat_capacity > 0

"""A sample of the hostile requests that `python -m benchmarks.desk_fuzz` sends to the desk by the ten thousand."""

from __future__ import annotations

import asyncio

import pytest

from benchmarks.desk_fuzz import hostile
from benchmarks.desk_server import running
from slipwise.doors.desk.edits import edited
from slipwise.doors.desk.studies import start_studies
from slipwise.methods.starting.grading import graded
from slipwise.quantity.errors import InputError
from slipwise.study.reader import loads


def test_hostile_requests_get_documented_answers():
    """No answer is undocumented, none shows a traceback, no process is lost, and each answers in the end."""
    with running() as server:
        found = asyncio.run(hostile(server, 100, seed=3))
    assert found.bad == []
    assert found.restarts == 0
    assert {200, 422} <= set(found.statuses)


@pytest.mark.parametrize(
    ("study", "path", "value"),
    [
        ("pump_p3_year", "speed.duty[1].flow", "1e300 %"),
        ("pump_p3_year", "speed.duty[1].flow", "1e300 m3/h"),
        ("crusher_k1", "supply.path[2].secondary_voltage", "1e300 V"),
        ("crusher_k1", "load.inertia", "1e-300 kg m2"),
    ],
)
def test_what_hostile_requests_once_broke_is_refused_by_name(study, path, value):
    """A value far beyond any machine is a mistake of its field, and computes nothing."""
    text = next(found["text"] for found in start_studies() if found["key"] == study)
    with pytest.raises(InputError) as refused:
        loads(edited(text, [{"path": path, "value": value}]))
    assert [fault.field for fault in refused.value.faults] == [path]


def test_a_bank_of_next_to_nothing_has_equal_sections():
    """Ohms that vanish beside the rotor's own leave no ratio to grade by: the sections are equal, as they are in the limit."""
    nothing, little = graded(0.02, 1e-30, 4), graded(0.02, 1e-7, 4)
    assert nothing.sections() == pytest.approx((2.5e-31,) * 4)
    assert little.sections() == pytest.approx((2.5e-8,) * 4, rel=1e-4)

"""No study keeps a computation busy without end: light rotors, endless swings and lists without end are bounded."""

from __future__ import annotations

import sys
from dataclasses import replace
from math import cos, inf, sin
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from slipwise.quantity.errors import InputError
from slipwise.results.start import Outcome
from slipwise.solve.disturbed.interruption import residual
from slipwise.solve.march import march
from slipwise.solve.plan import Law, Stage, elapsed, settled
from slipwise.solve.run_up import run_up
from slipwise.solve.step import Allowance
from slipwise.solve.transient import engine, kernel, transient
from slipwise.study.cases import NOMINAL, cases_of
from slipwise.study.reader import loads
from tests.studies import motor, study

QUICK = {"relative": 1e-9, "scale": np.ones(1), "largest": 1.0}


def light(inertia):
    """P3's drive with next to nothing to speed up. inertia: kg m2."""
    drive = cases_of(study())[NOMINAL].drive
    return replace(drive, motor=motor(inertia=inertia), load=replace(drive.load, inertia=0.0))


@pytest.mark.parametrize("rate", [1e3, 1e6, 1e9])
def test_a_stiff_system_costs_no_more_than_a_soft_one(rate):
    """y' = -rate (y - cos t) over ten seconds: against its solution in closed form, with a few thousand evaluations.

    Test problem of Prothero and Robinson, Math. Comp. 28 (1974) 145.
    """
    asked = Allowance(6000)

    def slope(time, y):
        asked.spend()
        return -rate * (y - cos(time))

    for step in march(slope, 0.0, 10.0, np.zeros(1), **QUICK):
        for share in (0.5, 1.0):
            t = step.time + share * step.size
            exact = (rate * cos(t) + sin(t) - rate * np.exp(-min(rate * t, 700.0))) * rate / (1 + rate**2)
            assert abs(step.at(share)[0] - exact) < (1e-6 if share < 1 else 1e-7)


@pytest.mark.parametrize("inertia", [1e-4, 1e-8])
def test_a_rotor_without_inertia_follows_its_ramp(inertia):
    """Under a slow rise of the frequency it runs where torque and load meet, its energies balance, and it costs little."""
    ramp = Law(x=(0.0, 20.0), y=(0.1, 1.0))
    stage = Stage(name="ramp", until=settled(), voltage=ramp, frequency=ramp)
    found = run_up((stage,), light(inertia))
    heavy = run_up((stage,), light(0.5))
    assert found.outcome is Outcome.ARRIVED
    assert found.time.size < 4000
    assert found.final_speed == pytest.approx(heavy.final_speed, rel=1e-6)
    assert found.run_up_time == pytest.approx(heavy.run_up_time, rel=1e-2)
    assert abs(found.energy.closure) < 1e-8


@pytest.mark.parametrize("value", [np.nan, inf])
def test_rates_that_are_no_numbers_are_an_answer(value):
    """Neither an endless loop nor a traceback."""
    with (
        np.errstate(invalid="ignore"),
        pytest.raises(InputError, match="no step is short enough") as found,
    ):
        list(march(lambda t, _y: np.full(1, value if t > 0.5 else 1.0), 0.0, 1.0, np.zeros(1), **QUICK))
    assert found.value.faults[0].field == "load.inertia"


def test_a_run_that_swings_without_end_is_given_up():
    """A system that turns about ten thousand times a second for a day."""
    asked = Allowance(2000)

    def swing(_time, y):
        asked.spend()
        return np.array([6e4 * y[1], -6e4 * y[0]])

    with pytest.raises(InputError, match="more steps than can be computed"):
        list(march(swing, 0.0, 86400.0, np.ones(2), **{**QUICK, "scale": np.ones(2)}))


def test_a_transient_of_next_to_no_inertia_is_given_up(monkeypatch):
    """The march ends after a number of steps instead of filling the memory; plain, with that number made small."""
    monkeypatch.setattr(kernel, "MOST_STEPS", 300.0)
    drive = light(1e-9)
    with pytest.raises(InputError, match="more steps than can be computed"):
        transient((Stage(name="on", until=elapsed(1.0)),), drive, engine="plain")


@pytest.mark.parametrize(
    ("field", "lines"),
    [
        ("tolerances.torque", ['[tolerances]\ntorque = "-7982 %"']),
        ("disturbance", ['[[disturbance]]\nkind = "reversed phases"'] * 21),
        ("load.duty", ['[[load.duty]]\ntime = "1 s"'] * 51),
        (
            "supply.path",
            ['[[supply.path]]\nkind = "cable"\nbusbar = "x"\nlength = "1 m"\nresistance = "1 ohm/km"'] * 21,
        ),
    ],
)
def test_a_list_without_end_is_refused_by_its_name(field, lines):
    """A study asks for no more than can be computed, and no tolerance takes all of the torque."""
    text = (Path(__file__).parent / "base.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError) as refused:
        loads("\n".join([text, *lines]))
    assert field in [fault.field for fault in refused.value.faults]


def test_a_single_transient_does_not_wait_for_the_compiler(monkeypatch):
    """While another thread still compiles the solver, a start is computed by the plain one."""
    monkeypatch.setitem(sys.modules, engine._COMPILED, ModuleType("half"))
    with engine._LOADING:
        assert engine.kernel("auto") is kernel


def test_the_supply_gone_from_a_rotor_without_inertia():
    """Its trial steps run far beyond every speed, where a steep load overflows; the shaft is at rest at once."""
    drive = light(1e-8)
    term = replace(drive.load.terms[0], exponent=20.0)
    found = residual(replace(drive, load=replace(drive.load, terms=(term,))), 0.5)
    assert found.speed[-1] < 0.8 * found.speed[0]

"""A generator as the source: the dip behind its transient reactance, the engine's power, and what must be said of both."""

from __future__ import annotations

import re
from dataclasses import replace
from math import sqrt
from pathlib import Path

import numpy as np
import pytest

from slipwise.limits.generator import generator_power
from slipwise.model.machine.point import operating_point
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from slipwise.results.criteria import Criterion, Status
from slipwise.solve import network
from slipwise.study.boundary import directions
from slipwise.study.cases import NOMINAL, cases_of
from slipwise.study.model import Study
from slipwise.study.reader import loads
from slipwise.study.run import run

BASE = (Path(__file__).parents[1] / "broken" / "base.toml").read_text(encoding="utf-8")
SUPPLY = """
[[supply.path]]
kind = "generator"
busbar = "set"
rating = "60 kVA"
voltage = "400 V"
transient_reactance = "20 %"
subtransient_reactance = "12 %"
armature_resistance = "2 %"
regulated_voltage = "102 %"
{more}
[[supply.path]]
kind = "cable"
busbar = "pump house"
length = "60 m"
section = "10 mm2"
"""


def fed(more: str = "", ways: str = '"direct"') -> Study:
    """The plain file of the broken-file tests on a generating set."""
    text = re.sub(r"\[\[supply\.path\]\].*?(?=\[limits\])", SUPPLY.format(more=more), BASE, flags=re.DOTALL)
    text = re.sub(r"ways = \[.*?\]", f"ways = [{ways}]", text).replace("[starting.star_delta]", "")
    return loads(re.sub(r"changeover_speed = .*", "", text))


def row(study: Study, key: str) -> Criterion:
    """One criterion of the first way, from run-ups alone."""
    found = run(study, transients=False, boundaries=False, ensemble=0).ways[0].verdict.criteria
    return next(item for item in found if item.key == key)


def test_the_regulator_holds_the_set_before_the_start():
    """Whatever hangs on the set, its terminals stand at the regulated voltage in every state."""
    study = fed('base_load = { power = "18 kW", power_factor = 0.8 }')
    for path in (study.supply.nominal, study.supply.weak, study.supply.strong):
        assert network.per_unit(path, network.prestart(path))[0] == pytest.approx(1.02, rel=1e-9)


def test_dip_is_the_divider_of_machine_and_transient_reactance():
    """At standstill voltage, current and power are those of two impedances in series, worked out by hand."""
    study = fed()
    case = cases_of(study)[NOMINAL]
    from slipwise.study.one_way import way_of

    stages = way_of("direct")().stages(case.drive)
    run_up = case.run_up(stages)
    base = 400.0**2 / 60e3
    set_ohms, cable = (0.02 + 0.20j) * base, study.supply.nominal.links[1].impedance
    assert study.motor.circuit is not None
    point = operating_point(study.motor.circuit, 1.0, 230.0, 50.0, study.motor.rating.synchronous_speed)
    motor = 230.0 / complex(point.stator_current)
    emf = 1.02 * 400 / sqrt(3)  # nothing runs on the set: the internal voltage is that at the terminals
    current = emf / (set_ohms + cable + motor)
    assert run_up.line_current[0] == pytest.approx(abs(current), rel=1e-6)
    assert run_up.busbar_voltage[0, 0] == pytest.approx(abs(emf - set_ohms * current) / (400 / sqrt(3)), rel=1e-6)
    power = 3 * abs(current) ** 2 * (cable + motor).real
    assert generator_power(run_up, case.drive.supply)[0] == pytest.approx(power, rel=1e-6)


def test_base_load_counts_for_the_engine():
    """A constant-power load on the set adds its own power, no less and, without series loss before it, no more."""
    plain, loaded = fed(), fed('base_load = { power = "18 kW", power_factor = 0.8 }')
    for study, own in ((plain, 0.0), (loaded, 18e3)):
        case = cases_of(study)[NOMINAL]
        from slipwise.study.one_way import way_of

        run_up = case.run_up(way_of("direct")().stages(case.drive))
        rest = replace(run_up, line_current=np.zeros_like(run_up.line_current))
        assert generator_power(rest, case.drive.supply) == pytest.approx(own, rel=1e-9, abs=1e-6)
        cable = case.drive.supply.links[1].impedance.real
        volts = run_up.busbar_voltage[-1] * 400
        motor = sqrt(3) * volts * run_up.line_current * run_up.power_factor + 3 * run_up.line_current**2 * cable
        assert generator_power(run_up, case.drive.supply) == pytest.approx(motor + own, rel=2e-3)


def test_engine_row_is_judged_and_says_what_is_left_out():
    """A small engine fails the start; the row names what the model does not hold."""
    small = row(fed('engine_power = "12 kW"'), "engine_power")
    assert small.status is Status.FAILS
    assert small.source == "given by user"
    assert "governor and regulator are not modelled" in small.condition
    typical = row(fed(), "engine_power")
    assert typical.limit == pytest.approx(0.8 * 60e3)
    assert "ISO 8528-1" in typical.source


def test_what_a_set_is_not_asked_for_is_said():
    """Regulator, engine power and tolerances of voltage are assumed, each with its range."""
    rows = {item.name: item for item in fed().inputs}
    assert rows["supply.path[1].regulator"].text == "not modelled"
    assert rows["supply.path[1].engine_power"].origin is Origin.ASSUMED
    assert rows["tolerances.low_voltage"].value == pytest.approx(0.99)


def test_first_peak_sees_the_subtransient_reactance():
    """The strong case has X''d, the others X'd."""
    supply = fed().supply
    base = 400.0**2 / 60e3
    assert supply.strong.links[0].impedance == pytest.approx((0.02 + 0.12j) * base)
    assert supply.weak.links[0].impedance == supply.nominal.links[0].impedance == pytest.approx((0.02 + 0.20j) * base)


def test_a_smaller_set_keeps_its_voltage_before_the_start():
    """The boundary over the size of the set moves reactance and engine together, the regulator holds on."""
    study = fed('base_load = { power = "18 kW", power_factor = 0.8 }')
    direction = next(item for item in directions(study) if item.key == "fault_level")
    half = direction.at(0.5).supply.nominal
    assert half.links[0].impedance == pytest.approx(2 * study.supply.nominal.links[0].impedance)
    assert half.links[0].engine_power == pytest.approx(0.5 * 0.8 * 60e3)
    assert network.per_unit(half, network.prestart(half))[0] == pytest.approx(1.02, rel=1e-9)


def test_a_base_load_too_heavy_for_the_set_is_refused():
    """No internal voltage holds the terminals under ten times the rating."""
    with pytest.raises(InputError, match="base load is too heavy"):
        fed('base_load = { power = "900 kVA", power_factor = 0.8, model = "constant impedance" }')


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("x_to_r = 12", "armature_resistance says the same"),
        ('engine_power = "90 kW"', "above the apparent power of the generator"),
    ],
)
def test_contradictions_are_named(more: str, words: str):
    """Two values for one thing, or an engine larger than the machine behind it."""
    with pytest.raises(InputError, match=words):
        fed(more)

"""Affinity laws, harmonic limits and efficiency classes against their published entries."""

from __future__ import annotations

from dataclasses import replace

import pytest

from slipwise.limits.efficiency_class import efficiency_class, least_efficiency
from slipwise.limits.harmonics import Coupling, coupling
from slipwise.model.load.system import flow_at, machine_head, speed_for, torque_at
from tests.reference import from_reference, reference
from tests.speed_studies import process
from tests.studies import motor, path

IE = {"IE2": "C-eu1781-IE2", "IE3": "C-eu1781-IE3", "IE4": "C-eu1781-IE4"}


@from_reference("D25")
@pytest.mark.parametrize("n", [0.3, 0.5, 0.8, 1.0, 1.1])
def test_without_static_head_the_affinity_laws_hold(n):
    """Flow as speed, head as its square, power as its cube: 0.512 of power at 0.8 speed."""
    pump = process(static_head=0.0)
    flow = flow_at(pump, n)
    power = n * torque_at(pump, n, flow) / pump.machine.torque
    assert flow == pytest.approx(n, rel=1e-9)
    assert speed_for(pump, n) == pytest.approx(n, rel=1e-9)
    assert machine_head(pump, n, flow) == pytest.approx(n**2, rel=1e-9)
    assert power == pytest.approx(n**3, rel=1e-9)
    if n == 0.8:
        assert power == pytest.approx(0.512, rel=1e-9)


@from_reference("C-ieee519")
@pytest.mark.parametrize(
    ("band", "ratio"), [("<20", 15.0), ("20-50", 35.0), ("50-100", 70.0), ("100-1000", 300.0), (">1000", 2000.0)]
)
def test_current_limits_are_those_printed(band, ratio):
    """Every cell of the table, reached by the ratio of short-circuit to demand current."""
    found = at_ratio(ratio)
    cells = [found.limit(order) for order in (5, 13, 19, 29, 41)]
    assert [100 * cell for cell in cells] + [100 * found.total] == pytest.approx(
        reference("C-ieee519")["expected"][band]
    )
    assert found.limit(50) == found.limit(35)
    assert found.limit(51) is None


def at_ratio(ratio: float) -> Coupling:
    """The coupling point of a bare path whose short-circuit current is `ratio` times the drive's current."""
    bare = path()
    current = bare.voltage / 3**0.5 / abs(bare.links[0].impedance) / ratio
    found = coupling(bare, 0, current)
    assert found is not None
    assert found.ratio == pytest.approx(ratio)
    return found


@pytest.mark.parametrize("name", IE)
def test_least_efficiencies_are_those_printed(name):
    """Every cell up to 200 kW, by power and poles."""
    printed = reference(IE[name])["expected"]["poles_2_4_6_8_by_kW"]
    for kilowatts, cells in printed.items():
        for poles, percent in zip((2, 4, 6, 8), cells, strict=True):
            found = least_efficiency(name, float(kilowatts) * 1e3, poles)
            assert found is not None
            assert 100 * found[0] == pytest.approx(percent)


@from_reference("C-eu1781-interp")
def test_between_table_powers_the_formula_holds():
    """80 kW, four poles, IE3: A x^3 + B x^2 + C x + D with x = log10(80), rounded to a tenth."""
    a, b, c, d = reference("C-eu1781-interp")["expected"]["0.75_to_200_kW"]["IE3_4p"]
    x = 1.9030899870
    found = least_efficiency("IE3", 80e3, 4)
    assert found is not None
    assert 100 * found[0] == pytest.approx(a * x**3 + b * x**2 + c * x + d, abs=0.051)


def test_a_class_is_named_with_its_source_and_status():
    """90 kW, 4 poles: 95.2 % is just IE3, 95.1 % is IE2; a 60 Hz motor is told that the tables are those of 50 Hz."""
    rating = replace(motor().rating, power=90e3)
    assert "is IE3" in efficiency_class(rating, 0.952)
    assert "is IE2" in efficiency_class(rating, 0.951)
    assert "below IE2" in efficiency_class(rating, 0.90)
    assert "2019/1781" in efficiency_class(rating, 0.952)
    assert "from memory" in efficiency_class(replace(rating, poles=6), 0.952)
    assert "not judged" in efficiency_class(replace(rating, frequency=60.0), 0.952)
    assert "outside the tables" in efficiency_class(replace(rating, power=2e6), 0.952)

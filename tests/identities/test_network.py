"""The supply path against a nodal solution, the published dip rule, and its own power balance."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.solve import network
from tests.drives import paths
from tests.reference import from_reference, sampled


@sampled(60)
@given(path=paths(constant_power=False), conductance=st.floats(0, 3), susceptance=st.floats(-8, 0))
def test_ladder_equals_nodal_analysis(path: SupplyPath, conductance: float, susceptance: float) -> None:
    """Busbar voltages solve the nodal admittance equations, set up here as a matrix."""
    admittance = complex(conductance, susceptance)
    n = len(path.links)
    matrix, source = np.zeros((n, n), complex), np.zeros(n, complex)
    for i, link in enumerate(path.links):
        y, nominal = 1 / link.impedance, link.busbar.nominal
        assert link.busbar.load is not None
        matrix[i, i] += y + np.conj(link.busbar.load.power) / nominal**2
        if i:
            matrix[i - 1, i - 1] += y
            matrix[i, i - 1] -= y
            matrix[i - 1, i] -= y
        else:
            source[0] = y * path.voltage / sqrt(3)
    matrix[-1, -1] += admittance
    expected = np.linalg.solve(matrix, source)
    assert np.array(network.solve(path, admittance).busbars) == pytest.approx(expected, rel=1e-10)


@sampled(60)
@given(path=paths(), conductance=st.floats(0, 2))
def test_constant_power_loads_take_their_power(path: SupplyPath, conductance: float) -> None:
    """The power leaving the source is what the links lose and the loads and the motor take, to 1e-9."""
    admittance = conductance - 1j * conductance
    volts = network.solve(path, admittance).busbars
    before = path.voltage / sqrt(3) + 0j
    supplied = 3 * before * np.conj((before - volts[0]) / path.links[0].impedance)
    sink = 0j
    for link, v in zip(path.links, volts, strict=True):
        current = (before - v) / link.impedance
        sink += 3 * abs(current) ** 2 * link.impedance + link.busbar.load.power * _share(link, abs(v))
        before = v
    sink += 3 * abs(volts[-1]) ** 2 * np.conj(admittance)
    assert sink == pytest.approx(supplied, rel=1e-9, abs=1e-6)


def _share(link: Link, voltage: float) -> float:
    """Share of its nominal power that a base load takes at phase voltage `voltage`."""
    per_unit = voltage / (link.busbar.nominal / sqrt(3))
    load = link.busbar.load
    assert load is not None
    if load.model == "constant impedance":
        return per_unit**2
    return min(1.0, per_unit / network.CONSTANT_POWER_FLOOR) ** 2


@from_reference("D24")
def test_equal_angles_give_the_share_rule() -> None:
    """A start of a tenth of the short-circuit power at the same X/R dips the busbar by 1/11."""
    busbar = Busbar(name="b", nominal=400.0)
    path = SupplyPath(
        voltage=400.0, frequency=50.0, links=(Link(name="n", kind="network", impedance=0.003 + 0.01j, busbar=busbar),)
    )
    volts = network.solve(path, 1 / (0.03 + 0.1j))
    assert 1 - network.per_unit(path, volts)[0] == pytest.approx(1 / 11, rel=1e-9)


@sampled(40)
@given(path=paths(constant_power=False), conductance=st.floats(0, 3))
def test_thevenin_source_feeds_the_same_voltage(path: SupplyPath, conductance: float) -> None:
    """The equivalent source gives the terminals the voltage that the whole ladder gives."""
    admittance = conductance * (1 - 2j)
    emf, impedance = network.thevenin(path)
    assert emf / (1 + impedance * admittance) == pytest.approx(network.solve(path, admittance).terminals, rel=1e-10)


def test_arrays_and_numbers_agree() -> None:
    """A grid of admittances gives what each gives alone."""
    busbar = Busbar(name="b", nominal=400.0)
    path = SupplyPath(
        voltage=400.0, frequency=50.0, links=(Link(name="n", kind="network", impedance=0.003 + 0.01j, busbar=busbar),)
    )
    grid = np.array([0.1 - 1j, 1 - 5j])
    whole = network.solve(path, grid).terminals
    assert [complex(network.solve(path, complex(y)).terminals) for y in grid] == pytest.approx(list(whole), rel=1e-12)

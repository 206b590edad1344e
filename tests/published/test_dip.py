"""Voltage dips against a published example and the algebra of the voltage divider."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.limits.voltage import dips
from slipwise.model.load.load import Load
from slipwise.model.machine.motor import CurvePoint, Motor, Rating
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.steady import characteristic
from tests.hand_made import run_up
from tests.reference import compare, from_reference, reference, sampled


def _standing(apparent: float, power_factor: float, voltage: float) -> Motor:
    """A motor that takes `apparent` (VA) at standstill, rated voltage and `power_factor`."""
    current = apparent / sqrt(3) / voltage
    rating = Rating(
        power=1e5, voltage=voltage, frequency=60.0, poles=4, speed=57 * pi, current=current / 6, connection="star"
    )
    points = tuple(CurvePoint(speed=s, torque=100.0, current=current, power_factor=power_factor) for s in (0.0, 1.0))
    return Motor(rating=rating, inertia=1.0, curves=points)


def _dip(motor: Motor, impedance: complex, voltage: float) -> float:
    """Dip at standstill behind `impedance` (ohm per phase)."""
    board = Busbar(name="board", nominal=voltage)
    path = SupplyPath(
        voltage=voltage, frequency=60.0, links=(Link(name="t", kind="transformer", impedance=impedance, busbar=board),)
    )
    drive = Drive(motor=motor, load=Load(terms=(), base_speed=1.0, inertia=1.0), supply=path)
    found = characteristic(Stage(name="direct", until=settled()), drive, np.array([0.0]))
    start = run_up(busbar_voltage=found.busbar_voltage, prestart_voltage=np.array([1.0]))
    return float(dips(start)[0])


@from_reference("A44-eep-voltage-dip")
def test_dip_at_a_transformer_secondary() -> None:
    """The linear rule S_start / S_sc of the article is the dip per unit of the voltage that is left; the dip itself, with
    the motor as an impedance, is the 8.85 % of the entry's note."""
    entry = reference("A44-eep-voltage-dip")
    given_ = entry["inputs"]
    base, uk = given_["transformer_rating_kVA"] * 1e3, given_["transformer_impedance_percent"] / 100
    voltage = given_["secondary_voltage_V"]
    reactance = uk * voltage**2 / base
    dip = _dip(_standing(given_["start_apparent_power_kVA"] * 1e3, 0.0, voltage), 1j * reactance, voltage)
    compare(
        "A44-eep-voltage-dip",
        {"short_circuit_power_kVA": voltage**2 / reactance / 1e3, "voltage_drop_percent": 100 * dip / (1 - dip)},
    )
    assert 100 * dip == pytest.approx(8.85, abs=0.005)


@from_reference("D24")
def test_equal_angles_give_the_plain_divider() -> None:
    """A start of a tenth of the short-circuit power dips 9.09 %, not the 10 % of the linear rule."""
    angle = np.exp(1j * np.arccos(0.3))
    dip = _dip(_standing(1e6, 0.3, 400.0), 0.1 * 400**2 / 1e6 * angle, 400.0)
    assert dip == pytest.approx(0.1 / 1.1, rel=1e-6)


@from_reference("D24")
@sampled(60)
@given(
    apparent=st.floats(1e4, 3e6),
    power_factor=st.floats(0.05, 0.95),
    resistance=st.floats(0.0, 0.02),
    reactance=st.floats(1e-4, 0.05),
)
def test_the_dip_is_a_ratio_of_complex_impedances(
    apparent: float, power_factor: float, resistance: float, reactance: float
) -> None:
    """1 - |Zm / (Zs + Zm)| for any motor and source."""
    source = complex(resistance, reactance)
    motor = 400**2 / apparent * np.exp(1j * np.arccos(power_factor))
    dip = _dip(_standing(apparent, power_factor, 400.0), source, 400.0)
    assert dip == pytest.approx(1 - abs(motor / (source + motor)), rel=1e-6, abs=1e-12)

"""The waveform behind thyristors on random machines: what must hold whatever the machine."""

from __future__ import annotations

from math import pi, radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.converter.thyristor import Feed, ThyristorData, conduction_loss, controlled
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.point import operating_point
from slipwise.quantity.errors import DomainError
from tests.identities.circuits import double_cage_circuits, single_cage_circuits
from tests.reference import sampled

SLIPS = np.array([0.01, 0.05, 0.2, 0.5, 1.0, 1.5])
MACHINES = st.one_of(single_cage_circuits(), double_cage_circuits())


def feed(circuit: Circuit, voltage: float = 230.0, impedance: complex = 0.0) -> Feed:
    return Feed(
        phase_voltage=voltage,
        frequency=circuit.frequency,
        synchronous_speed=2 * pi * circuit.frequency / 2,
        impedance=impedance,
    )


@sampled(40)
@given(circuit=MACHINES)
def test_full_conduction_is_the_sinusoidal_state(circuit: Circuit) -> None:
    """At hold-off 0 torque, current and losses are those of the equivalent circuit, core loss included."""
    found = controlled(circuit, SLIPS, 0.0, feed(circuit))
    at = operating_point(circuit, SLIPS, 230.0, circuit.frequency, pi * circuit.frequency)
    for name, wanted in (
        ("torque", at.torque),
        ("current", np.abs(at.stator_current)),
        ("stator_loss", at.stator_loss),
        ("rotor_loss", at.rotor_loss),
        ("core_loss", at.core_loss),
    ):
        assert getattr(found, name)[:, 0] == pytest.approx(wanted, rel=1e-7), name
    assert found.harmonic_loss == pytest.approx(0.0, abs=1e-7 * float(np.max(at.stator_loss)))


@sampled(40)
@given(circuit=single_cage_circuits(core_loss=False), ohm=st.floats(0.0, 0.05))
def test_power_balance_of_the_waveform(circuit: Circuit, ohm: float) -> None:
    """Source power = stator, rotor and harmonic loss + shaft power + loss before the thyristors, in every mode."""
    before = ohm * circuit.Xm * complex(0.3, 1.0)
    hold_off = np.radians([5.0, 30.0, 59.0, 61.0, 80.0, 100.0])
    found = controlled(circuit, SLIPS, hold_off, feed(circuit, impedance=before))
    outside = 3 * before.real * found.current**2
    spent = found.stator_loss + found.rotor_loss + found.harmonic_loss + found.converted + outside
    assert spent == pytest.approx(found.source_power, rel=1e-8)


@sampled(20)
@given(circuit=MACHINES)
def test_modes_join(circuit: Circuit) -> None:
    """At 60 degrees, where the mode changes, nothing jumps."""
    low, high = (controlled(circuit, SLIPS, radians(60.0) + d, feed(circuit)) for d in (-1e-8, 1e-8))
    for name in ("torque", "current", "firing", "harmonics", "converted"):
        assert getattr(high, name) == pytest.approx(getattr(low, name), rel=1e-5, abs=1e-9), name


@sampled(20)
@given(circuit=MACHINES)
def test_torque_goes_with_voltage_squared(circuit: Circuit) -> None:
    """At a held hold-off the whole waveform scales with the source."""
    hold_off = np.radians([20.0, 70.0])
    one, two = (controlled(circuit, SLIPS, hold_off, feed(circuit, voltage)) for voltage in (100.0, 200.0))
    assert two.torque == pytest.approx(4 * one.torque, rel=1e-9)
    assert two.harmonics == pytest.approx(2 * one.harmonics, rel=1e-7, abs=1e-9)


@sampled(20)
@given(circuit=single_cage_circuits(core_loss=False))
def test_orders_make_up_the_rms_current(circuit: Circuit) -> None:
    """Rms of the orders up to 25 falls short of the whole rms current by little, and never exceeds it."""
    found = controlled(circuit, SLIPS, np.radians([10.0, 40.0]), feed(circuit))
    of_orders = np.sqrt(np.sum(found.harmonics**2, axis=-1))
    assert np.all(of_orders <= found.current * (1 + 1e-9))
    assert of_orders == pytest.approx(found.current, rel=2e-3)


@sampled(20)
@given(circuit=MACHINES)
def test_thyristors_can_conduct_so(circuit: Circuit) -> None:
    """Driving machines at every hold-off: currents keep their sign, and torque falls as the hold-off grows."""
    slips = np.array([0.1, 0.4, 1.0])
    found = controlled(circuit, slips, np.radians(np.arange(2.0, 118.0, 6.0)), feed(circuit))
    assert np.all(found.possible)
    assert np.all(np.diff(found.torque, axis=1) < 0)
    assert np.all(np.diff(found.firing, axis=1) > 0)


def test_hold_off_outside_its_range() -> None:
    """120 degrees leaves no two phases to conduct: refused by name."""
    circuit = Circuit(frequency=50.0, R1=0.1, X1=0.3, Xm=10.0, rotor=())
    with pytest.raises(DomainError, match="hold_off"):
        controlled(circuit, 0.1, 2.2, feed(circuit))


def test_conduction_loss_of_a_full_wave() -> None:
    """10 A rms: mean of the magnitude 9.003 A; 1 V and 10 mohm give 3 x (9.003 + 1) W."""
    pair = ThyristorData(threshold=1.0, slope=0.01)
    assert conduction_loss(pair, 10 * 2**1.5 / pi, 10.0) == pytest.approx(30.01, rel=1e-4)

"""Identities of the steady circuit over random machines."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.point import breakdown, first_peak, operating_point, pull_up, source_seen_by_rotor
from slipwise.model.machine.simplified import torque_ratio
from slipwise.quantity.errors import DomainError
from tests.identities.circuits import double_cage_circuits, single_cage_circuits
from tests.reference import from_reference, sampled

VOLTS, SPEED = 230.0, 157.0
slips = st.floats(-2, 2).filter(lambda s: abs(s) > 1e-6)
any_circuits = st.one_of(single_cage_circuits(), double_cage_circuits())


@from_reference("D01")
@sampled(60)
@given(circuit=any_circuits, slip=slips, factor=st.floats(0.1, 2))
def test_torque_goes_with_voltage_squared(circuit: Circuit, slip: float, factor: float) -> None:
    """T(kV, s) = k^2 T(V, s)."""
    full = operating_point(circuit, slip, VOLTS, circuit.frequency, SPEED).torque
    part = operating_point(circuit, slip, factor * VOLTS, circuit.frequency, SPEED).torque
    assert part == pytest.approx(factor**2 * full, rel=1e-9)


@from_reference("D02")
@sampled(60)
@given(circuit=any_circuits, factor=st.floats(0.3, 8))
def test_rotor_resistance_keeps_the_height_of_the_peak(circuit: Circuit, factor: float) -> None:
    """Breakdown torque does not depend on the level of rotor resistance, for any number of cages."""
    before = breakdown(circuit, VOLTS, circuit.frequency, SPEED)
    after = breakdown(circuit.with_rotor_resistance(factor), VOLTS, circuit.frequency, SPEED)
    assert after.torque == pytest.approx(before.torque, rel=1e-9)


@from_reference("D03")
@sampled(60)
@given(circuit=any_circuits, factor=st.floats(0.3, 8))
def test_rotor_resistance_moves_the_peak(circuit: Circuit, factor: float) -> None:
    """The slip at the peak is proportional to the level of rotor resistance."""
    before = breakdown(circuit, VOLTS, circuit.frequency, SPEED)
    after = breakdown(circuit.with_rotor_resistance(factor), VOLTS, circuit.frequency, SPEED)
    assert after.slip == pytest.approx(factor * before.slip, rel=1e-6)


@from_reference("D04")
@sampled(60)
@given(circuit=any_circuits, slip=slips, factor=st.floats(0.3, 8))
def test_torque_depends_on_slip_over_rotor_resistance(circuit: Circuit, slip: float, factor: float) -> None:
    """T(s, R2) = T(ks, kR2)."""
    one = operating_point(circuit, slip, VOLTS, circuit.frequency, SPEED).torque
    other = operating_point(
        circuit.with_rotor_resistance(factor), factor * slip, VOLTS, circuit.frequency, SPEED
    ).torque
    assert other == pytest.approx(one, rel=1e-9)


@from_reference("D05")
@sampled(60)
@given(circuit=any_circuits, slip=slips)
def test_rotor_loss_is_slip_times_gap_power(circuit: Circuit, slip: float) -> None:
    """Rotor loss = s P, converted = (1 - s) P, at every slip, for any number of cages."""
    p = operating_point(circuit, slip, VOLTS, circuit.frequency, SPEED)
    assert p.rotor_loss == pytest.approx(slip * p.gap_power, rel=1e-9)
    assert p.converted_power == pytest.approx((1 - slip) * p.gap_power, rel=1e-9, abs=1e-9 * abs(p.gap_power))


@from_reference("D06")
@sampled(60)
@given(circuit=any_circuits, slip=st.floats(1e-4, 1))
def test_efficiency_stays_below_one_less_slip(circuit: Circuit, slip: float) -> None:
    """Converted power over input power <= 1 - s when motoring."""
    p = operating_point(circuit, slip, VOLTS, circuit.frequency, SPEED)
    assert p.converted_power / p.input_power.real <= 1 - slip + 1e-12


@from_reference("D20")
@sampled(200)
@given(circuit=any_circuits, slip=st.floats(-2, 2), share=st.floats(0.2, 2.0))
def test_power_in_is_losses_and_shaft(circuit: Circuit, slip: float, share: float) -> None:
    """P_in = stator copper + core + rotor copper + converted, to 1e-9, at any slip and supply frequency."""
    p = operating_point(circuit, slip, VOLTS, share * circuit.frequency, share * SPEED)
    out = p.stator_loss + p.core_loss + p.rotor_loss + p.converted_power
    scale = p.stator_loss + p.core_loss + p.rotor_loss + abs(p.converted_power)
    assert abs(p.input_power.real - out) <= 1e-9 * scale


@sampled(40)
@given(circuit=single_cage_circuits(), slip=st.floats(-2, 2), external=st.floats(0, 50))
def test_power_balance_with_outside_resistance(circuit: Circuit, slip: float, external: float) -> None:
    """Outside rotor resistance takes its own share, and the circuit behaves as one with that much more inside."""
    ohms = external * circuit.rotor[0].R
    p = operating_point(circuit, slip, VOLTS, circuit.frequency, SPEED, external=ohms)
    out = p.stator_loss + p.core_loss + p.rotor_loss + p.external_loss + p.converted_power
    assert p.input_power.real == pytest.approx(out, rel=1e-9, abs=1e-9 * p.stator_loss)
    inside = operating_point(circuit.with_rotor_resistance(1 + external), slip, VOLTS, circuit.frequency, SPEED)
    assert p.torque == pytest.approx(inside.torque, rel=1e-9)
    assert p.rotor_loss * external == pytest.approx(p.external_loss, rel=1e-9)


@from_reference("D21")
@sampled(60)
@given(circuit=single_cage_circuits(core_loss=False), slip=slips)
def test_simplified_formula_is_exact_for_one_cage(circuit: Circuit, slip: float) -> None:
    """T/T_max = (2 + q) / (s/sm + sm/s + q) with q = 2 sm R/R2."""
    peak = breakdown(circuit, VOLTS, circuit.frequency, SPEED)
    _, source = source_seen_by_rotor(circuit, VOLTS, circuit.frequency)
    q = 2 * peak.slip * source.real / circuit.rotor[0].R
    p = operating_point(circuit, slip, VOLTS, circuit.frequency, SPEED)
    assert p.torque == pytest.approx(peak.torque * torque_ratio(slip, peak.slip, q), rel=1e-6)


@from_reference("D22")
@sampled(60)
@given(circuit=single_cage_circuits())
def test_generating_peak_over_motoring_peak(circuit: Circuit) -> None:
    """|T_gen| / T_mot = (Z + R) / (Z - R)."""
    motoring = breakdown(circuit, VOLTS, circuit.frequency, SPEED)
    generating = breakdown(circuit, VOLTS, circuit.frequency, SPEED, generating=True)
    _, source = source_seen_by_rotor(circuit, VOLTS, circuit.frequency)
    z = sqrt(source.real**2 + (source.imag + circuit.rotor[0].X) ** 2)
    assert -generating.torque / motoring.torque == pytest.approx((z + source.real) / (z - source.real), rel=1e-6)


@sampled(60)
@given(circuit=double_cage_circuits())
def test_peak_of_a_double_cage_is_the_peak_of_a_fine_scan(circuit: Circuit) -> None:
    """The algebraic peaks agree with a plain search over 40 000 slips."""
    scan = np.geomspace(1e-5, 1, 40_001)
    torque = operating_point(circuit, scan, VOLTS, circuit.frequency, SPEED).torque
    peak = breakdown(circuit, VOLTS, circuit.frequency, SPEED, highest_slip=1.0)
    assert peak.torque == pytest.approx(torque.max(), rel=1e-6)
    turns = np.flatnonzero(torque[1:] < torque[:-1])
    first = first_peak(circuit, VOLTS, circuit.frequency, SPEED)
    assert first.torque == pytest.approx(torque[turns[0]] if turns.size else torque[-1], rel=1e-6)
    lowest = torque[scan >= peak.slip * (1 - 1e-9)].min() if peak.slip < 1 else peak.torque
    assert pull_up(circuit, VOLTS, circuit.frequency, SPEED).torque == pytest.approx(lowest, rel=1e-6)


@sampled(30)
@given(circuit=any_circuits, several=st.lists(st.floats(-2, 2), min_size=1, max_size=5))
def test_arrays_and_numbers_give_the_same(circuit: Circuit, several: list[float]) -> None:
    """An array of slips gives what each slip gives alone, and keeps the shape."""
    whole = operating_point(circuit, np.array([several]), VOLTS, circuit.frequency, SPEED)
    alone = [operating_point(circuit, s, VOLTS, circuit.frequency, SPEED) for s in several]
    for name in ("stator_current", "input_power", "gap_power", "rotor_loss", "converted_power", "torque"):
        assert getattr(whole, name).shape == (1, len(several))
        assert getattr(whole, name)[0] == pytest.approx([getattr(p, name) for p in alone], rel=1e-12)


@sampled(20)
@given(circuit=any_circuits)
def test_nothing_happens_at_synchronous_speed(circuit: Circuit) -> None:
    """At slip 0 torque, rotor current and rotor loss are exactly zero."""
    p = operating_point(circuit, 0.0, VOLTS, circuit.frequency, SPEED)
    assert (p.torque, p.rotor_loss, p.rotor_current) == (0, 0, 0)


@sampled(10)
@given(circuit=any_circuits, bad=st.sampled_from([float("nan"), float("inf")]))
def test_a_value_that_is_no_number_is_named(circuit: Circuit, bad: float) -> None:
    """A slip, voltage or frequency that is not finite is refused by its name."""
    for name, call in {
        "slip": (bad, VOLTS, 50.0, SPEED),
        "phase_voltage": (0.1, bad, 50.0, SPEED),
        "frequency": (0.1, VOLTS, bad, SPEED),
        "synchronous_speed": (0.1, VOLTS, 50.0, bad),
    }.items():
        with pytest.raises(DomainError, match=name):
            operating_point(circuit, *call)

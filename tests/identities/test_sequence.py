"""Unbalanced supply and one open line: published derating, identities of components, and the open line checked by nodes."""

from __future__ import annotations

from cmath import exp as cexp
from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.sequence import (
    Sequences,
    derating,
    greatest_deviation,
    line_phasors,
    negative_share,
    open_line,
    sequences,
    unbalanced_point,
)
from slipwise.quantity.errors import DomainError
from tests.drives import circuits
from tests.reference import compare, from_reference, reference, sampled

SYNC = 50 * pi
phasors = st.complex_numbers(max_magnitude=500, allow_nan=False, allow_infinity=False)


@from_reference("A19-hubert-unbalance")
def test_unbalance_and_derated_power() -> None:
    """Lines of 460, 455 and 440 V are 2.58 % unbalanced; a 30 hp motor is derated to about 27.6 hp."""
    given_ = reference("A19-hubert-unbalance")["inputs"]
    unbalance = greatest_deviation(*given_["line_voltages_V"])
    compare("A19-hubert-unbalance", {"unbalance_percent": 100 * unbalance})
    read = given_["nema_derating_factor_read"]
    assert derating(unbalance) == pytest.approx(read, abs=reference("C-nema-unbalance")["tolerance"]["absolute"])


@from_reference("C-nema-unbalance")
def test_derating_at_the_readings() -> None:
    """The derating curve passes through its readings and ends at 5 %."""
    row = reference("C-nema-unbalance")
    for percent, factor in row["expected"]["derating_factor"].items():
        assert derating(float(percent) / 100) == pytest.approx(factor, abs=row["tolerance"]["absolute"])
    with pytest.raises(DomainError, match="not recommended"):
        derating(0.06)


@given(a=phasors, b=phasors, c=phasors)
def test_components_invert(a: complex, b: complex, c: complex) -> None:
    """Components of three phasors give the phasors again."""
    assert sequences(a, b, c).phases() == pytest.approx((a, b, c), rel=1e-9, abs=1e-9)


@given(v=st.tuples(*[st.floats(350, 450)] * 3))
def test_closed_form_of_the_negative_share(v: tuple[float, float, float]) -> None:
    """The closed form on magnitudes equals the components of the triangle they form."""
    lines = sequences(*line_phasors(*v))
    shares = sorted((abs(lines.negative), abs(lines.positive)))
    assert negative_share(*v) == pytest.approx(shares[0] / shares[1], rel=1e-6, abs=1e-7)
    assert abs(lines.zero) < 1e-9


@sampled(40)
@given(circuit=circuits(branches=2), slip=st.floats(0.001, 1.0), connection=st.sampled_from(("star", "delta")))
def test_no_unbalance_is_the_balanced_motor(circuit: Circuit, slip: float, connection: str) -> None:
    """Without negative sequence torque, losses and currents are those of the balanced point."""
    phase = Sequences(zero=0j, positive=231 + 0j, negative=0j)
    found = unbalanced_point(circuit, slip, phase, SYNC, connection=connection)
    plain = operating_point(circuit, slip, 231.0, circuit.frequency, SYNC)
    assert found.torque == pytest.approx(plain.torque, rel=1e-12)
    assert [abs(i) for i in found.lines] == pytest.approx([abs(plain.stator_current)] * 3, rel=1e-12)
    share = 1.0 if connection == "star" else 1 / sqrt(3)
    assert [abs(i) for i in found.windings] == pytest.approx([abs(plain.stator_current) * share] * 3, rel=1e-12)
    assert found.current_unbalance == 0


@sampled(40)
@given(circuit=circuits(branches=2), slip=st.floats(0.001, 1.0), share=st.floats(0.0, 0.2), angle=st.floats(0, 2 * pi))
def test_power_is_kept_under_unbalance(circuit: Circuit, slip: float, share: float, angle: float) -> None:
    """Input = losses + converted power of both fields, and equals the sum over the three lines."""
    phase = Sequences(zero=0j, positive=231 + 0j, negative=231 * share * cexp(1j * angle))
    found = unbalanced_point(circuit, slip, phase, SYNC)
    converted = float((found.positive.converted_power + found.negative.converted_power).real)
    losses = found.stator_loss + found.rotor_loss + found.core_loss
    assert found.power == pytest.approx(losses + converted, rel=1e-9)
    by_line = sum((v * i.conjugate()).real for v, i in zip(phase.phases(), found.lines, strict=True))
    assert found.power == pytest.approx(by_line, rel=1e-9)
    assert converted == pytest.approx(found.torque * SYNC * (1 - slip), rel=1e-9, abs=1e-6)


@sampled(40)
@given(circuit=circuits(branches=2), slip=st.floats(0.001, 1.0), connection=st.sampled_from(("star", "delta")))
def test_open_line_meets_its_constraints(circuit: Circuit, slip: float, connection: str) -> None:
    """The open line carries nothing, the other two carry opposite currents, and the live lines have line voltage."""
    found = open_line(circuit, slip, 400.0, SYNC, connection=connection)
    first, second, third = found.lines
    assert abs(first) == pytest.approx(0.0, abs=1e-9 * abs(second))
    assert second == pytest.approx(-third, rel=1e-9)
    gaps = (circuit.magnetising_admittance(50) + circuit.rotor_admittance(s, 50) for s in (slip, 2 - slip))
    z = [circuit.stator_impedance(50) + 1 / gap for gap in gaps]
    assert abs(second) == pytest.approx(400.0 / abs(sum(z)), rel=1e-9)
    windings = sorted(abs(i) for i in found.windings)
    wanted = [0.0, abs(second), abs(second)] if connection == "star" else [abs(second) / 3] * 2 + [abs(second) * 2 / 3]
    assert windings == pytest.approx(wanted, rel=1e-9, abs=1e-9 * abs(second))


@sampled(20)
@given(circuit=circuits())
def test_open_line_does_not_start(circuit: Circuit) -> None:
    """With one line open the torque at standstill is nothing; running, it is less than on three lines."""
    assert open_line(circuit, 1.0, 400.0, SYNC).torque == pytest.approx(0.0, abs=1e-9)
    three = operating_point(circuit, 0.02, 400 / sqrt(3), 50.0, SYNC)
    assert open_line(circuit, 0.02, 400.0, SYNC).torque < float(np.real(three.torque))


def test_impossible_voltages_are_named() -> None:
    """Three magnitudes that close no triangle are refused."""
    with pytest.raises(DomainError, match="triangle"):
        negative_share(100.0, 100.0, 300.0)
    with pytest.raises(DomainError, match="triangle"):
        line_phasors(100.0, 100.0, 300.0)

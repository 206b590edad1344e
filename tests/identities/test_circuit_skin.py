"""Current displacement and saturation: limits, an independent solution of the field, and consistency of the laws."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.identify.designs import DESIGNS, typical_design
from slipwise.identify.rows import shown_by
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.saturated import at_reduced_voltage, effective, saturated_point
from slipwise.model.machine.saturation import LeakageSaturation, MainSaturation, two_slope_factor
from slipwise.model.machine.skin import (
    BarRotor,
    RectangularBar,
    TwoPointRotor,
    bar_branches,
    bar_of_ratio,
    height_for,
    ladder,
    reactance_ratio,
    reduced_height,
    resistance_ratio,
)
from slipwise.model.machine.temperature import at_temperature
from slipwise.quantity.errors import DomainError
from slipwise.quantity.provenance import Origin
from tests.identities.circuits import double_cage_circuits, single_cage_circuits
from tests.reference import sampled

VOLTS, SPEED = 230.0, 157.0


@sampled(60)
@given(xi=st.floats(0.05, 30))
def test_bar_factors_are_those_of_the_print(xi: float) -> None:
    """The stable form agrees with the hyperbolic form as books print it."""
    below = np.cosh(2 * xi) - np.cos(2 * xi)
    assert resistance_ratio(xi) == pytest.approx(xi * (np.sinh(2 * xi) + np.sin(2 * xi)) / below, rel=1e-9)
    printed = 1.5 / xi * (np.sinh(2 * xi) - np.sin(2 * xi)) / below
    assert reactance_ratio(xi) == pytest.approx(printed, rel=1e-7)


def test_bar_factors_at_their_ends() -> None:
    """Flat at small height (1 + 4/45 xi^4), xi and 3/(2 xi) at large height, finite for absurd ones."""
    assert resistance_ratio(0.0) == 1
    assert reactance_ratio(0.0) == 1
    assert resistance_ratio(0.2) == pytest.approx(1 + 4 / 45 * 0.2**4, rel=1e-6)
    assert resistance_ratio(9.0) == pytest.approx(9.0, rel=1e-6)
    assert reactance_ratio(9.0) == pytest.approx(1.5 / 9.0, rel=1e-6)
    assert resistance_ratio(1e4) == pytest.approx(1e4)


@pytest.mark.parametrize("xi", [0.5, 1.5, 3.0])
def test_bar_factors_against_a_numerical_field(xi: float) -> None:
    """Finite differences of the diffusion equation in the bar give the same resistance and reactance."""
    n = 4000
    dx = 1.0 / n
    main = np.full(n + 1, -2.0 - 2j * xi**2 * dx**2, dtype=complex)
    upper, lower = np.ones(n, dtype=complex), np.ones(n, dtype=complex)
    upper[0] = 2.0  # no field below the bar: symmetric at the bottom
    main[-1], lower[-1] = 1.0, 0.0  # current density 1 at the top
    from scipy.linalg import solve_banded

    bands = np.array([np.r_[0, upper], main, np.r_[lower, 0]])
    density = solve_banded((1, 1), bands, np.r_[np.zeros(n), 1.0])
    current = np.trapezoid(density, dx=dx)
    impedance = density[-1] / current  # over the direct-current resistance
    assert resistance_ratio(xi) == pytest.approx(impedance.real, rel=1e-5)
    assert reactance_ratio(xi) == pytest.approx(1.5 * impedance.imag / xi**2, rel=1e-5)


def test_copper_bar_of_one_centimetre_at_50_hz() -> None:
    """Copper at 75 degC: skin depth near 10.3 mm, so that a bar of 10 mm has a reduced height near 1 (rule of thumb)."""
    bar = RectangularBar(height=0.010, width=4e-3, slot_width=4e-3, metal="copper", temperature=75)
    assert bar.reduced_height(50.0) == pytest.approx(0.97, abs=0.02)
    assert bar.reduced_height(200.0) == pytest.approx(2 * bar.reduced_height(50.0))


@pytest.mark.parametrize("xi", [1.0, 3.0])
def test_endless_row_of_branches_is_the_bar(xi: float) -> None:
    """Many branches of the partial fractions add up to the bar's impedance."""
    slips = np.array([0.01, 0.1, 1.0])
    row = bar_branches(2.0, xi, 4000)
    admittance = sum(1 / (b.R + 1j * slips * b.X) for b in row)
    wanted = 2.0 * (resistance_ratio(xi * np.sqrt(slips)) + 0j)
    assert (1 / admittance).real == pytest.approx(wanted.real, rel=1e-3)
    assert (1 / admittance).imag == pytest.approx(
        2.0 * xi**2 * slips * reactance_ratio(xi * np.sqrt(slips)) / 1.5, rel=1e-3
    )


def deep_bar(height: float) -> BarRotor:
    bar = RectangularBar(height=height, width=5e-3, slot_width=5.5e-3, metal="aluminium", temperature=90)
    return BarRotor(bar=bar, bar_resistance=0.02, ring_resistance=0.006, fixed_reactance=0.12, frequency=50)


@pytest.mark.parametrize("height", [0.02, 0.04, 0.06])
def test_ladder_error_is_stated_and_falls_with_branches(height: float) -> None:
    """The stated error is what a finer comparison finds, and more branches are nearer."""
    rotor = deep_bar(height)
    errors = []
    for branches in (1, 2, 3):
        found = ladder(rotor, branches)
        slips = np.geomspace(1e-3, 1, 501)
        model = 1 / sum(1 / (b.R + 1j * slips * b.X) for b in found.branches)
        error = np.abs(model / rotor.impedance(slips) - 1).max()
        assert found.impedance_error == pytest.approx(error, rel=0.05, abs=1e-9)
        assert f"{branches} rotor branch" in found.words()
        errors.append(found.impedance_error)
    assert errors[2] < 0.01
    assert errors[2] < errors[1] < errors[0]


def test_two_known_points_are_met_by_a_ladder() -> None:
    """A two-point law keeps its ends, and three branches stand for it within half a per cent."""
    rotor = TwoPointRotor(
        running_resistance=0.02,
        running_reactance=0.2,
        standstill_resistance=0.05,
        standstill_reactance=0.15,
        frequency=50,
    )
    assert rotor.impedance(1.0) == pytest.approx(0.05 + 0.15j)
    assert rotor.impedance(0.0) == pytest.approx(0.02)
    found = ladder(rotor, 3)
    assert found.resistance_error < 0.005
    assert found.impedance_error < 0.005


def test_two_points_of_a_true_bar_give_the_bar() -> None:
    """From running and standstill values of a bar the law finds the whole curve."""
    rotor = deep_bar(0.035)
    running, standstill = rotor.impedance(1e-9), rotor.impedance(1.0)
    law = TwoPointRotor(
        running_resistance=running.real,
        running_reactance=running.imag / 1e-9,
        standstill_resistance=standstill.real,
        standstill_reactance=standstill.imag,
        frequency=50,
    )
    slips = np.geomspace(1e-3, 1, 50)
    assert np.abs(law.impedance(slips) / rotor.impedance(slips) - 1).max() < 1e-6


@sampled(10)
@given(rise=st.floats(1.5, 6), keep=st.floats(0.3, 0.9))
def test_any_two_points_keep_their_ends(rise: float, keep: float) -> None:
    """Whatever the two points, the law passes through them and a ladder with a stated error exists."""
    law = TwoPointRotor(
        running_resistance=0.02,
        running_reactance=0.2,
        standstill_resistance=0.02 * rise,
        standstill_reactance=0.2 * keep,
        frequency=50,
    )
    assert law.impedance(1.0) == pytest.approx(0.02 * rise + 0.2j * keep)
    assert law.impedance(1e-9).real == pytest.approx(0.02)
    assert ladder(law, 3).impedance_error < 0.25


@sampled(20)
@given(ratio=st.floats(1.05, 6))
def test_a_bar_of_a_wanted_ratio(ratio: float) -> None:
    """The bar found for a resistance ratio shows it at standstill."""
    assert resistance_ratio(height_for(ratio)) == pytest.approx(ratio, rel=1e-9)
    assert resistance_ratio(bar_of_ratio(ratio, 50).reduced_height(50)) == pytest.approx(ratio, rel=1e-9)


def test_bad_bars_are_named() -> None:
    """A bar wider than its slot, an unknown metal, too many branches: each by its name."""
    with pytest.raises(DomainError, match="fill"):
        reduced_height(0.02, 50, 2e-8, fill=1.2)
    with pytest.raises(DomainError, match="metal"):
        RectangularBar(height=0.02, width=1, slot_width=1, metal="iron").reduced_height(50)
    with pytest.raises(DomainError, match="branches"):
        ladder(deep_bar(0.03), 9)
    with pytest.raises(DomainError, match="standstill_resistance"):
        TwoPointRotor(
            running_resistance=2,
            running_reactance=2,
            standstill_resistance=1,
            standstill_reactance=1,
            frequency=50,
        )
    with pytest.raises(DomainError, match="knee"):
        LeakageSaturation(knee=-1, stator_share=0.5, rotor_share=0.5)
    with pytest.raises(DomainError, match="rotor_share"):
        LeakageSaturation(knee=10, stator_share=0.5, rotor_share=1.5)
    with pytest.raises(DomainError, match="unsaturated"):
        MainSaturation(rated_gap_voltage=220, unsaturated=0.8)


@sampled(30)
@given(over=st.floats(0.2, 20))
def test_two_slope_factor_is_the_fundamental_of_a_clipped_sine(over: float) -> None:
    """The factor is the first Fourier coefficient of a sine clipped at the knee, over its peak."""
    angle = (np.arange(200_000) + 0.5) * 2 * pi / 200_000
    clipped = np.clip(over * np.sin(angle), -1, 1)
    fundamental = 2 * np.mean(clipped * np.sin(angle)) / over
    assert two_slope_factor(over, 1.0) == pytest.approx(fundamental, rel=1e-6)


def saturable(circuit: Circuit, knee: float) -> Circuit:
    """The circuit with half its leakage saturable from `knee` times its linear locked-rotor peak current."""
    linear = operating_point(circuit, 1.0, VOLTS, circuit.frequency, SPEED)
    level = knee * sqrt(2) * abs(linear.stator_current)
    return replace(circuit, leakage_saturation=LeakageSaturation(knee=level, stator_share=0.5, rotor_share=0.5))


@sampled(40)
@given(
    circuit=st.one_of(single_cage_circuits(), double_cage_circuits()),
    knee=st.floats(0.15, 0.9),
    slip=st.floats(-1, 1.5),
)
def test_saturated_state_is_consistent_and_balances(circuit: Circuit, knee: float, slip: float) -> None:
    """The reactances used are those of the currents found, and power in = losses + converted at 1e-9."""
    law = saturable(circuit, knee)
    found = saturated_point(law, slip, VOLTS, circuit.frequency, SPEED)
    p, at = found.point, found.circuit
    peaks = tuple(sqrt(2) * abs(p.gap_voltage * slip / (b.R + 1j * slip * b.X)) for b in at.rotor)
    again = effective(law, sqrt(2) * abs(p.stator_current), peaks, abs(p.gap_voltage))
    assert pytest.approx(at.X1, rel=1e-9) == again.X1
    assert [b.X for b in again.rotor] == pytest.approx([b.X for b in at.rotor], rel=1e-9)
    out = p.stator_loss + p.core_loss + p.rotor_loss + p.converted_power
    scale = p.stator_loss + p.core_loss + p.rotor_loss + abs(p.converted_power)
    assert abs(p.input_power.real - out) <= 1e-9 * scale


@sampled(30)
@given(circuit=st.one_of(single_cage_circuits(), double_cage_circuits()), knee=st.floats(0.15, 0.9))
def test_saturation_makes_the_start_steeper_than_proportion(circuit: Circuit, knee: float) -> None:
    """At 60 % voltage a saturable motor draws less than 60 % of its current and makes less than 36 % of its torque."""
    law = saturable(circuit, knee)
    part = at_reduced_voltage(law, 0.6, VOLTS, circuit.frequency, SPEED)
    assert part.current_ratio < 0.6
    assert part.torque_ratio < 0.36
    full = saturated_point(law, 1.0, VOLTS, circuit.frequency, SPEED).point
    linear = operating_point(circuit, 1.0, VOLTS, circuit.frequency, SPEED)
    assert abs(full.stator_current) > abs(linear.stator_current)
    assert "60 % voltage" in part.words()


@sampled(20)
@given(circuit=single_cage_circuits(), several=st.lists(st.floats(-1, 1.5), min_size=1, max_size=4))
def test_saturated_arrays_give_what_numbers_give(circuit: Circuit, several: list[float]) -> None:
    """An array of slips gives what each slip gives alone."""
    law = saturable(circuit, 0.4)
    whole = saturated_point(law, np.array(several), VOLTS, circuit.frequency, SPEED).point
    alone = [saturated_point(law, s, VOLTS, circuit.frequency, SPEED).point.torque for s in several]
    assert whole.torque == pytest.approx(alone, rel=1e-8, abs=1e-9)


@sampled(20)
@given(circuit=single_cage_circuits(), slip=st.floats(-1, 1.5))
def test_no_law_changes_nothing(circuit: Circuit, slip: float) -> None:
    """Without laws, and with laws that saturate nothing, the point is the linear one."""
    linear = operating_point(circuit, slip, VOLTS, circuit.frequency, SPEED)
    nothing = LeakageSaturation(knee=1.0, stator_share=0.0, rotor_share=0.0)
    flat = MainSaturation(rated_gap_voltage=200.0, unsaturated=1.0)
    for same in (circuit, replace(circuit, leakage_saturation=nothing, main_saturation=flat)):
        found = saturated_point(same, slip, VOLTS, circuit.frequency, SPEED).point
        assert found.torque == pytest.approx(linear.torque, rel=1e-12)
        assert found.stator_current == pytest.approx(linear.stator_current, rel=1e-12)


def test_main_flux_saturation_bends_the_no_load_current() -> None:
    """At rated flux Xm holds; 15 % more voltage takes far more than 15 % more current; half voltage takes less than half."""
    circuit = Circuit(frequency=50, R1=0.2, X1=0.5, Xm=20.0, rotor=(RotorBranch(R=0.2, X=0.6),))
    linear = operating_point(circuit, 0.0, 230.0, 50, SPEED)
    law = MainSaturation(rated_gap_voltage=float(abs(linear.gap_voltage)), unsaturated=1.3)
    iron = replace(circuit, main_saturation=law)
    amps = [abs(saturated_point(iron, 0.0, v, 50, SPEED).point.stator_current) for v in (115.0, 230.0, 264.5)]
    assert amps[1] == pytest.approx(abs(linear.stator_current), rel=1e-9)
    assert amps[2] / amps[1] > 1.25
    assert amps[0] / amps[1] < 0.45
    slow = saturated_point(iron, 0.0, 115.0, 25.0, SPEED / 2).point
    assert abs(slow.stator_current) == pytest.approx(amps[1], rel=0.02)  # same volts per hertz, same flux


def test_law_without_a_steady_state_is_refused() -> None:
    """Eighty times the flux of a sharp knee through no impedance to speak of is named, not returned."""
    circuit = Circuit(frequency=50, R1=1e-4, X1=1e-4, Xm=2.0, rotor=(RotorBranch(R=0.2, X=0.6),))
    iron = replace(circuit, main_saturation=MainSaturation(rated_gap_voltage=50.0, unsaturated=1.5, exponent=20))
    with pytest.raises(DomainError, match="no steady state"):
        saturated_point(iron, 0.0, 4000.0, 50, SPEED)


@pytest.mark.parametrize("design", DESIGNS)
def test_typical_designs_keep_their_order(design: str) -> None:
    """Each design letter gives a motor, marked typical, whose every estimate has a range."""
    fit = typical_design(design, power=30e3)
    assert fit.notes[0].startswith("Typical set")
    estimates = [row for row in fit.estimated if row.origin is Origin.ESTIMATED]
    assert all(row.low is not None and row.high is not None for row in estimates)


def test_designs_differ_as_their_letters_say() -> None:
    """C starts harder than B, D hardest and slips most, A draws more than B, H starts harder than N."""
    shown = {design: shown_by(typical_design(design, power=30e3, frequency=60).motor) for design in DESIGNS}
    torque = {design: s.locked_rotor_torque_ratio for design, s in shown.items()}
    assert torque["B"] < torque["C"] < torque["D"]
    assert torque["N"] < torque["H"]
    assert shown["A"].locked_rotor_current_ratio > shown["B"].locked_rotor_current_ratio
    assert shown["D"].slip > 0.05 > shown["C"].slip > shown["A"].slip


def test_hot_windings_have_more_resistance_and_nothing_else() -> None:
    """From 95 to 20 degC copper and aluminium resistances fall by their constants; the reactances stay."""
    motor = typical_design("N", power=30e3).motor
    cold = at_temperature(motor, 20, 20)
    assert motor.circuit is not None
    assert cold.circuit is not None
    assert pytest.approx((235 + 20) / (235 + 95)) == cold.circuit.R1 / motor.circuit.R1
    assert pytest.approx((225 + 20) / (225 + 95)) == cold.circuit.rotor[0].R / motor.circuit.rotor[0].R
    assert (cold.circuit.X1, cold.circuit.Xm) == (motor.circuit.X1, motor.circuit.Xm)
    back = at_temperature(cold, 95, 95).circuit
    assert back is not None
    assert pytest.approx(motor.circuit.R1) == back.R1

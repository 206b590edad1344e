"""Pole changing against published relations: speeds of pole numbers, winding factors, what the arrangements are named for."""

from __future__ import annotations

from math import pi, sin

import pytest

from slipwise.methods.speed.pole_changing_tapped import ARRANGEMENTS, CONSTANT_POWER, CONSTANT_TORQUE, nominal_factor
from slipwise.model.machine.windings import belts, cascade_speeds, synchronous_speed, turns_backwards, winding_factor
from tests.reference import compare, from_reference, published, reference


@from_reference("A43-srivastava-cascade")
def test_speeds_of_a_cascade() -> None:
    """Two motors of 6 and 10 poles on one shaft have four speeds."""
    given = reference("A43-srivastava-cascade")["inputs"]
    speeds = [w * 30 / pi for w in cascade_speeds(given["frequency_Hz"], given["poles_1"], given["poles_2"])]
    compare("A43-srivastava-cascade", {"speeds_rpm": speeds})


@from_reference("D13")
def test_two_to_one() -> None:
    """Twice the poles turn at half the speed; constant power halves the torque, constant torque halves the power."""
    assert synchronous_speed(50.0, 8) == pytest.approx(synchronous_speed(50.0, 4) / 2, rel=1e-9)
    assert synchronous_speed(60.0, 4) * 30 / pi == pytest.approx(120 * 60 / 4, rel=1e-9)
    assert ARRANGEMENTS[CONSTANT_POWER].torque_ratio == 0.5
    assert nominal_factor(CONSTANT_POWER) == 1.0
    assert nominal_factor(CONSTANT_TORQUE) == 2.0


@published("Fitzgerald, Kingsley, Umans, Electric Machinery, appendix B", status="formula from memory")
@pytest.mark.parametrize(("slots", "pairs", "pitch"), [(48, 2, 12), (48, 2, 10), (36, 3, 5), (24, 1, 10), (72, 2, 15)])
def test_winding_factor_of_60_degree_belts(slots: int, pairs: int, pitch: int) -> None:
    """Distribution sin(q g / 2) / (q sin(g / 2)) times pitch sin(pitch / pole pitch x 90 degrees)."""
    q, step = slots // (6 * pairs), 2 * pi * pairs / slots
    distribution = sin(q * step / 2) / (q * sin(step / 2))
    chording = sin(pitch / (slots / (2 * pairs)) * pi / 2)
    assert winding_factor(belts(slots, pairs), slots, pitch, pairs) == pytest.approx(distribution * chording, rel=1e-12)


@published("Fitzgerald, Kingsley, Umans, Electric Machinery, appendix B", status="formula from memory")
@pytest.mark.parametrize("pairs", [1, 2, 3])
def test_reversing_half_the_coils_doubles_the_poles(pairs: int) -> None:
    """Belts of 120 degrees at twice the poles, full pitch there; nothing is left of the old pole number."""
    slots = 24 * pairs
    coils = tuple(coil.turned() for coil in belts(slots, pairs))
    pitch = slots // (4 * pairs)
    q, step = slots // (6 * pairs), 4 * pi * pairs / slots
    distribution = sin(q * step / 2) / (q * sin(step / 2))
    assert winding_factor(coils, slots, pitch, 2 * pairs) == pytest.approx(distribution, rel=1e-12)
    assert winding_factor(coils, slots, pitch, pairs) == pytest.approx(0.0, abs=1e-12)
    assert turns_backwards(coils, slots, pitch, 2 * pairs)
    assert not turns_backwards(belts(slots, pairs), slots, pitch, pairs)

"""The closed form of one constant-power load: Kirchhoff's law holds, and it agrees with repetition."""

from __future__ import annotations

import numpy as np
import pytest

from slipwise.solve.network import Follower, _alone, _iterated

LOAD = Follower(place=0, power=70e3 + 38e3j, floor=0.7 * 230.9)
EMF = 235.0 + 4.0j
IMPEDANCES = (0.004 + 0.02j, 0.03 + 0.09j, 0.06 + 0.2j, 0.1 + 0.5j)  # from stiff to far beyond what the load can be fed


@pytest.mark.parametrize("impedance", IMPEDANCES)
def test_drop_and_power_agree(impedance: complex) -> None:
    """The voltage left draws the load's power, or what its admittance at the floor draws below that."""
    current = _alone(LOAD, EMF, impedance)
    voltage = EMF - impedance * current
    share = min(1.0, abs(voltage) / LOAD.floor) ** 2
    assert voltage * current.conjugate() == pytest.approx(LOAD.power * share, rel=1e-12)


@pytest.mark.parametrize("impedance", IMPEDANCES[:2])
def test_same_as_repetition(impedance: complex) -> None:
    [repeated] = _iterated([LOAD], 0.0, [EMF], [[impedance]])
    assert _alone(LOAD, EMF, impedance) == pytest.approx(repeated, rel=1e-8)


def test_arrays_are_numbers_side_by_side() -> None:
    several = _alone(LOAD, np.full(4, EMF), np.array(IMPEDANCES))
    assert several == pytest.approx([_alone(LOAD, EMF, z) for z in IMPEDANCES], rel=1e-13)

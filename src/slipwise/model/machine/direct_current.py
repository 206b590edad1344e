"""Braking by direct current in the stator: equivalent current by connection, and the braking circuit at a speed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import Any

import numpy as np

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.saturation import MainSaturation
from slipwise.quantity.formula import Formula

_ROUNDS = 60


class DcConnection(StrEnum):
    """How the winding stands between the two dc terminals."""

    STAR_TWO = "star, two phases in series"
    STAR_THREE = "star, one phase in series with two in parallel"
    DELTA_TWO = "delta, between two terminals"
    DELTA_THREE = "delta, one terminal against the other two"


@dataclass(frozen=True, slots=True, kw_only=True)
class DcFeed:
    """share: equivalent rms star current per ampere of dc [1]; resistance: between the terminals, in winding R1 [1].

    The winding R1 is that of one phase winding as wound; a delta's star equivalent is a third of it.
    """

    share: float
    windings: float


# Equal fundamental of magnetomotive force: the space vector of three instantaneous currents over sqrt 2 of its rms.
FEEDS = {
    DcConnection.STAR_TWO: DcFeed(share=sqrt(2 / 3), windings=2.0),
    DcConnection.STAR_THREE: DcFeed(share=1 / sqrt(2), windings=1.5),
    DcConnection.DELTA_TWO: DcFeed(share=sqrt(2 / 3), windings=2 / 3),
    DcConnection.DELTA_THREE: DcFeed(share=1 / sqrt(2), windings=0.5),
}

TORQUE = Formula(
    key="machine.dc_braking_torque",
    title="Braking torque of direct current, single cage",
    symbol="T_b",
    expression="3 * I_e**2 * X_m**2 * R2 * S / ((R2**2 + S**2 * (X_m + X2)**2) * omega_s)",
    units={"I_e": "A", "X_m": "ohm", "R2": "ohm", "S": "", "X2": "ohm", "omega_s": "rad/s"},
    source="Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 6 (dynamic braking)",
    validity="without saturation; S is speed over synchronous speed",
    result_unit="N m",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BrakingPoint:
    """At one speed or many. torque_power: braking torque x synchronous speed [W]; magnetising: rms current [A]."""

    torque_power: Any
    magnetising: Any


def braking_point(circuit: Circuit, current: float, speed_share: Any, external: float = 0.0) -> BrakingPoint:
    """The rotor's answer to a standing field made by an equivalent rms star current.

    Args:
        circuit: star equivalent; its main saturation is solved along when it has one. [ohm]
        current: equivalent rms star current (dc ampere x `DcFeed.share`). [A]
        speed_share: |speed| / synchronous speed, any shape.
        external: resistance added per phase of a wound rotor, referred to the stator. [ohm]

    Returns:
        BrakingPoint; the rotor circuit loses torque power x speed share, all of it from the shaft.

    Source: TORQUE for one branch, written with the rotor admittance for several. No core loss at standstill.
    """
    s = np.asarray(speed_share, dtype=float) if isinstance(speed_share, np.ndarray) else speed_share
    rotor = circuit.rotor_admittance(s, circuit.frequency, external)  # per ohm of voltage at full speed
    main, least = circuit.main_saturation, 1.0
    if main is not None:
        least = 1 / main.unsaturated
    flux: Any = current / abs(rotor + least / (1j * circuit.Xm))  # as a voltage at rated frequency
    factor: Any = 1.0 + 0.0 * s
    if main is not None:
        flux = _saturated(main, rotor, circuit.Xm, current, flux)
        factor = main.susceptance_factor(flux)
    return BrakingPoint(torque_power=3 * flux**2 * rotor.real, magnetising=flux * factor / circuit.Xm)


def _saturated(law: MainSaturation, rotor: Any, reactance: float, current: float, most: Any) -> Any:
    """The flux, as a voltage, at which rotor and saturated magnetising current together make `current`.

    Newton's method from above on an increasing convex function; `most`: the flux without saturation. Shape of `rotor`.
    """
    least, n = 1 / law.unsaturated, law.exponent
    if least == 1.0:
        return most
    alone = law.rated_gap_voltage * (current * reactance / law.rated_gap_voltage / (1 - least)) ** (1 / (n + 1))
    flux = np.minimum(most, alone) if isinstance(most, np.ndarray) else min(float(most), alone)
    for _ in range(_ROUNDS):
        level = (1 - least) * (flux / law.rated_gap_voltage) ** n
        across = -rotor.imag + (least + level) / reactance
        size = (rotor.real**2 + across**2) ** 0.5
        slope = size + across * n * level / reactance / size
        change = (flux * size - current) / slope
        flux = flux - change
        if np.max(np.abs(change) - 1e-13 * flux) <= 0.0:
            break
    return flux

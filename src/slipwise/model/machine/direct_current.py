"""Braking by direct current in the stator: equivalent current by connection, and the braking circuit at a speed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import Any

import numpy as np

from slipwise.model.machine.circuit import Circuit
from slipwise.quantity.formula import Formula

_ROUNDS = 200


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


def braking_point(circuit: Circuit, current: float, speed_share: Any) -> BrakingPoint:
    """The rotor's answer to a standing field made by an equivalent rms star current.

    Args:
        circuit: star equivalent; its main saturation is solved along when it has one. [ohm]
        current: equivalent rms star current (dc ampere x `DcFeed.share`). [A]
        speed_share: |speed| / synchronous speed, any shape.

    Returns:
        BrakingPoint; the rotor loses torque power x speed share, all of it from the shaft.

    Source: TORQUE for one branch, written with the rotor admittance for several. No core loss at standstill.
    """
    s = np.asarray(speed_share, dtype=float) if isinstance(speed_share, np.ndarray) else speed_share
    rotor = circuit.rotor_admittance(s, circuit.frequency)  # per ohm of voltage at full speed
    main = circuit.main_saturation
    factor: Any = 1.0 + 0.0 * s
    for _ in range(_ROUNDS):
        flux = current / abs(rotor + factor / (1j * circuit.Xm))  # as a voltage at rated frequency
        if main is None:
            break
        wanted = main.susceptance_factor(flux)
        if np.max(abs(wanted - factor)) < 1e-11 * np.max(wanted):
            break
        # Newton in the logarithm would overshoot; the geometric mean always converges here.
        factor = (wanted * factor**_STIFF) ** (1 / (1 + _STIFF))
    return BrakingPoint(torque_power=3 * flux**2 * rotor.real, magnetising=flux * factor / circuit.Xm)


_STIFF = 7.0

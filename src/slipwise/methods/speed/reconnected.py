"""A winding taken from star into delta: the same machine at 1/sqrt 3 of the line voltage and sqrt 3 times the line current."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import InputError


def in_delta(motor: Motor, field: str) -> Motor:
    """A star-connected motor with its winding in delta; the star equivalent of the circuit is a third of what it was.

    field: dotted path of the setting that asked for it, for the error.

    Raises:
        InputError: the winding runs in delta already.

    Source: star-delta equivalence; rated line voltage and current of the two connections on one plate.
    """
    rating = motor.rating
    if rating.connection != "star":
        raise InputError.of(
            field, "delta", "the winding stands in delta already", 'write "as_plate", give base_frequency'
        )
    plate = replace(rating, voltage=rating.voltage / sqrt(3), current=rating.current * sqrt(3), connection="delta")
    locked = motor.locked_rotor_current
    return replace(
        motor,
        rating=plate,
        circuit=None if motor.circuit is None else _third(motor.circuit),
        locked_rotor_current=None if locked is None else locked * sqrt(3),
    )


def _third(circuit: Circuit) -> Circuit:
    """Impedances of a delta's star equivalent; a saturating current grows and a flux-setting voltage falls by sqrt 3."""
    leakage, main = circuit.leakage_saturation, circuit.main_saturation
    return replace(
        circuit,
        R1=circuit.R1 / 3,
        X1=circuit.X1 / 3,
        Xm=circuit.Xm / 3,
        Rfe=circuit.Rfe / 3,
        rotor=tuple(replace(b, R=b.R / 3, X=b.X / 3) for b in circuit.rotor),
        leakage_saturation=None if leakage is None else replace(leakage, knee=leakage.knee * sqrt(3)),
        main_saturation=None if main is None else replace(main, rated_gap_voltage=main.rated_gap_voltage / sqrt(3)),
    )

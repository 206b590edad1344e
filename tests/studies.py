"""Small studies that several tests share. Every value is invented (Tarnhill) unless a test says otherwise."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from typing import Any

from slipwise.limits.thresholds import Limits, Threshold
from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss, Motor, Rating, StallLimit
from slipwise.model.supply.path import Busbar, Link, SupplyCases, SupplyPath
from slipwise.study.model import Study, Tolerances
from slipwise.study.request import WayRequest

GIVEN = "given by user"


def threshold(value: float | None, unit: str = "pu") -> Threshold:
    return Threshold(value=value, unit=unit, source=GIVEN)


def limits(**changes: float | None) -> Limits:
    """Ordinary limits; any may be changed by name, None leaves it unset."""
    values: dict[str, float | None] = {
        "terminal_voltage": 0.80,
        "torque_margin": 0.10,
        "run_up_time": 20.0,
        "heat": 0.9,
        "line_current": None,
        "peak_current": None,
        "shaft_torque": None,
        **changes,
    }
    units = {"run_up_time": "s", "line_current": "A", "peak_current": "A"}
    return Limits(**{name: threshold(value, units.get(name, "pu")) for name, value in values.items()})


def motor(**changes: Any) -> Motor:
    """P3, the raw-water pump's 90 kW motor, four poles, delta at 400 V."""
    circuit = Circuit(
        frequency=50.0,
        R1=0.035,
        X1=0.12,
        Xm=4.5,
        Rfe=150.0,
        rotor=(RotorBranch(R=0.026, X=0.22), RotorBranch(R=0.14, X=0.09)),
    )
    rating = Rating(
        power=90e3, voltage=400.0, frequency=50.0, poles=4, speed=1484 * pi / 30, current=158.0, connection="delta"
    )
    plain = Motor(
        rating=rating,
        inertia=1.3,
        circuit=circuit,
        mechanical_loss=MechanicalLoss(torque=4.0, exponent=1.0),
        stall=StallLimit(cold=25.0, hot=15.0),
    )
    return replace(plain, **changes)


def load(share: float = 0.85, inertia: float = 1.5, exponent: float = 2.0) -> Load:
    """A power-law load: `share` of rated torque at rated speed."""
    rated = motor().rating
    term = PowerTerm(coefficient=share * rated.torque, exponent=exponent)
    return Load(terms=(term,), base_speed=rated.speed, inertia=inertia)


def path(impedance: complex = 0.0015 + 0.010j, dip_limit: float | None = 0.10) -> SupplyPath:
    """Network and transformer to the main board, then a cable to the terminals."""
    board = Busbar(name="main board", nominal=400.0, dip_limit=dip_limit, dip_source=GIVEN)
    return SupplyPath(
        voltage=400.0,
        frequency=50.0,
        links=(
            Link(name="transformer", kind="transformer", impedance=impedance, busbar=board),
            Link(name="cable", kind="cable", impedance=0.008 + 0.005j, busbar=Busbar(name="terminals", nominal=400.0)),
        ),
    )


def supply(scale: float = 1.0, weak: float = 1.2, dip_limit: float | None = 0.10) -> SupplyCases:
    """The path with its impedance times `scale`, `weak` times that when weak, and two thirds when strong."""
    base = (0.0015 + 0.010j) * scale
    return SupplyCases(
        nominal=path(base, dip_limit), weak=path(base * weak, dip_limit), strong=path(base / 1.5, dip_limit)
    )


def study(*keys: str, **changes: Any) -> Study:
    """A study of the ways named (all three when none is), any field changed by name."""
    plain = Study(
        title="P3 raw-water pump",
        motor=motor(),
        load=load(),
        supply=supply(),
        limits=limits(),
        tolerances=Tolerances(low_voltage=0.95, high_voltage=1.05, torque=-0.15, current=0.2),
        ways=tuple(WayRequest(key=key, given={}) for key in keys or ("direct", "star_delta", "autotransformer")),
        order=("direct", "star_delta", "autotransformer"),
        starts_per_hour=None,
        switching_angles=4,
        inputs=(),
        plate=(),
        file=None,
    )
    return replace(plain, **changes)

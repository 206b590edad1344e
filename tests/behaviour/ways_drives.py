"""Drives the ways of starting are tried on: small, pump, large, wound; invented values except the 500 hp machine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import inf, pi
from typing import Any

from slipwise.limits.thresholds import Limits, Threshold
from slipwise.methods.way import Task, dials
from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss, Motor, Rating, StallLimit
from slipwise.model.supply.path import BaseLoad, Busbar, Link, LoadModel, SupplyPath
from slipwise.solve.plan import Drive
from tests.reference import reference


def circuit(base: float, frequency: float, **per_unit: float) -> Circuit:
    """A circuit from per-unit values: R1, X1, Xm and R2, X2 (and R3, X3)."""
    p = {name: value * base for name, value in per_unit.items()}
    branches = [RotorBranch(R=p["R2"], X=p["X2"])]
    if "R3" in p:
        branches.append(RotorBranch(R=p["R3"], X=p["X3"]))
    return Circuit(frequency=frequency, R1=p["R1"], X1=p["X1"], Xm=p["Xm"], rotor=tuple(branches))


def supply(voltage: float, frequency: float, short_circuit: float, dip: float | None = 0.15) -> SupplyPath:
    """Network and cable to the terminals. short_circuit: at the main board, VA."""
    z = voltage**2 / short_circuit
    board = Busbar(
        name="main board",
        nominal=voltage,
        load=BaseLoad(power=short_circuit * (0.01 + 0.005j), model=LoadModel.CONSTANT_IMPEDANCE),
        dip_limit=dip,
        dip_source="given by user",
    )
    return SupplyPath(
        voltage=voltage,
        frequency=frequency,
        links=(
            Link(name="network", kind="network", impedance=complex(0.1 * z, z), busbar=board),
            Link(
                name="cable",
                kind="cable",
                impedance=complex(0.1 * z, 0.03 * z),
                busbar=Busbar(name="motor", nominal=voltage),
            ),
        ),
    )


def quadratic(torque: float, speed: float, inertia: float, breakaway: float = 0.0) -> Load:
    """A fan or pump."""
    return Load(
        terms=(PowerTerm(coefficient=torque, exponent=2.0),),
        base_speed=speed,
        inertia=inertia,
        breakaway=breakaway,
        breakaway_speed=0.1 * speed if breakaway else 0.0,
    )


def constant(torque: float, speed: float, inertia: float) -> Load:
    """A conveyor or hoist."""
    return Load(terms=(PowerTerm(coefficient=torque, exponent=0.0),), base_speed=speed, inertia=inertia)


def small() -> Drive:
    """2.2 kW, star at 400 V, bench."""
    rating = Rating(
        power=2200.0,
        voltage=400.0,
        frequency=50.0,
        poles=4,
        speed=148.7,
        current=4.9,
        connection="star",
        power_factor=0.81,
    )
    z = rating.phase_voltage / rating.current
    motor = Motor(
        rating=rating,
        inertia=0.0055,
        circuit=circuit(z, 50.0, R1=0.06, X1=0.08, Xm=1.8, R2=0.055, X2=0.10),
        mechanical_loss=MechanicalLoss(torque=0.15, exponent=1.0),
    )
    return Drive(motor=motor, load=quadratic(10.0, 148.7, 0.02), supply=supply(400.0, 50.0, 5e6))


def pump() -> Drive:
    """90 kW, delta at 400 V, double cage, pump with part of its torque."""
    rating = Rating(
        power=90e3,
        voltage=400.0,
        frequency=50.0,
        poles=4,
        speed=155.3,
        current=160.0,
        connection="delta",
        power_factor=0.86,
    )
    z = rating.phase_voltage / rating.current
    motor = Motor(
        rating=rating,
        inertia=1.1,
        circuit=circuit(z, 50.0, R1=0.018, X1=0.085, Xm=3.0, R2=0.07, X2=0.07, R3=0.016, X3=0.13),
        stall=StallLimit(cold=25.0, hot=14.0),
        mechanical_loss=MechanicalLoss(torque=4.0, exponent=1.0),
    )
    return Drive(motor=motor, load=quadratic(230.0, 155.3, 1.5, breakaway=60.0), supply=supply(400.0, 50.0, 15e6))


def large() -> Drive:
    """500 hp, 2300 V, star, of the published dynamic data set, with a fan."""
    data = reference("B-krause-500hp")["inputs"]
    rating = Rating(
        power=500 * 745.7,
        voltage=2300.0,
        frequency=60.0,
        poles=4,
        speed=186.2,
        current=93.6,
        connection="star",
        power_factor=0.9,
    )
    machine = Circuit(
        frequency=60.0,
        R1=data["rs_ohm"],
        X1=data["Xls_ohm"],
        Xm=data["XM_ohm"],
        rotor=(RotorBranch(R=data["rr_ohm"], X=data["Xlr_ohm"]),),
    )
    motor = Motor(rating=rating, inertia=data["inertia_kgm2"], circuit=machine)
    return Drive(motor=motor, load=quadratic(1400.0, 186.2, 20.0), supply=supply(2300.0, 60.0, 40e6))


def wound() -> Drive:
    """315 kW slip-ring motor, 6 poles, delta at 400 V, crusher."""
    rating = Rating(
        power=315e3,
        voltage=400.0,
        frequency=50.0,
        poles=6,
        speed=103.4,
        current=560.0,
        connection="delta",
        power_factor=0.86,
    )
    z = rating.phase_voltage / rating.current
    motor = Motor(
        rating=rating,
        inertia=12.0,
        circuit=circuit(z, 50.0, R1=0.012, X1=0.09, Xm=3.2, R2=0.013, X2=0.10),
        wound_ratio=0.8,
        mechanical_loss=MechanicalLoss(torque=20.0, exponent=1.0),
    )
    return Drive(motor=motor, load=constant(1800.0, 103.4, 60.0), supply=supply(400.0, 50.0, 40e6))


def worse(drive: Drive) -> Drive:
    """The same drive at 95 % voltage behind a weaker network."""
    links = tuple(replace(link, impedance=1.2 * link.impedance) for link in drive.supply.links)
    return replace(drive, supply=replace(drive.supply, voltage=0.95 * drive.supply.voltage, links=links))


def open_limits(**values: float) -> Limits:
    """Limits with only the named ones set."""
    units = {
        "terminal_voltage": "pu",
        "torque_margin": "pu",
        "run_up_time": "s",
        "heat": "pu",
        "line_current": "A",
        "peak_current": "A",
        "shaft_torque": "pu",
    }
    return Limits(
        **{name: Threshold(value=values.get(name), unit=unit, source="given by user") for name, unit in units.items()}
    )


def task(drive: Drive, **limits: float) -> Task:
    """A task on a drive, its worst case beside it."""
    return Task(nominal=drive, worst=worse(drive), limits=open_limits(**limits))


DRIVES = {"small": small, "pump": pump, "large": large, "wound": wound}
RPM = pi / 30


def refuses_bad_settings(way: type[Any], section: str, refused: Callable[..., str]) -> None:
    """A way refuses an unknown setting, a value outside its dial, a word that is none, a number that is not finite.

    refused: the message a setting meets, given by name.
    """
    assert "no such setting" in refused(way, colour=1.0)
    for name, dial in dials(way).items():
        bad: tuple[Any, ...] = ("sideways",) if dial.choices else (inf, "fast")
        below = () if dial.low is None else (dial.low - 1.0,)
        above = () if dial.high is None else (dial.high + 1.0,)
        for value in (*bad, *below, *above):
            assert f"{section}.{way.key}.{name}" in refused(way, **{name: value})

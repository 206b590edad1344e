"""Machines, loads and paths that several tests share, and strategies for random ones."""

from __future__ import annotations

from math import pi

from hypothesis import strategies as st

from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import Motor, Rating
from slipwise.model.supply.path import BaseLoad, Busbar, Link, LoadModel, SupplyPath
from slipwise.solve.plan import Drive
from tests.reference import reference


def machine(key: str) -> Motor:
    """A motor of the dynamic data sets among the published entries."""
    given = reference(key)["inputs"]
    power = float(key.rsplit("-", maxsplit=1)[-1].removesuffix("hp")) * 746
    circuit = Circuit(
        frequency=given["frequency_Hz"],
        R1=given["rs_ohm"],
        X1=given["Xls_ohm"],
        Xm=given["XM_ohm"],
        rotor=(RotorBranch(R=given["rr_ohm"], X=given["Xlr_ohm"]),),
    )
    rating = Rating(
        power=power,
        voltage=given["line_voltage_V"],
        frequency=given["frequency_Hz"],
        poles=given["poles"],
        speed=given["rated_speed_rpm"] * pi / 30,
        current=reference(key)["expected"]["recomputed_here_not_published"]["current_at_rated_speed_A"],
        connection="star",
    )
    return Motor(rating=rating, inertia=given["inertia_kgm2"], circuit=circuit)


def stiff(motor: Motor) -> SupplyPath:
    """A source without impedance at the motor's rated voltage."""
    busbar = Busbar(name="terminals", nominal=motor.rating.voltage)
    link = Link(name="network", kind="network", impedance=0.0, busbar=busbar)
    return SupplyPath(voltage=motor.rating.voltage, frequency=motor.rating.frequency, links=(link,))


def unloaded(motor: Motor) -> Load:
    """No load torque and no inertia."""
    return Load(terms=(), base_speed=motor.rating.speed, inertia=0.0)


def quadratic(motor: Motor, share: float, inertia: float = 0.0) -> Load:
    """A load torque with the square of speed, `share` of rated torque at rated speed."""
    term = PowerTerm(coefficient=share * motor.rating.torque, exponent=2)
    return Load(terms=(term,), base_speed=motor.rating.speed, inertia=inertia)


@st.composite
def circuits(draw: st.DrawFn, branches: int = 1, core: bool = True) -> Circuit:
    """Random circuits around a base of 1 ohm: every value within the range real machines have, per unit."""

    def value(low: float, high: float) -> float:
        return draw(st.floats(low, high))

    rotor = [RotorBranch(R=value(0.005, 0.08), X=value(0.05, 0.2))]
    rotor += [RotorBranch(R=value(0.05, 0.3), X=value(0.02, 0.1)) for _ in range(branches - 1)]
    return Circuit(
        frequency=50.0,
        R1=value(0.003, 0.06),
        X1=value(0.05, 0.15),
        Xm=value(1.5, 5.0),
        rotor=tuple(rotor),
        Rfe=value(20, 200) if core else float("inf"),
    )


@st.composite
def motors(draw: st.DrawFn, branches: int = 1, core: bool = True) -> Motor:
    """Random motors of 1 kVA base per phase at 1 ohm: 400 V line, rated speed at 3 % slip."""
    poles = draw(st.sampled_from((2, 4, 6, 8)))
    circuit = draw(circuits(branches=branches, core=core))
    speed = 0.97 * 4 * pi * 50 / poles
    connection = draw(st.sampled_from(("star", "delta")))
    rating = Rating(
        power=130e3, voltage=400.0, frequency=50.0, poles=poles, speed=speed, current=230.0, connection=connection
    )
    return Motor(rating=rating, inertia=draw(st.floats(0.5, 5.0)), circuit=circuit)


@st.composite
def paths(draw: st.DrawFn, voltage: float = 400.0, constant_power: bool = True) -> SupplyPath:
    """Random paths of one to three links with base loads, strong enough that every load can be served."""
    models = st.sampled_from(tuple(LoadModel)) if constant_power else st.just(LoadModel.CONSTANT_IMPEDANCE)
    links = []
    for i in range(draw(st.integers(1, 3))):
        power = complex(draw(st.floats(0, 60e3)), draw(st.floats(0, 40e3)))
        busbar = Busbar(name=f"bus {i}", nominal=voltage, load=BaseLoad(power=power, model=draw(models)))
        impedance = complex(draw(st.floats(0.0005, 0.01)), draw(st.floats(0.001, 0.03)))
        links.append(Link(name=f"link {i}", kind="cable", impedance=impedance, busbar=busbar))
    return SupplyPath(voltage=voltage, frequency=50.0, links=tuple(links))


@st.composite
def drives(draw: st.DrawFn, branches: int = 1, core: bool = True, constant_power: bool = True) -> Drive:
    """Random motor, quadratic load and path."""
    motor = draw(motors(branches=branches, core=core))
    load = quadratic(motor, draw(st.floats(0.0, 0.8)), draw(st.floats(0.1, 10.0)))
    return Drive(motor=motor, load=load, supply=draw(paths(constant_power=constant_power)))

"""Several motors on one path against the same equations written out for scipy: nodal admittances, all speeds together."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from slipwise.model.supply.path import BaseLoad, Busbar, Link, LoadModel, SupplyPath
from slipwise.results.ledger import Side
from slipwise.solve.group import Dip, run_group
from slipwise.solve.group_grid import Member
from slipwise.solve.plan import Drive, Stage, settled
from tests.drives import machine, quadratic, stiff

SMALL, LARGE = machine("B-krause-3hp"), machine("B-krause-50hp")
DIRECT = (Stage(name="direct", until=settled()),)


def trunk(load: LoadModel = LoadModel.CONSTANT_IMPEDANCE) -> SupplyPath:
    """Two busbars; a base load on the first."""
    first = Busbar(name="board", nominal=460.0, load=BaseLoad(power=20e3 + 12e3j, model=load))
    second = Busbar(name="shed", nominal=460.0)
    links = (
        Link(name="feeder", kind="cable", impedance=0.02 + 0.06j, busbar=first),
        Link(name="shed cable", kind="cable", impedance=0.03 + 0.02j, busbar=second),
    )
    return SupplyPath(voltage=470.0, frequency=60.0, links=links)


def pair() -> tuple[Member, Member]:
    """A large motor at the first busbar behind its own cable, a small one at the second, a little later."""
    made = [Drive(motor=m, load=quadratic(m, 0.8, 0.3), supply=stiff(m)) for m in (LARGE, replace(SMALL))]
    rating = replace(SMALL.rating, voltage=460.0)  # a 220 V machine's circuit scaled to 460 V below
    scale = (460.0 / SMALL.rating.voltage) ** 2
    c = SMALL.circuit
    assert c is not None
    rotor = tuple(replace(b, R=b.R * scale, X=b.X * scale) for b in c.rotor)
    scaled = replace(c, R1=c.R1 * scale, X1=c.X1 * scale, Xm=c.Xm * scale, rotor=rotor)
    small = replace(SMALL, rating=rating, circuit=scaled)
    made[1] = Drive(motor=small, load=quadratic(small, 0.8, 0.05), supply=stiff(small))
    return (
        Member(name="large", drive=made[0], plan=DIRECT, place=0, branch=0.01 + 0.005j),
        Member(name="small", drive=made[1], plan=DIRECT, place=1, switch_on=0.3),
    )


def admittance(member: Member, speed: float) -> complex:
    """Of the per-phase circuit, written here on its own."""
    c, motor = member.drive.motor.circuit, member.drive.motor
    assert c is not None
    slip = 1 - speed / motor.rating.synchronous_speed
    rotor = slip / (c.rotor[0].R + 1j * slip * c.rotor[0].X) if slip else 0.0
    return 1 / (c.R1 + 1j * c.X1 + 1 / (1 / (1j * c.Xm) + rotor))


def torque(member: Member, speed: float, volts: complex) -> float:
    """Air-gap power over synchronous speed."""
    c, motor = member.drive.motor.circuit, member.drive.motor
    assert c is not None
    slip = 1 - speed / motor.rating.synchronous_speed
    rotor = slip / (c.rotor[0].R + 1j * slip * c.rotor[0].X) if slip else 0.0
    gap = volts * (1 - admittance(member, speed) * (c.R1 + 1j * c.X1))
    return float(3 * abs(gap) ** 2 * complex(rotor).real / motor.rating.synchronous_speed)


def nodes(time: float, speeds: np.ndarray, members: tuple[Member, Member]) -> np.ndarray:
    """Voltages of board, large motor's terminals and shed by the nodal admittance matrix."""
    large, small = members
    ya, yb, yc = 1 / (0.02 + 0.06j), 1 / (0.01 + 0.005j), 1 / (0.03 + 0.02j)
    base = (20e3 - 12e3j) / 460.0**2
    on = 1.0 if time >= 0.3 else 0.0
    matrix = np.array(
        [
            [ya + yb + yc + base, -yb, -yc],
            [-yb, yb + admittance(large, speeds[0]), 0],
            [-yc, 0, yc + on * admittance(small, speeds[1])],
        ]
    )
    return np.linalg.solve(matrix, np.array([ya * 470 / sqrt(3), 0, 0]))


def test_two_motors_agree_with_scipy() -> None:
    """Speeds of both and the least voltage of each busbar, to 1e-6."""
    members = pair()
    run = run_group(trunk(), members, relative=1e-9)

    def rate(time: float, speeds: np.ndarray) -> list[float]:
        volts = nodes(time, speeds, members)
        found = []
        for k, (member, v) in enumerate(zip(members, volts[1:], strict=True)):
            on = k == 0 or time >= 0.3
            net = torque(member, speeds[k], v) - float(member.drive.load.torque(float(speeds[k])))
            found.append(net / member.drive.inertia if on else 0.0)
        return found

    first = solve_ivp(rate, (0, 0.3), [0.0, 0.0], rtol=1e-11, atol=1e-11, method="DOP853", dense_output=True)
    end = float(run.time[-1])
    then = solve_ivp(rate, (0.3, end), first.y[:, -1], rtol=1e-11, atol=1e-11, method="DOP853", dense_output=True)
    for k, member in enumerate(members):
        for time, speed in zip(run.time, run.speed[k], strict=True):
            exact = float((first.sol if time < 0.3 else then.sol)(time)[k])
            assert speed == pytest.approx(exact, abs=1e-6 * member.drive.motor.rating.synchronous_speed)
    least = abs(nodes(0.0, np.zeros(2), members))[0] / 460 * sqrt(3)
    assert float(run.busbar_voltage[0, 0]) == pytest.approx(float(least), rel=1e-9)


def test_energy_of_every_motor_closes() -> None:
    """What the starter took is lost, stored or given to the shaft, motor by motor."""
    run = run_group(trunk(LoadModel.CONSTANT_POWER), pair())
    for track in run.tracks:
        supplied = sum(row.energy for row in track.energy.rows if row.side is Side.SUPPLIED)
        rest = sum(row.energy for row in track.energy.rows if row.side is not Side.SUPPLIED)
        assert supplied == pytest.approx(rest, rel=1e-8)


def test_a_dip_is_ridden_through_and_a_long_deep_one_is_not() -> None:
    """A motor slows down while its torque is short, and comes back when the voltage does; a constant load does not let it."""
    large = replace(pair()[0], switch_on=None)
    heavy = replace(large.drive.load, terms=(replace(large.drive.load.terms[0], exponent=0.0),))
    stuck = replace(large, drive=replace(large.drive, load=heavy))
    dip = Dip(begin=0.2, duration=0.4, remaining=0.4)
    short = run_group(trunk(), (large,), dip=dip)
    long = run_group(trunk(), (stuck,), dip=replace(dip, duration=20.0), max_time=40.0)
    assert short.tracks[0].outcome.value == "arrived"
    assert float(short.speed[0].min()) < 0.97 * float(short.speed[0, 0])
    assert float(long.speed[0].min()) <= 1e-6

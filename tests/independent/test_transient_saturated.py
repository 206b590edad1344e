"""The saturating machine against an independent solution: currents found from flux linkages by a general root finder."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import root

from slipwise.model.machine.saturation import LeakageSaturation, MainSaturation
from slipwise.solve import steady
from slipwise.solve.plan import Drive, Stage, elapsed, settled
from slipwise.solve.transient import transient
from tests.drives import machine, quadratic, stiff
from tests.independent.full_equations import Array

MOTOR = machine("B-krause-50hp")
assert MOTOR.circuit is not None
RATED = MOTOR.rating.phase_voltage
LEAKAGE = LeakageSaturation(knee=150.0, stator_share=0.4, rotor_share=0.5)
MAIN = MainSaturation(rated_gap_voltage=0.95 * RATED, unsaturated=1.3, exponent=7.0)
LAWS = [(LEAKAGE, None), (None, MAIN), (LEAKAGE, MAIN)]
NAMES = ["leakage", "main flux", "both"]
OMEGA = 2 * pi * 60


def drive(leakage: LeakageSaturation | None, main: MainSaturation | None) -> Drive:
    """50 hp with the laws, a fan."""
    assert MOTOR.circuit is not None
    circuit = replace(MOTOR.circuit, leakage_saturation=leakage, main_saturation=main)
    return Drive(motor=replace(MOTOR, circuit=circuit), load=quadratic(MOTOR, 0.5), supply=stiff(MOTOR))


def fluxes(x: Array, leakage: LeakageSaturation | None, main: MainSaturation | None) -> Array:
    """Stator and rotor flux linkage (two axes each) of stator current, rotor current and gap flux; then the gap's balance."""
    circuit = MOTOR.circuit
    assert circuit is not None
    stator, rotor, gap = x[:2], x[2:4], x[4:]
    l1, l2 = circuit.X1 / OMEGA, circuit.rotor[0].X / OMEGA
    if leakage is not None:
        l1 = l1 * float(leakage.stator(np.linalg.norm(stator)))
        l2 = l2 * float(leakage.rotor(np.linalg.norm(rotor)))
    inverse = OMEGA / circuit.Xm
    if main is not None:
        inverse = inverse * float(main.susceptance_factor(np.linalg.norm(gap) * OMEGA / sqrt(2)))
    return np.concatenate([l1 * stator + gap, l2 * rotor + gap, (stator + rotor) / inverse - gap])


def reference(
    leakage: LeakageSaturation | None, main: MainSaturation | None, times: Array
) -> tuple[Array, Array, Array]:
    """Speed, torque, phase a current at `times`; stationary frame, phase a at its positive peak at time zero."""
    circuit = MOTOR.circuit
    assert circuit is not None
    load = 0.5 * MOTOR.rating.torque / MOTOR.rating.speed**2
    last = np.zeros(6)

    def currents(flux: Array) -> Array:
        nonlocal last
        found = root(lambda x: fluxes(x, leakage, main) - np.concatenate([flux, [0.0, 0.0]]), last, tol=1e-13)
        last = found.x
        return np.array(found.x)

    def torque(x: Array) -> float:
        return float(3.0 * (x[5] * x[2] - x[4] * x[3]))

    def rate(t: float, y: Array) -> Array:
        x = currents(y[:4])
        push = RATED * sqrt(2) * np.array([np.cos(OMEGA * t), np.sin(OMEGA * t)])
        turn = 2 * y[4]
        return np.array(
            [
                push[0] - circuit.R1 * x[0], push[1] - circuit.R1 * x[1],
                -circuit.rotor[0].R * x[2] - turn * y[3], -circuit.rotor[0].R * x[3] + turn * y[2],
                (torque(x) - load * y[4] ** 2) / MOTOR.inertia,
            ]
        )  # fmt: skip

    answer = solve_ivp(rate, (0, times[-1]), np.zeros(5), method="DOP853", rtol=1e-8, atol=1e-9, t_eval=times)
    last = np.zeros(6)
    states = [currents(y[:4]) for y in answer.y.T]
    return answer.y[4], np.array([torque(x) for x in states]), np.array([x[0] for x in states])


@pytest.mark.parametrize(("leakage", "main"), LAWS, ids=NAMES)
def test_saturated_direct_start(leakage: LeakageSaturation | None, main: MainSaturation | None) -> None:
    """Speed within 1e-4 of synchronous, torque and current within 1e-3 of their peaks, 0.15 s of a direct start."""
    ours = transient((Stage(name="direct", until=elapsed(0.15)),), drive(leakage, main), points=400)
    speed, torque, current = reference(leakage, main, ours.time)
    assert ours.speed == pytest.approx(speed, rel=0, abs=1e-4 * MOTOR.rating.synchronous_speed)
    assert ours.torque == pytest.approx(torque, rel=0, abs=1e-3 * ours.peaks.torque_max)
    assert ours.line_currents[0] == pytest.approx(current, rel=0, abs=1e-3 * ours.peaks.line_current)
    assert abs(ours.energy.closure) < 1e-6


@pytest.mark.parametrize(("leakage", "main"), LAWS, ids=NAMES)
def test_saturated_start_settles_on_the_saturated_steady_state(
    leakage: LeakageSaturation | None, main: MainSaturation | None
) -> None:
    """Through a pause and a reconnection to rest: the same current and torque as the steady solution; books closed."""
    plan = (
        Stage(name="tap", until=elapsed(0.2), ratio=0.7), Stage(name="pause", until=elapsed(0.05), connected=False),
        Stage(name="full", until=settled()),
    )  # fmt: skip
    fed = drive(leakage, main)
    start = transient(plan, fed, points=10)
    point = steady.solve(fed, plan[-1], start.final_speed)
    assert float(np.sqrt(np.sum(start.line_currents[:, -1] ** 2) / 3)) == pytest.approx(float(point.line), rel=1e-3)
    assert start.torque[-1] == pytest.approx(float(point.electromagnetic), rel=3e-3)
    assert abs(start.energy.closure) < 1e-6


def test_leakage_saturation_raises_the_inrush() -> None:
    """The first current peak is higher than that of the unsaturated machine: current is not proportional to voltage."""
    peaks = [transient((Stage(name="d", until=elapsed(0.1)),), drive(law, None)).peaks for law in (None, LEAKAGE)]
    assert peaks[1].line_current > 1.1 * peaks[0].line_current

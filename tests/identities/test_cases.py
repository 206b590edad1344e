"""The worst case's torque tolerance against the equation of motion it stands for, and the quick run-up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from slipwise.methods.starting import STARTING
from slipwise.methods.starting.rotor_resistor import RotorResistor
from slipwise.methods.way import StartingWay
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import CurvePoint
from slipwise.model.machine.saturation import LeakageSaturation
from slipwise.model.supply.path import SupplyCases, SupplyPath
from slipwise.quantity.errors import InputError
from slipwise.solve import steady
from slipwise.solve.run_up import run_up
from slipwise.solve.sweep import can_sweep, sweep
from slipwise.study.cases import NOMINAL, STRONG, TOLERANCE_ROW, WORST, at_voltage, cases_of
from slipwise.study.model import Study
from slipwise.study.one_way import task_of
from tests.reference import published, sampled
from tests.studies import load, study

DIRECT = STARTING[0].designed_for(task_of(study(), cases_of(study())), {}).way.stages(cases_of(study())[NOMINAL].drive)


@sampled(6)
@given(torque=st.floats(-0.3, 0.2), share=st.floats(0.2, 0.8))
def test_a_torque_factor_is_a_torque_factor(torque: float, share: float) -> None:
    """The worst case marches as if every torque of the motor were multiplied, friction and load left alone."""
    base = study(load=load(share))
    base = replace(base, tolerances=replace(base.tolerances, torque=torque, current=0.0))
    case = cases_of(base)[WORST]
    drive = replace(case.drive, motor=case.motor, load=case.load)
    found = case.run_up(DIRECT)

    def rate(_time: float, state: np.ndarray) -> list[float]:
        p = steady.solve(drive, DIRECT[0], float(state[0]))
        net = (1 + torque) * p.electromagnetic - (p.electromagnetic - p.torque) - float(case.load.torque(state[0]))
        return [net / drive.inertia]

    end = found.run_up_time
    assert end is not None
    answer = solve_ivp(rate, (0.0, end), [0.0], rtol=1e-9, atol=1e-9)
    assert answer.y[0, -1] == pytest.approx(0.99 * found.final_speed, rel=2e-4)


def test_the_books_close_with_the_torque_tolerance() -> None:
    """Supplied = lost + stored + shaft in every case; the missing torque is a row of its own."""
    for name, case in cases_of(study()).items():
        energy = case.run_up(DIRECT).energy
        assert abs(energy.closure) < 1e-8
        assert (TOLERANCE_ROW in [row.name for row in energy.rows]) == (name == WORST)


def stiff(base: Study) -> SupplyPath:
    """The study's path without any impedance."""
    path = base.supply.nominal
    return replace(path, links=tuple(replace(link, impedance=0j) for link in path.links))


def evened(base: Study) -> Study:
    """One temperature and one voltage in all cases, so that they differ by the tolerances alone."""
    same = replace(base.tolerances, low_voltage=1.0, high_voltage=1.0, cold_temperature=75.0, hot_temperature=75.0)
    path = stiff(base)
    return replace(base, tolerances=same, supply=SupplyCases(nominal=path, weak=path, strong=path))


def saturable() -> Circuit:
    """P3's circuit with leakage that saturates at three times rated current."""
    circuit = study().motor.circuit
    assert circuit is not None
    return replace(circuit, leakage_saturation=LeakageSaturation(knee=660.0, stator_share=0.4, rotor_share=0.4))


MOTORS = {
    "double cage": study().motor,
    "saturable": replace(study().motor, circuit=saturable()),
    "curves": replace(
        study().motor,
        circuit=None,
        curves=tuple(
            CurvePoint(speed=x, torque=t, current=i, power_factor=pf)
            for x, t, i, pf in ((0, 900, 1000, 0.3), (0.9, 1400, 600, 0.65), (0.99, 580, 150, 0.87), (1, 0, 50, 0.1))
        ),
    ),
}


@pytest.mark.parametrize("kind", MOTORS)
@published("IEC 60034-1, table of tolerances: +20 % on the locked-rotor current", status="from memory")
def test_the_current_tolerance_is_one_of_the_locked_rotor(kind: str) -> None:
    """At standstill 20 % more current, at the plate's current and below none; torque back at its own, or 15 % short of it."""
    base = evened(replace(study(), motor=MOTORS[kind]))
    cases, rated = cases_of(base), base.motor.rating
    plain = cases[NOMINAL].curves(DIRECT[0])
    for name, share in ((STRONG, 1.0), (WORST, 0.85)):
        found = cases[name].curves(DIRECT[0])
        more = found.line_current / plain.line_current
        assert more[0] == pytest.approx(1.2, rel=1e-6)
        assert np.all((more >= 1 - 1e-9) & (more <= 1.2 + 1e-6))
        low = plain.line_current <= rated.current
        assert low.any()
        assert more[low] == pytest.approx(1.0, abs=1e-7)
        friction = 0.0 if base.motor.circuit is None else base.motor.mechanical_torque(plain.speed)
        assert found.torque + friction == pytest.approx(share * (plain.torque + friction), rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("kind", MOTORS)
def test_power_is_accounted_for_at_every_speed_with_the_tolerance(kind: str) -> None:
    """What goes in is loss of stator and core and the power across the gap; the stator's grows as the current squared."""
    cases = cases_of(evened(replace(study(), motor=MOTORS[kind])))
    speeds = np.linspace(0.0, study().motor.rating.synchronous_speed, 50)
    found, plain = (steady.solve(cases[name].drive, DIRECT[0], speeds) for name in (STRONG, NOMINAL))
    gap = found.electromagnetic * study().motor.rating.synchronous_speed
    assert found.power == pytest.approx(found.stator_loss + found.core_loss + gap, rel=1e-6, abs=1e-3)
    assert found.stator_loss == pytest.approx(plain.stator_loss * (found.line / plain.line) ** 2, rel=1e-6, abs=1e-3)
    assert found.rotor_loss == pytest.approx(plain.rotor_loss, rel=1e-6, abs=1e-3)


def test_the_transient_has_the_tolerance_from_the_first_instant() -> None:
    """Over the switching angle its current peaks are 1.2 times the nominal ones, its torque peaks the same."""
    base = evened(replace(study(), switching_angles=2))
    cases = cases_of(base)
    plain, more = (cases[name].band(DIRECT, base) for name in (NOMINAL, STRONG))
    assert more.line_current == pytest.approx(1.2 * plain.line_current, rel=2e-3)
    assert more.torque_max == pytest.approx(plain.torque_max, rel=2e-3)


def test_voltage_cases_move_the_source() -> None:
    """95 % of the source is 95 % at the terminals before the start."""
    path = study().supply.nominal
    assert at_voltage(path, 0.95).voltage == pytest.approx(0.95 * path.voltage)


@pytest.mark.parametrize("kind", STARTING, ids=lambda kind: kind.key)
@pytest.mark.parametrize("share", [0.4, 1.0])
def test_a_sweep_is_the_run_up_in_short(kind: type[StartingWay], share: float) -> None:
    """Time, final speed, heat and lowest voltage agree with the marched run-up to a few tenths of a per cent."""
    base = study(load=load(share))
    cases = cases_of(base)
    try:
        way = kind.designed_for(task_of(base, cases), {}).way
    except InputError:
        assert kind is RotorResistor  # a cage has no slip rings
        return
    drive = cases[NOMINAL].drive
    plan = way.stages(drive)
    if not can_sweep(plan):
        assert any(s.voltage is not None or s.frequency is not None or s.until.timeout is not None for s in plan)
        return
    long, short = run_up(plan, drive), sweep(plan, drive)
    assert long.outcome is short.outcome
    assert short.final_speed == pytest.approx(long.final_speed, rel=1e-3)
    assert short.run_up_time == pytest.approx(long.run_up_time, rel=5e-3)
    assert short.busbar_voltage.min() == pytest.approx(long.busbar_voltage.min(), abs=5e-4)
    assert short.rotor_heat == pytest.approx(long.rotor_heat, rel=0.02)

"""Power and limits that hold for any slip-ring motor under speed control at its rings."""

from __future__ import annotations

from dataclasses import replace
from math import acos, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from slipwise.methods.speed import rotor_bridged
from slipwise.methods.speed.recovery_set import NO_LOAD_LOSS
from slipwise.methods.speed.rotor_chopper import RotorChopper
from slipwise.methods.speed.rotor_fed import RotorFed
from slipwise.methods.speed.rotor_resistance import RotorResistance
from slipwise.methods.speed.rotor_side import inside, rings, shaft_torque
from slipwise.methods.speed.slip_recovery import SlipRecovery
from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.model.converter.rotor_bridge import DC_PER_LINE, FUNDAMENTAL_PER_DC, bridge
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss
from slipwise.model.machine.point import operating_point, source_seen_by_rotor
from slipwise.model.machine.unequal import unequal_rotor
from slipwise.results.speed import DutyPoint, OperatingPoint, Part
from slipwise.solve.plan import Drive
from tests.drives import circuits, motors, paths, quadratic
from tests.reference import sampled

SYNC = 2 * pi * 50 / 2
NEXT_TO_NONE = 1e-10  # ohm: windings without loss, but with a rated copper loss to divide by


@st.composite
def tasks(draw: st.DrawFn, ideal: bool = False) -> SpeedTask:
    """A slip-ring motor on a random path, and two demands below synchronous speed.

    ideal: without core, friction and stray loss, and with next to no resistance in stator and rotor.
    """
    motor = draw(motors(core=not ideal))
    circuit = motor.circuit
    assert circuit is not None
    if ideal:
        circuit = replace(circuit, R1=NEXT_TO_NONE, rotor=(RotorBranch(R=NEXT_TO_NONE, X=circuit.rotor[0].X),))
    else:
        motor = replace(
            motor, stray=1e3, mechanical_loss=MechanicalLoss(torque=0.01 * motor.rating.torque, exponent=1.5)
        )
    motor = replace(motor, circuit=circuit, wound_ratio=draw(st.floats(0.4, 3.0)))
    sync, torque = motor.rating.synchronous_speed, motor.rating.torque
    duty = tuple(
        DutyPoint(
            name=str(k),
            speed=sync * (1 - draw(st.floats(0.08, 0.5))),
            torque=torque * draw(st.floats(0.1, 0.7)),
            hours=1.0,
        )
        for k in range(2)
    )
    drive = Drive(motor=motor, load=quadratic(motor, 0.8), supply=draw(paths(constant_power=False)))
    if ideal:
        links = tuple(
            replace(link, impedance=1j * link.impedance.imag, busbar=replace(link.busbar, load=None))
            for link in drive.supply.links
        )
        drive = replace(drive, supply=replace(drive.supply, links=links))
    return SpeedTask(drive=drive, duty=duty, site=Site())


def gap_power(point: OperatingPoint) -> float:
    """What crosses the air gap: line power and what comes back to it, less everything before the gap."""
    way_back = (
        point.loss(Part.TRANSFORMER) + point.loss(Part.INVERTER) + point.loss(Part.LINK) + point.loss(Part.RECTIFIER)
    )
    rotor = point.loss(Part.ROTOR) + point.loss(Part.EXTERNAL) + point.loss(Part.HARMONIC)
    mechanical = point.shaft_power + point.loss(Part.FRICTION) + point.loss(Part.STRAY)
    return mechanical + rotor + way_back + point.returned


@pytest.mark.parametrize("way", [RotorResistance, RotorChopper, SlipRecovery, RotorFed])
@sampled(25)
@given(task=tasks())
def test_power_balances(way: type, task: SpeedTask) -> None:
    """Line power = shaft power + losses to 1e-9, for every way; a feasible demand is met where it is asked."""
    designed = way.designed_for(task, {}).way
    for duty in task.duty:
        point = designed.point(task, duty)
        lost = sum(row.power for row in point.losses)
        assert point.line_power == pytest.approx(point.shaft_power + lost, rel=1e-9)
        assert all(row.power >= 0 for row in point.losses)
        if point.feasible and not point.reason:
            assert point.speed == pytest.approx(duty.speed, rel=1e-9)
            assert point.torque == pytest.approx(duty.torque, rel=1e-6)
            assert point.stable


@pytest.mark.parametrize("way", [RotorResistance, RotorChopper])
@sampled(25)
@given(task=tasks(), factor=st.floats(1.0, 6.0))
def test_without_return_no_way_beats_one_less_slip(way: type, task: SpeedTask, factor: float) -> None:
    """Efficiency stays below 1 - s, with unequal resistors too, and rotor heat is slip times air-gap power."""
    settings = {"factor_c": factor} if way is RotorResistance else {}
    designed = way.designed_for(task, settings).way
    for duty in task.duty:
        point = designed.point(task, duty)
        assert point.efficiency < 1 - point.slip
        heat = gap_power(point) - point.shaft_power - point.loss(Part.FRICTION) - point.loss(Part.STRAY)
        if way is RotorChopper:
            assert heat == pytest.approx(point.slip * gap_power(point), rel=1e-9)


@sampled(30)
@given(task=tasks(ideal=True))
def test_loss_free_recovery_returns_slip_times_gap_power(task: SpeedTask) -> None:
    """Rotor winding, stator and path without loss: what goes back is slip times air-gap power, behind a bridge."""
    free = {"diode_drop": 0.0, "valve_drop": 0.0, "link_resistance": 0.0, "winding_loss": 0.0}
    way = SlipRecovery.designed_for(task, free).way
    for duty in task.duty:
        point = way.point(task, duty)
        assume(point.feasible)
        core = NO_LOAD_LOSS * way.transformer_power  # the only loss left, and it lies at the line
        gap = point.shaft_power / (1 - point.slip)
        assert point.returned + core == pytest.approx(point.slip * gap, rel=1e-7)
        assert point.loss(Part.HARMONIC) == pytest.approx(0, abs=1e-7 * gap)


@sampled(30)
@given(task=tasks(ideal=True), excitation=st.floats(-0.3, 1.2), speed=st.floats(0.6, 1.4))
def test_loss_free_rotor_feeding_passes_slip_times_gap_power(task: SpeedTask, excitation: float, speed: float) -> None:
    """Both signs of slip: the rotor gives below and takes above synchronous speed, exactly slip times air-gap power."""
    free = {"valve_drop": 0.0, "switching_loss": 0.0, "transformer_share": 0.0, "excitation": excitation}
    sync = task.drive.motor.rating.synchronous_speed
    duty = replace(task.duty[0], speed=speed * sync)
    task = replace(task, duty=(duty,))
    point = RotorFed.designed_for(task, free).way.point(task, duty)
    assume(point.feasible)
    power = next(s.value for s in point.settings if s.key == "rotor_power")
    assert power == pytest.approx(point.slip * point.torque * sync, rel=1e-6, abs=1e-3)
    assert point.line_power == pytest.approx(point.shaft_power, rel=1e-7)


@sampled(50)
@given(circuit=circuits(), slip=st.floats(0.01, 1.5), ohms=st.floats(0.0, 2.0))
def test_equal_resistors_are_the_plain_circuit(circuit: Circuit, slip: float, ohms: float) -> None:
    """Three equal resistors give the forward current of the plain circuit and no backward field."""
    found = unequal_rotor(circuit, slip, 230.0, 50.0, SYNC, resistors=(ohms, ohms, ohms))
    plain = operating_point(circuit, slip, 230.0, 50.0, SYNC, external=ohms)
    assert abs(found.forward) == pytest.approx(abs(plain.rotor_current), rel=1e-9)
    assert found.backward == pytest.approx(0, abs=1e-9 * abs(found.forward))
    assert found.external_loss == pytest.approx(plain.external_loss, rel=1e-9, abs=1e-9)


@sampled(50)
@given(
    circuit=circuits(core=False),
    slip=st.floats(0.01, 1.5),
    ohms=st.tuples(*[st.floats(0.0, 2.0)] * 3),
    shift=st.integers(0, 2),
)
def test_unequal_resistors_keep_the_power(
    circuit: Circuit, slip: float, ohms: tuple[float, float, float], shift: int
) -> None:
    """Forward air-gap power = both torques' work + heat of rotor, resistors and backward stator current."""
    found = unequal_rotor(circuit, slip, 230.0, 50.0, SYNC, resistors=ohms)
    volts, source = source_seen_by_rotor(circuit, 230.0, 50.0)
    gap = 3 * ((abs(volts) - source * found.forward) * np.conj(found.forward)).real
    work = (1 - slip) * (gap + SYNC * found.backward_torque)
    heat = 3 * circuit.rotor[0].R * (abs(found.forward) ** 2 + found.backward**2) + found.external_loss
    assert gap == pytest.approx(work + heat + 3 * circuit.R1 * found.stator_backward**2, rel=1e-9)
    turned = (ohms[shift], ohms[(shift + 1) % 3], ohms[(shift + 2) % 3])
    again = unequal_rotor(circuit, slip, 230.0, 50.0, SYNC, resistors=turned)
    assert abs(again.forward) == pytest.approx(abs(found.forward), rel=1e-9)
    assert sorted(again.phases) == pytest.approx(sorted(found.phases), rel=1e-9)


def test_backward_field_brakes_below_half_slip_and_drives_above() -> None:
    """The backward torque changes sign at slip 1/2, where the backward field stands still in space."""
    circuit = Circuit(frequency=50.0, R1=0.05, X1=0.1, Xm=3.0, rotor=(RotorBranch(R=0.03, X=0.12),))
    found = [unequal_rotor(circuit, s, 230.0, 50.0, SYNC, resistors=(0.1, 0.1, 0.8)) for s in (0.4, 0.5, 0.6)]
    assert found[0].backward_torque < 0 == found[1].backward_torque < found[2].backward_torque
    assert found[1].stator_backward == 0


@sampled(40)
@given(
    share=st.floats(0.001, 1.0),
    resistance=st.floats(0.0, 2.0),
    reactance=st.floats(0.001, 2.0),
    volts=st.floats(1, 1e3),
)
def test_bridge_power(share: float, resistance: float, reactance: float, volts: float) -> None:
    """Source power = heat + link power; no voltage is left at the short-circuit current."""
    limit = sqrt(2) * volts / np.hypot(resistance, reactance)
    found = bridge(share * limit, volts, resistance, reactance)
    taken = 3 * volts * found.fundamental.real
    assert taken == pytest.approx(3 * resistance * found.square + found.voltage * share * limit, rel=1e-9)
    full = bridge(limit, volts, resistance, reactance)
    assert full.voltage == pytest.approx(0, abs=2e-3 * volts)
    assert abs(full.fundamental) == pytest.approx(limit / sqrt(2), rel=1e-3)


@pytest.mark.parametrize("share", [0.02, 0.1, 0.3, 0.45, 0.55, 0.7, 0.8, 0.9])
def test_bridge_against_the_closed_forms_of_commutation(share: float) -> None:
    """Without resistance: overlap up to 60 degrees, then delayed commutation, then four diodes at once; within 0.5 %.

    Source: three ranges of the diode bridge on inductance, Witzke, Kresser and Dillard (from memory).
    """
    volts, reactance = 100.0, 1.0
    line, empty = sqrt(3) * volts, DC_PER_LINE * sqrt(3) * volts
    current = share * sqrt(2) * volts / reactance
    found = bridge(current, volts, 0.0, reactance)
    drop = sqrt(2) * reactance * current / line
    if drop <= 0.5:
        u = acos(1 - drop)
        voltage = empty * (1 - drop / 2)
        lag = FUNDAMENTAL_PER_DC * current * (2 * u - sin(2 * u)) / (4 * drop)
        assert -found.fundamental.imag == pytest.approx(lag, rel=5e-3)
    elif drop <= sqrt(3) / 2:
        voltage = empty * sqrt(3) / 2 * sqrt(1 - drop**2)
    else:
        voltage = sqrt(3) * empty - 9 / pi * reactance * current
    assert found.voltage == pytest.approx(voltage, rel=5e-3)


@sampled(25)
@given(task=tasks())
def test_a_point_lies_on_the_curve_of_its_setting(task: SpeedTask) -> None:
    """The family drawn at the chopper's duty of a demand passes through that demand."""
    way = RotorChopper.designed_for(task, {}).way
    seen = rings(task.drive, way.key)
    for duty in task.duty:
        point = way.point(task, duty)
        assume(point.feasible and not point.reason)
        share = next(s.value for s in point.settings if s.key == "duty")
        assert share is not None
        torque = rotor_bridged.torque_at(seen, way.line(share))(np.array([point.slip]))
        assert torque[0] == pytest.approx(point.torque, rel=3e-3)


@sampled(25)
@given(task=tasks(), ohms=st.floats(0.0, 1.0), slip=st.floats(0.01, 0.95))
def test_rings_view_is_the_circuit_behind_its_supply(task: SpeedTask, ohms: float, slip: float) -> None:
    """Rotor-side view and plain circuit agree at the same terminal voltage: torque and stator current."""
    seen = rings(task.drive, "")
    state = inside(seen, slip, seen.current(slip, ohms))
    plain = operating_point(seen.circuit, slip, abs(state.terminal), 50.0, seen.sync, external=ohms)
    assert state.torque == pytest.approx(plain.torque, rel=1e-9)
    assert abs(state.stator) == pytest.approx(abs(plain.stator_current), rel=1e-9)
    assert shaft_torque(seen, state) < state.torque

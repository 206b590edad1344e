"""A throttled duty computed a second time: pump and system by hand, the motor by the complex circuit and a root finder."""

from __future__ import annotations

import pytest
from scipy.optimize import brentq

from slipwise.methods.speed.on_off import OnOff
from slipwise.methods.speed.throttle import ThrottleValve
from slipwise.results.speed import Part
from slipwise.study.speed.year import energy
from tests.speed_studies import by_flow, process, task
from tests.studies import motor, path

FLOWS = (0.98, 0.8, 0.5)
HOURS = 1000.0


def shaft_torque(speed: float) -> tuple[float, float]:
    """Shaft torque (N m) and power at the terminals (W), written out again from the circuit and the path's impedance."""
    machine, supply = motor(), path()
    rating, c = machine.rating, machine.circuit
    assert c is not None
    slip = 1 - speed / rating.synchronous_speed
    rotor = sum(1 / complex(b.R / slip, b.X) for b in c.rotor)
    gap = 1 / (1 / c.Rfe + 1 / (1j * c.Xm) + rotor)
    inside = complex(c.R1, c.X1) + gap
    outside = sum(link.impedance for link in supply.links)
    current = supply.voltage / 3**0.5 / (outside + inside)
    volts = current * inside
    across = current * gap
    gap_power = 3 * abs(across) ** 2 * rotor.real
    loss = machine.mechanical_loss
    drag = loss.torque * (speed / rating.synchronous_speed) ** loss.exponent
    return gap_power / rating.synchronous_speed - drag, 3 * (volts * current.conjugate()).real


def throttled_power(flow: float) -> tuple[float, float]:
    """Line power and shaft power at a flow held by the valve. [W]"""
    rating, pump = motor().rating, process()

    def asked(speed: float) -> float:
        n = speed / rating.speed
        return pump.machine.torque * (0.4 * n**2 + 0.6 * n * flow)

    top = rating.synchronous_speed * (1 - 1e-9)
    speed = brentq(lambda w: shaft_torque(w)[0] - asked(w), 0.95 * rating.synchronous_speed, top, xtol=1e-12)
    return shaft_torque(speed)[1], speed * asked(speed)


def test_a_throttled_year_is_that_of_the_second_computation():
    """Line power at each flow, the power the valve takes, and the energy of the year, to a part in a million."""
    pump = process()
    duty = tuple(by_flow(q, pump, HOURS) for q in FLOWS)
    on = task(pump, *duty)
    way = ThrottleValve.designed_for(on, {}).way
    points = [way.point(on, demand) for demand in duty]
    total = 0.0
    for flow, demand, found in zip(FLOWS, duty, points, strict=True):
        line, shaft = throttled_power(flow)
        total += line * HOURS * 3600
        assert found.feasible
        assert found.line_power == pytest.approx(line, rel=1e-6)
        assert found.loss(Part.THROTTLE) == pytest.approx(shaft - (demand.useful or 0.0), rel=1e-5)
    assert energy(points) == pytest.approx(total, rel=1e-6)


def test_on_and_off_weighs_full_flow_by_its_share_of_the_time():
    """Line power = share x power at full flow + starts x (kinetic energy + as much rotor loss, and stator loss by R1/R2)."""
    pump = process()
    on = task(pump, by_flow(0.5, pump))
    way = OnOff.designed_for(on, {"cycles_per_hour": 3.0}).way
    full = ThrottleValve.designed_for(on, {}).way.point(on, by_flow(1.0, pump))
    found = way.point(on, on.duty[0])
    circuit = on.drive.motor.circuit
    assert circuit is not None
    stored = 0.5 * on.drive.inertia * found.speed**2
    parallel = 1 / sum(1 / branch.R for branch in circuit.rotor)
    starts = 3.0 / 3600 * stored * (2 + circuit.R1 / parallel)
    share = found.settings[0].value
    assert share == pytest.approx(0.5, rel=0.01)
    assert found.line_power == pytest.approx(share * full.line_power + starts, rel=2e-3)

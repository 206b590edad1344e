"""Pump or fan on its system: what must hold for any machine; and the error of the cube law under static head."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.load.system import (
    destroyed_head,
    flow_at,
    lift_speed,
    machine_head,
    speed_for,
    system_head,
    torque_at,
)
from slipwise.quantity.errors import DomainError
from tests.reference import sampled
from tests.speed_studies import process

flows = st.floats(0.05, 1.2)
statics = st.floats(0.0, 0.9)
shuts = st.floats(1.05, 1.6)


@given(flow=flows, static=statics, shut=shuts)
@sampled(60)
def test_the_machine_meets_the_system_at_the_speed_for_a_flow(flow, static, shut):
    """Heads are equal, the flow comes back, and nothing is destroyed there."""
    pump = process(static_head=static, shut_head=shut)
    n = float(speed_for(pump, flow))
    assert machine_head(pump, n, flow) == pytest.approx(system_head(pump, flow), rel=1e-12)
    assert flow_at(pump, n) == pytest.approx(flow, rel=1e-9)
    assert destroyed_head(pump, n, flow) == pytest.approx(0.0, abs=1e-12)


@given(flow=st.floats(0.05, 0.99), static=st.floats(0.02, 0.9), shut=shuts)
@sampled(60)
def test_static_head_asks_for_more_speed_and_power_than_the_affinity_laws(flow, static, shut):
    """At part flow the speed is above the flow and the power above its cube; the more static head, the further."""
    pump, more = process(static_head=static, shut_head=shut), process(static_head=1.05 * static, shut_head=shut)
    n, higher = float(speed_for(pump, flow)), float(speed_for(more, flow))
    assert flow < n < higher
    assert n >= lift_speed(pump)
    assert n * torque_at(pump, n, flow) > flow**3 * pump.machine.torque


def test_the_cube_law_would_promise_less_than_half_the_power():
    """62 m rated, 38 m static, 76 m shut: at 55 % flow the pump asks 33.2 kW of 78 kW where the cube promises 13.0 kW.

    By hand: (0.6129 + 0.6129 x 0.3025) / 1.2258 = 0.6513, speed 0.8070; torque 0.4 x 0.6513 + 0.6 x 0.8070 x 0.55 =
    0.5268; power 0.8070 x 0.5268 x 78 kW = 33.16 kW; cube 0.1664 x 78 kW = 12.98 kW.
    """
    pump = process(static_head=38 / 62, shut_head=76 / 62)
    n = float(speed_for(pump, 0.55))
    real = 78.0 * n * float(torque_at(pump, n, 0.55)) / pump.machine.torque
    cube = 78.0 * 0.55**3
    assert n == pytest.approx(0.8070, abs=5e-5)
    assert real == pytest.approx(33.16, abs=0.01)
    assert cube == pytest.approx(12.98, abs=0.01)
    assert cube / real < 0.4


def test_a_static_head_that_nothing_can_lift_is_refused():
    """At or above the shut head no flow ever passes."""
    with pytest.raises(DomainError, match="static_head"):
        process(static_head=1.3)

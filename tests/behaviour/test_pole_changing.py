"""Two speeds in one frame: coils, circuits, demands, and the change between."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from hypothesis import given

from slipwise.methods.speed.pole_changing_separate import SeparateWindings
from slipwise.methods.speed.pole_changing_tapped import ARRANGEMENTS, TappedWinding
from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.windings import Rewound, rewound
from slipwise.quantity.errors import InputError
from slipwise.results.speed import DutyPoint
from slipwise.results.start import Outcome
from slipwise.results.winding import WindingDiagram
from slipwise.solve.plan import Drive, Stage, elapsed
from slipwise.solve.transient import transient
from tests.drives import machine, quadratic, stiff
from tests.identities.circuits import single_cage_circuits
from tests.reference import sampled

MOTOR = machine("B-krause-50hp")


def task_of(*shares: float, exponent: float = 2.0, torque: float = 0.6) -> SpeedTask:
    """Demands at shares of rated speed, torque with a power of speed."""
    rating = MOTOR.rating
    duty = tuple(
        DutyPoint(name=f"{x:g}", speed=x * rating.speed, torque=torque * rating.torque * x**exponent, hours=1000)
        for x in shares
    )
    drive = Drive(motor=MOTOR, load=quadratic(MOTOR, torque, 1.0), supply=stiff(MOTOR))
    return SpeedTask(drive=drive, duty=duty, site=Site())


def field(diagram: WindingDiagram, speed: int, pole_pairs: int) -> complex:
    """Field of the diagram at the instant of greatest current in phase 0: coil sides summed in the stator's angle.

    Counted from the drawn directions alone, with phase currents 1, -1/2, -1/2.
    """
    at = diagram.speeds[speed]
    sides = np.zeros(diagram.slots)
    for group, direction in zip(diagram.groups, at.directions, strict=True):
        for slot in group.slots:
            now = direction * (1.0 if group.phase == 0 else -0.5)
            sides[slot] += now
            sides[(slot + diagram.pitch) % diagram.slots] -= now
    angles = 2 * pi * pole_pairs * np.arange(diagram.slots) / diagram.slots
    return complex(np.sum(sides * np.exp(1j * angles)))


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
def test_drawn_directions_make_the_poles(arrangement: str) -> None:
    """The current directions of the diagram make 4 poles at high and 8 at low speed, and half the coils are reversed."""
    way = TappedWinding.designed_for(task_of(1.0, 0.5), {"arrangement": arrangement}).way
    found = way.winding(4)
    low, high = found.speeds
    assert (low.poles, high.poles) == (8, 4)
    assert abs(field(found, 0, 4)) > 10 * abs(field(found, 0, 2))
    assert abs(field(found, 1, 2)) > 10 * abs(field(found, 1, 4))
    reversed_coils = [a != b for a, b in zip(low.directions, high.directions, strict=True)]
    assert sum(reversed_coils) * 2 == len(found.groups)
    assert [r for r, g in zip(reversed_coils, found.groups, strict=True)] == [g.half == 1 for g in found.groups]
    assert low.swapped != high.swapped


@sampled(30)
@given(circuit=single_cage_circuits())
def test_rewinding_there_and_back(circuit: Circuit) -> None:
    """Doubling the poles and halving them again gives the circuit back, when the rings carry nothing."""
    there = Rewound(squared_turns=4 / 3, factor=1.2, poles=2.0, ring_share=0.0)
    back = Rewound(squared_turns=3 / 4, factor=1 / 1.2, poles=0.5, ring_share=0.0)
    again = rewound(rewound(circuit, there), back)
    for name in ("R1", "X1", "Xm", "Rfe"):
        assert getattr(again, name) == pytest.approx(getattr(circuit, name), rel=1e-12)
    assert again.rotor[0].R == pytest.approx(circuit.rotor[0].R, rel=1e-12)
    assert there.flux_density * back.flux_density == pytest.approx(1.0, rel=1e-12)


def test_arrangement_follows_the_load() -> None:
    """Fan, belt and winder each get their own arrangement."""
    chosen = [TappedWinding.designed_for(task_of(1.0, 0.5, exponent=e), {}).way.arrangement for e in (2.0, 0.0, -1.0)]
    assert chosen == ["variable torque", "constant torque", "constant power"]


def test_flux_stays_near_that_of_the_plate() -> None:
    """Where the other speed would saturate the core, the design takes more turns."""
    for arrangement in ARRANGEMENTS:
        way = TappedWinding.designed_for(task_of(1.0, 0.5), {"arrangement": arrangement}).way
        rows = {row.key: row.value for row in way.ratings(task_of(1.0, 0.5))}
        assert max(rows["flux_4_poles"], rows["flux_8_poles"]) <= 1.15
    assert rows["power_8_poles"] < rows["power_4_poles"]


@pytest.mark.parametrize("way", [TappedWinding, SeparateWindings])
def test_demands_near_a_speed_are_served(way: type) -> None:
    """Full and half speed are held; what lies between is answered with the speed reached instead."""
    task = task_of(1.0, 0.72, 0.5)
    made = way.designed_for(task, {}).way
    full, between, half = (made.point(task, duty) for duty in task.duty)
    assert full.feasible
    assert half.feasible
    assert half.speed == pytest.approx(task.duty[2].speed, rel=0.05)
    assert not between.feasible
    assert "poles" in between.reason
    for found in (full, between, half):
        assert found.stable
        spent = found.shaft_power + sum(row.power for row in found.losses)
        assert found.line_power == pytest.approx(spent, rel=1e-9)
    assert half.efficiency > 0.75  # where slip control would stay below a half


def test_overload_is_an_answer() -> None:
    """A load that neither winding carries."""
    task = task_of(1.0, 0.5, torque=80.0)
    found = TappedWinding.designed_for(task, {}).way.point(task, task.duty[0])
    assert not found.feasible
    assert "neither winding" in found.reason


def test_change_down_generates() -> None:
    """The winding of 8 poles brakes above 900 r/min, gives energy back, and the books close."""
    task = task_of(1.0, 0.5)
    down, up = TappedWinding.designed_for(task, {"pause": 0.3}).way.changeovers(task)
    assert (down.from_poles, down.to_poles, up.from_poles, up.to_poles) == (4, 8, 8, 4)
    assert down.run.outcome is Outcome.ARRIVED
    assert up.run.outcome is Outcome.ARRIVED
    assert down.extreme_torque < -MOTOR.rating.torque
    assert down.extreme_speed > 2 * pi * 60 / 4
    assert 0 < down.returned < 0.5 * task.drive.inertia * down.switched_at**2
    assert down.run.final_speed == pytest.approx(0.5 * up.run.final_speed, rel=0.02)
    for run in (down.run, up.run):
        assert run.energy.closure == pytest.approx(0.0, abs=1e-7)


def test_change_down_against_the_electrical_transient() -> None:
    """Once its first swings are over, the full equations of the low winding give the same course of speed."""
    task = task_of(1.0, 0.5)
    way = TappedWinding.designed_for(task, {"pause": 0.3}).way
    down, _ = way.changeovers(task)
    low = way.pair(task).low
    seconds = 1.0
    drive = replace(task.drive, motor=low)
    full = transient((Stage(name="low", until=elapsed(seconds)),), drive, speed=down.switched_at)
    ours = np.interp(full.time + down.pause, down.run.time, down.run.speed)
    late = full.time > 0.25
    assert full.speed[late] == pytest.approx(ours[late], abs=0.03 * low.rating.synchronous_speed)
    assert full.peaks.torque_min < down.extreme_torque  # the first swing goes beyond the steady braking


@pytest.mark.parametrize(
    ("way", "given", "match"),
    [
        (TappedWinding, {"fast_poles": 6.0}, "fast_poles"),
        (TappedWinding, {"slots": 50.0}, "slots"),
        (TappedWinding, {"arrangement": "some"}, "arrangement"),
        (SeparateWindings, {"low_poles": 4.0, "high_poles": 6.0}, "separate_windings"),
        (SeparateWindings, {"low_poles": 6.0, "slots": 40.0}, "slots"),
    ],
)
def test_settings_that_cannot_stand(way: type, given: dict[str, float | str], match: str) -> None:
    """Each is refused by the name of the setting."""
    with pytest.raises(InputError, match=match):
        way.designed_for(task_of(1.0, 0.5), given)


def test_plate_may_be_the_low_speed() -> None:
    """Four poles taken as the low speed make a motor of two poles, and its demand above the plate's speed is served."""
    task = task_of(1.0, 2.0, torque=0.2)
    way = TappedWinding.designed_for(task, {}).way
    assert way.fast_poles == 2
    found = way.point(task, task.duty[1])
    assert found.feasible
    assert found.speed > MOTOR.rating.synchronous_speed

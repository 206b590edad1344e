"""The steady picture: what is computed together is what is computed alone."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from slipwise.methods.starting import STARTING
from slipwise.quantity.errors import DomainError, InputError
from slipwise.results.picture import PointKind
from slipwise.results.start import Outcome
from slipwise.solve.plan import Drive, Law, Stage, settled
from slipwise.solve.steady import behind_inverter, characteristic, characteristics, solve
from slipwise.study.cases import NOMINAL, WORST, cases_of
from slipwise.study.model import Study
from slipwise.study.one_way import task_of
from slipwise.study.picture import picture, towards
from slipwise.study.reader import load, loads
from slipwise.study.run import run

EXAMPLES = Path(__file__).parent.parent.parent / "examples"


def study(name: str) -> Study:
    """One of the examples."""
    return load(EXAMPLES / f"{name}.toml")


def stages(found: Study, drive: Drive) -> list[Stage]:
    """Every stage of every way this motor can have."""
    task = task_of(found, cases_of(found))
    made: list[Stage] = []
    for way in STARTING:
        try:
            made += way.designed_for(task, {}).way.stages(drive)
        except InputError:
            continue
    return made


@pytest.mark.parametrize("name", ["pump_p3", "crusher_k1", "hoist_h1", "bench_b7"])
def test_stages_together_are_those_alone(name):
    """Torque, currents, losses and busbars of stages in one sweep are those of each alone, to rounding."""
    found = study(name)
    drive = cases_of(found)[WORST].drive
    speeds = towards(drive.motor.rating.synchronous_speed, 61)
    several = stages(found, drive)
    assert len(several) > 10
    for stage, curves in zip(several, characteristics(several, drive, speeds), strict=True):
        end = 0.0 if stage.voltage is None else stage.voltage.x[-1]
        alone = characteristic(stage, drive, speeds, time=end)
        assert curves.stage == alone.stage
        for column in fields(alone)[1:]:
            one, other = getattr(alone, column.name), getattr(curves, column.name)
            assert one.shape == other.shape
            assert other == pytest.approx(one, rel=1e-12, abs=1e-12)


def test_behind_an_inverter_is_the_stage_solved():
    """Torque and current without the path are those of the stage with it: an inverter shields its motor from the supply."""
    drive = cases_of(study("pump_p3"))[NOMINAL].drive
    speeds = np.linspace(0.0, 150.0, 31)
    for frequency, factor in ((1.0, 1.0), (0.5, 0.52), (0.02, 0.06)):
        stage = Stage(
            name="f",
            until=settled(),
            frequency=Law(x=(0.0,), y=(frequency,)),
            voltage=Law(x=(0.0,), y=(factor,)),
        )
        point = solve(drive, stage, speeds)
        torque, current = behind_inverter(drive.motor, speeds, frequency, factor)
        assert torque == pytest.approx(point.torque, rel=1e-12)
        assert current == pytest.approx(point.motor, rel=1e-12)


def test_a_saturating_motor_is_refused_there():
    """Without the path solved along, reactances that change are refused."""
    with pytest.raises(DomainError, match="constant reactances"):
        behind_inverter(study("bench_b7_readings").motor, 100.0, 1.0, 1.0)


@pytest.mark.parametrize("name", ["pump_p3", "conveyor_c1", "fan_f2", "crusher_k1"])
def test_points_balance_on_the_curves(name):
    """At a running or crawl point motor and load torque are equal; breakdown is the greatest torque of the last stage."""
    found = study(name)
    shown = picture(found)
    load_torque = dict(shown.loads)
    for way in shown.ways:
        for point in way.points:
            curve = way.curves[point.stage]
            assert point.torque == pytest.approx(np.interp(point.speed, curve.speed, curve.torque))
            if point.kind is PointKind.OPERATING:
                nearest = min(abs(np.interp(point.speed, shown.speed, t) - point.torque) for t in load_torque.values())
                assert nearest < 0.01 * found.motor.rating.torque
            if point.kind is PointKind.BREAKDOWN:
                assert point.torque == pytest.approx(way.curves[-1].torque.max())


def test_a_balance_below_the_last_peak_is_no_running_point():
    """A load beyond the breakdown torque leaves the motor hanging: the picture says what the run-up says."""
    text = (EXAMPLES / "pump_p3.toml").read_text(encoding="utf-8").replace('"36 kW"', '"500 kW"')
    found = loads(text)
    started = run(found, transients=False).ways[-1]
    assert started.run_ups[0].outcome is Outcome.HANGS
    kinds = {point.kind for point in picture(found).ways[0].points}
    assert PointKind.OPERATING not in kinds
    assert PointKind.CRAWL in kinds


def test_held_settings_give_the_designed_picture_again():
    """Handing the designed settings in again gives the same curves, without a design."""
    found = study("pump_p3")
    designed = picture(found)
    again = picture(found, held={way.key: way.held for way in designed.ways})
    for one, other in zip(designed.ways, again.ways, strict=True):
        assert [p.speed for p in one.points] == pytest.approx([p.speed for p in other.points])
        for a, b in zip(one.curves, other.curves, strict=True):
            assert b.torque == pytest.approx(a.torque)

"""Results of speed control from the real ways, for the tests of tables, figures, diagrams and report."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

from slipwise.results.speed import SpeedResult, SpeedWayResult
from slipwise.results.study import StudyResult
from slipwise.study.reader import load
from slipwise.study.speed.run import run_speed
from tests.behaviour.sample_result import sample

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
NAMES = ("pump_p3_year", "fan_v4", "crusher_k1_year")


@cache
def speed_sample(name: str) -> StudyResult:
    """An example study of speed control alone: pump with static head, two-speed fan, slip-ring crusher."""
    study = load(EXAMPLES / f"{name}.toml")
    rating = study.motor.rating
    return replace(
        sample(),
        title=study.title,
        ways=(),
        speed=run_speed(study),
        synchronous_speed=rating.synchronous_speed,
        rated_torque=rating.torque,
        rated_current=rating.current,
    )


def speed_of(result: StudyResult) -> SpeedResult:
    """Its speed part, which it has."""
    assert result.speed is not None
    return result.speed


def speed_way(name: str, key: str) -> SpeedWayResult:
    """One way of an example."""
    return next(way for way in speed_of(speed_sample(name)).ways if way.key == key)


@cache
def crowded() -> StudyResult:
    """Eight demands and fourteen ways with long names, as full as a page may become."""
    base = speed_sample("crusher_k1_year")
    found = speed_of(base)
    duty = tuple(
        replace(found.duty[n % 3], name=f"demand number {n}", speed=found.duty[n % 3].speed + 3.0 * n) for n in range(8)
    )
    ways = []
    for n in range(14):
        way = found.ways[n % len(found.ways)]
        points = tuple(replace(way.points[k % 3], duty=demand) for k, demand in enumerate(duty))
        ways.append(replace(way, key=f"way{n}", title=f"{way.title}, variant {n}", points=points))
    return replace(base, speed=replace(found, duty=duty, ways=tuple(ways)))

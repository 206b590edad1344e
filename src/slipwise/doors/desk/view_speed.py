"""Speed control as the page shows it: families with their load, operating points, losses and the year."""

from __future__ import annotations

from typing import Any

from slipwise.doors.desk.shown import Units, contacts_dict, judged_dict, setting_dict
from slipwise.present import tables_speed
from slipwise.quantity.show import show
from slipwise.results.speed import Family, SpeedResult, SpeedWayResult
from slipwise.results.study import StudyResult


def speed_dict(result: StudyResult, speed: SpeedResult) -> dict[str, Any]:
    """The ways of speed control: families with their load, operating points, losses and the year."""
    explained = {item.name: item.title for item in result.explanations}
    families = [family for way in speed.ways for family in way.families]
    curves = [curve for family in families for curve in family.curves]
    units = Units(
        speed=(result.synchronous_speed, "rad/s"),
        torque=(max([result.rated_torque, *(float(abs(c.torque).max(initial=0.0)) for c in curves)]), "N m"),
        current=(max([result.rated_current, *(float(c.current.max(initial=0.0)) for c in curves)]), "A"),
        power=(max([1.0, *(p.line_power for way in speed.ways for p in way.points)]), "W"),
    )
    best = speed.recommendation
    return {
        "units": units.names,
        "synchronous_speed": units.one("speed", result.synchronous_speed),
        "recommendation": {
            "way": best.way,
            "runner_up": best.runner_up,
            "reason": best.reason,
            "sentence": tables_speed.verdict_sentence(speed),
        },
        "duty": [
            {
                "name": d.name,
                "speed": units.one("speed", d.speed),
                "torque": units.one("torque", d.torque),
                "hours": d.hours,
            }
            for d in speed.duty
        ],
        "ways": [_speed_way(way, units, explained) for way in tables_speed.ranked(speed)],
        "notes": list(speed.notes),
    }


def _speed_way(way: SpeedWayResult, units: Units, explained: dict[str, str]) -> dict[str, Any]:
    year = way.year
    return {
        "key": way.key,
        "title": way.title,
        **judged_dict(f"speed.{way.key}", way.verdict, explained),
        "designed": way.designed,
        "settings": [setting_dict(f"speed.{way.key}", row) for row in way.settings],
        "families": [_family(family, units) for family in way.families],
        "points": [
            {
                "name": p.duty.name,
                "feasible": p.feasible,
                "reason": p.reason,
                "speed": units.one("speed", p.speed),
                "torque": units.one("torque", p.torque),
                "current": units.one("current", p.line_current),
                "line_power": units.one("power", p.line_power),
                "efficiency_text": show(p.efficiency, "pu"),
                "losses": [{"part": loss.part.value, "power": units.one("power", loss.power)} for loss in p.losses],
            }
            for p in way.points
        ],
        "year": {
            "energy_text": f"{tables_speed.energy_text(year)} MWh",
            "payback_text": tables_speed.payback_text(year),
            "hours_not_served": year.hours_infeasible,
        },
        "contacts": contacts_dict(way.wiring),
        "notes": list(way.notes),
    }


def _family(family: Family, units: Units) -> dict[str, Any]:
    return {
        "key": family.key,
        "title": family.title,
        "parameter": family.parameter,
        "curves": [
            {
                "label": curve.label,
                "speed": units.of("speed", curve.speed),
                "torque": units.of("torque", curve.torque),
                "current": units.of("current", curve.current),
            }
            for curve in family.curves
        ],
        "load": {
            "speed": units.of("speed", family.load_speed),
            "torque": units.of("torque", family.load_torque),
        },
        "note": family.note,
    }

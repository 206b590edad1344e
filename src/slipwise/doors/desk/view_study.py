"""A whole study judged, as the page shows it."""

from __future__ import annotations

from typing import Any

from slipwise.doors.desk.shown import Units, criterion_dict, held_dict, numbers, setting_dict, table_dict, tables_dict
from slipwise.doors.desk.view_protection import time_current_dict
from slipwise.present import tables, tables_speed
from slipwise.present.figures import catalogue
from slipwise.present.tables_all import all_tables
from slipwise.quantity.formula import substituted, symbolic, typeset_symbol
from slipwise.quantity.show import show
from slipwise.results.criteria import Verdict
from slipwise.results.speed import Family, SpeedResult, SpeedWayResult
from slipwise.results.study import Explanation, StudyResult, WayResult
from slipwise.results.thermal import HeatTrace, LimitCurve, MotorHeat, WayHeat


def study_dict(result: StudyResult) -> dict[str, Any]:
    """Verdicts, tables and lists of what can be asked for; curves only where no other endpoint gives them."""
    explained = {item.name: item.title for item in result.explanations}
    best = result.recommendation
    return {
        "title": result.title,
        "recommendation": {
            "way": best.way,
            "runner_up": best.runner_up,
            "reason": best.reason,
            "sentence": tables.verdict_sentence(result) if result.ways else "",
        },
        "ways": [_way(result, way, explained) for way in tables.ranked(result)],
        "tables": tables_dict(all_tables(result)),
        "figures": [{"key": entry.key, "title": entry.title} for entry in catalogue(result)],
        "explanations": [
            {"name": item.name, "title": item.title, "shown": show(item.value, item.unit)}
            for item in result.explanations
        ],
        "cautions": list(result.cautions),
        "plate": None if not result.plate else table_dict(tables.plate(result)),
        "speed": None if result.speed is None else speed_dict(result, result.speed),
        "heat": None if result.heat is None else _motor_heat(result.heat),
    }


def _judged(owner: str, verdict: Verdict, explained: dict[str, str]) -> dict[str, Any]:
    binding = verdict.binding
    return {
        "status": tables.STATUS_WORDS[verdict.status],
        "reason": verdict.reason,
        "binding": None if binding is None else criterion_dict(binding, explained, owner),
        "criteria": [criterion_dict(row, explained, owner) for row in tables.by_margin(verdict.criteria)],
    }


def _way(result: StudyResult, way: WayResult, explained: dict[str, str]) -> dict[str, Any]:
    wiring = way.wiring
    return {
        "key": way.key,
        "title": way.title,
        "place": tables.place(result, way),
        **_judged(way.key, way.verdict, explained),
        "designed": way.designed,
        "run_up_text": tables.run_up_text(way.run_ups[0]) if way.run_ups else "",
        "settings": [setting_dict(f"starting.{way.key}", row) for row in way.settings],
        "held": held_dict(way.settings),
        "transient_note": way.transient_note,
        "comparisons": list(way.comparisons),
        "load_case": way.load_case,
        "contacts": {
            "stages": list(wiring.stages),
            "closed": [list(names) for names in wiring.closed],
            "notes": list(wiring.notes),
        },
        "protection": None if way.protection is None else way.protection.words,
        "time_current": time_current_dict(result, way),
        "heat": None if way.heat is None else _way_heat(way.heat),
        "cases": [
            {"case": run.case, "outcome": run.outcome.value, "run_up_text": tables.run_up_text(run)}
            for run in way.run_ups
        ],
    }


def _trace(trace: HeatTrace) -> dict[str, Any]:
    """Temperatures in degC over s."""
    return {
        "time": numbers(trace.time),
        "bodies": list(trace.bodies),
        "temperature": [numbers(row) for row in trace.temperature],
        "limits": [None if limit is None else float(limit) for limit in trace.limits],
        "ambient": trace.ambient,
    }


def _way_heat(heat: WayHeat) -> dict[str, Any]:
    duties = [
        {"label": duty.label, "duty_type": duty.duty_type, "within": duty.within, "trace": _trace(duty.trace)}
        for duty in heat.duties
    ]
    return {"units": {"time": "s", "temperature": "°C"}, "starts": _trace(heat.starts), "duties": duties}


def _motor_heat(heat: MotorHeat) -> dict[str, Any]:
    """Limit curves in A and s, stall times in s over per cent of rated voltage."""
    return {
        "units": {"current": "A", "time": "s", "voltage": "%"},
        "limits": [_limit(curve) for curve in heat.limits],
        "stall": {
            "voltage": numbers(100 * heat.stall.voltage),
            "hot": numbers(heat.stall.hot),
            "cold": numbers(heat.stall.cold),
        },
    }


def _limit(curve: LimitCurve) -> dict[str, Any]:
    return {
        "label": curve.label,
        "part": curve.part,
        "state": curve.state,
        "current": numbers(curve.current),
        "time": numbers(curve.seconds),
    }


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
        **_judged(way.key, way.verdict, explained),
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
            "energy_text": f"{year.energy / 3.6e9:.4g} MWh",
            "payback_text": tables_speed.payback_text(year),
            "hours_not_served": year.hours_infeasible,
        },
        "contacts": {
            "stages": list(way.wiring.stages),
            "closed": [list(names) for names in way.wiring.closed],
            "notes": list(way.wiring.notes),
        },
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


def explanation_dict(item: Explanation) -> dict[str, Any]:
    """One number with its formula, the same with numbers put in, its inputs and its source."""
    formula: dict[str, Any] = {"formula_text": "", "formula_mathml": "", "numbers_text": "", "numbers_mathml": ""}
    if item.expression:
        formula = {
            "formula_text": symbolic(item.symbol, item.expression),
            "formula_mathml": symbolic(item.symbol, item.expression, "mathml"),
            "numbers_text": substituted(item.symbol, item.expression, item.inputs),
            "numbers_mathml": substituted(item.symbol, item.expression, item.inputs, "mathml"),
        }
    return {
        "name": item.name,
        "title": item.title,
        "symbol": item.symbol,
        "shown": show(item.value, item.unit, digits=4),
        **formula,
        "inputs": [
            {
                "symbol": typeset_symbol(i.symbol),
                "name": i.name,
                "shown": show(i.value, i.unit, digits=4),
                "origin": i.text or i.origin,
            }
            for i in item.inputs
        ],
        "method": item.method,
        "source": item.source,
    }

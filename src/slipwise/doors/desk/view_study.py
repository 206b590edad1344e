"""A whole study judged, as the page shows it."""

from __future__ import annotations

from typing import Any

from slipwise.doors.desk.shown import contacts_dict, held_dict, judged_dict, setting_dict, table_dict, tables_dict
from slipwise.doors.desk.view_disturbance import disturbances_dict
from slipwise.doors.desk.view_group import group_dict
from slipwise.doors.desk.view_heat import motor_heat_dict, way_heat_dict
from slipwise.doors.desk.view_protection import time_current_dict
from slipwise.doors.desk.view_speed import speed_dict
from slipwise.doors.desk.view_stopping import stopping_dict
from slipwise.present import tables
from slipwise.present.explained import origin
from slipwise.present.figures import catalogue
from slipwise.present.tables_all import all_tables
from slipwise.quantity.formula import substituted, symbolic, typeset_symbol
from slipwise.quantity.show import show
from slipwise.results.study import Explanation, StudyResult, WayResult


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
        "heat": None if result.heat is None else motor_heat_dict(result.heat),
        "stopping": None if result.stopping is None else stopping_dict(result, result.stopping),
        "disturbances": disturbances_dict(result) if result.disturbances else None,
        "group": None if result.group is None else group_dict(result, result.group),
    }


def _way(result: StudyResult, way: WayResult, explained: dict[str, str]) -> dict[str, Any]:
    return {
        "key": way.key,
        "title": way.title,
        "place": tables.place(result, way),
        **judged_dict(way.key, way.verdict, explained),
        "designed": way.designed,
        "run_up_text": tables.run_up_text(way.run_ups[0]) if way.run_ups else "",
        "settings": [setting_dict(f"starting.{way.key}", row) for row in way.settings],
        "held": held_dict(way.settings),
        "transient_note": way.transient_note,
        "comparisons": list(way.comparisons),
        "load_case": way.load_case,
        "contacts": contacts_dict(way.wiring),
        "protection": None if way.protection is None else way.protection.words,
        "time_current": time_current_dict(result, way),
        "heat": None if way.heat is None else way_heat_dict(way.heat),
        "cases": [
            {"case": run.case, "outcome": run.outcome.value, "run_up_text": tables.run_up_text(run)}
            for run in way.run_ups
        ],
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
                "origin": origin(i),
            }
            for i in item.inputs
        ],
        "method": item.method,
        "source": item.source,
    }

"""All tables of a study in one list: the folder of outputs and the terminal go through it."""

from __future__ import annotations

from slipwise.present import (
    tables,
    tables_disturbance,
    tables_duty,
    tables_group,
    tables_heat,
    tables_protection,
    tables_reach,
    tables_speed,
    tables_speed_way,
    tables_stopping,
)
from slipwise.results.speed import SpeedResult
from slipwise.results.study import StudyResult
from slipwise.results.table import Table


def all_tables(result: StudyResult) -> tuple[tuple[str, Table], ...]:
    """Every table of a study under a stable key, those of a way as `way/table`; empty tables are left out."""
    found = [
        ("comparison", tables.comparison(result)),
        ("load_cases", tables_duty.load_cases(result)),
        ("duty", tables_duty.duty(result)),
        ("duty_energy", tables_duty.duty_energy(result)),
        *tables_heat.all_heat(result),
        *tables_group.all_group(result),
        *tables_disturbance.all_disturbances(result),
        ("not_given", tables.not_given(result)),
        ("given", tables.given(result)),
        ("rated", tables.rated(result)),
        ("plate", tables.plate(result)),
        ("boundaries", tables_reach.boundaries(result)),
        ("verdict_ranges", tables_reach.verdict_ranges(result)),
        ("spreads", tables_reach.spreads(result)),
        ("missing", tables_reach.missing(result)),
    ]
    for way in tables.ranked(result):
        found += [
            (f"{way.key}/criteria", tables.criteria(way)),
            (f"{way.key}/settings", tables.settings(way)),
            (f"{way.key}/cases", tables.cases(way)),
        ]
        if way.run_ups:
            found += [
                (f"{way.key}/stages", tables.stages(way.run_ups[0].stages)),
                (f"{way.key}/energy", tables.ledger(way.run_ups[0].energy)),
            ]
        if way.band is not None:
            found.append(
                (
                    f"{way.key}/transient_energy",
                    tables.ledger(way.band.worst.energy, "Where the energy went, electrical transient"),
                )
            )
        found += [(f"{way.key}/{key}", table) for key, table in tables_protection.all_protection(way)]
        found += [(f"{way.key}/peaks", tables.peaks(way)), (f"{way.key}/contacts", tables.contacts(way))]
    if result.speed is not None:
        found += _speed(result.speed)
    found += tables_stopping.all_stopping(result.stopping)
    return tuple((key, table) for key, table in found if table.rows or table.note)


def _speed(result: SpeedResult) -> list[tuple[str, Table]]:
    """The tables of speed control, those of all ways under `speed`."""
    found = [("speed/comparison", tables_speed.comparison(result)), ("speed/duty", tables_speed.duty(result))]
    for way in tables_speed.ranked(result):
        if not way.points:
            continue
        found += [
            (f"{way.key}/points", tables_speed_way.points(way)),
            (f"{way.key}/losses", tables_speed_way.losses(way)),
            (f"{way.key}/harmonics", tables_speed_way.harmonics(way)),
            (f"{way.key}/changes", tables_speed_way.changes(way)),
            (f"{way.key}/windings", tables_speed_way.windings(way)),
            (f"{way.key}/ratings", tables_speed_way.ratings(way)),
            (f"{way.key}/criteria", tables.criteria(way)),
            (f"{way.key}/settings", tables.settings(way)),
            (f"{way.key}/contacts", tables.contacts(way)),
        ]
    return [(key, table) for key, table in found if table.rows]

"""Tables of stopping: the ways side by side, heat and rate, then everything about each way."""

from __future__ import annotations

from math import isinf

from slipwise.present import tables
from slipwise.present.tables import BY_STATUS, STATUS_WORDS
from slipwise.quantity.show import MISSING, show
from slipwise.results.start import Outcome
from slipwise.results.stopping import Stop, StoppingResult, StopRate, StopWayResult
from slipwise.results.table import Column, Table

_RANK = {"recommended": 0, "runner-up": 1}


def place(result: StoppingResult, way: StopWayResult) -> str:
    """ "recommended", "runner-up", or ""."""
    chosen = {result.recommendation.runner_up: "runner-up", result.recommendation.way: "recommended"}
    return chosen.get(way.key, "")


def ranked(result: StoppingResult) -> tuple[StopWayResult, ...]:
    """The recommended way, the runner-up, the others by verdict; equals in the order of preference."""
    order = result.recommendation.order

    def rank(way: StopWayResult) -> tuple[int, int, int]:
        preferred = order.index(way.key) if way.key in order else len(order)
        return _RANK.get(place(result, way), len(_RANK)), BY_STATUS.index(way.verdict.status), preferred

    return tuple(sorted(result.ways, key=rank))


def verdict_sentence(result: StoppingResult) -> str:
    """The answer in one sentence."""
    best = next((way for way in result.ways if way.key == result.recommendation.way), None)
    if best is None:
        return "None of the ways of stopping passes."
    return f"Stop it by: {best.title} ({STATUS_WORDS[best.verdict.status]})."


def time_text(stop: Stop) -> str:
    """The stop time, or how the stop ended instead."""
    if stop.stop_time is not None and stop.outcome is Outcome.STOPPED:
        return show(stop.stop_time, "s")
    if stop.outcome is Outcome.HANGS:
        return f"still at {show(stop.run.final_speed, 'rad/s')}"
    return "not stopped" if stop.outcome is Outcome.UNFINISHED else str(stop.outcome.value)


def comparison(result: StoppingResult) -> Table:
    """All ways on one view: the verdict, what binds, and the stop time."""
    columns = (Column(title="Way"), *tables.JUDGED, Column(title="Stop time", numeric=True))
    rows = []
    for way in ranked(result):
        last = time_text(way.stops[0]) if way.stops else MISSING
        rows.append((way.title, *tables.judged(way.verdict), last))
    note = f"Running {result.direction} at {show(result.running_speed, 'rad/s')}. Stop time: nominal case."
    return Table(title="Ways of stopping compared", columns=columns, rows=tuple(rows), note=note)


def heat(result: StoppingResult) -> Table:
    """Where the energy of one stop goes, and how often an hour it may be repeated."""
    columns = (
        Column(title="Way"),
        Column(title="Rotor (of motion)", numeric=True),
        Column(title="Winding", numeric=True),
        Column(title="Resistors", numeric=True),
        Column(title="Returned", numeric=True),
        Column(title="Balance/h", numeric=True),
        Column(title="Network/h", numeric=True),
    )
    rows = []
    for way in ranked(result):
        if not way.stops or way.rate is None:
            continue
        stop = way.stops[0]
        rows.append(
            (
                way.title,
                f"{show(stop.rotor_heat, 'J')} ({show(stop.rotor_heat / stop.kinetic, '')})",
                show(stop.stator_heat, "J"),
                _some(stop.resistor_heat),
                _some(stop.returned),
                "no limit" if isinf(way.rate.balance) else show(way.rate.balance, ""),
                MISSING if way.rate.network is None else show(way.rate.network, ""),
            )
        )
    shown = [way for way in ranked(result) if way.stops]
    note = heat_note(shown[0].stops[0], shown[0].rate) if shown else ""
    return Table(title="Heat of one stop, and stops an hour", columns=columns, rows=tuple(rows), note=note)


def heat_note(stop: Stop, rate: StopRate | None) -> str:
    """What the columns mean."""
    started = "without starts" if rate is None or not rate.start else f"each with a start by {rate.start.lower()}"
    return (
        f"Nominal case, steady characteristics. Of motion: rotor heat per energy of motion, {show(stop.kinetic, 'J')}. "
        "Returned: through the motor's terminals; a braking resistor takes it all as heat, losses of the inverter left out. "
        f"Stops an hour, {started}: balance, the cooling at rated load without running heat; network, rated load between."
    )


def stops(way: StopWayResult) -> Table:
    """One stop a row: how it ended in each case of supply and tolerance."""
    columns = (
        Column(title="Case"),
        Column(title="Outcome"),
        Column(title="Stop time", numeric=True),
        Column(title="Turns", numeric=True),
        Column(title="Braking torque", numeric=True),
        Column(title="Current, rms", numeric=True),
        Column(title="Rotor heat", numeric=True),
        Column(title="Winding heat", numeric=True),
    )
    rows = tuple(
        (
            stop.case,
            str(stop.outcome.value),
            time_text(stop),
            show(stop.turns, ""),
            show(stop.braking_torque, "N m"),
            show(stop.line_current, "A"),
            show(stop.rotor_heat, "J"),
            show(stop.stator_heat, "J"),
        )
        for stop in way.stops
    )
    return Table(title=f"The stop in each case: {way.title}", columns=columns, rows=rows, note=_remarks(way))


def parts(way: StopWayResult) -> Table:
    """What to buy or to set beside the settings."""
    columns = (Column(title="Part"), Column(title="Value", numeric=True), Column(title="Why"))
    rows = tuple((part.title, tables.setting_text(part), part.why) for part in way.parts)
    return Table(title=f"What it takes: {way.title}", columns=columns, rows=rows)


def failure_words(way: StopWayResult) -> str:
    """What follows when the device fails that ends the stop; "" for a way without one."""
    found = way.failure
    if found is None:
        return ""
    there = f"settles at {show(found.speed, 'rad/s')} after {show(found.time, 's')}"
    if found.speed < 0:
        there = f"runs up the other way to {show(-found.speed, 'rad/s')} within {show(found.time, 's')}"
    return f"If {found.what}, the drive {there}."


def excess_words(way: StopWayResult) -> str:
    """Rotor heat of the electrical transient against the steady one; "" where it was not computed."""
    if way.excess is None:
        return ""
    return (
        f"In the electrical transient the rotor takes {show(way.excess, '')} times the heat of the steady calculation."
    )


def _remarks(way: StopWayResult) -> str:
    return " ".join(words for words in (failure_words(way), excess_words(way)) if words)


def of_way(way: StopWayResult) -> tuple[tuple[str, Table], ...]:
    """Every table of one way under its key."""
    found = [
        ("criteria", tables.criteria(way)),
        ("settings", tables.settings(way)),
        ("parts", parts(way)),
        ("cases", stops(way)),
    ]
    if way.stops:
        run = way.stops[0].run
        found += [("stages", tables.stages(run.stages)), ("energy", tables.ledger(run.energy))]
    if way.band is not None:
        title = "Where the energy went, electrical transient"
        found += [
            ("transient_energy", tables.ledger(way.band.worst.energy, title)),
            ("peaks", tables.peaks(way, "the whole stop")),
        ]
    return (*found, ("contacts", tables.contacts(way)))


def all_stopping(result: StoppingResult | None) -> tuple[tuple[str, Table], ...]:
    """Every table of stopping under its key, those of a way as `stop_way/table`."""
    if result is None:
        return ()
    of_ways = [(f"stop_{way.key}/{key}", table) for way in ranked(result) for key, table in of_way(way)]
    return (("stopping_comparison", comparison(result)), ("stopping_heat", heat(result)), *of_ways)


def _some(energy: float) -> str:
    return show(energy, "J") if energy > 1.0 else MISSING

"""Tables of a group: its motors, the sequences compared, the proposed one motor by motor, and the dip."""

from __future__ import annotations

from math import isinf

from slipwise.present import tables
from slipwise.quantity.show import MISSING, show
from slipwise.results.criteria import Status
from slipwise.results.group import GroupResult, GroupRun, SwitchingSequence
from slipwise.results.start import Outcome
from slipwise.results.study import StudyResult
from slipwise.results.table import Column, Table

BACK = {Outcome.ARRIVED: "back at speed"}


def motors(group: GroupResult) -> Table:
    """The motors of the group as they were understood."""
    columns = (
        Column(title="Motor"),
        Column(title="Busbar"),
        Column(title="Way"),
        Column(title="Rated power", numeric=True),
        Column(title="Locked rotor", numeric=True),
        Column(title="At first"),
    )
    rows = tuple(
        (m.name, m.busbar, m.way, show(m.rated_power, "W"), show(m.locked_rotor_current, "A"),
         "runs" if m.running else "waits")
        for m in group.motors
    )  # fmt: skip
    return Table(title="Motors of the group", columns=columns, rows=rows)


def sequences(group: GroupResult) -> Table:
    """Every sequence against its tightest limit, the proposed one first."""
    columns = (Column(title="Sequence"), *tables.JUDGED, Column(title="All at speed", numeric=True))
    totals = (found.runs[0].total_time for found in group.sequences)
    rows = tuple(
        (found.title, *tables.judged(found.verdict), MISSING if total is None else show(total, "s"))
        for found, total in zip(group.sequences, totals, strict=True)
    )
    why = [f"{s.title}: {s.verdict.reason}." for s in group.sequences if s.verdict.status is Status.CONDITION]
    note = " ".join((group.words, *why))
    return Table(title="Sequences of switching on", columns=columns, rows=rows, note=note)


def headline(result: StudyResult) -> str:
    """Which sequence to take, in one sentence; nothing without a group, or where all of it runs already."""
    if result.group is None or not result.group.sequences:
        return ""
    chosen = proposed(result.group)
    return f"Switch the group on so: {in_words(chosen)}" if chosen is not None else "No sequence of the group passes."


def proposed(group: GroupResult) -> SwitchingSequence | None:
    """The sequence to take; None when none passes."""
    return next((found for found in group.sequences if found.key == group.proposed), None)


def in_words(found: SwitchingSequence) -> str:
    """Who is switched on when, in one sentence."""
    parts = (
        f"{' and '.join(batch)} at {show(time, 's')}"
        for batch, time in zip(found.batches, found.switch_on, strict=True)
    )
    return f"{', '.join(parts)} ({tables.STATUS_WORDS[found.verdict.status]})."


def steps(found: SwitchingSequence) -> Table:
    """Who is switched on when, and what each motor then does in the worst case computed."""
    columns = (
        Column(title="Motor"),
        Column(title="Switched on", numeric=True),
        Column(title="Run-up", numeric=True),
        Column(title="Greatest current", numeric=True),
        Column(title="Lowest voltage", numeric=True),
        Column(title="Outcome"),
    )
    run = found.runs[-1]
    note = f"Run-up, current and voltage: {run.case} case. Dips from the voltage before the switching that caused them."
    return Table(title=f"{found.title}: motor by motor", columns=columns, rows=_tracks(run), note=note)


def _tracks(run: GroupRun) -> tuple[tuple[str, ...], ...]:
    rows = []
    for t in sorted(run.tracks, key=lambda t: -1.0 if t.switch_on is None else t.switch_on):
        fell = "" if t.dropped is None else f", contactor out at {show(t.dropped, 's')}"
        rows.append(
            (
                t.name,
                "runs already" if t.switch_on is None else show(t.switch_on, "s"),
                MISSING if t.run_up_time is None else show(t.run_up_time, "s"),
                show(t.peak_current, "A"),
                MISSING if isinf(t.lowest_voltage) else show(t.lowest_voltage, "pu"),
                ("at speed" if t.outcome is Outcome.ARRIVED else t.outcome.value) + fell,
            )
        )
    return tuple(rows)


def dip(group: GroupResult) -> Table:
    """What a dip of the source does to the running motors."""
    columns = (
        Column(title="Motor"),
        Column(title="Lowest speed", numeric=True),
        Column(title="Current on return", numeric=True),
        Column(title="Outcome"),
    )
    found = group.dip
    if found is None:
        return Table(title="Dip of the source", columns=columns, rows=())
    rows = tuple(
        (
            ride.name,
            show(ride.lowest_speed, "rad/s"),
            show(ride.return_current, "A"),
            "contactor fell out" if ride.dropped else BACK.get(ride.outcome, ride.outcome.value),
        )
        for ride in found.rides
    )
    title = f"Dip of the source to {show(found.remaining, 'pu')} for {show(found.duration, 's')}"
    limit = "any time" if isinf(found.longest) else show(found.longest, "s")
    note = (
        f"{found.words} Longest dip of this depth: {limit}. {found.run.case.capitalize()} case, all motors running before; "
        "electrical transients and the back-feed of the motors into the dip are left out."
    )
    return Table(title=title, columns=columns, rows=rows, note=note)


def all_group(result: StudyResult) -> tuple[tuple[str, Table], ...]:
    """Every table of the group under its key."""
    group = result.group
    if group is None:
        return ()
    found = [("group/motors", motors(group)), ("group/sequences", sequences(group))]
    for order in group.sequences:
        found += [(f"group/{order.key}", steps(order)), (f"group/{order.key}_criteria", tables.criteria(order))]
    return (*found, ("group/dip", dip(group)))


def brief(result: StudyResult) -> tuple[Table, ...]:
    """What the terminal shows: motors, sequences, the proposed one (else the first), the dip."""
    group = result.group
    if group is None:
        return ()
    first = group.sequences[:1]
    return (motors(group), sequences(group), *(steps(order) for order in first), dip(group))

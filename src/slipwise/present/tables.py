"""Results as neutral tables: terminal, report, notebook and page draw the same rows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from slipwise.quantity.provenance import Origin, Sourced
from slipwise.quantity.show import MINUS, MISSING, THIN, display_unit, show, show_number, show_range
from slipwise.results.criteria import Criterion, Status, Verdict
from slipwise.results.disturbance import DisturbanceResult
from slipwise.results.group import SwitchingSequence
from slipwise.results.ledger import Ledger, Side
from slipwise.results.speed import SpeedWayResult
from slipwise.results.start import Outcome, Peaks, RunUp, StageMark
from slipwise.results.stopping import StopWayResult
from slipwise.results.study import PlateRow, Setting, StudyResult, WayResult
from slipwise.results.table import Column, Table

SIDES = {
    Side.SUPPLIED: "supplied",
    Side.LOST: "lost as heat",
    Side.STORED: "stored",
    Side.SHAFT: "given to the load",
}
STATUS_WORDS = {
    Status.PASSES: "passes",
    Status.CONDITION: "passes with a condition",
    Status.FAILS: "fails",
    Status.UNKNOWN: "not judged",
    Status.NOT_APPLICABLE: "does not apply",
}
BY_STATUS = (Status.PASSES, Status.CONDITION, Status.UNKNOWN, Status.FAILS, Status.NOT_APPLICABLE)  # best first
NOT_GIVEN = (Origin.ASSUMED, Origin.ESTIMATED)
RESIDUE = 1e-6  # a relative difference below this is rounding, and shown as none
FAR = 5.0  # a margin beyond five times the limit says no more in figures


def signed(ratio: float | None, *, short: bool = False) -> str:
    """A ratio as per cent with its sign, two figures: "+24 %", a dash when there is none.

    Far out it is "over +500 %", or where there is no room for that (`short`) ">+500 %".
    """
    if ratio is None:
        return MISSING
    if abs(ratio) < RESIDUE:
        return show(0.0, "pu")
    if abs(ratio) > FAR:
        over, under = (">", "<") if short else ("over ", "under ")
        return f"{over}+{show(FAR, 'pu')}" if ratio > 0 else f"{under}{show(-FAR, 'pu')}"
    text = show(ratio, "pu", digits=2)
    return text if text.startswith(MINUS) else f"+{text}"


def ranked(result: StudyResult) -> tuple[WayResult, ...]:
    """The recommended way, the runner-up, the others by verdict: passing, with a condition, failing, not applying.

    Equals stand as the study lists them.
    """
    chosen = (result.recommendation.way, result.recommendation.runner_up)

    def place_of(way: WayResult) -> int:
        return chosen.index(way.key) if way.key in chosen else len(chosen) + BY_STATUS.index(way.verdict.status)

    return tuple(sorted(result.ways, key=place_of))


def tightness(row: Criterion) -> tuple[int, float]:
    """What criteria are ordered by: those that fail without a margin to show, then by margin, then those not judged."""
    if row.margin is None:
        return (0, 0.0) if row.status is Status.FAILS else (2, 0.0)
    return 1, row.margin


def by_margin(criteria: Iterable[Criterion]) -> tuple[Criterion, ...]:
    """Tightest first; rows that are not judged last."""
    return tuple(sorted(criteria, key=tightness))


def place(result: StudyResult, way: WayResult) -> str:
    """ "recommended", "runner-up" or nothing."""
    places = {result.recommendation.runner_up: "runner-up", result.recommendation.way: "recommended"}
    return places.get(way.key, "")


def limit_text(row: Criterion) -> str:
    """ "at most 10 %", or a dash when no limit is set."""
    return MISSING if row.limit is None else f"{row.sense.value} {show(row.limit, row.unit)}"


def run_up_text(run_up: RunUp) -> str:
    """The run-up time, or how the start ended instead."""
    if run_up.outcome is Outcome.ARRIVED:
        return show(run_up.run_up_time, "s")
    if run_up.outcome is Outcome.HANGS:
        return f"hangs at {show(run_up.hang_speed, 'rad/s')}"
    if run_up.outcome is Outcome.UNFINISHED:
        return f"not there after {show(float(run_up.time[-1]), 's')}"
    return str(run_up.outcome.value)


JUDGED = (
    Column(title="Verdict"),
    Column(title="Binds"),
    Column(title="Value", numeric=True),
    Column(title="Limit", numeric=True),
    Column(title="Margin", numeric=True),
)
"""The columns of `judged`."""


def judged(found: Verdict) -> tuple[str, ...]:
    """A verdict in a row: how it is, what binds, its value, limit and margin."""
    binding, status = found.binding, STATUS_WORDS[found.status]
    if binding is None:
        return status, "nothing judged", MISSING, MISSING, MISSING
    title = binding.title + (f" ({binding.load_case})" if binding.load_case else "")
    return status, title, show(binding.value, binding.unit), limit_text(binding), signed(binding.margin)


def comparison(result: StudyResult) -> Table:
    """All ways on one view: the verdict, then what binds, then the time to run up. Recommended way first."""
    columns = (Column(title="Way"), *JUDGED, Column(title="Run-up", numeric=True))
    rows = []
    for way in ranked(result):
        time = run_up_text(way.run_ups[0]) if way.run_ups else MISSING
        rows.append((way.title, *judged(way.verdict), time))
    case = result.ways[0].run_ups[0].case if result.ways and result.ways[0].run_ups else ""
    margin = "Margin: what is left to the limit, in per cent of it; for a voltage, of the drop it permits."
    note = f"Run-up: {case} case. {margin}" if case else ""
    return Table(title="The ways compared", columns=columns, rows=tuple(rows), note=note)


def criteria(way: WayResult | SpeedWayResult | StopWayResult | DisturbanceResult | SwitchingSequence) -> Table:
    """Every criterion of one way, disturbance or sequence, the tightest first, with case and source of the limit."""
    columns = (
        Column(title="Criterion"),
        Column(title="Value", numeric=True),
        Column(title="Limit", numeric=True),
        Column(title="Margin", numeric=True),
        Column(title="Status"),
        Column(title="Case"),
        Column(title="Source of the limit"),
    )
    rows = tuple(
        (
            row.title,
            show(row.value, row.unit),
            limit_text(row),
            signed(row.margin),
            STATUS_WORDS[row.status] + (f": {row.condition}" if row.condition else ""),
            row.case + (f", {row.load_case}" if row.load_case else ""),
            row.source,
        )
        for row in by_margin(way.verdict.criteria)
    )
    return Table(title=f"Criteria: {way.title}", columns=columns, rows=rows)


def setting_text(setting: Setting) -> str:
    """The value of a setting as shown: in words, or number and unit."""
    return setting.text or show(setting.value, setting.unit)


def set_text(way: WayResult) -> str:
    """All settings of a way in one line: "ramp time 4.79 s, current limit 150 %"; empty when there are none."""
    return ", ".join(f"{setting.title} {setting_text(setting)}" for setting in way.settings)


def settings(way: WayResult | SpeedWayResult | StopWayResult) -> Table:
    """What is to be set, and whether the user gave it or the design chose it."""
    columns = (
        Column(title="Setting"),
        Column(title="Value", numeric=True),
        Column(title="Origin"),
        Column(title="Why"),
    )
    rows = tuple((s.title, setting_text(s), s.origin, s.why) for s in way.settings)
    return Table(title=f"Settings: {way.title}", columns=columns, rows=rows, note=way.designed)


def tolerance_text(row: PlateRow) -> str:
    """ "−15 % to +25 %", "at most +20 %", "at least −10 %", or a dash."""
    low, high = row.tolerance_low, row.tolerance_high
    if low is None and high is None:
        return MISSING
    if low is None:
        return f"at most {signed(high)}"
    return f"at least {signed(low)}" if high is None else f"{signed(low)} to {signed(high)}"


def plate(result: StudyResult) -> Table:
    """Plate and catalogue values against the model, with the difference and the tolerance of the standard."""
    return plate_rows(result.plate)


def plate_rows(found: Sequence[PlateRow]) -> Table:
    """The same from the rows alone, for a motor that was identified and not run."""
    columns = (
        Column(title="Quantity"),
        Column(title="Plate", numeric=True),
        Column(title="Model", numeric=True),
        Column(title="Difference", numeric=True),
        Column(title="Tolerance", numeric=True),
        Column(title="Source"),
    )
    rows = tuple(
        (
            row.name,
            show(row.plate, row.unit, digits=4),
            show(row.model, row.unit, digits=4),
            signed(row.model / row.plate - 1) if row.plate else MISSING,
            tolerance_text(row),
            row.source,
        )
        for row in found
    )
    return Table(title="Plate against model", columns=columns, rows=rows)


def value_text(item: Sourced) -> str:
    """A sourced value as shown, with its range when it has one; in the user's words when there is no number."""
    return item.text if item.value is None else show_range(item.value, item.low, item.high, item.unit)


def inputs(result: StudyResult, origins: Sequence[Origin] = tuple(Origin), title: str = "Inputs") -> Table:
    """Inputs with their origin; `text` as entered stands beside the value in SI-based units when it was given."""
    columns = (
        Column(title="Quantity"),
        Column(title="Value", numeric=True),
        Column(title="Origin"),
        Column(title="As entered, or why"),
    )
    rows = tuple(
        (
            item.name,
            value_text(item),
            item.origin.value,
            item.text if item.origin is Origin.GIVEN else item.why or item.text,
        )
        for item in result.inputs
        if item.origin in origins
    )
    return Table(title=title, columns=columns, rows=rows)


def not_given(result: StudyResult) -> Table:
    """Everything the answer rests on that the user did not give: assumed and estimated values with their ranges."""
    note = "" if any(i.origin in NOT_GIVEN for i in result.inputs) else "Nothing was assumed or estimated."
    table = inputs(result, NOT_GIVEN, "What was not given")
    return Table(title=table.title, columns=table.columns, rows=table.rows, note=note)


def given(result: StudyResult) -> Table:
    """What the user gave, and what follows from it."""
    return inputs(result, (Origin.GIVEN, Origin.DERIVED), "What was given, and what follows from it")


def rated(result: StudyResult) -> Table:
    """The motor's rated and derived figures."""
    columns = (Column(title="Quantity"), Column(title="Value", numeric=True), Column(title="Origin"))
    rows = tuple((item.name, value_text(item), item.origin.value) for item in result.rated)
    return Table(title="The motor", columns=columns, rows=rows)


def ledger(energy: Ledger, title: str = "Where the energy went") -> Table:
    """supplied = lost + stored + given to the load, in one unit, and how well the balance closes."""
    unit = display_unit((row.energy for row in energy.rows), "J")
    most = max((abs(row.energy) for row in energy.rows), default=0.0)
    columns = (Column(title="Energy"), Column(title="Side"), Column(title=unit, numeric=True))
    rows = tuple(
        (row.name, SIDES[row.side], show_number(row.energy if abs(row.energy) > RESIDUE * most else 0.0, "J", unit))
        for side in Side
        for row in energy.rows
        if row.side is side
    )
    gap = (
        f"to {show(abs(energy.closure), '', digits=1)} of the energy that passed through"
        if energy.closure
        else "exactly"
    )
    note = f"The balance closes {gap}."
    return Table(title=title, columns=columns, rows=rows, note=note)


def stages(marks: Sequence[StageMark], title: str = "Stages") -> Table:
    """When each stage began and ended, at which speed, and why."""
    columns = (
        Column(title="Stage"),
        Column(title="Begins", numeric=True),
        Column(title="Ends", numeric=True),
        Column(title="Speed at its end", numeric=True),
        Column(title="Ended by"),
        Column(title="Contacts closed"),
    )
    rows = tuple(
        (
            m.name,
            show(m.begin, "s"),
            show(m.end, "s"),
            show(m.end_speed, "rad/s"),
            m.reason,
            ", ".join(m.contacts) or MISSING,
        )
        for m in marks
    )
    return Table(title=title, columns=columns, rows=rows)


def cases(way: WayResult) -> Table:
    """One run-up a row: how it ended in each case of supply and tolerance."""
    columns = (
        Column(title="Case"),
        Column(title="Outcome"),
        Column(title="Run-up", numeric=True),
        Column(title="Final speed", numeric=True),
        Column(title="Greatest line current", numeric=True),
        Column(title="Heat in the stator", numeric=True),
        Column(title="Heat in the rotor", numeric=True),
    )
    rows = tuple(
        (
            run.case,
            run.outcome.value,
            show(run.run_up_time, "s"),
            show(run.final_speed, "rad/s"),
            show(float(run.line_current.max()), "A"),
            show(run.stator_heat, "J"),
            show(run.rotor_heat, "J"),
        )
        for run in way.run_ups
    )
    return Table(title=f"Run-up in each case: {way.title}", columns=columns, rows=rows)


def peaks(way: WayResult | StopWayResult, over: str = "the whole start") -> Table:
    """Extremes of the electrical transient, over the whole (named `over`) and in each stage, with their times."""
    columns = (
        Column(title="Over"),
        Column(title="Greatest torque", numeric=True),
        Column(title="at", numeric=True),
        Column(title="Least torque", numeric=True),
        Column(title="at", numeric=True),
        Column(title="Peak line current", numeric=True),
        Column(title="at", numeric=True),
        Column(title="Phase"),
    )
    if way.band is None:
        return Table(title=f"Peaks: {way.title}", columns=columns, rows=(), note=way.transient_note)
    worst = way.band.worst
    rows = [_peak_cells(over, worst.peaks)]
    rows += [_peak_cells(m.name, p) for m, p in zip(worst.stages, worst.stage_peaks, strict=False)]
    note = f"At a switching angle of {show(worst.switching_angle, 'rad')}, the worst of {len(way.band.angles)} angles."
    return Table(title=f"Peaks: {way.title}", columns=columns, rows=tuple(rows), note=note)


def _peak_cells(over: str, peak: Peaks) -> tuple[str, ...]:
    return (
        over,
        show(peak.torque_max, "N m"),
        show(peak.torque_max_time, "s"),
        show(peak.torque_min, "N m"),
        show(peak.torque_min_time, "s"),
        show(peak.line_current, "A"),
        show(peak.line_current_time, "s"),
        peak.line_current_phase,
    )


def contacts(way: WayResult | SpeedWayResult | StopWayResult) -> Table:
    """Which contact is closed in which stage."""
    wiring = way.wiring
    names = tuple(dict.fromkeys(name for closed in wiring.closed for name in closed))
    columns = (Column(title="Contact"), *(Column(title=stage) for stage in wiring.stages))
    rows = tuple((name, *("closed" if name in closed else "open" for closed in wiring.closed)) for name in names)
    return Table(title=f"Contacts: {way.title}", columns=columns, rows=rows)


def verdict_sentence(result: StudyResult) -> str:
    """The answer in one sentence."""
    best = next((way for way in result.ways if way.key == result.recommendation.way), None)
    if best is None:
        return "None of the ways compared passes."
    alone = "The motor of this file by itself. " if result.group is not None else ""
    return f"{alone}Start it by: {best.title} ({STATUS_WORDS[best.verdict.status]})."


def plain(text: str) -> str:
    """Text with ordinary spaces and hyphens, for places that know no other."""
    return text.replace(THIN, " ").replace(MINUS, "-")

"""Tables of the states a load is found in, and of the cycle that a running motor repeats."""

from __future__ import annotations

from slipwise.present.tables import STATUS_WORDS, ledger, limit_text, ranked, signed
from slipwise.quantity.show import MISSING, show
from slipwise.results.duty import DutyCycle
from slipwise.results.study import StudyResult
from slipwise.results.table import Column, Table


def load_cases(result: StudyResult) -> Table:
    """Every way with the load in each of its states: how it stands, what binds there, and the run-up."""
    columns = (
        Column(title="Way"),
        Column(title="Load case"),
        Column(title="Verdict"),
        Column(title="Binds"),
        Column(title="Value", numeric=True),
        Column(title="Limit", numeric=True),
        Column(title="Margin", numeric=True),
        Column(title="Run-up", numeric=True),
    )
    rows = []
    for way in ranked(result):
        for case in way.load_cases:
            cells = ("nothing judged", MISSING, MISSING, MISSING)
            if case.binding is not None:
                row = case.binding
                cells = (row.title, show(row.value, row.unit), limit_text(row), signed(row.margin))
            time = str(case.outcome.value) if case.run_up_time is None else show(case.run_up_time, "s")
            mark = " (binds)" if case.name == way.load_case else ""
            rows.append((way.title, f"{case.name}{mark}", STATUS_WORDS[case.status], *cells, time))
    note = "Each way is judged by the worst row of each criterion over the load cases." if rows else ""
    return Table(title="The load cases", columns=columns, rows=tuple(rows), note=note)


def duty(result: StudyResult) -> Table:
    """What the repeating load asks of the running motor, beside the rated values."""
    columns = (
        Column(title="Over one cycle"),
        Column(title="Value", numeric=True),
        Column(title="Of rated", numeric=True),
    )
    title = "The duty cycle"
    found = result.duty
    if found is None:
        return Table(title=title, columns=columns, rows=(), note=result.duty_note)
    middle = (found.highest_speed + found.lowest_speed) / 2
    most = float(found.line_current.max())
    rows = (
        ("length of the cycle", show(found.period, "s"), MISSING),
        ("line current, rms over the cycle", show(found.rms_current, "A"), show(found.rms_current / result.rated_current, "pu")),
        ("greatest line current", show(most, "A"), show(most / result.rated_current, "pu")),
        ("greatest motor torque", show(found.peak_torque, "N m"), show(found.peak_torque / result.rated_torque, "pu")),
        ("greatest load torque", show(float(found.load.max()), "N m"), show(float(found.load.max()) / result.rated_torque, "pu")),
        ("highest speed", show(found.highest_speed, "rad/s"), MISSING),
        ("lowest speed", show(found.lowest_speed, "rad/s"), MISSING),
        ("swing of speed, of its middle", show((found.highest_speed - found.lowest_speed) / middle, "pu"), MISSING),
        ("mean loss in the motor", show(found.mean_loss, "W"), MISSING),
    )  # fmt: skip
    return Table(title=title, columns=columns, rows=rows, note=_heat_note(found, result))


def _heat_note(found: DutyCycle, result: StudyResult) -> str:
    ratio = found.rms_current / result.rated_current
    word = "within" if ratio <= 1 else "above"
    return (
        f"The rms current is {word} rated current; it decides only when the cycle is short against the motor's thermal "
        "time constant (common practice, no source). Settled cycle on the ordinary supply: it ends at the speed it began with."
    )


def duty_energy(result: StudyResult) -> Table:
    """Where the energy of one cycle went."""
    if result.duty is None:
        return Table(title="Where the energy of a cycle went", columns=(), rows=())
    return ledger(result.duty.energy, "Where the energy of a cycle went")


def duty_sentence(result: StudyResult) -> str:
    """The cycle in one sentence; nothing when there is none."""
    found = result.duty
    if found is None:
        return result.duty_note
    swing = f"{show(found.lowest_speed, 'rad/s')} and {show(found.highest_speed, 'rad/s')}"
    return (
        f"In the cycle of {show(found.period, 's')} the line current is {show(found.rms_current, 'A')} rms, "
        f"{show(found.rms_current / result.rated_current, 'pu')} of rated, torque reaches "
        f"{show(found.peak_torque / result.rated_torque, 'pu')} of rated against a load of "
        f"{show(float(found.load.max()) / result.rated_torque, 'pu')}, and speed swings between {swing}."
    )

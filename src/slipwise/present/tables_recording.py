"""A recorded start as tables: what was done to it, what was found, how it fits, and how it lies against the prediction."""

from __future__ import annotations

from slipwise.quantity.show import MISSING, show, show_range
from slipwise.results.recording import CoastDownResult, Commissioning, FittedValue, RecordingResult
from slipwise.results.table import Column, Table

LEARNT = 0.7  # a range narrowed to less than this share of what it was: the recording has told something


def steps(found: RecordingResult) -> Table:
    """Everything done to the recording before the fit."""
    columns = (Column(title="Step"), Column(title="Why"), Column(title="Touched", numeric=True))
    rows = tuple((step.what, step.why, str(step.changed) if step.changed else MISSING) for step in found.steps)
    return Table(title="What was done to the recording", columns=columns, rows=rows)


def values(found: RecordingResult) -> Table:
    """Fitted values with their 95 % ranges."""
    columns = (
        Column(title="Value"),
        Column(title="Symbol"),
        Column(title="Found", numeric=True),
        Column(title="95 % range", numeric=True),
        Column(title="Told by the recording"),
    )
    rows = tuple(_value_cells(row) for row in found.values)
    note = "The ranges hold one by one; where values trade against each other the joint region is smaller than their product."
    return Table(title="Fitted values", columns=columns, rows=rows, note=note)


def _value_cells(row: FittedValue) -> tuple[str, ...]:
    told = "yes" if row.narrowed < 0.3 else "partly" if row.narrowed < LEARNT else "hardly"
    return (
        row.name,
        row.symbol,
        show(row.value, row.unit),
        f"{show(row.low, row.unit)} to {show(row.high, row.unit)}",
        told,
    )


def misfit(found: RecordingResult) -> Table:
    """How well the model follows each measured quantity."""
    columns = (
        Column(title="Quantity"),
        Column(title="Noise, one sigma", numeric=True),
        Column(title="Misfit over noise", numeric=True),
        Column(title="Slow misfit over noise", numeric=True),
    )
    rows = tuple(
        (trace.name, show(trace.noise, trace.unit), show(trace.misfit, ""), show(trace.slow_misfit, ""))
        for trace in found.traces
    )
    note = "Near 1: noise explains all that is left. Slow misfit: of means over a cycle, where a missing effect shows first."
    return Table(title="How well the model follows", columns=columns, rows=rows, note=note)


def coast_values(found: CoastDownResult) -> Table:
    """What a coast-down gave."""
    columns = (Column(title="Value"), Column(title="Found", numeric=True))
    rows = tuple((row.name, show_range(row.value, row.low, row.high, row.unit)) for row in found.values)
    return Table(title="Coast-down", columns=columns, rows=rows, note=" ".join(found.notes))


def deviations(found: Commissioning) -> Table:
    """Recorded against the predicted band."""
    columns = (
        Column(title="Quantity"),
        Column(title="Recorded", numeric=True),
        Column(title="Predicted", numeric=True),
        Column(title="Recorded is"),
        Column(title="Usual meaning"),
    )
    rows = tuple(
        (
            row.name,
            show(row.recorded, row.unit),
            f"{show(row.low, row.unit)} to {show(row.high, row.unit)}",
            row.status,
            row.meaning or MISSING,
        )
        for row in found.deviations
    )
    note = (
        "Predicted: least to greatest over the supply cases; inertia and torque: the study's value within a tenth. "
        "At the edge: outside by less than 2 % of the reading (0.2 % of a speed), which is no deviation. "
        "Meanings: common practice, no source."
    )
    return Table(title="Recorded against predicted", columns=columns, rows=rows, note=note)


def settings(found: Commissioning) -> Table:
    """Settings as found against settings proposed."""
    columns = (Column(title="Setting"), Column(title="Proposed"), Column(title="As found"), Column(title="Agrees"))
    words = {True: "yes", False: "no", None: "not reported"}
    rows = tuple((row.name, row.proposed, row.found or MISSING, words[row.same]) for row in found.settings)
    return Table(title="Settings", columns=columns, rows=rows)

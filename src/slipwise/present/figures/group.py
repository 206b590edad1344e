"""A group of motors in time: speed of each, and the voltage of every busbar against its dip limit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import Look, pattern_of
from slipwise.present.figures.run_up import LEFT, WIDTH, curve, voltage_axis
from slipwise.present.figures.scale import divide
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.group import GroupRun, SwitchingSequence
from slipwise.results.start import Outcome
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PLACES = ((LEFT, 0.61, WIDTH, 0.19), (LEFT, 0.365, WIDTH, 0.155), (LEFT, 0.105, WIDTH, 0.175))


def sequence(result: StudyResult, found: SwitchingSequence, look: Look) -> Figure:
    """One sequence of switching on, nominal case."""
    title = f"Group, {found.title[0].lower()}{found.title[1:]}"
    return _drawn(result, found.runs[0], title, sequence_words(found), look)


def dip(result: StudyResult, look: Look) -> Figure:
    """The group through a dip of the source."""
    group = result.group
    if group is None or group.dip is None:
        raise ValueError("the study has no dip of a group")
    found = group.dip
    title = f"Group through a dip to {show(found.remaining, 'pu')} for {show(found.duration, 's')}"
    return _drawn(result, found.run, title, found.words, look)


def sequence_words(found: SwitchingSequence) -> str:
    """What the figure shows, from the numbers."""
    run = found.runs[0]
    steps = "; ".join(
        f"{', '.join(batch)} at {show(time, 's')}" for batch, time in zip(found.batches, found.switch_on, strict=True)
    )
    deepest = int(np.argmax(run.dips))
    lost = [t.name for t in run.tracks if t.outcome is not Outcome.ARRIVED]
    end = f"{', '.join(lost)} not at speed" if lost else f"all at speed after {show(run.total_time, 's')}"
    return f"{steps}; {end}. Deepest dip {show(float(run.dips[deepest]), 'pu')} at {run.busbars[deepest]}."


def _drawn(result: StudyResult, run: GroupRun, title: str, words: str, look: Look) -> Figure:
    with canvas.drawing():
        figure = canvas.sheet(look, title, f"{result.title}. {run.case.capitalize()} case.")
        panels = [canvas.panel(figure, look, place) for place in PLACES]
        for axes in panels:
            canvas.time_axis(axes, look, (0.0, float(run.time[-1]) * 1.02), label=axes is panels[-1])
        labels = Labels(figure, look)
        _of_motors(panels[0], labels, look, run)
        _currents(panels[1], labels, look, run)
        _voltages(panels[2], labels, look, run)
        canvas.describe(figure, title, words)
        return figure


def _of_motors(axes: Axes, labels: Labels, look: Look, run: GroupRun) -> None:
    turns = run.speed * 30 / np.pi
    canvas.value_axis(axes, divide(0.0, float(turns.max()), 3, 4))
    canvas.name_above(axes, look, "speed, r/min")
    _each(axes, labels, look, run, turns)
    for k, track in enumerate(run.tracks):
        labels.on_curve(axes, track.name, track.name, look.colour(k), prefer=_place(run, k))


def _currents(axes: Axes, labels: Labels, look: Look, run: GroupRun) -> None:
    scale = divide(0.0, float(run.line_current.max()), 2, 4)
    unit = display_unit([scale.high], "A")
    canvas.value_axis(axes, scale, 1 / in_display(1.0, "A", unit))
    canvas.name_above(axes, look, f"line current of each, {unit} rms")
    _each(axes, labels, look, run, run.line_current)
    for k, track in enumerate(run.tracks):
        words = f"{track.name}: up to {show(track.peak_current, 'A')}"
        labels.on_curve(axes, track.name, words, look.colour(k), prefer=_place(run, k))


def _place(run: GroupRun, k: int) -> float:
    """Where along the time axis the name of a motor stands best: a little after it is switched on."""
    on = run.tracks[k].switch_on
    return min(0.9, (0.15 + 0.2 * k) if on is None else on / float(run.time[-1]) + 0.05)


def _each(axes: Axes, labels: Labels, look: Look, run: GroupRun, rows: np.ndarray) -> None:
    for k, (track, row) in enumerate(zip(run.tracks, rows, strict=True)):
        curve(axes, labels, look, (track.name, run.time, row), (look.colour(k), pattern_of(k), 1.0))


def _voltages(axes: Axes, labels: Labels, look: Look, run: GroupRun) -> None:
    """Busbar voltages in per cent of nominal."""
    shares = 100 * run.busbar_voltage
    voltage_axis(axes, look, float(shares.min()), float(shares.max()))
    for number, (name, row) in enumerate(zip(run.busbars, shares, strict=True)):
        curve(axes, labels, look, (name, run.time, row), (look.colour(number), pattern_of(number), 0.8))
    for number, (name, dip_of) in enumerate(zip(run.busbars, run.dips, strict=True)):
        words = f"{name}: dips by {show(float(dip_of), 'pu')}"
        labels.on_curve(axes, name, words, look.colour(number), prefer=0.15 + 0.3 * (number % 3))

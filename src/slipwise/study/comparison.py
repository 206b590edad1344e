"""Two variants of one way set side by side, such as the two wirings of a changeover."""

from __future__ import annotations

from typing import Protocol, Self, runtime_checkable

from slipwise.limits.current import peak_torque
from slipwise.methods.way import StartingWay, dials
from slipwise.quantity.show import show
from slipwise.results.start import TransientBand
from slipwise.study.cases import Case
from slipwise.study.model import Study


@runtime_checkable
class Twinned(Protocol):
    """A way that comes in two variants worth comparing."""

    def twin(self) -> Self:
        """The same start in the other variant."""
        ...


def compare_twins(study: Study, way: StartingWay, case: Case, band: TransientBand | None) -> tuple[str, ...]:
    """One sentence per variant with its peaks, then which is gentler; empty without a twin or a transient.

    Peaks of the nominal start over the switching angle; those of the last stage, after the changeover, at the angle with
    the greatest torque.
    """
    if band is None or not isinstance(way, Twinned):
        return ()
    other = way.twin()
    theirs = case.band(other.stages(case.drive), study.switching_angles)
    torque = study.motor.rating.torque
    mine, its = _difference(way, other)
    sentences = [_sentence(words, found, torque) for words, found in ((mine, band), (its, theirs))]
    return (*sentences, _gentler(mine, its, _last_peak(band), _last_peak(theirs)))


def _difference(way: StartingWay, other: StartingWay) -> tuple[str, str]:
    """What tells two variants apart: the settings in which they differ, in words."""
    changed = [
        (dial.title, getattr(way, name), getattr(other, name))
        for name, dial in dials(type(way)).items()
        if getattr(way, name) != getattr(other, name)
    ]
    return "; ".join(f"{t} {a}" for t, a, _ in changed), "; ".join(f"{t} {b}" for t, _, b in changed)


def _sentence(words: str, band: TransientBand, torque: float) -> str:
    last = band.worst.stage_peaks[-1]
    return (
        f"With {words}: torque up to {show(peak_torque(band) / torque, 'pu')} of rated and line current up to "
        f"{show(float(band.line_current.max()), 'A')} over the whole start; after the changeover torque between "
        f"{show(last.torque_min / torque, 'pu')} and {show(last.torque_max / torque, 'pu')} of rated, line current up to "
        f"{show(last.line_current, 'A')}."
    )


def _last_peak(band: TransientBand) -> float:
    last = band.worst.stage_peaks[-1]
    return max(abs(last.torque_max), abs(last.torque_min))


def _gentler(mine: str, its: str, here: float, there: float) -> str:
    if abs(here - there) < 0.02 * max(here, there):
        return f"After the changeover the two differ by less than 2 % in torque: {mine} and {its} serve alike."
    better, saved = (mine, 1 - here / there) if here < there else (its, 1 - there / here)
    return f"The gentler one after the changeover is {better}, by {show(saved, 'pu')} in peak torque."

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
    theirs = case.band(other.stages(case.drive), study)
    torque = study.motor.rating.torque
    mine, its = _difference(way, other)
    sentences = [_sentence(words, found, torque) for words, found in ((mine, band), (its, theirs))]
    return (*sentences, *_gentler((mine, _last(band)), (its, _last(theirs))))


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


def _last(band: TransientBand) -> tuple[float, float]:
    """Torque magnitude (N m) and line current (A) at their greatest in the last stage."""
    last = band.worst.stage_peaks[-1]
    return max(abs(last.torque_max), abs(last.torque_min)), last.line_current


ALIKE = 0.02  # peaks closer than this are called alike


def _gentler(mine: tuple[str, tuple[float, float]], other: tuple[str, tuple[float, float]]) -> tuple[str, ...]:
    """Which variant has the lower torque and which the lower current after the changeover, by how much."""
    said = []
    for place, what in enumerate(("torque", "line current")):
        low, high = sorted((mine, other), key=lambda found: found[1][place])
        saved = 1 - low[1][place] / high[1][place]
        if saved < ALIKE:
            said.append(f"After the changeover the peaks of {what} are alike.")
        else:
            said.append(f"After the changeover {low[0]} has the lower peak of {what}, by {show(saved, 'pu')}.")
    return tuple(said)

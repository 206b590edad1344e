"""Motors from plates: how well the fit shows what invented motors print, and how often the truth lies in its ranges.

10,000 invented motors (0.12 kW to 5 MW, 2 to 12 poles, 50 and 60 Hz; single cage, double cage, deep bar) are printed as a
catalogue would print them and fitted; every given value is then compared with the print. Of 500 more, of usual kind, each
value is left out in turn and the stated range compared with the truth.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from time import perf_counter
from typing import Any

import numpy as np

from benchmarks import page
from benchmarks.synthetic_motors import KINDS, Invented, invent
from slipwise.identify.cage_search import kernel
from slipwise.identify.plate import fit_plate
from slipwise.identify.plate_ensemble import identify_plate
from slipwise.identify.records import Plate, PlateFit
from slipwise.identify.rows import Shown, shown_by
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Sourced

COUNT, SEED = 10_000, 2024
VALLEYS, VALLEY_SEED = 1000, 2027
LEFT_OUT, LEFT_OUT_SEED = 500, 2025
DRAWN, DRAWN_SEED, MEMBERS = 60, 2026, 100
VALUES = {
    "current": "rated current",
    "power_factor": "power factor",
    "efficiency": "efficiency",
    "speed": "rated speed (half a r/min alone)",
    "locked_rotor_current_ratio": "locked-rotor current",
    "locked_rotor_torque_ratio": "locked-rotor torque",
    "breakdown_torque_ratio": "breakdown torque",
    "pull_up_torque_ratio": "pull-up torque, where printed",
}
FIXED = ("current", "power_factor", "efficiency")  # each follows from the other two and the power
OPEN = (
    "speed",
    "locked_rotor_current_ratio",
    "locked_rotor_torque_ratio",
    "breakdown_torque_ratio",
    "inertia",
)
NEVER = ("R1", "X1", "friction_and_windage", "stray_load_loss")  # on no plate
_FIELDS = {"current": "rated_current", "speed": "rated_speed", "R1": "circuit.R1", "X1": "circuit.X1"}


@dataclass(slots=True)
class Tally:
    """What came of a batch of fits."""

    fitted: Counter[str] = field(default_factory=Counter)
    whole: Counter[str] = field(default_factory=Counter)  # all values of the motor met
    refused: Counter[tuple[str, str]] = field(default_factory=Counter)  # by field and kind
    reasons: list[str] = field(default_factory=list)
    errors: dict[str, list[float]] = field(default_factory=lambda: {name: [] for name in VALUES})
    missed: Counter[str] = field(default_factory=Counter)
    pull_up: list[float] = field(default_factory=list)  # model over truth - 1, where it was not told to the fit
    seconds: list[float] = field(default_factory=list)

    @property
    def count(self) -> int:
        return self.fitted.total() + self.refused.total()

    @property
    def share(self) -> float:
        """Motors with every given value met, over all motors, refusals counted against."""
        return self.whole.total() / self.count


def measure(motors: Iterable[Invented]) -> Tally:
    """Fits every motor and compares it with its print: 1 % or half the last printed digit, speed half a r/min."""
    tally = Tally()
    for motor in motors:
        start = perf_counter()
        try:
            fit = fit_plate(motor.plate)
        except InputError as error:
            tally.refused[error.faults[0].field, motor.kind] += 1
            tally.reasons.append(str(error))
            continue
        tally.seconds.append(perf_counter() - start)
        tally.fitted[motor.kind] += 1
        first = (motor.plate.locked_rotor_torque_ratio or 0.0) > 1.05 * (motor.plate.breakdown_torque_ratio or 0.0)
        shown = shown_by(fit.motor, first_peak=first)
        missed = [name for name in VALUES if not _met(motor, shown, name, tally)]
        tally.missed.update(missed)
        tally.whole[motor.kind] += not missed
        if motor.plate.pull_up_torque_ratio is None:
            tally.pull_up.append(shown.pull_up_torque_ratio / motor.truth["pull_up_torque_ratio"] - 1)
    return tally


def _met(motor: Invented, shown: Shown, name: str, tally: Tally) -> bool:
    printed = getattr(motor.plate, name)
    if printed is None:
        return True
    error = float(getattr(shown, name)) - printed
    tally.errors[name].append(error / printed)
    room = motor.half[name] if name == "speed" else max(0.01 * printed, motor.half[name])
    return abs(error) <= room * (1 + 1e-9)


@dataclass(slots=True)
class Cover:
    """How often the truth lay inside the stated range, and how wide that was (high over low)."""

    inside: Counter[str] = field(default_factory=Counter)
    count: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    width: dict[str, list[float]] = field(default_factory=dict)

    def add(self, name: str, truth: float, low: float, high: float) -> None:
        self.count[name] += 1
        self.inside[name] += low <= truth <= high
        self.width.setdefault(name, []).append(high / low)

    def share(self, name: str) -> float:
        return self.inside[name] / max(self.count[name], 1)


def without(plate: Plate, name: str) -> Plate:
    """The plate with one value left out."""
    nothing: dict[str, Any] = {name: None}
    return replace(plate, **nothing)


def stated(motors: Iterable[Invented]) -> Cover:
    """Each value left out in turn: is the truth inside the range that the fit states for it?"""
    cover = Cover()
    for motor in motors:
        for name in (*FIXED, *OPEN):
            fit = _fit(without(motor.plate, name), name, cover)
            if fit is not None:
                row = _row(fit, name)
                cover.add(name, motor.truth[name], row.low or 0.0, row.high or 0.0)
        fit = _fit(motor.plate, "whole plate", cover)
        for name in NEVER if fit is not None else ():
            row = _row(fit, name)
            cover.add(name, motor.truth[name], row.low or 0.0, row.high or 0.0)
    return cover


def _fit(plate: Plate, name: str, cover: Cover) -> PlateFit | None:
    try:
        return fit_plate(plate)
    except InputError:
        cover.refused[name] += 1
        return None


def _row(fit: PlateFit | None, name: str) -> Sourced:
    assert fit is not None
    wanted = f"motor.{_FIELDS.get(name, name)}"
    return next(row for row in fit.estimated if row.name == wanted)


def over_ensembles(motors: Iterable[Invented], members: int) -> Cover:
    """The same with the middle nine tenths of an ensemble of motors that agree with what is left."""
    cover = Cover()
    for motor in motors:
        for name in (*FIXED, *OPEN):
            try:
                found = identify_plate(without(motor.plate, name), members)
            except InputError:
                cover.refused[name] += 1
                continue
            row = next((r for r in found.ranges.rows if r.name == _FIELDS.get(name, name)), None)
            if row is None:
                cover.refused[name] += 1
                continue
            cover.add(name, motor.truth[name], row.low, row.high)
    return cover


def with_pull_up(motors: Iterable[Invented]) -> Iterator[Invented]:
    """The same motors with their pull-up torque printed as well, to a tenth of rated torque."""
    for motor in motors:
        printed = replace(motor.plate, pull_up_torque_ratio=round(motor.truth["pull_up_torque_ratio"], 1))
        yield replace(motor, plate=printed, half=motor.half | {"pull_up_torque_ratio": 0.05})


def _many(seed: int, count: int, *, usual: bool) -> Iterator[Invented]:
    rng = np.random.default_rng(seed)
    return (invent(rng, usual=usual) for _ in range(count))


def sections() -> list[str]:
    """The page: values met and missed, refusals, time; then how often the truth lay inside the ranges."""
    kernel(COUNT)
    fit_plate(next(_many(SEED, 1, usual=False)).plate)  # warm
    tally = measure(_many(SEED, COUNT, usual=False))
    valleys = measure(with_pull_up(_many(VALLEY_SEED, VALLEYS, usual=False)))
    told = stated(_many(LEFT_OUT_SEED, LEFT_OUT, usual=True))
    drawn = over_ensembles(_many(DRAWN_SEED, DRAWN, usual=True), MEMBERS)
    return [
        _whole(tally, "Motors with every given value met", SEED),
        _values(tally),
        _refusals(tally),
        _beyond(tally),
        _whole(valleys, "Others, whose plate gives the pull-up torque as well", VALLEY_SEED),
        _cover("Each value left out in turn: truth inside the stated range of nine in ten", told, LEFT_OUT, _STATED),
        _cover("The same over ensembles of motors", drawn, DRAWN, f"{MEMBERS} motors in each ensemble."),
    ]


_STATED = (
    "Follows: current, power factor and efficiency follow from one another; their range is the sum of the roundings, so it "
    "holds nearly always. On no plate: shares of losses and leakage that the fit must choose. The invented motors and the "
    "table of typical values both stand for common practice: the widths of the table were set with invented motors of "
    "other seeds, and no survey of real motors stands behind either. What this table shows is that the ranges are carried "
    "through rightly, not that the invented motors are yours."
)


def _whole(tally: Tally, title: str, seed: int) -> str:
    rows = []
    for kind in KINDS:
        refused = sum(n for (_, k), n in tally.refused.items() if k == kind)
        count = tally.fitted[kind] + refused
        rows.append((kind, count, refused, tally.whole[kind], f"{100 * tally.whole[kind] / count:.2f} %"))
    rows.append(("all", tally.count, tally.refused.total(), tally.whole.total(), f"{100 * tally.share:.2f} %"))
    note = (
        f"Seed {seed}. Met: every given value within 1 % or half its last printed digit; a refusal counts as not met."
    )
    return page.section(title, ("rotor", "motors", "refused", "met", "share"), rows, note)


def _values(tally: Tally) -> str:
    rows = []
    for name, title in VALUES.items():
        if not tally.errors[name]:
            continue
        size = 100 * np.abs(tally.errors[name])
        rows.append(
            (title, *(f"{v:.3g} %" for v in (np.median(size), np.quantile(size, 0.99), size.max())), tally.missed[name])
        )
    return page.section("Difference from the print", ("value", "median", "99 of 100", "largest", "missed"), rows)


def _refusals(tally: Tally) -> str:
    rows = [(field, kind, count) for (field, kind), count in tally.refused.most_common()]
    note = "" if not tally.reasons else f"The first in words: {tally.reasons[0]}"
    return page.section("Refused, by the value named", ("value", "rotor", "motors"), rows or [("none", "", 0)], note)


def _beyond(tally: Tally) -> str:
    pull_up, took = np.array(tally.pull_up), 1e3 * np.array(tally.seconds)
    rows = [
        (
            "pull-up torque against the truth, where not told to the fit: median size",
            f"{100 * np.median(np.abs(pull_up)):.1f} %",
        ),
        ("the same, 95 of 100", f"{100 * np.quantile(np.abs(pull_up), 0.95):.1f} %"),
        ("time of one fit with its rows, compiled code, one core: median", f"{np.median(took):.2f} ms"),
        ("the same, 95 of 100", f"{np.quantile(took, 0.95):.2f} ms"),
    ]
    return page.section("What the plate does not say, and time", ("", "value"), rows)


def _cover(title: str, cover: Cover, motors: int, note: str) -> str:
    rows = []
    for name in (*FIXED, *OPEN, *NEVER):
        if not cover.count[name]:
            continue
        kind = "follows" if name in FIXED else "on no plate" if name in NEVER else "open"
        width = float(np.median(cover.width[name]))
        share = f"{100 * cover.share(name):.1f} %"
        rows.append((_FIELDS.get(name, name), kind, cover.count[name], cover.refused[name], share, f"{width:.3f}"))
    columns = ("left out", "kind", "cases", "refused", "truth inside", "high over low, median")
    return page.section(title, columns, rows, f"{motors} motors of usual kind. {note}")

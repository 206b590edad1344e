"""Motors from plates: how well the fit shows what invented motors print.

2,000 invented motors (0.18 kW to 2 MW, 2 to 8 poles; single cage, double cage, deep bar) are printed as a catalogue would
print them and fitted; every given value is then compared with the print.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from time import perf_counter

import numpy as np

from benchmarks import page
from benchmarks.synthetic_motors import KINDS, Invented, invent
from slipwise.identify.plate import fit_plate
from slipwise.identify.rows import Shown, shown_by
from slipwise.quantity.errors import InputError

COUNT, SEED = 2000, 2024
VALUES = {
    "current": "rated current",
    "power_factor": "power factor",
    "efficiency": "efficiency",
    "speed": "rated speed (half a r/min alone)",
    "locked_rotor_current_ratio": "locked-rotor current",
    "locked_rotor_torque_ratio": "locked-rotor torque",
    "breakdown_torque_ratio": "breakdown torque",
}


@dataclass(slots=True)
class Tally:
    """What came of a batch of fits."""

    fitted: Counter[str] = field(default_factory=Counter)
    whole: Counter[str] = field(default_factory=Counter)  # all values of the motor met
    refused: Counter[tuple[str, str]] = field(default_factory=Counter)  # by field and kind
    errors: dict[str, list[float]] = field(default_factory=lambda: {name: [] for name in VALUES})
    missed: Counter[str] = field(default_factory=Counter)
    pull_up: list[float] = field(default_factory=list)  # model over truth - 1, never told to the fit
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
            continue
        tally.seconds.append(perf_counter() - start)
        tally.fitted[motor.kind] += 1
        first = (motor.plate.locked_rotor_torque_ratio or 0.0) > 1.05 * (motor.plate.breakdown_torque_ratio or 0.0)
        shown = shown_by(fit.motor, first_peak=first)
        missed = [name for name in VALUES if not _met(motor, shown, name, tally)]
        tally.missed.update(missed)
        tally.whole[motor.kind] += not missed
        tally.pull_up.append(shown.pull_up_torque_ratio / motor.truth["pull_up_torque_ratio"] - 1)
    return tally


def _met(motor: Invented, shown: Shown, name: str, tally: Tally) -> bool:
    printed = float(getattr(motor.plate, name))
    error = float(getattr(shown, name)) - printed
    tally.errors[name].append(error / printed)
    room = motor.half[name] if name == "speed" else max(0.01 * printed, motor.half[name])
    return abs(error) <= room * (1 + 1e-9)


def sections() -> list[str]:
    """The page: how many were met, which values were missed, what was refused, how long it took."""
    rng = np.random.default_rng(SEED)
    tally = measure(invent(rng) for _ in range(COUNT))
    return [_whole(tally), _values(tally), _refusals(tally), _beyond(tally)]


def _whole(tally: Tally) -> str:
    rows = []
    for kind in KINDS:
        refused = sum(n for (_, k), n in tally.refused.items() if k == kind)
        count = tally.fitted[kind] + refused
        rows.append((kind, count, refused, tally.whole[kind], f"{100 * tally.whole[kind] / count:.2f} %"))
    rows.append(("all", tally.count, tally.refused.total(), tally.whole.total(), f"{100 * tally.share:.2f} %"))
    note = (
        f"Seed {SEED}. Met: every given value within 1 % or half its last printed digit; a refusal counts as not met."
    )
    return page.section("Motors with every given value met", ("rotor", "motors", "refused", "met", "share"), rows, note)


def _values(tally: Tally) -> str:
    rows = []
    for name, title in VALUES.items():
        size = 100 * np.abs(tally.errors[name])
        rows.append(
            (title, *(f"{v:.3g} %" for v in (np.median(size), np.quantile(size, 0.99), size.max())), tally.missed[name])
        )
    return page.section("Difference from the print", ("value", "median", "99 of 100", "largest", "missed"), rows)


def _refusals(tally: Tally) -> str:
    rows = [(field, kind, count) for (field, kind), count in tally.refused.most_common()]
    return page.section("Refused, by the value named", ("value", "rotor", "motors"), rows or [("none", "", 0)])


def _beyond(tally: Tally) -> str:
    pull_up, took = np.array(tally.pull_up), 1e3 * np.array(tally.seconds)
    rows = [
        (
            "pull-up torque against the truth, never told to the fit: median size",
            f"{100 * np.median(np.abs(pull_up)):.1f} %",
        ),
        ("the same, 95 of 100", f"{100 * np.quantile(np.abs(pull_up), 0.95):.1f} %"),
        ("time of one fit with its rows: median", f"{np.median(took):.1f} ms"),
        ("the same, 95 of 100", f"{np.quantile(took, 0.95):.1f} ms"),
    ]
    return page.section("What the plate does not say, and time", ("", "value"), rows)

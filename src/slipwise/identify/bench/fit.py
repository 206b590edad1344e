"""A motor from its bench readings: checked, reduced three ways, with intervals, steps and tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slipwise.data import table
from slipwise.identify.bench import load_test as lt
from slipwise.identify.bench.answer import (
    estimated_rows,
    full_load_gap,
    motor_of,
    plate_of_readings,
    reading_title,
    words_of,
)
from slipwise.identify.bench.cages import MainCurve, Saturated, main_curve, saturation, two_cages
from slipwise.identify.bench.checks import check_circuit, check_readings, fault
from slipwise.identify.bench.numbers import Leaf, Numbers, leaves, reading_rows
from slipwise.identify.bench.points import locked_points, no_load_points
from slipwise.identify.bench.records import Bench, BenchFit, Split
from slipwise.identify.bench.reduce import Plan, exact, plan, rotor_behind, take, textbook
from slipwise.identify.bench.sheet import Sheet
from slipwise.identify.bench.uncertainty import ERRORS, TRIALS, Spread, spreads
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.results.identification import (
    Identification,
    IdentifiedValue,
    LoadPointRow,
    LockedPoint,
    ReductionRow,
    StrayLine,
)
from slipwise.results.study import Explanation

TITLES = {
    "R1": "Stator resistance", "X1": "Stator leakage reactance", "Xm": "Magnetising reactance",
    "Rfe": "Core-loss resistance", "R2": "Rotor resistance", "X2": "Rotor leakage reactance",
    "R3": "Resistance of the inner cage", "X3": "Leakage reactance of the inner cage",
    "P_fw": "Friction and windage at synchronous speed", "P_stray": "Stray load loss at rated torque",
}  # fmt: skip
_CURVE_ROUNDS = 6  # curve and leakage move each other by a part in a thousand, then by a part in a million
MOST_FALL = 0.02  # of rated power: more than meters explain
SHORT = {"X1": "X1_prime", "X2": "X2_prime", "R2": "R2_prime", "Xm": "Xm_prime", "R1": "R1"}
SERIES = {"X1": "X1_ser", "X2": "X2_ser", "R2": "R2_ser", "Xm": "Xm_ser", "R1": "R1"}


def split_of(bench: Bench) -> Split:
    """The split of the leakage as given, or that of the design letter with its range. Source: IEEE 112 (from memory)."""
    if bench.split is not None:
        return bench.split
    letter = (bench.design or "").upper().rstrip("Y") or ("wound rotor" if bench.wound_ratio else "unknown")
    row = table("leakage_split").find(design=letter) or table("leakage_split").find(design="unknown")
    assert row is not None
    return Split(ratio=row["ratio"], low=row["low"], high=row["high"], why=f"design {row['design']}: {row.cited}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduction:
    """What one pass over the readings needs beside the numbers, settled on the readings as they stand."""

    plan: Plan
    two: bool  # a second cage from the test at rated frequency
    saturated: Saturated | None
    main: MainCurve | None
    used: tuple[int, ...]  # load readings on the line of the residuals
    torque: float  # rated, N m

    def values(self, numbers: Numbers) -> dict[str, Any]:
        """Every value of the motor; each number, and so each value, may be an array over trials."""
        sheet = Sheet()
        exact(self.plan, numbers, sheet)
        return self.of_sheet(sheet, numbers)

    def of_sheet(self, sheet: Sheet, numbers: Numbers) -> dict[str, Any]:
        """The same from a sheet already worked."""
        known = ["R1", "X1", "Xm", *(["Rfe"] if self.plan.core else []), "R2", "X2", "P_fw"]
        values = {symbol: sheet.values[symbol] for symbol in known}
        if self.two:
            cages = zip(("R2", "X2", "R3", "X3"), second_cage(self.plan, numbers, sheet), strict=True)
            values |= dict(cages)
        if self.saturated is not None:
            values |= {s: values[s] * self.saturated.factor for s in ("X1", "X2", "X3") if s in values}
        if self.main is not None:
            values["Xm"] = values["Xm"] * self.main.factor
        if self.used:
            slope = lt.slope_of(self.plan.bench, numbers, sheet, self.used)
            values["P_stray"] = slope * self.torque**2
        return values


def second_cage(choice: Plan, numbers: Numbers, sheet: Sheet) -> tuple[Any, Any, Any, Any]:
    """R2, X2, R3, X3 that fit the rotor at both test frequencies; not a number where they cannot."""
    assert choice.starting is not None
    aside = Sheet(values=dict(sheet.values), meanings=dict(sheet.meanings))
    take(aside, numbers, f"locked_rotor[{choice.starting}]", "k", choice)
    rotor_behind(choice, aside)
    slow, fast = sheet.values, aside.values
    return two_cages((slow["a"], slow["R2"], slow["X2"] * slow["a"]), (fast["a"], fast["R2"], fast["X2"] * fast["a"]))


def fit_bench(bench: Bench, *, title: str = "", version: str = "", trials: int = TRIALS) -> BenchFit:
    """A motor from dc, no-load, locked-rotor and, if there are any, load readings.

    Args:
        bench: the readings in SI, with meter classes where known. title, version: for the head of the answer.
        trials: random cases behind the intervals.

    Returns:
        The motor (star equivalent of the running connection; R1 at the temperature of the dc reading, rotor at that of
        the locked test) and the answer: circuit with 95 % intervals, three reductions side by side, every step, losses at
        each load reading, readings against the model, and what was assumed.

    Raises:
        InputError: readings no machine can give, each named with its numbers.

    Source: IEEE 112 and IEC 60034-2-1 practice (from memory); Fitzgerald 6th ed., sect. 6.6; Chapman 4th ed., sect. 7.11.
    """
    with np.errstate(all="ignore"):  # what has no value comes out as not a number, and is refused or left out by name
        return _fitted(bench, title, version, trials)


def _fitted(bench: Bench, title: str, version: str, trials: int) -> BenchFit:
    split = split_of(bench)
    found = leaves(bench, split)
    check_readings(bench, found)
    numbers = {key: leaf.value for key, leaf in found.items()}
    choice, sheet = worked(plan(bench), numbers)
    locked = locked_points(choice, numbers, sheet)
    idle = no_load_points(choice, numbers, sheet)
    two = choice.starting is not None and bench.wound_ratio is None
    two = two and bool(np.all(np.isfinite(second_cage(choice, numbers, sheet))))
    reduction = Reduction(plan=choice, two=two, saturated=None, main=None, used=(), torque=0.0)
    motor = motor_of(reduction, reduction.of_sheet(sheet, numbers), numbers)
    reduction = replace(
        reduction,
        saturated=_saturation(choice, locked, motor.rating.current),
        main=main_curve(
            [p.gap_voltage for p in idle], [p.reactance for p in idle], choice.reference, full_load_gap(motor)
        ),
    )
    loads, line, used = _loads(bench, numbers, sheet, motor)
    reduction = replace(reduction, used=used if line else (), torque=motor.rating.torque)
    bounds, lost, reduction = _bounds(reduction, found, trials)
    values = reduction.of_sheet(sheet, numbers)
    motor = motor_of(reduction, values, numbers)
    return BenchFit(
        motor=motor,
        answer=Identification(
            title=title,
            slipwise_version=version,
            readings=reading_rows(bench, found),
            values=_values(values, bounds),
            reductions=_reductions(choice, numbers, sheet),
            steps=(*sheet.steps, *_textbook_steps(choice, numbers)),
            no_load=idle,
            locked=locked,
            loads=loads,
            stray=line,
            plate=plate_of_readings(bench, numbers, motor),
            estimated=estimated_rows(found, bench, values, bounds),
            notes=words_of(reduction, bench, found, (lost, trials), loads),
            errors=ERRORS.format(trials=trials) if bounds else "",
            cautions=CAUTIONS,
        ),
    )


def worked(choice: Plan, numbers: Numbers) -> tuple[Plan, Sheet]:
    """The sheet with the circuit; done again with the magnetising reactance of little flux in the locked test, where the
    no-load readings show how it rises."""
    for _ in range(_CURVE_ROUNDS):
        sheet = Sheet()
        exact(choice, numbers, sheet, write=True)
        check_circuit(choice, sheet)
        idle = no_load_points(choice, numbers, sheet)
        at = idle[choice.reference].gap_voltage
        curve = main_curve([p.gap_voltage for p in idle], [p.reactance for p in idle], choice.reference, at)
        flux = 1.0 if curve is None else 1 / float(curve.law.susceptance_factor(_locked_flux(sheet)))
        if abs(flux - choice.flux) < 1e-9:
            break
        choice = replace(choice, flux=flux)
    return choice, sheet


def _locked_flux(sheet: Sheet) -> float:
    """Gap voltage of the locked test, brought to rated frequency: a measure of flux. [V]"""
    v = sheet.values
    behind = v["R_k"] + 1j * v["X_k"] - v["R1_k"] - 1j * v["a"] * v["X1"]
    return float(np.abs(behind) * v["I_k"] / v["a"])


CAUTIONS = (
    "Values rest on the readings as entered and on the split of the leakage, which no reading at the terminals can give.",
    "Locked-rotor and load tests are made by qualified people: hold the shaft safely, keep the time short, isolate and "
    "prove dead before touching terminals.",
    "Local codes, the maker's data and a licensed engineer decide.",
)


def _bounds(reduction: Reduction, found: Mapping[str, Leaf], trials: int) -> tuple[dict[str, Spread], int, Reduction]:
    """Intervals; without the second cage when the meters cannot tell it from one."""
    bounds, lost = spreads(found, reduction.values, trials)
    if reduction.two and lost > 0.05 * trials:
        reduction = replace(reduction, two=False)
        bounds, lost = spreads(found, reduction.values, trials)
    return bounds, lost, reduction


def _values(values: Mapping[str, Any], bounds: Mapping[str, Spread]) -> tuple[IdentifiedValue, ...]:
    rows = []
    for symbol, value in values.items():
        unit = "W" if symbol.startswith("P") else "ohm"
        row = IdentifiedValue(symbol=symbol, title=TITLES[symbol], value=float(value), unit=unit)
        spread = bounds.get(symbol)
        if spread is not None:
            row = replace(
                row,
                low=min(
                    spread.low, row.value
                ),  # what is assumed at the edge of its range puts the value at the edge too
                high=max(spread.high, row.value),
                linear_low=spread.linear_low,
                linear_high=spread.linear_high,
                cause=reading_title(spread.cause),
                share=spread.share,
            )
        rows.append(row)
    return tuple(rows)


def _reductions(choice: Plan, numbers: Numbers, sheet: Sheet) -> tuple[ReductionRow, ...]:
    book = Sheet()
    textbook(choice, numbers, book)
    rows = []
    for symbol in ("R1", "X1", "Xm", *(["Rfe"] if choice.core else []), "R2", "X2", "P_fw"):
        short, series = (book.values.get(names.get(symbol, "")) for names in (SHORT, SERIES))
        if symbol == "P_fw":
            short = series = book.values["P_c"]
        rows.append(
            ReductionRow(
                symbol=symbol,
                title=TITLES[symbol],
                unit="W" if symbol == "P_fw" else "ohm",
                short=None if short is None else float(short),
                series=None if series is None or not np.isfinite(series) else float(series),
                exact=float(sheet.values[symbol]),
            )
        )
    return tuple(rows)


def _textbook_steps(choice: Plan, numbers: Numbers) -> list[Explanation]:
    book = Sheet(writing=True)
    textbook(choice, numbers, book)
    return [step for step in book.steps if np.isfinite(step.value)]


def _saturation(choice: Plan, locked: tuple[LockedPoint, ...], rated: float) -> Saturated | None:
    """From all locked readings at the frequency of the running circuit."""
    frequency = locked[choice.locked].frequency
    group = [i for i, row in enumerate(locked) if abs(row.frequency / frequency - 1) < 0.05]
    currents, reactances = [locked[i].current for i in group], [locked[i].reactance for i in group]
    return saturation(currents, reactances, group.index(choice.locked), rated)


def _loads(
    bench: Bench, numbers: Numbers, sheet: Sheet, motor: Motor
) -> tuple[tuple[LoadPointRow, ...], StrayLine | None, tuple[int, ...]]:
    points = [lt.losses_at(bench, numbers, sheet, place) for place in range(len(bench.loads))]
    line, used = lt.stray_line(points, motor.rating.torque)
    if line is None and len(points) >= 3:
        fall = lt.falls_by(points, motor.rating.torque)
        if fall > MOST_FALL * bench.power:
            reason = f"the loss left over falls by {show(fall, 'W')} up to rated torque: input, torque or speed is read wrong"
            raise InputError(fault("load", "", reason, "check the zero of the torque meter, and the wattmeter"))
    rows = (lt.row_of(numbers, i, point, line, line is not None and i in used) for i, point in enumerate(points))
    return tuple(rows), line, used

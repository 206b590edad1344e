"""Readings to circuit values: the whole circuit solved together, and two textbook reductions beside it.

The exact reduction goes round: with the leakage of the last round, the voltage behind the stator impedance at no load
gives core loss, friction and magnetising reactance; with these the locked test gives the rotor and, by the assigned split,
the stator leakage. Each round shrinks the change by about the ratio of leakage to magnetising reactance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipwise.identify.bench import formulas as f
from slipwise.identify.bench.numbers import Numbers
from slipwise.identify.bench.records import Bench
from slipwise.identify.bench.sheet import Sheet
from slipwise.model.machine.temperature import temperature_constant

ROUNDS = 40
FAR = 1e12  # ohm: a branch not known yet, as good as open, and finite so that complex arithmetic holds
LOW_VOLTAGE = 0.65  # of rated: below it saturation does not bend the voltage-squared line (IEC 60034-2-1, from memory)
LINE_SOURCE = "voltage-squared line of IEC 60034-2-1 and IEEE 112 (from memory)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Choices made once from the readings as they stand, so that every trial goes the same way.

    reference: the no-load reading nearest rated voltage; line: those of the voltage-squared line, empty for one voltage;
    locked: the reading that gives the running circuit; starting: one at rated frequency beside it, for a second cage.
    flux: magnetising reactance at the little flux of the locked test over that at the reference; 1 without a curve.
    """

    bench: Bench
    reference: int
    line: tuple[int, ...]
    locked: int
    starting: int | None
    flux: float = 1.0

    @property
    def core(self) -> bool:
        return bool(self.line) or self.bench.friction is not None or self.bench.core_in_circuit


def plan(bench: Bench) -> Plan:
    """Which readings serve for what.

    The running circuit comes from the lowest frequency there is, and there from the current nearest to rated, or to the
    middle of those read when no rated current is given. Source: IEEE 112, reduced-frequency locked test (from memory).
    """
    volts = [row.voltage for row in bench.no_load]
    rated = bench.voltage if bench.tested == bench.connection else _other(bench)
    reference = min(range(len(volts)), key=lambda i: abs(volts[i] - rated))
    spread = max(volts) / min(volts)
    low = tuple(i for i, v in enumerate(volts) if v <= LOW_VOLTAGE * rated)
    line = () if spread < 1.2 else low if len(low) >= 3 else tuple(range(len(volts)))
    lowest = min(row.frequency for row in bench.locked)
    group = [i for i, row in enumerate(bench.locked) if row.frequency <= 1.05 * lowest]
    currents = [bench.locked[i].current for i in group]
    aim = bench.current or float(np.median(currents))
    locked = min(group, key=lambda i: abs(bench.locked[i].current - aim))
    fast = [i for i, row in enumerate(bench.locked) if row.frequency > max(0.95 * bench.frequency, 1.5 * lowest)]
    near = bench.locked[locked].current
    starting = min(fast, key=lambda i: abs(bench.locked[i].current - near)) if fast else None
    return Plan(bench=bench, reference=reference, line=line, locked=locked, starting=starting)


def _other(bench: Bench) -> float:
    return bench.voltage * (3**0.5 if bench.tested == "star" else 3**-0.5)


def enter(choice: Plan, numbers: Numbers, sheet: Sheet) -> None:
    """Constants and the dc reading, R1, and the readings at the reference points."""
    bench, texts = choice.bench, dict(choice.bench.texts)
    sheet.enter("f_n", bench.frequency, "Hz", "rated frequency")
    sheet.enter("k", temperature_constant(bench.stator_conductor), "degC", "temperature constant of the metal", "table")
    sheet.enter("t_dc", numbers["dc.temperature"], "degC", "winding temperature at the dc reading")
    sheet.enter("lambda_x", numbers["split"], "", "X1 / X2", "given" if bench.split else "assumed")
    sheet.enter("u_k", choice.flux, "", "reactance at little flux over that at no load", "derived")
    sheet.enter("q_m", numbers["mechanical_share"], "pu", "part of it that is friction and windage", "assumed")
    if "dc.resistance" in numbers:
        text = texts.get("dc.resistance", "")
        sheet.enter("R_t", numbers["dc.resistance"], "ohm", "resistance read", text=text)
    else:
        sheet.enter("U_dc", numbers["dc.voltage"], "V", "direct voltage", text=texts.get("dc.voltage", ""))
        sheet.enter("I_dc", numbers["dc.current"], "A", "direct current", text=texts.get("dc.current", ""))
        sheet.work(f.TERMINALS, "dc")
    law = f.STATOR[(bench.dc.between, bench.tested, bench.connection)]
    sheet.work(f.formula("R1", "Stator resistance, star equivalent", law, "ohm", f.STATOR_SOURCE), "dc")


def take(sheet: Sheet, numbers: Numbers, test: str, mark: str, choice: Plan) -> None:
    """One reading onto the sheet: voltage, current, power, temperature under the mark 0 or k, and R1 of that test."""
    texts = dict(choice.bench.texts) if choice.bench.tested == choice.bench.connection else {}
    for symbol, name, unit in (("U", "voltage", "V"), ("I", "current", "A"), ("P", "power", "W")):
        key = f"{test}.{name}"
        sheet.enter(f"{symbol}_{mark}", numbers[key], unit, f"{name} read", text=texts.get(key, ""))
    sheet.enter(f"t_{mark}", numbers[f"{test}.temperature"], "degC", "winding temperature in the test")
    if mark == "k":
        sheet.enter(
            "f_k", numbers[f"{test}.frequency"], "Hz", "test frequency", text=texts.get(f"{test}.frequency", "")
        )
        for law in (f.LOCKED_R1, f.SHARE_OF_FREQUENCY, f.LOCKED_R, f.LOCKED_Z, f.LOCKED_X, f.LOCKED_X_RATED):
            sheet.work(law, "locked_rotor")
    else:
        for law in (f.NO_LOAD_R1, f.STATOR_LOSS, f.CONSTANT_LOSS, f.REACTIVE):
            sheet.work(law, "no_load")


def exact(choice: Plan, numbers: Numbers, sheet: Sheet, *, write: bool = False) -> None:
    """All circuit values together, onto the sheet; with `write`, the steps at the solution as well."""
    sheet.writing = write
    enter(choice, numbers, sheet)
    sheet.writing = False
    locked = f"locked_rotor[{choice.locked}]"
    take(sheet, numbers, locked, "k", choice)
    sheet.enter("Xm", FAR, "ohm", "not known yet")
    sheet.enter("Rfe", FAR, "ohm", "not known yet")
    sheet.enter("P_fw", 0.0, "W", "not known yet")
    sheet.enter("X1", sheet.values["X_kn"] * sheet.values["lambda_x"] / (1 + sheet.values["lambda_x"]), "ohm", "start")
    rotor_behind(choice, sheet)
    for _ in range(ROUNDS):
        before = sheet.values["X1"]
        _running(choice, numbers, sheet)
        rotor_behind(choice, sheet)
        share = sheet.values["lambda_x"] / (1 + sheet.values["lambda_x"])
        sheet.values["X1"] = share * (before + sheet.values["X2"])  # X1 = lambda X2 alone would swing for ever
        with np.errstate(all="ignore"):
            moved = np.abs(sheet.values["X1"] - before) > 1e-13 * np.abs(before)
        if not np.any(moved):
            break
    if write:
        sheet.writing = True
        take(sheet, numbers, locked, "k", choice)
        rotor_behind(choice, sheet)
        sheet.work(f.STATOR_X, "locked_rotor")
        _running(choice, numbers, sheet)
        sheet.writing = False


def rotor_behind(choice: Plan, sheet: Sheet) -> None:
    for law in (f.LOCKED_XM, *f.rotor(choice.core)):
        sheet.work(law, "locked_rotor")


def _running(choice: Plan, numbers: Numbers, sheet: Sheet) -> None:
    """Friction, core loss and magnetising reactance with the leakage at hand."""
    writing, sheet.writing = sheet.writing, False
    line = [point_of(sheet, numbers, choice, i) for i in choice.line]
    sheet.writing = writing
    take(sheet, numbers, f"no_load[{choice.reference}]", "0", choice)
    sheet.work(f.GAP_VOLTAGE, "no_load")
    if line:
        friction, _ = straight([p[0] for p in line], [p[1] for p in line])
        how = f"value at zero voltage of the straight line through {len(line)} readings of P_c against E_0 squared"
        sheet.found("P_fw", friction, "W", "Friction and windage", ("no_load", how, LINE_SOURCE))
    elif choice.bench.friction is not None:
        sheet.enter("P_fw", choice.bench.friction, "W", "friction and windage")
    elif choice.core:
        sheet.work(f.MECHANICAL_SHARE, "no_load")
    else:
        sheet.found(
            "P_fw", sheet.values["P_c"], "W", "Friction, windage and core", ("no_load", "all of it", "textbook")
        )
    sheet.work(f.NO_LOAD_SLIP, "no_load")
    if choice.core:
        sheet.work(f.CORE, "no_load")
    sheet.work(f.ROTOR_REACTIVE, "no_load")
    sheet.work(f.MAGNETISING, "no_load")


def point_of(sheet: Sheet, numbers: Numbers, choice: Plan, place: int) -> tuple[Any, Any, Any]:
    """Gap voltage squared, constant loss at synchronous speed, and slip of one no-load reading; sheet otherwise as it was."""
    take(sheet, numbers, f"no_load[{place}]", "0", choice)
    gap = sheet.work(f.GAP_VOLTAGE, "no_load")
    slip = sheet.work(f.NO_LOAD_SLIP, "no_load")
    return gap**2, sheet.values["P_c"] + sheet.values["P_fw"] * slip, slip


def straight(x: Sequence[Any], y: Sequence[Any]) -> tuple[Any, Any]:
    """Intercept and slope of the least-squares line; each point a number, or an array over trials."""
    count = len(x)
    mean_x, mean_y = sum(x) / count, sum(y) / count
    with np.errstate(all="ignore"):
        slope = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True)) / sum((a - mean_x) ** 2 for a in x)
    return mean_y - slope * mean_x, slope


def textbook(choice: Plan, numbers: Numbers, sheet: Sheet, *, simple_sum: bool = False) -> None:
    """The two textbook reductions onto the sheet: all in short, and with reactances in series.

    simple_sum: the series reduction with X1 + X2 = locked reactance, as the shorter form of the IEEE practice has it.
    """
    enter(choice, numbers, sheet)
    sheet.steps.clear()  # R1 is the same in all
    writing, sheet.writing = sheet.writing, False
    take(sheet, numbers, f"locked_rotor[{choice.locked}]", "k", choice)
    take(sheet, numbers, f"no_load[{choice.reference}]", "0", choice)
    sheet.writing = writing
    for law in (f.SHORT_R2, f.SHORT_X2, f.SHORT_XSUM, f.SHORT_XM):
        sheet.work(law, "short")
    series = f.SERIES_X2_SUM if simple_sum else f.SERIES_X2
    for law in (f.NO_LOAD_Z, f.NO_LOAD_R, f.NO_LOAD_X, series, f.SERIES_X1, f.SERIES_XM, f.SERIES_R2):
        sheet.work(law, "series")

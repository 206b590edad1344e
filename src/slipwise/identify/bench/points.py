"""Every reading reduced with the circuit found: the tables of the no-load and the locked-rotor test."""

from __future__ import annotations

from math import pi

import numpy as np

from slipwise.identify.bench import formulas as f
from slipwise.identify.bench.numbers import Numbers
from slipwise.identify.bench.reduce import Plan, point_of, take
from slipwise.identify.bench.sheet import Sheet
from slipwise.results.identification import LockedPoint, NoLoadPoint


def no_load_points(choice: Plan, numbers: Numbers, sheet: Sheet) -> tuple[NoLoadPoint, ...]:
    """Every no-load reading reduced with the circuit found: loss line and magnetising curve."""
    rows = []
    for place in range(len(choice.bench.no_load)):
        aside = Sheet(values=dict(sheet.values), meanings=dict(sheet.meanings))
        squared, _, slip = point_of(aside, numbers, choice, place)
        aside.work(f.ROTOR_REACTIVE, "no_load")
        mechanical = float(sheet.values["P_fw"] * (1 - slip))
        rows.append(
            NoLoadPoint(
                voltage=numbers[f"no_load[{place}].voltage"],
                current=numbers[f"no_load[{place}].current"],
                power=numbers[f"no_load[{place}].power"],
                constant_loss=float(aside.values["P_c"]),
                gap_voltage=float(np.sqrt(squared)),
                core_loss=float(aside.values["P_c"]) - mechanical,
                mechanical_loss=mechanical,
                reactance=float(aside.work(f.MAGNETISING, "no_load")),
                on_line=place in choice.line,
            )
        )
    return tuple(rows)


def locked_points(choice: Plan, numbers: Numbers, sheet: Sheet) -> tuple[LockedPoint, ...]:
    """Every locked-rotor reading reduced: resistance, reactance brought to rated frequency, and torque."""
    rows = []
    for place in range(len(choice.bench.locked)):
        aside = Sheet(values=dict(sheet.values), meanings=dict(sheet.meanings))
        take(aside, numbers, f"locked_rotor[{place}]", "k", choice)
        v = aside.values
        sync = 4 * pi * v["f_k"] / choice.bench.poles
        rows.append(
            LockedPoint(
                frequency=float(v["f_k"]),
                voltage=float(v["U_k"]),
                current=float(v["I_k"]),
                power=float(v["P_k"]),
                resistance=float(v["R_k"]),
                reactance=float(v["X_kn"]),
                torque=float((v["P_k"] - 3 * v["I_k"] ** 2 * v["R1_k"]) / sync),
            )
        )
    return tuple(rows)

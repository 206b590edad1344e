"""Published reductions of bench tests: every printed value, by the reduction the book uses; the exact one beside it."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt
from typing import Any

import numpy as np
import pytest

from slipwise.identify.bench import formulas
from slipwise.identify.bench.fit import fit_bench
from slipwise.identify.bench.numbers import leaves
from slipwise.identify.bench.records import Bench, DcReading, LockedReading, NoLoadReading, Split
from slipwise.identify.bench.reduce import plan, textbook
from slipwise.identify.bench.sheet import Sheet
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.point import breakdown
from slipwise.model.machine.temperature import resistance_factor, temperature_constant
from slipwise.model.machine.typical import stray_load_share
from tests.reference import compare, from_reference, reference


def bench(inputs: dict[str, Any], split: float, *, power: float, poles: int = 4, R1: float | None = None) -> Bench:
    """The readings of a published entry; all at one temperature, as the books take them."""
    no_load = inputs.get("no_load_currents_A", [inputs.get("no_load_current_A")])
    locked = inputs.get("locked_rotor_currents_A", [inputs.get("blocked_current_A")])
    part = "locked_rotor" if "locked_rotor_power_W" in inputs else "blocked"
    dc = (
        DcReading(
            between="two terminals", temperature=25.0, voltage=inputs["dc_voltage_V"], current=inputs["dc_current_A"]
        )
        if R1 is None
        else DcReading(between="two terminals", temperature=25.0, resistance=2 * R1)
    )
    return Bench(
        power=power,
        voltage=inputs["no_load_line_voltage_V"],
        frequency=inputs["rated_frequency_Hz"],
        poles=poles,
        connection="star",
        tested="star",
        dc=dc,
        no_load=(
            NoLoadReading(
                voltage=inputs["no_load_line_voltage_V"], current=float(np.mean(no_load)),
                power=inputs["no_load_power_W"], temperature=25.0,
            ),
        ),
        locked=(
            LockedReading(
                voltage=inputs[f"{part}_line_voltage_V"], current=float(np.mean(locked)), power=inputs[f"{part}_power_W"],
                frequency=inputs[f"{part}_frequency_Hz"], temperature=25.0,
            ),
        ),
        split=Split(ratio=split, low=split, high=split, why="as the book takes it"),
    )  # fmt: skip


def worked(found: Bench, *, simple_sum: bool = False) -> dict[str, float]:
    """The sheet of both textbook reductions."""
    sheet = Sheet()
    assert found.split is not None
    numbers = {key: leaf.value for key, leaf in leaves(found, found.split).items()}
    textbook(plan(found), numbers, sheet, simple_sum=simple_sum)
    return {symbol: float(value) for symbol, value in sheet.values.items()}


CHAPMAN = bench(reference("A03-chapman-tests")["inputs"], 1.0, power=7.5 * 745.7)
FITZGERALD = bench(reference("A05-fitz-tests")["inputs"], 0.429, power=7.5 * 745.7, R1=0.262)


@from_reference("A03-chapman-tests")
def test_the_shortest_reduction():
    """Every circuit value and loss printed in the example, from direct voltage and current on."""
    got = worked(CHAPMAN)
    compare(
        "A03-chapman-tests",
        {
            "R1_ohm": got["R1"],
            "no_load_stator_loss_W": got["P_s0"],
            "rotational_loss_W": got["P_c"],
            "locked_rotor_R_ohm": got["R_k"],
            "R2_ohm": got["R2_prime"],
            "X_locked_rotor_at_60Hz_ohm": got["X_kn"],
            "X1_ohm": got["X1_prime"],
            "X2_ohm": got["X2_prime"],
            "Xm_ohm": got["Xm_prime"],
        },
    )


@from_reference("A03-chapman-tests")
def test_breakdown_of_the_circuit_found():
    """The circuit of the shortest reduction breaks down at the printed slip and torque, within the book's own simplification."""
    got, row = worked(CHAPMAN), reference("A03-chapman-tests")
    rotor = (RotorBranch(R=got["R2_prime"], X=got["X2_prime"]),)
    circuit = Circuit(frequency=60.0, R1=got["R1"], X1=got["X1_prime"], Xm=got["Xm_prime"], rotor=rotor)
    top = breakdown(circuit, 208 / sqrt(3), 60.0, 60 * pi)
    assert top.slip == pytest.approx(row["recomputed"]["exact_slip_at_max_torque_pu"], rel=1e-4)
    assert top.torque == pytest.approx(row["recomputed"]["exact_max_torque_Nm"], rel=1e-4)
    assert top.torque == pytest.approx(row["expected"]["max_torque_Nm"], rel=0.02)


@from_reference("A05-fitz-tests")
def test_the_series_reduction():
    """Reactances in series with the magnetising branch kept: every printed value."""
    got = worked(FITZGERALD)
    compare(
        "A05-fitz-tests",
        {
            "rotational_loss_W": got["P_c"],
            "Xnl_ohm": got["X_0"],
            "Xbl_ohm": got["X_kn"],
            "X1_ohm": got["X1_ser"],
            "X2_ohm": got["X2_ser"],
            "Xm_ohm": got["Xm_ser"],
            "R2_ohm": got["R2_ser"],
        },
    )


@from_reference("A05-fitz-tests")
def test_starting_torque_from_a_locked_test_at_full_voltage():
    """Air-gap power of the locked reading over synchronous speed, as the table of locked readings gives it."""
    row = reference("A05-fitz-tests")["inputs"]
    full = LockedReading(
        voltage=row["full_voltage_blocked_line_voltage_V"], current=row["full_voltage_blocked_current_A"],
        power=row["full_voltage_blocked_power_W"], frequency=60.0, temperature=25.0,
    )  # fmt: skip
    found = fit_bench(replace(FITZGERALD, locked=(*FITZGERALD.locked, full)), trials=10).answer
    compare("A05-fitz-tests", {"start_torque_from_test_Nm": found.locked[1].torque})


@from_reference("A06-sen-tests")
def test_the_series_reduction_with_a_plain_sum_of_leakages():
    """X1 + X2 = locked reactance, and the rotor resistance with the magnetising branch: every printed value."""
    got = worked(bench(reference("A06-sen-tests")["inputs"], 1.0, power=30e3, R1=2.8), simple_sum=True)
    compare(
        "A06-sen-tests",
        {
            "rotational_loss_W": got["P_c"],
            "Znl_ohm": got["Z_0"],
            "Rnl_ohm": got["R_0"],
            "Rbl_ohm": got["R_k"],
            "Zbl_ohm": got["Z_k"],
            "Xm_ohm": got["Xm_ser"],
        },
    )
    compare("A06-sen-tests", {"X1_ohm": got["X1_ser"], "R2_ohm": got["R2_ser"]}, into="recomputed")


@pytest.mark.parametrize(("example", "kept"), [(CHAPMAN, "X2"), (FITZGERALD, "X2")], ids=["A03", "A05"])
def test_exact_and_textbook_stay_within_the_known_simplifications(example: Bench, kept: str):
    """The whole circuit differs from the textbook by per cents, not by a mistake; all three are shown side by side."""
    rows = {row.symbol: row for row in fit_bench(example, trials=10).answer.reductions}
    assert rows[kept].series is not None
    assert rows[kept].exact == pytest.approx(rows[kept].series, rel=0.08)
    assert rows["Xm"].exact == pytest.approx(rows["Xm"].short, rel=0.03)
    assert rows["R2"].exact == pytest.approx(rows["R2"].series, rel=0.03)


@from_reference("C-temp-resistance")
def test_the_steps_warm_resistance_as_the_standard_does():
    """The formula of the step gives the standard's ratio, and the same as the motor model."""
    k = temperature_constant("copper")
    got = formulas.NO_LOAD_R1.evaluate(R1=1.0, k=k, t_0=95.0, t_dc=25.0)
    compare("C-temp-resistance", {"k_copper": k, "ratio_copper_25_to_95C": got})
    assert got == pytest.approx(resistance_factor(25.0, 95.0, "copper"))


@from_reference("C-60034-2-1-pll")
def test_assigned_stray_load_loss():
    """The allowance where no load test was made."""
    row = reference("C-60034-2-1-pll")
    for power, share in row["expected"]["fraction_of_input"].items():
        assert stray_load_share(float(power) * 1e3)[0] == pytest.approx(share, abs=row["tolerance"]["absolute"])

"""The tables the package carries against the published entries they were taken from."""

from __future__ import annotations

from typing import Any

import pytest

from slipwise.data import CONFIRMED, FROM_MEMORY, Table, names, table
from slipwise.model.machine import typical
from slipwise.model.machine.temperature import resistance_factor, temperature_constant
from slipwise.quantity.errors import DomainError
from tests.reference import compare, from_reference, reference

RPM = {"3600_rpm": 2, "1800_rpm": 4, "1200_rpm": 6, "900_rpm": 8}


def expected(key: str) -> Any:
    return reference(key)["expected"]


def cell(found: Table, column: str, **wanted: Any) -> Any:
    row = found.find(**wanted)
    assert row is not None, f"{found.name} has no row {wanted}"
    return row[column]


@pytest.mark.parametrize("name", names())
def test_every_row_knows_where_it_stands(name: str) -> None:
    """Every row has a source, a clause and a status, and says so when it is from memory."""
    for row in table(name).rows:
        assert row.source
        assert row.clause
        assert row.status in {CONFIRMED, FROM_MEMORY}
        assert (row.status == FROM_MEMORY) == row.cited.endswith("(from memory)")


def test_an_unknown_table_is_named() -> None:
    """A wrong name is refused with the names there are."""
    with pytest.raises(KeyError, match="iec_design_n"):
        table("nothing")


@pytest.mark.parametrize(
    ("key", "name"),
    [("C-nema-lrt-AB", "nema_locked_rotor_torque"), ("C-nema-bdt-AB", "nema_breakdown_torque")],
)
def test_least_torques_of_designs_a_and_b(key: str, name: str) -> None:
    """Every cell of the two torque tables, and no row more."""
    cells = 0
    for entry in expected(key):
        for column, poles in RPM.items():
            if entry[column] is not None:
                cells += 1
                assert cell(table(name), "percent", power_hp=entry["rated_power_hp"], poles=poles) == entry[column]
    assert len(table(name).rows) == cells


@from_reference("C-nema-put-AB")
def test_pull_up_torques() -> None:
    """The selected pull-up torques."""
    for column, by_power in expected("C-nema-put-AB").items():
        for power, percent in by_power.items():
            assert cell(table("nema_pull_up_torque"), "percent", power_hp=float(power), poles=RPM[column]) == percent


@from_reference("C-nema-C")
def test_design_c_confirmed_row() -> None:
    """The confirmed 10 hp, 6-pole row: 225 % locked, 190 % breakdown."""
    rows = table("nema_design_c").where(poles=6)
    inside = {row["torque"]: row for row in rows if row["from_hp"] <= 10 <= row["to_hp"]}
    assert (inside["locked_rotor"]["percent"], inside["breakdown"]["percent"]) == (225, 190)
    assert {row.status for row in inside.values()} == {CONFIRMED}


@from_reference("C-nema-D-slip")
def test_design_d() -> None:
    """Design D starts with at least 275 % and slips at least 5 %."""
    rows = table("nema_design_slip")
    wanted = expected("C-nema-D-slip")
    assert rows.rows[0]["percent"] == wanted["design_D_locked_rotor_min_percent"]
    assert cell(rows, "percent", quantity="slip, least") == wanted["slip_D_min_percent"]
    assert cell(rows, "percent", quantity="slip, greatest", design="B") == wanted["slip_A_B_max_percent"]


@from_reference("C-nema-lra")
def test_greatest_locked_rotor_currents() -> None:
    """Every rating of the current table."""
    for power, ampere in expected("C-nema-lra").items():
        assert cell(table("nema_locked_rotor_current"), "current_A", power_hp=float(power)) == ampere


@from_reference("C-nema-code-letters")
def test_code_letters() -> None:
    """Every band; the lower end is included, the upper is not."""
    for letter, (low, high) in expected("C-nema-code-letters").items():
        row = table("nema_code_letters").find(letter=letter)
        assert row is not None
        assert (row["low"], row.get("high")) == (low, high)
        assert typical.code_letter(1e3 * low * 1.0000001, 745.7) == letter
        if high is not None:
            assert typical.code_letter(1e3 * high * 0.9999999, 745.7) == letter


@from_reference("C-iec12-N")
def test_design_n() -> None:
    """Every band of the 2- and 4-pole columns."""
    for entry in expected("C-iec12-N"):
        low = float(entry["band_kW"].split("-")[0])
        for poles in (2, 4):
            row = table("iec_design_n").find(above_kW=low, poles=poles)
            assert row is not None
            wanted = entry[f"poles_{poles}"]
            found = (row["locked_rotor"], row["pull_up"], row["breakdown"])
            assert found == (wanted["T_l"], wanted["T_u"], wanted["T_b"])


@from_reference("C-iec12-S")
def test_locked_rotor_apparent_power() -> None:
    """Every band of the apparent-power table."""
    for band, ratio in expected("C-iec12-S").items():
        assert cell(table("iec_locked_rotor_power"), "ratio", above_kW=float(band.split("-")[0])) == ratio


@from_reference("C-iec12-H")
def test_design_h() -> None:
    """Every band of the 4-pole column."""
    for band, (locked, pull_up, breakdown) in expected("C-iec12-H")["4_pole"].items():
        row = table("iec_design_h").find(above_kW=float(band.split("-")[0]))
        assert row is not None
        assert (row["locked_rotor"], row["pull_up"], row["breakdown"]) == (locked, pull_up, breakdown)


@pytest.mark.parametrize("grade", ["IE2", "IE3", "IE4"])
def test_efficiency_classes(grade: str) -> None:
    """Every cell, and every cell against the interpolation formula within 0.06 percentage points."""
    from math import log10

    for power, cells in expected(f"C-eu1781-{grade}")["poles_2_4_6_8_by_kW"].items():
        kilowatt = float(power)
        for poles, percent in zip((2, 4, 6, 8), cells, strict=True):
            assert cell(table("efficiency_50_hz"), "percent", IE=grade, from_kW=kilowatt, poles=poles) == percent
            rows = table("efficiency_interpolation").where(IE=grade, poles=poles)
            row = next(r for r in rows if r["from_kW"] <= kilowatt <= r["to_kW"])
            x = log10(kilowatt)
            found = ((row["A"] * x + row["B"]) * x + row["C"]) * x + row["D"]
            assert abs(round(found, 1) - percent) <= 0.06


@from_reference("C-60947-trip")
def test_trip_classes() -> None:
    """Both bands of every class."""
    wanted = expected("C-60947-trip")
    for band, key in (("standard", "seconds_min_exclusive_max_inclusive"), ("E", "tolerance_band_E")):
        for name, (low, high) in wanted[key].items():
            row = table("trip_classes").find(**{"class": name, "band": band})
            assert row is not None
            assert (row["above_s"], row["to_s"]) == (low, high)


@from_reference("C-60034-1-rise")
def test_temperature_rise() -> None:
    """Rise and class temperature of every class."""
    wanted = expected("C-60034-1-rise")
    for name, rise in wanted["rise_K"].items():
        row = table("temperature_rise").find(**{"class": name})
        assert row is not None
        assert row["rise_K"] == rise
        assert row["rise_to_600W_K"] == wanted["rise_K_600W_or_less"][name]
        assert row["class_temperature_C"] == wanted["class_temperature_C"][name]


@from_reference("C-60034-2-1-pll")
def test_assigned_stray_loss() -> None:
    """The assigned allowance at the tabulated outputs."""
    for kilowatt, share in expected("C-60034-2-1-pll")["fraction_of_input"].items():
        assert typical.stray_load_share(1e3 * float(kilowatt))[0] == pytest.approx(share, abs=1e-4)


@from_reference("C-temp-resistance")
def test_resistance_with_temperature() -> None:
    """Constants of both metals and the ratios from 25 to 95 degC."""
    compare(
        "C-temp-resistance",
        {
            "k_copper": temperature_constant("copper"),
            "k_copper_IEEE": temperature_constant("copper", "IEEE"),
            "k_aluminium": temperature_constant("aluminium"),
            "ratio_copper_25_to_95C": resistance_factor(25, 95, "copper"),
            "ratio_aluminium_25_to_95C": resistance_factor(25, 95, "aluminium"),
        },
    )


def test_an_unknown_metal_is_named() -> None:
    """A conductor that is neither copper nor aluminium, or a temperature below the law, is refused by name."""
    with pytest.raises(DomainError, match="conductor: brass"):
        resistance_factor(20, 75, "brass")
    with pytest.raises(DomainError, match="wanted_at"):
        resistance_factor(20, -300, "copper")


@from_reference("A14-hubert-code-letter")
def test_code_letter_in_ampere() -> None:
    """Code letter G of a 150 hp, 460 V motor stands for 1054 to 1186 A."""
    data = reference("A14-hubert-code-letter")["inputs"]
    band = typical.code_letter_range(data["code_letter"])
    assert band is not None
    power, volts = data["rated_power_hp"] * 745.7, data["line_voltage_V"]
    low, high = (ratio * power / (3**0.5 * volts) for ratio in band[:2])
    compare("A14-hubert-code-letter", {"inrush_low_A": low, "inrush_high_A": high})


@from_reference("A12-hubert-auto65")
def test_design_b_torque_and_code_letter_at_a_tap() -> None:
    """125 hp, 6 poles, design B, code H on a 65 % tap: torque from the table, current from the letter's middle."""
    from math import pi

    from slipwise.model.machine.simplified import locked_rotor_current_at, locked_rotor_torque_at

    data = reference("A12-hubert-auto65")["inputs"]
    power = data["rated_power_hp"] * 745.7
    least, band = typical.least_torque(power, 6, "B", "locked_rotor"), typical.code_letter_range("H")
    assert least is not None
    assert band is not None
    assert least[0] == data["locked_rotor_torque_pu"]
    torque = least[0] * power / (data["rated_speed_rpm"] * pi / 30)
    current = (band[0] + band[1]) / 2 * power / (3**0.5 * data["line_voltage_V"])
    motor = locked_rotor_current_at(current, data["tap_pu"])
    compare(
        "A12-hubert-auto65",
        {
            "locked_rotor_torque_Nm": torque,
            "inrush_current_A": current,
            "reduced_torque_Nm": locked_rotor_torque_at(torque, data["tap_pu"]),
            "motor_current_at_tap_A": motor,
            "line_current_at_tap_A": data["tap_pu"] * motor,
        },
    )

"""Duty ratings of one thermal body against textbook examples."""

from __future__ import annotations

from math import pi, sqrt

from slipwise.model.thermal.ratings import (
    TimeConstants,
    continuous_power,
    cyclic_peak,
    insulation_life,
    intermittent_power,
    rise_under_unbalance,
    short_time_power,
    starts_from_heat_balance,
)
from tests.reference import compare, from_reference, reference


@from_reference("A23-pillai-starts")
def test_starts_a_minute() -> None:
    """Starts a minute from the loss at full load, for two synchronous speeds; R1 = R2 doubles the rotor's heat."""
    given = reference("A23-pillai-starts")["inputs"]
    loss = sqrt(3) * given["line_voltage_V"] * given["line_current_A"] * given["power_factor"] - given["output_power_W"]
    for rpm in given["synchronous_speeds_rpm"]:
        kinetic = 0.5 * given["inertia_kgm2"] * (rpm * pi / 30) ** 2
        each = kinetic * (1 + given["R1_over_R2"])
        per_minute = 60 * starts_from_heat_balance(loss, each)
        compare("A23-pillai-starts", {f"starts_per_minute_{rpm}rpm": per_minute})


@from_reference("A24-pillai-short-time")
def test_short_time_with_constant_loss() -> None:
    """A 25 kW motor gives 60.2 kW for half an hour."""
    given = reference("A24-pillai-short-time")["inputs"]
    share = given["constant_over_variable_loss"]
    hours = (given["run_time_h"], given["heating_time_constant_h"])
    power = short_time_power(given["continuous_power_kW"], *hours, constant_share=share)
    compare("A24-pillai-short-time", {"short_time_power_kW": power})


@from_reference("A25-dubey-intermittent")
def test_short_time_and_intermittent() -> None:
    """Ten minutes from cold, and ten on ten off for ever."""
    given = reference("A25-dubey-intermittent")["inputs"]
    on, off = given["on_time_min"], given["off_time_min"]
    constants = TimeConstants(heating=given["heating_time_constant_min"], cooling=given["cooling_time_constant_min"])
    power = given["continuous_power_kW"]
    compare(
        "A25-dubey-intermittent",
        {
            "short_time_power_kW": short_time_power(power, on, constants.heating),
            "intermittent_power_kW": intermittent_power(power, on, off, constants),
        },
    )


@from_reference("A26-dubey-halfhour")
def test_continuous_from_half_hour() -> None:
    """A half-hour rating of 100 kW is a continuous one of 48.4 kW; best efficiency at 0.7 load fixes the loss split."""
    given = reference("A26-dubey-halfhour")["inputs"]
    share = given["max_efficiency_at_load_pu"] ** 2
    power = continuous_power(given["half_hour_power_kW"], 30, given["heating_time_constant_min"], share)
    compare("A26-dubey-halfhour", {"continuous_power_kW": power})


@from_reference("A27-dubey-dutytemp")
def test_cyclic_rise() -> None:
    """Highest rise of a clutch duty from its lowest, and what the clutched state alone would reach."""
    given = reference("A27-dubey-dutytemp")["inputs"]
    highest, steady = cyclic_peak(
        given["min_temperature_rise_C"],
        given["no_load_steady_rise_C"],
        given["clutched_time_s"],
        given["declutched_time_s"],
        given["time_constant_s"],
    )
    compare("A27-dubey-dutytemp", {"max_rise_C": highest, "steady_rise_if_clutched_C": steady})


@from_reference("A19-hubert-unbalance")
def test_heating_and_life_under_unbalance() -> None:
    """Rise and insulation life at 2.58 % unbalance by the greatest deviation."""
    given = reference("A19-hubert-unbalance")["inputs"]
    volts = given["line_voltages_V"]
    mean = sum(volts) / 3
    unbalance = max(abs(v - mean) for v in volts) / mean
    rise = rise_under_unbalance(given["rated_temperature_rise_C"], unbalance)
    life = insulation_life(given["insulation_life_years"], rise - given["rated_temperature_rise_C"])
    compare("A19-hubert-unbalance", {"temperature_rise_C": rise, "life_years": life})

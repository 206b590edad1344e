"""The SI unit of every number a result holds, and how a unit is written into a key or a column heading.

The rule: a key ends in its unit, spaces dropped and "/" read as "per": `run_up_time_s`, `torque_Nm`, `speed_rad_per_s`.
A number without a suffix is a count, or a pure number, or has its unit in the key `unit` beside it.
"""

from __future__ import annotations

UNITS: dict[str, dict[str, str]] = {
    "LedgerRow": {"energy": "J"},
    "StageMark": {"begin": "s", "end": "s", "end_speed": "rad/s"},
    "Curves": {
        "speed": "rad/s",
        "torque": "N m",
        "load": "N m",
        "line_current": "A",
        "motor_current": "A",
        "winding_current": "A",
        "busbar_voltage": "pu",
        "stator_loss": "W",
        "rotor_loss": "W",
        "power": "W",
    },
    "RunUp": {
        "run_up_time": "s",
        "hang_speed": "rad/s",
        "final_speed": "rad/s",
        "time": "s",
        "speed": "rad/s",
        "torque": "N m",
        "load": "N m",
        "line_current": "A",
        "motor_current": "A",
        "winding_current": "A",
        "busbar_voltage": "pu",
        "prestart_voltage": "pu",
        "stator_heat": "J",
        "rotor_heat": "J",
        "current_heat": "s",
    },
    "Peaks": {
        "torque_max": "N m",
        "torque_max_time": "s",
        "torque_min": "N m",
        "torque_min_time": "s",
        "line_current": "A",
        "line_current_time": "s",
        "winding_current": "A",
    },
    "Transient": {
        "switching_angle": "rad",
        "run_up_time": "s",
        "final_speed": "rad/s",
        "time": "s",
        "speed": "rad/s",
        "torque": "N m",
        "load": "N m",
        "line_currents": "A",
        "winding_currents": "A",
        "terminal_voltages": "V",
    },
    "TransientBand": {"angles": "rad", "torque_max": "N m", "torque_min": "N m", "line_current": "A"},
    "DutyCycle": {
        "period": "s",
        "time": "s",
        "speed": "rad/s",
        "torque": "N m",
        "load": "N m",
        "line_current": "A",
        "rms_current": "A",
        "peak_torque": "N m",
        "mean_loss": "W",
        "lowest_speed": "rad/s",
        "highest_speed": "rad/s",
    },
    "LoadCase": {"run_up_time": "s"},
    "HeatTrace": {"time": "s", "temperature": "degC", "limits": "degC", "ambient": "degC"},
    "LimitCurve": {"current": "A", "seconds": "s"},
    "StallCurve": {"voltage": "pu", "hot": "s", "cold": "s"},
    "FanCurve": {"speed": "pu", "own_fan": "pu", "forced": "pu"},
    "BodyState": {"heat_capacity": "J/K", "rated": "degC", "limit": "degC"},
    "MotorHeat": {"ambient": "degC", "rated_loss": "W", "permitted": "degC"},
    "DutyHeat": {"highest": "degC", "mean": "degC"},
    "BodyPeak": {"temperature": "degC"},
    "WayHeat": {
        "stator_heat": "J",
        "rotor_heat": "J",
        "resistor_heat": "J",
        "rotor_rise": "K",
        "rest": "s",
        "rest_standing": "s",
        "rest_running": "s",
        "balance": "1/h",
        "rate": "1/h",
    },
    "RelayCheck": {"setting": "A", "stalled_cold": "s", "stalled_hot": "s"},
    "StarterDuty": {
        "rms": "A",
        "greatest": "A",
        "seconds": "s",
        "current_squared_time": "A2 s",
        "starts_per_hour": "1/h",
    },
    "Loss": {"power": "W"},
    "Harmonic": {"current": "A"},
    "DutyPoint": {"speed": "rad/s", "torque": "N m", "hours": "h", "useful": "W"},
    "OperatingPoint": {
        "speed": "rad/s",
        "torque": "N m",
        "stability": "N m s",
        "frequency": "Hz",
        "line_power": "W",
        "shaft_power": "W",
        "line_current": "A",
        "motor_current": "A",
        "returned": "W",
    },
    "FamilyCurve": {"speed": "rad/s", "torque": "N m", "current": "A"},
    "Family": {"load_speed": "rad/s", "load_torque": "N m"},
    "Envelope": {"speed": "rad/s", "continuous": "N m", "short_time": "N m"},
    "Year": {
        "energy": "J",
        "energy_low": "J",
        "energy_high": "J",
        "carbon": "kg",
        "payback": "years",
        "payback_low": "years",
        "payback_high": "years",
        "hours_infeasible": "h",
        "years": "years",
    },
    "SlipHeat": {
        "speed": "rad/s",
        "torque": "N m",
        "rotor_current": "A",
        "copper_loss": "W",
        "worst_speed": "rad/s",
        "worst_current_speed": "rad/s",
    },
    "Changeover": {
        "pause": "s",
        "switched_at": "rad/s",
        "extreme_torque": "N m",
        "extreme_speed": "rad/s",
        "returned": "J",
    },
    "HarmonicLimits": {"demand": "A"},
    "HeadCurve": {"speed": "rad/s", "flow": "pu", "head": "pu"},
    "ProcessChart": {"rated_flow": "m3/s", "rated_head": "m", "cube_law": "W"},
    "StudyResult": {"synchronous_speed": "rad/s", "rated_torque": "N m", "rated_current": "A"},
}
"""Unit by record and field. A record absent here holds pure numbers, or numbers with `unit` beside them."""

PURE: dict[str, frozenset[str]] = {
    "Criterion": frozenset({"margin"}),
    "PlateRow": frozenset({"tolerance_low", "tolerance_high"}),
    "Curves": frozenset({"power_factor"}),
    "RunUp": frozenset({"power_factor"}),
    "Transient": frozenset({"steps"}),
    "VerdictRange": frozenset({"low", "high", "statuses"}),
    "DutyCycle": frozenset({"residual"}),
    "WayHeat": frozenset({"cold_starts", "hot_starts", "most", "table_cold", "table_hot"}),
    "Missing": frozenset({"share"}),
    "Ranking": frozenset({"members"}),
    "RelayCheck": frozenset({"cold", "hot"}),
    "StarterDuty": frozenset({"starts_per_hour"}),
    "StudyResult": frozenset({"schema_version"}),
    "Wiring": frozenset({"motor_leads"}),
    "CoilGroup": frozenset({"phase", "half", "slots"}),
    "WindingSpeed": frozenset({"poles", "directions", "factor", "turns", "flux_density"}),
    "WindingDiagram": frozenset({"slots", "pitch"}),
    "Harmonic": frozenset({"order"}),
    "HarmonicBand": frozenset({"order_from", "order_to", "limit"}),
    "HarmonicLimits": frozenset({"ratio", "total"}),
    "SlipHeat": frozenset({"heat", "worst_heat"}),
    "Changeover": frozenset({"from_poles", "to_poles"}),
    "DutyPoint": frozenset({"flow"}),
    "OperatingPoint": frozenset(
        {
            "slip",
            "flux",
            "motor_efficiency",
            "efficiency",
            "displacement_factor",
            "power_factor",
            "distortion",
            "winding_heat",
        }
    ),
    "Year": frozenset(
        {
            "cost",
            "cost_low",
            "cost_high",
            "investment",
            "investment_low",
            "investment_high",
            "total",
            "total_low",
            "total_high",
        }
    ),
    "ProcessChart": frozenset({"static_head"}),
}
"""Numbers that have no unit: ratios and counts."""


def suffix(unit: str) -> str:
    """A unit as the end of a key: "N m" gives "Nm", "rad/s" gives "rad_per_s"; "" for a pure number."""
    return unit.replace(" ", "").replace("/", "_per_")


def key_of(record: str, field: str) -> str:
    """The key under which a field of a record is written, its unit at the end."""
    unit = UNITS.get(record, {}).get(field, "")
    return f"{field}_{suffix(unit)}" if unit else field

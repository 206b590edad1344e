"""A motor identified from measurements: its circuit with intervals, every step, and what the readings say of themselves."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.quantity.provenance import Sourced
from slipwise.results.study import Explanation, PlateRow


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """One reading of the bench. limit: the largest error the meter's class allows, in `unit`; None when no class is given."""

    test: str
    quantity: str
    value: float
    unit: str
    text: str
    limit: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class IdentifiedValue:
    """One value of the motor with its 95 % interval, twice: by random trials (the one that counts) and linear.

    value, low, high, linear_low, linear_high: in `unit`; ends are None when no meter class was given.
    cause: the reading or assumption that widens the interval most; share: its part of the variance.
    """

    symbol: str
    title: str
    value: float
    unit: str
    low: float | None = None
    high: float | None = None
    linear_low: float | None = None
    linear_high: float | None = None
    cause: str = ""
    share: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReductionRow:
    """One circuit value by three reductions, in `unit`; None where a reduction does not give it.

    short: no-load impedance taken as reactance, magnetising branch left out of the locked test.
    series: reactances by power and impedance, magnetising branch kept, all no-load loss in series.
    exact: the whole circuit, solved for all its values together.
    """

    symbol: str
    title: str
    unit: str
    short: float | None
    series: float | None
    exact: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoLoadPoint:
    """One no-load reading reduced. voltage line V; current line A; power, constant_loss, core_loss, mechanical_loss W;
    gap_voltage phase V; reactance: magnetising, ohm. on_line: used for the voltage-squared line."""

    voltage: float
    current: float
    power: float
    constant_loss: float
    gap_voltage: float
    core_loss: float
    mechanical_loss: float
    reactance: float
    on_line: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LockedPoint:
    """One locked-rotor reading reduced. frequency Hz; voltage line V; current line A; power W; resistance ohm;
    reactance ohm at rated frequency; torque from the reading N m (air-gap power over synchronous speed)."""

    frequency: float
    voltage: float
    current: float
    power: float
    resistance: float
    reactance: float
    torque: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadPointRow:
    """Losses of one load reading set apart. torque N m; speed rad/s; slip pu; powers and losses W; efficiencies pu.

    residual: what is left of input less output less the four losses; stray: the smoothed stray load loss.
    direct: output over input; segregated: input less all losses over input. used: counted in the line of the residuals.
    """

    torque: float
    speed: float
    slip: float
    current: float
    input_power: float
    output_power: float
    stator_loss: float
    core_loss: float
    rotor_loss: float
    mechanical_loss: float
    residual: float
    stray: float
    direct: float
    segregated: float
    used: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StrayLine:
    """Residual loss = slope x torque^2 + offset. slope W/(N m)^2; offset W; stray at rated torque W; correlation of the fit."""

    slope: float
    offset: float
    correlation: float
    at_rated: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Identification:
    """What the readings of a bench say of a motor.

    values: the circuit per phase (star equivalent of the running connection) and losses. errors: what is supposed of the
    meters, in words. motor_block: the `[motor]` lines that drop into a study file.
    """

    title: str
    slipwise_version: str
    readings: tuple[ReadingRow, ...]
    values: tuple[IdentifiedValue, ...]
    reductions: tuple[ReductionRow, ...]
    steps: tuple[Explanation, ...]
    no_load: tuple[NoLoadPoint, ...]
    locked: tuple[LockedPoint, ...]
    loads: tuple[LoadPointRow, ...]
    stray: StrayLine | None
    plate: tuple[PlateRow, ...]
    estimated: tuple[Sourced, ...]
    notes: tuple[str, ...]
    errors: str
    cautions: tuple[str, ...]
    motor_block: str = ""

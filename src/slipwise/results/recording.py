"""What a recorded start or a coast-down tells: cleaned signals, fitted values with their regions, deviations, settings."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.series import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class CleaningStep:
    """One thing done to the recording before it was used. changed: samples or channels touched; 0 when only looked at."""

    what: str
    why: str
    changed: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """One measured quantity against the fit. All shape (n,), SI in `unit`; measured is NaN where it was not recorded.

    noise: standard deviation of the measurement, from its quickest changes.   misfit: rms of measured - fitted over noise.
    slow_misfit: the same after averaging over a cycle, over what noise alone leaves; 1 when the model says all there is.
    """

    name: str
    unit: str
    time: Array
    measured: Array
    fitted: Array
    noise: float
    misfit: float
    slow_misfit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedValue:
    """One value found, with its 95 % range. narrowed: that range over the range before the recording; 1: nothing learnt."""

    name: str
    symbol: str
    value: float
    unit: str
    low: float
    high: float
    narrowed: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointRegion:
    """Two values together: the ellipse that holds both at 95 %.

    centre: shape (2,).  covariance: shape (2, 2).  outline: shape (2, m), closed.  correlation: -1 to 1.
    """

    names: tuple[str, str]
    units: tuple[str, str]
    centre: Array
    covariance: Array
    outline: Array
    correlation: float

    def holds(self, first: float, second: float) -> bool:
        """Whether the pair lies inside."""
        import numpy as np

        away = np.array([first, second]) - self.centre
        return bool(away @ np.linalg.solve(self.covariance, away) <= CHI_SQUARE_95_2)


CHI_SQUARE_95_2 = 5.991464547107979
"""The value that chi-square of two degrees of freedom stays below in 95 cases of 100."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RecordingResult:
    """A recorded start, cleaned and fitted.

    speed_time, speed, speed_error: speed by the fit and its standard error, rad/s over s, shape (n,).
    load_speed, load_torque, load_low, load_high: resisting torque at the shaft with its 95 % band, N m over rad/s.
    indistinct: sentences on what the recording cannot tell apart.   notes: everything else a reader should know.
    voltage, current: rms of the fundamental over `speed_time`, line voltage V and line current A.
    """

    source: str
    steps: tuple[CleaningStep, ...]
    values: tuple[FittedValue, ...]
    region: JointRegion
    traces: tuple[Trace, ...]
    speed_time: Array
    speed: Array
    speed_error: Array
    voltage: Array
    current: Array
    load_speed: Array
    load_torque: Array
    load_low: Array
    load_high: Array
    indistinct: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoastDownResult:
    """A coast-down: speed falling freely, and what follows.

    time s, speed and fitted rad/s, shape (n,).   curve_speed rad/s; ratio: torque over inertia, rad/s2, with its 95 % band.
    torque, torque_low, torque_high: N m over curve_speed; None while neither inertia nor a loss is known.
    """

    source: str
    time: Array
    speed: Array
    fitted: Array
    curve_speed: Array
    ratio: Array
    ratio_low: Array
    ratio_high: Array
    torque: Array | None
    torque_low: Array | None
    torque_high: Array | None
    values: tuple[FittedValue, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """One figure of the recorded start against the predicted band.

    status: "inside", "above" or "below" it; "at the edge": outside by less than the reading is certain, no deviation.
    """

    name: str
    recorded: float
    low: float
    high: float
    unit: str
    status: str
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingFound:
    """A setting as proposed and as found on site; in words as the user gave them, "" when not reported."""

    name: str
    proposed: str
    found: str
    same: bool | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Commissioning:
    """A recorded start laid over its prediction.

    time: s; *_low, *_high: the predicted band over the supply cases, shape (n,): line current A, speed rad/s, terminal
    voltage pu of rated; NaN after the last case has ended.   recording: the fitted recording laid over it.
    """

    title: str
    way: str
    recording: RecordingResult
    rated_voltage: float
    time: Array
    current_low: Array
    current_high: Array
    speed_low: Array
    speed_high: Array
    voltage_low: Array
    voltage_high: Array
    deviations: tuple[Deviation, ...]
    settings: tuple[SettingFound, ...]
    cautions: tuple[str, ...]

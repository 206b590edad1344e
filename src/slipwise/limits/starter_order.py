"""Order lines of a soft starter and of an autotransformer, and a stated soft starter against the start."""

from __future__ import annotations

from math import sqrt

import numpy as np

from slipwise.limits.judge import judge
from slipwise.quantity.formula import Formula
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.protection_devices import AutotransformerDuty, SoftStarterDuty
from slipwise.results.series import Array
from slipwise.results.start import RunUp

RECTANGLE = Formula(
    key="limits.start_rectangle",
    title="Length of the start at its greatest current with the same heat",
    symbol="T_x",
    expression="I2t / (X * I_e)**2",
    units={"I2t": "A2 s", "X": "", "I_e": "A"},
    source="same integral of current squared; form of the rating in IEC 60947-4-2 (from memory)",
    validity="the start is short against the time constant of the cooling body",
    result_unit="s",
)
GIVEN = "soft starter given by user"


def until(run_up: RunUp, end: float, current: Array) -> tuple[float, float]:
    """Integral of a current squared (A2 s) from the beginning to `end` (s), and its greatest value there (A)."""
    time = np.append(run_up.time[run_up.time < end], end)
    values = np.interp(time, run_up.time, current)
    return float(np.trapezoid(values**2, time)), float(values.max())


def soft_starter(
    run_up: RunUp,
    rated: float,
    *,
    stages: int,
    starts_per_hour: float | None,
    bypassed: bool,
    stated: tuple[float, float, float] | None = None,
) -> SoftStarterDuty:
    """The rating that this start asks for, and how much of a stated one it uses.

    rated: current of the motor, A. stages: through the thyristors, counted from the first. stated: rated current A, ratio,
    seconds.
    """
    marks = run_up.stages[:stages]
    squared, greatest = until(run_up, marks[-1].end, run_up.motor_current)
    ratio = greatest / rated
    seconds = squared / greatest**2 if greatest > 0 else 0.0
    hourly = "" if starts_per_hour is None else f"-{starts_per_hour:g}"
    kind, tail = ("AC-53b", "off time") if bypassed else ("AC-53a", f"100{hourly}")
    used = None if stated is None else squared / ((stated[1] * stated[0]) ** 2 * stated[2])
    return SoftStarterDuty(
        current=rated,
        ratio=ratio,
        seconds=seconds,
        starts_per_hour=starts_per_hour,
        bypassed=bypassed,
        code=f"{rated:.4g} A: {kind}: {ratio:.2g}-{seconds:.3g}: {tail}",
        used=used,
    )


def soft_starter_rows(
    duty: SoftStarterDuty, stated: tuple[float, float, float], hourly: float | None
) -> tuple[Criterion, ...]:
    """A stated soft starter: heat of the start, its greatest current, rated current, starts an hour."""
    current, ratio, seconds = stated
    rows = [
        _row("starter_heat", "Heat of the start in the soft starter", duty.used or 0.0, 1.0, "pu"),
        _row("starter_current", "Greatest current through the soft starter", duty.ratio * duty.current, ratio * current, "A"),
        _row("starter_rating", "Rated current through the soft starter", duty.current, current, "A"),
    ]  # fmt: skip
    del seconds
    if hourly is not None and duty.starts_per_hour is not None:
        rows.append(_row("starter_starts", "Starts an hour of the soft starter", duty.starts_per_hour, hourly, "1/h"))
    return tuple(rows)


def _row(key: str, title: str, value: float, limit: float, unit: str) -> Criterion:
    return judge(key, title, {"strong": value}, limit, unit=unit, sense=Sense.AT_MOST, source=GIVEN)


def autotransformer(
    run_up: RunUp, tap: float, volts: float, seconds: float, starts_per_hour: float | None
) -> AutotransformerDuty:
    """What the winding bears on its tap.

    tap: motor voltage per line voltage; volts: line voltage at the starter at switching on [V]; seconds: on the tap in the
    slowest case. Source: an autotransformer transforms the share 1 - tap of its throughput (common textbook treatment).
    """
    end = run_up.stages[0].end
    squared, motor = until(run_up, end, run_up.motor_current)
    line = until(run_up, end, run_up.line_current)[1]
    power = sqrt(3) * volts * line
    return AutotransformerDuty(
        tap=tap,
        power=power,
        type_power=(1 - tap) * power,
        motor_current=motor,
        line_current=line,
        star_current=motor - line,
        seconds=seconds,
        current_squared_time=squared,
        starts_per_hour=starts_per_hour,
    )
